from itertools import pairwise

import numpy as np
import pytest
import shapely
from make.sites.handmade import PATIO, WALL, grid_of_spots, site_of
from make.sites.site_folder import AREA, HEAD, write_site

from grading.dig.beds import REFILL, beds_of, depth_of
from grading.dig.hole import dug_region, met_side, over_dug
from grading.pipeline import plan
from grading.reading.site_file import read_site
from grading.site.model import GroundSpec
from grading.units import INCH

OVER = 6 * INCH
DENSE, PANEL = 9.375 * INCH, 4.125 * INCH


def flat(x, y):
    return 30 + 0 * x


def level_patio(z, *, ground=None, height=flat, **kwargs):
    """A level patio off on its own, so that every figure is an area times a depth."""
    given = {"at": [1, 2], "z": z, "fall": 0, "bearing": 0}
    area = {**PATIO, "outline": [[1, 2], [9, 2], [9, 6], [1, 6]], "plane": given}
    site = site_of(grid_of_spots(height), [area], ground=ground, **kwargs)
    return plan(site).areas[0]


def test_on_flat_ground_the_dig_is_area_times_depth():
    digs = level_patio(30.0).digs
    hole = (8 + 2 * OVER) * (4 + 2 * OVER)
    for name, depth in [("dense", DENSE), ("open", DENSE), ("panel", PANEL)]:
        dig = digs[name]
        assert dig.dig_area == pytest.approx(hole, rel=1e-12)
        assert dig.cut == pytest.approx(hole * depth, rel=1e-12)
        assert dig.cut_in_outline == pytest.approx(32 * depth, rel=1e-12)
        assert (dig.fill, dig.fill_in_outline) == (0, 0)
        assert (dig.max_dig, dig.mean_dig) == pytest.approx((depth, depth), rel=1e-10)


def test_a_patio_set_high_is_built_up_on_fill():
    area = level_patio(30.0 + DENSE + 0.05)
    dig = area.digs["dense"]
    assert dig.cut == 0
    assert dig.fill == pytest.approx(dig.dig_area * 0.05, rel=1e-9)
    assert dig.max_dig == 0
    assert area.max_raise == pytest.approx(DENSE + 0.05, rel=1e-9)
    assert area.max_fill == pytest.approx(0.05, rel=1e-9)


def test_refill_under_part_of_a_hole_is_a_wedge():
    """Ground that rises at 1 in 20 meets a level formation at x = 4: a wedge from there out."""
    dig = level_patio(30.0 + DENSE, height=lambda x, y: 30 + 0.05 * (x - 4)).digs["dense"]
    long = 4 - (1 - OVER)
    refill = dig.refill
    assert refill.least == 0
    assert refill.greatest == pytest.approx(0.05 * long, rel=1e-9)
    assert refill.mean == pytest.approx(0.05 * long / 2, rel=1e-9)
    assert refill.share == pytest.approx(long / (8 + 2 * OVER), rel=1e-9)
    assert refill.area == pytest.approx(long * (4 + 2 * OVER), rel=1e-9)
    assert refill.volume == dig.fill == pytest.approx(refill.area * refill.mean, rel=1e-12)


def test_no_refill_where_the_hole_ends_at_the_formation():
    assert level_patio(30.0).digs["dense"].refill is None


def test_organics_deeper_than_the_build_up_are_dug_and_refilled():
    depth = 7 * INCH
    digs = level_patio(30.0, ground=GroundSpec(soil="clay", organics=depth)).digs
    dense, panel = digs["dense"], digs["panel"]
    assert dense.cut == pytest.approx(dense.dig_area * DENSE, rel=1e-12)
    assert (dense.fill, dense.fill_for_organics) == (0, 0)
    assert panel.cut == pytest.approx(panel.dig_area * depth, rel=1e-12)
    assert panel.fill == pytest.approx(panel.dig_area * (depth - PANEL), rel=1e-12)
    assert panel.fill_for_organics == pytest.approx(panel.fill, rel=1e-12)
    assert panel.refill_share == pytest.approx(1)
    assert dense.refill is None
    refill = panel.refill
    assert (refill.least, refill.mean, refill.greatest) == pytest.approx([depth - PANEL] * 3)
    assert (refill.area, refill.share) == pytest.approx((panel.dig_area, 1))
    # The plain comparison of ground and plane does not know of organics.
    assert panel.cut_in_outline == pytest.approx(32 * PANEL, rel=1e-12)


def test_refill_for_organics_is_told_apart_from_what_raises_the_hole():
    """Set 50 mm too high over 100 mm of topsoil: the fifty would be filled without it too."""
    dig = level_patio(30.0 + DENSE + 0.05, ground=GroundSpec(organics=0.1)).digs["dense"]
    assert dig.fill == pytest.approx(dig.dig_area * 0.15, rel=1e-9)
    assert dig.fill_for_organics == pytest.approx(dig.dig_area * 0.1, rel=1e-9)


@pytest.mark.parametrize(("litres", "told"), [(0.09, False), (0.11, True)])
def test_refill_is_told_from_a_tenth_of_a_litre(litres, told):
    """A wedge at 1 in 20 over the width of the hole: less than that is rounding, not stone."""
    into = (2 * litres / 1000 / 0.05 / (4 + 2 * OVER)) ** 0.5
    dig = level_patio(30.0 + DENSE, height=lambda x, y: 30 + 0.05 * (x - (1 - OVER) - into)).digs[
        "dense"
    ]
    assert dig.fill == pytest.approx(litres / 1000, rel=1e-6)
    assert (dig.refill is not None) == told


def test_topsoil_swells_as_topsoil_and_subsoil_as_subsoil():
    dig = level_patio(30.0, ground=GroundSpec(soil="clay", organics=0.1)).digs["dense"]
    topsoil = 0.1 * dig.dig_area
    assert dig.organics_volume == pytest.approx(topsoil, rel=1e-12)
    assert dig.spoil_loose == pytest.approx(1.25 * topsoil + 1.30 * (dig.cut - topsoil), rel=1e-12)


def test_organics_that_cross_the_formation_are_integrated_exactly():
    # The ground rises out of the dig along x; organics are 0.1 m: depth = max(h, 0.1).
    area = level_patio(30.0, height=lambda x, y: 30 + 0.05 * (x - 5),
                       ground=GroundSpec(organics=0.1))  # fmt: skip
    dig = area.digs["panel"]
    left, right, width = 1 - OVER, 9 + OVER, 4 + 2 * OVER
    crossing = 5 + (0.1 - PANEL) / 0.05
    beyond = (right - crossing) ** 2 * 0.05 / 2
    assert dig.cut == pytest.approx(((right - left) * 0.1 + beyond) * width, rel=1e-9)
    assert dig.fill == pytest.approx((crossing - left) ** 2 * 0.05 / 2 * width, rel=1e-9)
    assert dig.stripped_deeper.area == pytest.approx((crossing - left) * width, rel=1e-2)
    assert dig.stripped_deeper.bounds[2] == pytest.approx(crossing, abs=0.02)
    assert level_patio(30.0).digs["panel"].stripped_deeper.is_empty


@pytest.mark.parametrize("name", ["dense", "open", "panel"])
def test_cut_less_fill_is_what_the_build_up_and_the_ground_leave(name):
    # Organics add as much refill as cut: the difference never knows of them.
    bare = level_patio(30.1, height=lambda x, y: 30 + 0.04 * np.sin(x + y)).digs[name]
    rooted = level_patio(30.1, height=lambda x, y: 30 + 0.04 * np.sin(x + y),
                         ground=GroundSpec(organics=0.2)).digs[name]  # fmt: skip
    assert rooted.cut - rooted.fill == pytest.approx(bare.cut - bare.fill, abs=1e-12)
    assert rooted.cut > bare.cut


def test_layers_weigh_what_their_footprint_and_thickness_say():
    dig = level_patio(30.0).digs["panel"]
    areas = {part.layer.name: part.area for part in dig.layers}
    assert areas["paver"] == pytest.approx(32)
    assert areas["panel"] == areas["bedding"] == dig.dig_area
    for part in dig.layers:
        assert part.volume == part.area * part.layer.thickness
    assert dig.backfill == pytest.approx((dig.dig_area - 32) * 2.375 * INCH, rel=1e-12)


def test_the_house_is_never_dug_under():
    site = site_of(grid_of_spots(flat), [{**PATIO, "plane": None}], house=WALL)
    dig = plan(site).areas[0].digs["dense"]
    assert dig.polygon.bounds == pytest.approx((1 - OVER, 0, 9 + OVER, 5 + OVER))


def test_two_areas_that_touch_dig_no_ground_twice():
    given = {"at": [1, 2], "z": 30, "fall": 0, "bearing": 0}
    near = {**PATIO, "outline": [[1, 2], [5, 2], [5, 6], [1, 6]], "plane": given}
    far = {**near, "name": "walk", "outline": [[5, 2], [9, 2], [9, 6], [5, 6]]}
    first, second = plan(site_of(grid_of_spots(flat), [near, far])).areas
    together = level_patio(30.0).digs
    for name in ("dense", "open", "panel"):
        split = first.digs[name].cut + second.digs[name].cut
        assert split == pytest.approx(together[name].cut, rel=1e-12)


def test_a_hole_for_a_tree_is_over_dug_too():
    outline = shapely.box(0, 0, 8, 4).difference(shapely.box(3, 1, 5, 3))
    region = dug_region(outline, 0.15, shapely.Polygon())
    assert region.area == pytest.approx(8.3 * 4.3 - 1.7 * 1.7, rel=1e-12)


def test_a_crew_that_knows_its_clay_has_its_own_swell(tmp_path):
    folder = write_site(tmp_path, HEAD + AREA)
    before = plan(read_site(folder)).areas[0].digs["dense"]
    (folder / "crew.toml").write_text('[materials]\nloam-swell = "40 %"\n', encoding="utf-8")
    after = plan(read_site(folder)).areas[0].digs["dense"]
    assert after.cut == before.cut
    assert after.spoil_loose == pytest.approx(before.spoil_loose * 1.40 / 1.25, rel=1e-12)


def test_a_hole_that_something_parts_keeps_every_part_of_it():
    """A kerb stands 20 mm off the paving: what is over-dug beyond it is dug all the same."""
    outline = shapely.box(0, 0, 4, 3)
    whole = dug_region(outline, 0.15, shapely.Polygon())
    assert whole.geom_type == "Polygon"
    parted = dug_region(outline, 0.15, shapely.box(4.02, -1, 4.06, 4))
    assert parted.geom_type == "MultiPolygon"
    assert len(parted.geoms) == 2
    assert parted.area == pytest.approx(whole.area - 0.04 * 3.3)


def test_the_strip_beyond_a_line_that_is_met_goes_on_past_both_its_ends():
    """Where the hole's corners would reach: 0.3 m wide, and as far past either end."""
    outline = shapely.box(0, 0, 4, 3)
    for line in ([[0, 0], [4, 0]], [[4, 0], [0, 0]], [[0, 0], [1, 0], [4, 0]]):
        strip = met_side(np.array(line, float), outline, 0.3)
        off = shapely.symmetric_difference(strip, shapely.box(-0.3, -0.3, 4.3, 0))
        assert off.area == pytest.approx(0, abs=1e-9)
    assert met_side(np.array([[2.0, 0.0]]), outline, 0.3).is_empty


@pytest.mark.parametrize(
    "corners",
    [
        [(0.1, 0.2), (4.3, 0.9), (3.7, 3.3), (0.4, 2.9)],
        # Widened and narrowed again this one comes out another by its last digit.
        [(2.89, 1.4), (2.35, 2.9), (0.26, 4.52), (0.23, 3.98), (-1.47, 2.04)],
    ],
)
def test_a_hole_that_nothing_was_taken_from_keeps_its_corners_to_the_last_digit(corners):
    outline = shapely.Polygon(corners)
    hole = dug_region(outline, 0.1524, shapely.Polygon())
    corners = shapely.get_coordinates(over_dug(outline, 0.1524))
    assert sorted(map(tuple, shapely.get_coordinates(hole)[:-1])) == sorted(
        map(tuple, corners[:-1])
    )


@pytest.mark.parametrize("high", [0.0, 0.05])
def test_beds_are_the_layers_and_where_it_is_refilled_the_refill_at_its_mean(high):
    dig = level_patio(30.0 + DENSE + high).digs["dense"]
    beds = beds_of(dig)
    names = [layer.name for layer in dig.system.layers]
    assert [bed.name for bed in beds] == [*names, *([REFILL] if high else [])]
    assert depth_of(dig) == beds[-1].bottom == pytest.approx(DENSE + high)
    for one, under in pairwise(beds):
        assert under.top == pytest.approx(one.bottom)
