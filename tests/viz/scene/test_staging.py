"""The scene: what is in it, where, how large, and that every layer can be seen."""

from __future__ import annotations

import subprocess
import sys
from functools import cache
from types import SimpleNamespace
from unittest.mock import patch

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from make.plans.sampled import sampled
from make.sites.strategies import grounds, outlines, planes
from msgspec.structs import replace

import sample_sites
from grading.catalogue.bases import base_systems
from grading.catalogue.rules import Limits
from grading.dig.edge_runs import edge_runs
from grading.dig.edge_sections import edging_of
from grading.dig.hole import Dig
from grading.finish.cutting import clip
from grading.geometry.facets import Surface
from grading.geometry.plane import Plane
from grading.order import restrained
from grading.order.takeoff import takeoffs_of
from grading.site.feature_tables import Laying
from grading.structures import built, pads, step_drains
from grading.structures.holding.holds import Holding
from grading.units import FOOT, size
from viz.look.materials import MATERIALS
from viz.pictures.camera import ANGLE, Eye, box_corners, eye_for, plan_axes
from viz.pictures.explained import placed
from viz.scene.collect import edges_of
from viz.scene.frame import OPENED, frame_of, opening_of
from viz.scene.grain import CHAMFER, STUDS, grains, lettering, pavers, seams, studs
from viz.scene.layers.laid import faces_of, takeoff_of
from viz.scene.layers.treads import treads_of
from viz.scene.model import VIEWS
from viz.scene.shell import between, triangulate
from viz.scene.slicing import sliced
from viz.scene.staging import EXAGGERATIONS, exaggeration_of, stage

SITES = sample_sites.names()


def cases():
    for name in SITES:
        for index, area in enumerate(sampled(name).areas):
            for base in area.digs:
                yield pytest.param(name, index, base, id=f"{name}, {area.area.name}, {base}")


@cache
def scene_of(name, index, base):
    plan = sampled(name)
    return stage(plan, plan.areas[index], base)


def bodies(scene, view, material, pattern=False):
    return [
        body
        for body in scene.bodies
        if view in body.shown and body.material == material and body.pattern == pattern
    ]


@pytest.mark.parametrize(("name", "index", "base"), list(cases()))
def test_every_layer_is_drawn_to_scale_in_the_opened_and_the_finished_view(name, index, base):
    scene = scene_of(name, index, base)
    area = sampled(name).areas[index]
    top = 0.0
    for layer in area.digs[base].system.layers:
        for view in ("layers", "finished"):
            found = [
                body for body in bodies(scene, view, layer.material) if body.name == layer.name
            ]
            assert len(found) == 1, (view, layer.name)
            site = found[0].vertices + scene.origin
            below = area.finish.plane.at(site[:, :2]) - site[:, 2]
            assert below.min() == pytest.approx(top, abs=1e-9)
            assert below.max() == pytest.approx(top + layer.thickness, abs=1e-9)
        top += layer.thickness


@pytest.mark.parametrize(("name", "index", "base"), list(cases()))
def test_a_label_stands_on_the_bared_part_of_each_layer(name, index, base):
    scene = scene_of(name, index, base)
    area = sampled(name).areas[index]
    treads = treads_of(takeoff_of(sampled(name), area, base))
    opening = opening_of(frame_of(sampled(name), area), area.outline, len(treads) - 1)
    labels = {
        label.number: label
        for label in scene.labels
        if label.kind == "layer" and "layers" in label.shown
    }
    assert sorted(labels) == [entry.number for entry in scene.legend]
    for step, tread in enumerate(treads):
        at = labels[tread.number].at + scene.origin
        point = shapely.Point(at[:2])
        assert tread.footprint.buffer(1e-6).covers(point)
        if step:
            assert opening.cut(step - 1).covers(point), (
                f"{tread.name} is covered by the layer above"
            )
        if tread.kind == "subgrade":
            continue
        assert not opening.cut(step).covers(point), f"{tread.name} is cut away there"
        if tread.kind != "geotextile":
            depth = float(area.finish.plane.at(at[None, :2])[0]) - at[2]
            assert depth == pytest.approx(tread.top, abs=1e-9)


@pytest.mark.parametrize(("name", "index", "base"), list(cases()))
def test_each_step_bares_a_strip_of_the_layer_below(name, index, base):
    area = sampled(name).areas[index]
    treads = treads_of(takeoff_of(sampled(name), area, base))
    opening = opening_of(frame_of(sampled(name), area), area.outline, len(treads) - 1)
    lifted = area.outline.intersection(opening.cut(0)).area / area.outline.area
    assert lifted == pytest.approx(OPENED, abs=0.01)
    for step, tread in enumerate(treads[1:], start=1):
        bared = tread.footprint.intersection(opening.cut(step - 1))
        if tread.kind != "subgrade":
            bared = bared.difference(opening.cut(step))
        assert bared.area > 0.01 * area.outline.area, tread.name


@pytest.mark.parametrize(("name", "index", "base"), list(cases()))
def test_the_legend_is_in_the_unit_of_the_site(name, index, base):
    scene = scene_of(name, index, base)
    layers = sampled(name).areas[index].digs[base].system.layers
    for entry, layer in zip(scene.legend, layers, strict=False):
        assert entry.name == layer.name
        unit = sampled(name).site.unit
        assert entry.words == size(layer.thickness, unit)
        assert entry.words.endswith(" in" if unit == "ft" else " mm")
    assert scene.legend[-1].name == "subgrade"


def test_all_base_systems_of_an_area_are_drawn_with_one_stated_exaggeration():
    for name in SITES:
        for index, area in enumerate(sampled(name).areas):
            factors = {scene_of(name, index, base).exaggeration for base in area.digs}
            assert len(factors) == 1
            assert factors <= set(EXAGGERATIONS)
            scene = scene_of(name, index, area.chosen)
            words = scene.exaggeration_words
            assert (f"{scene.exaggeration:g} times" in words) == (scene.exaggeration != 1)


def test_larger_paving_is_exaggerated_more():
    area = sampled("back-patio").areas[0]
    small = shapely.affinity.scale(area.outline, 0.2, 0.2)
    large = shapely.affinity.scale(area.outline, 4, 4)

    class Sized:
        digs = area.digs

        def __init__(self, outline):
            self.outline = outline

    assert exaggeration_of(Sized(small)) == 1
    assert exaggeration_of(Sized(large)) == 5


class Stated(SimpleNamespace):
    """What a scene asks of a plan, which it refers to weakly; equal to itself alone."""

    __hash__ = object.__hash__


@settings(max_examples=8)
@given(grounds(), outlines(), planes(), st.sampled_from(["dense", "open", "panel"]))
def test_paving_of_any_shape_can_be_staged(ground, outline, plane, base):
    finish = Surface.of(Plane(*plane), outline.buffer(5.0))
    digs = {}
    for name, system in base_systems(()).items():
        hole = clip(ground, outline)
        formation = finish.lowered(system.build_up)
        digs[name] = Dig(system, outline, outline, finish, formation, hole, hole, 0.25, 0.25)
    of = Stated
    area = of(
        name="court", use="patio", raised_edges=(), lawn_lip=None, tie_in=None,
        edging=lambda name: edging_of(digs[name].system, Limits({})),
        area=of(name="court", use="patio", outline=(*outline.exterior.coords[:-1],), pavers=None,
                edge=None, joint=None),
        outline=outline, paving=outline.area, finish=of(plane=finish.main, surface=finish),
        walls=(), digs=digs, chosen=base, chosen_dig=digs[base],
        edge_runs=edge_runs([outline.exterior], finish, ground), pockets=(),
        free_edges=(outline.exterior,),
    )  # fmt: skip
    dry = of(areas=(), downspouts=(), low_spots=(), destinations=())
    site = of(
        name="yard", unit="m", house=None, doors=(), ceilings=(), spots=of(xyz=ground.points),
        features=(), areas=(area.area,), meets=(), ground=of(soil="clay"), limits={},
        in_force=Limits({}), outfalls=(), laying=Laying.model_validate({}), frost=None,
        hold_of=lambda area: None,
    )  # fmt: skip
    crew = sampled("back-patio").crew
    plan = of(site=site, ground=ground, areas=(area,), water=dry, crew=crew, groups=(),
              limits=Limits({}), built_over=lambda: outline)  # fmt: skip
    # The plan is one of paving alone: what is built beside it asks more of a site than a shape.
    with (
        patch.object(built, "_BUILDERS", ()),
        patch.object(pads, "flights_of", lambda _: ()),
        patch.object(step_drains, "flights_of", lambda _: ()),
        patch.object(restrained, "holding_of", lambda *_: Holding("court", ())),
    ):
        taken = of(area=area, takeoffs=takeoffs_of(plan, area, crew))
        plan.order = of(areas=(taken,), of=lambda _: taken)
        scene = sliced(stage(plan, area, base))
    for view in VIEWS:
        assert any(view in body.shown for body in scene.bodies)
    assert all(np.isfinite(body.vertices).all() for body in scene.bodies)
    assert all(np.isfinite(label.at).all() for label in scene.labels)
    for view in ("layers", "apart"):
        named = [each for each in scene.labels if each.kind == "layer" and view in each.shown]
        assert len(named) == len(scene.legend)


def test_nothing_is_drawn_twice_as_high_by_the_scene_itself():
    scene = scene_of("back-patio", 0, "dense")
    points = np.array([[1.0, 2.0, 3.0]])
    assert scene.drawn(points).tolist() == [[1.0, 2.0, 3.0 * scene.exaggeration]]


def test_a_scene_cannot_be_changed():
    scene = scene_of("back-patio", 0, "dense")
    with pytest.raises(AttributeError):
        scene.bodies[0].colour = "#000000"
    with pytest.raises(AttributeError):
        scene.exaggeration = 9


@pytest.mark.parametrize("view", list(VIEWS))
def test_closed_bodies_of_every_view_are_closed(view):
    import trimesh

    for name in SITES:
        for index, area in enumerate(sampled(name).areas):
            scene = scene_of(name, index, area.chosen)
            shown = [b for b in scene.bodies if view in b.shown and not b.pattern]
            assert shown, (name, view)
            for body in shown:
                mesh = trimesh.Trimesh(body.vertices, body.faces, process=False)
                assert mesh.is_watertight, (name, view, body.name)
                assert mesh.volume > 0, (name, view, body.name)


def test_the_ground_around_is_cut_open_where_the_layers_are():
    scene = scene_of("back-patio", 0, "dense")
    volume = {
        view: sum(abs(between_volume(body)) for body in bodies(scene, view, "subsoil"))
        for view in ("layers", "finished", "today")
    }
    assert volume["layers"] < volume["finished"] < volume["today"]


def between_volume(body):
    import trimesh

    return trimesh.Trimesh(body.vertices, body.faces, process=False).volume


def test_the_house_its_doors_and_sills_are_there_with_the_step_in_words():
    plan = sampled("back-patio")
    scene = scene_of("back-patio", 0, "panel")
    assert bodies(scene, "layers", "siding")
    assert len(bodies(scene, "layers", "door")) == len(plan.site.doors)
    told = [label.text for label in scene.labels if label.kind == "house"]
    for door in plan.site.doors:
        assert any(text.startswith(f"{door.name}: ") and " step\nsill " in text for text in told)
        assert any(text.startswith(f"{door.name}\nsill ") for text in told)
    for door, body in zip(plan.site.doors, bodies(scene, "layers", "sill"), strict=True):
        assert body.vertices[:, 2].max() + scene.origin[2] == pytest.approx(door.sill)


def test_a_sill_below_the_finish_is_said_aloud():
    plan = sampled("back-patio")
    low = tuple(door.model_copy(update={"sill": door.sill - 1.0}) for door in plan.site.doors)
    site, area = replace(plan.site, doors=low), plan.areas[0]
    group = replace(area.group, group=replace(area.group.group, site=site))
    scene = stage(replace(plan, site=site), replace(area, group=group), "panel")
    assert any("BELOW the finish" in label.text for label in scene.labels)


def test_a_site_without_a_house_is_looked_at_from_downhill():
    plan = sampled("back-patio")
    bare = replace(plan, site=replace(plan.site, house=None, doors=()))
    area = replace(bare.areas[0], walls=())
    scene = stage(bare, area, "panel")
    assert np.allclose(scene.near, area.finish.plane.downhill)
    assert not bodies(scene, "layers", "siding")
    assert "wall" not in scene.fall


def test_arrows_point_down_the_slope_and_the_fall_is_written():
    plan = sampled("back-patio")
    plane = plan.areas[0].finish.plane
    scene = scene_of("back-patio", 0, "panel")
    painted = [
        body
        for body in scene.bodies
        if body.name in ("fall", "fall in words") and "finished" in body.shown
    ]
    arrows = [body for body in painted if len(body.vertices) == 7]
    assert len(arrows) >= 2
    assert len(painted) == len(arrows) + 1, "arrows and one line of lettering"
    for arrow in arrows:
        along = arrow.vertices[:, :2] @ plane.downhill
        assert arrow.vertices[np.argmax(along), 2] == pytest.approx(arrow.vertices[:, 2].min())
        assert np.ptp(arrow.vertices[:, 2]) == pytest.approx(plane.fall * np.ptp(along))


@pytest.mark.parametrize("name", SITES)
def test_every_picture_has_a_scale_bar_as_long_as_it_says(name):
    plan = sampled(name)
    step = FOOT if plan.site.unit == "ft" else 1.0
    for index, area in enumerate(plan.areas):
        scene = scene_of(name, index, area.chosen)
        bar = [b for b in scene.bodies if b.name == "scale" and len(b.vertices) == 4]
        assert bar
        for piece in bar:
            assert diagonal(piece.vertices) > step
            long = np.linalg.norm(piece.vertices[1, :2] - piece.vertices[0, :2])
            assert long == pytest.approx(step)


def diagonal(points):
    return float(np.linalg.norm(points[2, :2] - points[0, :2]))


def test_plan_axes_are_drawn_the_way_the_plan_lies():
    box = box_corners(np.array([[0.0, 0, 0], [4, 4, 1]]))
    above = eye_for(np.array([0.0, -np.sin(0.01), np.cos(0.01)]), box, 1.0)
    x, y = plan_axes(above, 40)
    assert x == pytest.approx([40, 0], abs=0.1)
    assert y == pytest.approx([0, -40], abs=0.1)
    # The same as where points come to lie.
    eye = eye_for(np.array([0.48, 0.6, 0.64]), box, 1.0)
    far = Eye(eye.target + 1e4 * (eye.position - eye.target), eye.target, eye.up)
    seen = far.pixels(np.array([[0.0, 0, 0], [1, 0, 0], [0, 1, 0]]), (800, 800))
    steps = (seen[1:] - seen[0]) / np.hypot(*(seen[1:] - seen[0]).T).max() * 40
    assert plan_axes(eye, 40) == pytest.approx(steps, abs=0.01)


def test_fall_towards_the_house_is_not_called_away():
    plan = sampled("raised-patio")
    area = plan.areas[0]
    turned = replace(area, walls=tuple(replace(w, fall_away=-0.01) for w in area.walls))
    assert "TOWARDS" in stage(plan, turned, area.chosen).fall


def test_spots_are_marked_where_they_were_surveyed():
    plan = sampled("raised-patio")
    scene = scene_of("raised-patio", 0, "open")
    labels = [label for label in scene.labels if label.kind == "spot"]
    assert len(labels) >= 6
    surveyed = plan.site.spots.xyz
    for label in labels:
        gap = np.linalg.norm(surveyed - (label.at + scene.origin), axis=1).min()
        assert gap < 1e-9


def test_pavers_are_drawn_where_the_order_counted_them_less_their_chamfers():
    plan = sampled("back-patio")
    faces = faces_of(takeoff_of(plan, plan.areas[0], plan.areas[0].chosen))
    meshes = pavers(faces, plan.areas[0].outline, 4)
    drawn = sum(area_of(points, triangles) for points, triangles in meshes)
    chamfers = CHAMFER * shapely.length(faces).sum()
    assert drawn == pytest.approx(shapely.area(faces).sum() - chamfers, rel=2e-3)
    # In courses: nearly all units are whole, 8 in by 4 in.
    size = plan.crew.pavers
    whole = np.isclose(shapely.area(faces), size.length * size.width, rtol=1e-6)
    assert whole.mean() > 0.85


def test_pavers_stay_inside_round_paving():
    region = shapely.Point(0, 0).buffer(2) - shapely.Point(0.4, 0).buffer(0.5)
    x, y = (grid.ravel() for grid in np.meshgrid(np.arange(-3, 3, 0.2), np.arange(-3, 3, 0.1)))
    faces = shapely.box(x, y, x + 0.19, y + 0.09)
    for points, triangles in pavers(faces, region, 4):
        assert region.buffer(1e-9).covers(shapely.multipoints(points[np.unique(triangles)]))


def test_a_paver_has_the_same_tone_in_every_picture():
    faces = shapely.box([0, 1, 2], 0, [0.9, 1.9, 2.9], 0.5)
    whole = pavers(faces, shapely.box(0, 0, 3, 1), 3)
    part = pavers(faces, shapely.box(1, 0, 3, 1), 3)
    for (points, _), (some, _) in zip(whole, part, strict=True):
        kept = points[points[:, 0] > 1]
        assert sorted(map(tuple, kept)) == sorted(map(tuple, some))


def test_grains_are_the_same_every_time_and_inside():
    region = shapely.box(0, 0, 3, 2)
    one, two = (grains(region, 0.08, 0.2, 2, 7) for _ in range(2))
    for (points, faces), (same, also) in zip(one, two, strict=True):
        assert (points == same).all()
        assert (faces == also).all()
        assert region.covers(shapely.multipoints(points))


def test_panel_seams_and_studs_stay_on_the_panels():
    region = shapely.Point(0, 0).buffer(2)
    panels = shapely.box([-3, -1, 1], -3, [-1, 1, 3], 3)
    lines = shapely.MultiLineString([line.tolist() for line in seams(panels, region)])
    assert region.buffer(1e-9).covers(lines)
    # Two seams, each a chord one from the middle.
    assert lines.length == pytest.approx(2 * 2 * np.sqrt(2**2 - 1), rel=2e-3)
    points, faces = studs(region, np.array([0.6, 0.8]))
    assert region.covers(shapely.multipoints(points))
    assert area_of(points, faces) == pytest.approx(len(faces) / 2 * STUDS[1] ** 2)


@pytest.mark.parametrize(
    "text", ["½", "⅜", "%", "°", "′", "″", "³", "3/8 in", "2.0 %  1/4 in per foot"]
)
def test_lettering_has_every_sign_that_the_trade_writes(text):
    points, faces = lettering(text, 0.2)
    # A sign that the font lacks is a warning of matplotlib's, so an error here.
    assert area_of(points, faces) > 0.01 * 0.2**2
    corners = points[faces]
    first, second = corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0]
    assert (first[:, 0] * second[:, 1] >= first[:, 1] * second[:, 0]).all(), "faces look up"


def area_of(points, faces):
    corners = points[faces]
    first, second = corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0]
    return float(np.abs(first[:, 0] * second[:, 1] - first[:, 1] * second[:, 0]).sum() / 2)


def test_a_box_has_twelve_sharp_edges():
    sheet, _ = triangulate(shapely.box(0, 0, 2, 1))
    _, segments = edges_of(between(sheet, np.ones(4), np.zeros(4)))
    assert len(segments) == 12


def test_the_eye_sees_all_and_fills_the_picture():
    box = box_corners(np.array([[-3.0, 2.0, 0.0], [7.0, 5.0, 2.0]]))
    direction = np.array([0.5, 0.7, 0.5])
    size = (900, 500)
    eye = eye_for(direction / np.linalg.norm(direction), box, size[0] / size[1], room=1.0)
    seen = eye.pixels(box, size)
    assert seen.min() > -0.5
    assert (seen < np.array(size) + 0.5).all()
    spread = np.ptp(seen, axis=0) / np.array(size)
    assert spread.max() == pytest.approx(1.0, abs=0.01)
    assert 10 < ANGLE < 60


@settings(max_examples=80)
@given(
    st.lists(st.tuples(st.floats(0, 1000), st.floats(0, 700)), min_size=1, max_size=25),
    st.floats(20, 240),
)
def test_words_never_lie_on_each_other(anchors, width):
    frame = (0.0, 0.0, 1000.0, 700.0)
    taken = [(400.0, 300.0, 500.0, 360.0)]
    sizes = [(width, 30.0)] * len(anchors)
    boxes = [box for box in placed(np.array(anchors), sizes, taken, frame) if box]
    every = [*taken, *boxes]
    for i, one in enumerate(every):
        assert one[0] >= 0 and one[1] >= 0 and one[2] <= 1000 and one[3] <= 700  # noqa: PT018
        for two in every[i + 1 :]:
            assert one[0] >= two[2] or two[0] >= one[2] or one[1] >= two[3] or two[1] >= one[3]


def test_materials_of_the_catalogue_have_tones_of_their_own():
    layers = {
        layer.material
        for area in sampled("back-patio").areas
        for dig in area.digs.values()
        for layer in dig.system.layers
    }
    assert layers <= set(MATERIALS)
    assert len({MATERIALS[name].colour for name in layers}) == len(layers)


def test_importing_the_scene_loads_nothing_heavy():
    code = (
        "import sys, viz.scene.model, viz.scene.staging, viz.pictures.stills, viz.page, "
        "viz.pictures.render, viz.scene.solids\n"
        "print(*{name.split('.')[0] for name in sys.modules})"
    )
    done = subprocess.run(
        [sys.executable, "-c", code], capture_output=True, text=True, check=True,
        cwd=str(sample_sites.path(SITES[0]).parent.parent),
    )  # fmt: skip
    loaded = set(done.stdout.split())
    assert not loaded & {"pyvista", "vtkmodules", "trimesh", "trame", "matplotlib", "scipy", "PIL"}
