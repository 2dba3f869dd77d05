"""Solids of a dig: closed, turned outwards, and as heavy as the integral of the plan says."""

from __future__ import annotations

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from make.plans.grounds import gridded, ground_of
from make.plans.sampled import sampled
from make.sites.strategies import grounds, outlines, planes
from measure.dug_solids import assert_dig, assert_solid, dig_solids

import sample_sites
from grading.catalogue.bases import base_systems
from grading.dig.hole import Dig, dug_region
from grading.finish.cutting import clip
from grading.geometry.facets import Surface
from grading.geometry.plane import Plane
from viz.scene import shell
from viz.scene.shell import Sheet, between, polygons, triangulate

SYSTEMS = base_systems(())
SITES = sample_sites.names()

SHAPES = {
    "rectangle": shapely.box(1, 1, 9, 6),
    "turned": shapely.affinity.rotate(shapely.box(2, 2, 9, 6), 17),
    "L": shapely.Polygon([(1, 1), (9, 1), (9, 4), (5, 4), (5, 8), (1, 8)]),
    "round": shapely.Point(5, 5).buffer(3.1, quad_segs=40),
    "pockets": shapely.box(1, 1, 9, 7) - shapely.Point(5, 4).buffer(1) - shapely.box(2, 2, 3, 3),
    "corner on an edge of the ground": shapely.Polygon(
        [(2, 2), (5, 2), (5, 5), (8, 5), (8, 8), (2, 8)]
    ),
    "collinear corners": shapely.Polygon([(1, 1), (4, 1), (7, 1), (9, 1), (9, 6), (1, 6)]),
}  # fmt: skip


def dig_of(ground, outline, plane, system="dense", over_dig=0.15, kept_out=None):
    system = SYSTEMS[system]
    finish = Surface.of(Plane(*plane), outline.buffer(5.0))
    polygon = dug_region(outline, over_dig, kept_out or shapely.Polygon()) if over_dig else outline
    return Dig(
        system=system,
        outline=outline,
        polygon=polygon,
        finish=finish,
        formation=finish.lowered(system.build_up),
        paved=clip(ground, outline),
        clip=clip(ground, polygon),
        soil_swell=0.25,
        organics_swell=0.25,
    )


def wavy(organics=0.1):
    return gridded(
        np.linspace(-1, 11, 13),
        np.linspace(-1, 11, 13),
        lambda x, y: 10 - 0.03 * y + 0.08 * np.sin(1.3 * x) * np.cos(0.9 * y),
    ) if organics == 0 else ground_of(wavy(0).points, wavy(0).triangles, organics)  # fmt: skip


@pytest.mark.parametrize("organics", [0.0, 0.1])
@pytest.mark.parametrize("system", list(SYSTEMS))
@pytest.mark.parametrize("shape", list(SHAPES))
def test_every_solid_closes_and_weighs_what_the_plan_says(shape, system, organics):
    ground = wavy(organics)
    for level in (9.9, 10.1, 10.4, 9.5, 11.0):
        assert_dig(dig_of(ground, SHAPES[shape], (level, 0.004, -0.02), system))


@pytest.mark.parametrize("name", SITES)
def test_the_sample_sites_close(name):
    plan = sampled(name)
    for area in plan.areas:
        for dig in area.digs.values():
            assert_dig(dig)


@settings(max_examples=60)
@given(grounds(), outlines(), planes())
def test_generated_digs_close(ground, outline, plane):
    assert_dig(dig_of(ground, outline, plane, over_dig=0.0))


def test_a_site_far_from_its_origin_loses_nothing():
    near = wavy(0.1)
    shift = np.array([500_000.0, 4_000_000.0])
    points = near.points + np.append(shift, 0.0)
    far = ground_of(points, near.triangles, 0.1)
    outline = shapely.transform(SHAPES["round"], lambda xy: xy + shift)
    level = 10.1 - 0.02 * -shift[1]
    dig = dig_of(far, outline, (level, 0.0, -0.02), over_dig=0.0)
    solids = dig_solids(dig)
    for solid, volume in ((solids.earth, dig.cut), (solids.refill, dig.fill)):
        assert solid.mesh().is_watertight
        assert solid.volume == pytest.approx(volume, rel=1e-6)
        assert np.abs(solid.vertices).max() < 20


def test_layers_lie_on_each_other_under_the_finish():
    dig = dig_of(wavy(), SHAPES["L"], (10.2, 0.01, -0.02), "panel")
    solids = dig_solids(dig)
    depth = 0.0
    for layer, solid in solids.layers:
        site = solid.vertices + solids.origin
        below = dig.finish.at(site[:, :2]) - site[:, 2]
        assert below.min() == pytest.approx(depth, abs=1e-9)
        depth += layer.thickness
        assert below.max() == pytest.approx(depth, abs=1e-9)
    assert depth == pytest.approx(dig.build_up)


def test_a_layer_that_spreads_fills_the_hole_and_the_others_end_with_the_paving():
    dig = dig_of(wavy(), SHAPES["rectangle"], (10.2, 0.0, -0.02), "dense", over_dig=0.3)
    solids = dig_solids(dig)
    for layer, solid in solids.layers:
        region = dig.polygon if layer.spreads else dig.outline
        wide = np.ptp(solid.vertices[:, 0])
        assert wide == pytest.approx(region.bounds[2] - region.bounds[0])


def test_ground_level_with_the_formation_leaves_nothing_to_dig():
    flat = gridded([0, 5, 10], [0, 5, 10], np.full((3, 3), 10.0))
    dig = dig_of(flat, shapely.box(2, 2, 8, 8), (10.0 + SYSTEMS["dense"].build_up, 0, 0))
    solids = dig_solids(dig)
    assert not len(solids.earth.faces)
    assert not len(solids.refill.faces)


def test_cut_that_runs_out_along_a_line_ends_in_an_edge():
    # A ground tilted about x = 5 against a level formation: a wedge either side, none beyond.
    tilted = gridded([0, 10], [0, 10], [[9.5, 10.5], [9.5, 10.5]])
    dig = dig_of(tilted, shapely.box(0, 0, 10, 10), (10 + SYSTEMS["dense"].build_up, 0, 0),
                 over_dig=0.0)  # fmt: skip
    solids = assert_dig(dig)
    # A wedge 5 m long, 0.5 m high, 10 m wide.
    assert solids.earth.volume == pytest.approx(0.5 * 5 * 0.5 * 10)
    assert solids.refill.volume == pytest.approx(0.5 * 5 * 0.5 * 10)
    assert (solids.earth.vertices[:, 0] + solids.origin[0]).min() == pytest.approx(5.0)


def sheet_of(xs, ys):
    points = np.array([(x, y) for y in ys for x in xs], float)
    sheet, place = triangulate(shapely.box(min(xs), min(ys), max(xs), max(ys)), points)
    order = np.empty(len(sheet.xy), int)
    order[place[: len(points)]] = np.arange(len(points))
    return sheet, order


@pytest.mark.parametrize(
    "touching",
    [
        pytest.param([4], id="in a point"),
        pytest.param([3, 4, 5], id="along a line from side to side"),
        pytest.param([0, 1, 2], id="along its edge"),
        pytest.param([3, 4], id="along a line from one side"),
        pytest.param([0, 4, 8], id="along a diagonal"),
        pytest.param([0, 2, 6, 8], id="in its corners"),
    ],
)
def test_solids_close_where_their_two_surfaces_touch(touching):
    sheet, order = sheet_of([0, 1, 2], [0, 1, 2])
    thick = np.ones(9)
    thick[touching] = 0.0
    thick = thick[order]
    solid = between(sheet, thick, np.zeros(9))
    corners = sheet.xy[sheet.faces]
    first, second = corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0]
    areas = (first[:, 0] * second[:, 1] - first[:, 1] * second[:, 0]) / 2
    assert_solid(solid, float((areas * thick[sheet.faces].mean(axis=1)).sum()))


def test_solids_close_round_a_line_within_them_where_the_surfaces_touch():
    # Four points in a row, the middle two touching: the solid goes round both ends.
    sheet, order = sheet_of([0, 1, 2, 3], [0, 1, 2])
    thick = np.ones(12)
    thick[[5, 6]] = 0.0
    thick = thick[order]
    edges = np.sort(sheet.faces[:, [0, 1, 1, 2, 2, 0]].reshape(-1, 2), axis=1)
    pair = np.sort(np.flatnonzero(thick == 0))
    assert (edges == pair).all(axis=1).any(), "the two points are to be joined by an edge"
    mesh = between(sheet, thick, np.zeros(12)).mesh()
    assert mesh.is_watertight
    assert mesh.is_winding_consistent


def test_a_body_whose_surfaces_touch_nowhere_is_closed_the_quick_way_and_comes_out_the_same():
    """The way that copes with surfaces that touch is the outside check, vertex for vertex."""
    lots, quick = np.random.default_rng(5), 0
    for _ in range(60):
        points = lots.uniform(0, 10, (int(lots.integers(5, 40)), 2))
        region = shapely.MultiPoint(points).convex_hull
        for _ in range(int(lots.integers(0, 3))):
            region -= shapely.Point(lots.uniform(2, 8, 2)).buffer(lots.uniform(0.2, 2), quad_segs=2)
        sheet, _ = triangulate(polygons(region), points)
        top, bottom = lots.uniform(1, 2, len(sheet.xy)), lots.uniform(-1, 0.5, len(sheet.xy))
        touching = np.zeros(len(sheet.xy), bool)
        slow, _ = shell._closed(sheet, top, bottom, touching, np.zeros(0, np.int64))
        fast = shell._prism(sheet, top, bottom)
        if fast is None:
            continue  # parts of it meet in a corner: those are parted the other way
        quick += 1
        np.testing.assert_array_equal(fast.vertices, slow.vertices)
        np.testing.assert_array_equal(fast.faces, slow.faces)
    assert quick > 40


def test_the_same_polygon_has_the_same_triangles_and_nobody_moves_them():
    shape = shapely.box(0, 0, 3, 2) - shapely.box(1, 1, 2, 1.5)
    first, place = triangulate(shape)
    again, _ = triangulate(shapely.from_wkb(shapely.to_wkb(shape)))
    assert again is first
    assert triangulate(shapely.affinity.translate(shape, 1e-9))[0] is not first
    for array in (first.xy, first.faces, place):
        with pytest.raises(ValueError, match="read-only"):
            array[0] = 0


def test_parts_that_share_only_a_corner_stay_apart():
    sheet = Sheet(
        np.array([[0, 0], [1, 0], [1, 1], [2, 1], [2, 2]], float),
        np.array([[0, 1, 2], [2, 3, 4]]),
    )
    solid = between(sheet, np.ones(5), np.zeros(5))
    mesh = solid.mesh()
    assert mesh.is_watertight
    assert mesh.volume == pytest.approx(1.0)
    assert mesh.body_count == 2


def test_backfill_reaches_from_the_finish_to_the_top_of_the_base():
    assert SYSTEMS["dense"].above_edge == pytest.approx(
        sum(layer.thickness for layer in SYSTEMS["dense"].layers[:2])
    )
    assert SYSTEMS["panel"].above_edge == pytest.approx(SYSTEMS["panel"].layers[0].thickness)
