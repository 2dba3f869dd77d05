import numpy as np
import pytest
import shapely
from make.sites.handmade import PATIO, WALL, grid_of_spots, site_of
from msgspec.structs import replace

from grading.dig.drainage import GroundBeyond, wall_fall
from grading.geometry.facets import Facet, Surface
from grading.geometry.plane import Plane
from grading.pipeline import plan
from grading.site.walls import walls_in_reach
from grading.units import FOOT

GIVEN = {"at": [1, 0], "z": 30.2, "fall": "2 %", "bearing": 0}


def planned(height, outline, house=WALL, **kwargs):
    area = {**PATIO, "outline": outline, "plane": GIVEN}
    return plan(site_of(grid_of_spots(height), [area], house=house, **kwargs)).areas[0]


def names(house, outline):
    site = site_of(grid_of_spots(lambda x, y: 0 * x), [{**PATIO, "outline": outline}], house=house)
    walls = walls_in_reach(site.house, site.areas[0].polygon, 10 * FOOT)
    return {wall.name: wall for wall in walls}


def test_a_deep_patio_is_held_over_the_first_ten_feet_alone():
    wall = planned(lambda x, y: 30 - 0.02 * y, PATIO["outline"]).walls[0]
    assert wall.fall_away == pytest.approx(0.02)
    assert wall.distance == pytest.approx(10 * FOOT)
    assert wall.beyond is None


def test_a_shallow_patio_leaves_ground_to_look_at():
    outline = [[1, 0], [9, 0], [9, 1.5], [1, 1.5]]
    wall = planned(lambda x, y: 30 - 0.04 * y, outline).walls[0]
    assert wall.distance == pytest.approx(1.5)
    assert (wall.near, wall.over) == pytest.approx((0.0, 1.5))
    assert wall.beyond.fall == pytest.approx(0.04, rel=1e-9)
    assert wall.beyond.length == pytest.approx(10 * FOOT - 1.5)
    assert wall.beyond.at[1] == pytest.approx(1.5)
    assert wall.beyond_words == "the ground beyond the paving in front of wall 1"
    assert not wall.unsurveyed


def test_the_worst_place_along_the_wall_is_found():
    outline = [[1, 0], [9, 0], [9, 1.5], [1, 1.5]]

    def height(x, y):
        return 30 - 0.04 * y + np.where(np.abs(x - 7) < 0.8, 0.08 * np.maximum(y - 1.5, 0), 0)

    beyond = planned(height, outline).walls[0].beyond
    assert beyond.fall < 0
    assert beyond.at[0] == pytest.approx(7, abs=1)


def test_both_walls_of_an_inside_corner_are_in_reach():
    house = {"walls": [[-1, 0], [9, 0], [9, 8]], "inside": [10.5, -1]}
    found = names(house, PATIO["outline"])
    assert set(found) == {"wall 1", "wall 2"}
    assert found["wall 2"].outward.tolist() == [-1.0, 0.0]


def test_a_wall_round_the_corner_has_no_paving_in_front():
    house = {"walls": [[-1, 0], [5, 0], [5, -8]], "inside": [0, -4]}
    assert set(names(house, [[0, 0], [4, 0], [4, 4], [0, 4]])) == {"wall 1"}


@pytest.mark.parametrize("off", [-5e-4, 0.0, 5e-4])
def test_paving_flush_with_the_end_of_a_wall_is_not_in_front_of_it(off):
    """A side written to a millimetre reaches past the wall's line by half of one."""
    house = {"walls": [[0, 6], [0, 0], [9, 0]], "inside": [4, 3]}
    found = names(house, [[off, 0], [9, 0], [9, -30], [off, -30]])
    assert set(found) == {"wall 2"}
    site = {"walls": [[0, 40], [0, 0], [9, 0]], "inside": [4, 3]}
    assert set(names(site, [[off, 38], [off, -3], [-3, -3], [-3, 38]])) == {"wall 1"}


def test_a_strip_a_hair_wide_adds_nothing_to_what_lies_in_front_of_a_wall():
    house = {"walls": [[0, 0], [6, 0]], "inside": [3, -3]}
    patio = [[1, 0], [7, 0], [7, 2.8], [5.9995, 2.8], [5.9995, 1], [1, 1]]
    wall = names(house, patio)["wall 1"]
    assert wall.distance == pytest.approx(1.0)
    assert wall.front.area == pytest.approx(5.0, abs=2e-3)


def test_paving_behind_another_wing_is_not_in_front_of_a_wall():
    # A narrow court: what lies past the far wing is not in front of the near wall.
    house = {"walls": [[0, 5], [0, 0], [0.5, 0], [0.5, -2], [1, -2], [1, 5]], "inside": [0.2, -3]}
    assert "wall 1" not in names(house, [[1.2, 0], [3, 0], [3, 4], [1.2, 4]])


def test_a_house_far_away_asks_nothing():
    assert names(WALL, [[1, 4], [9, 4], [9, 6], [1, 6]]) == {}
    assert walls_in_reach(None, PATIO_POLYGON, 3.0) == ()


PATIO_POLYGON = site_of(grid_of_spots(lambda x, y: 0 * x), [PATIO]).areas[0].polygon


@pytest.mark.parametrize("turned", [False, True])
def test_of_planes_before_a_wall_the_one_that_falls_least_is_told(turned):
    site = site_of(grid_of_spots(lambda x, y: 30 - 0.02 * y), [PATIO], house=WALL)
    outline = site.areas[0].polygon
    (wall,) = walls_in_reach(site.house, outline, 10 * FOOT)
    # The gentle plane has the less paving, and comes first or last.
    facets = [
        Facet(shapely.box(-2, -3, 3, 8), Plane(30.2, 0, -0.015)),
        Facet(shapely.box(3, -3, 12, 8), Plane(30.2, 0, -0.03)),
    ]
    surface = Surface(tuple(facets[::-1] if turned else facets)).over(outline)
    found = wall_fall(wall, surface, None, False)
    assert found.fall_away == pytest.approx(0.015)


def test_a_plane_answers_to_a_wall_that_stands_farther_off_than_another():
    house = {"walls": [[-1, 0], [9, 0], [9, 8]], "inside": [10.5, -1]}
    site = site_of(
        grid_of_spots(lambda x, y: 30 + 0 * x),
        [{**PATIO, "outline": [[5, 0], [9, 0], [9, 4], [5, 4]]}],
        house=house,
    )
    walls = {wall.name: wall for wall in
             walls_in_reach(site.house, site.areas[0].polygon, 10 * FOOT)}  # fmt: skip
    # Parted from the corner outward, each half lies before both walls.
    along_first = shapely.Polygon([[9, 0], [2, 0], [2, 7]])
    along_second = shapely.Polygon([[9, 0], [9, 7], [2, 7]])
    for wall in walls.values():
        assert wall.parts_before([along_first, along_second]) == [0, 1]
    # What clips the front of a wall by less than half a foot answers to the other alone.
    clip, rest = (
        shapely.box(0, 0, 9 - 10 * FOOT + 0.1, 9),
        shapely.box(9 - 10 * FOOT + 0.1, 0, 9, 9),
    )
    assert walls["wall 2"].parts_before([clip, rest]) == [1]
    assert walls["wall 1"].parts_before([clip, rest]) == [0, 1]


def test_paving_behind_part_of_a_wing_is_not_in_front_of_the_wall_there():
    # The wing stands before the half of the wall, and paving lies on both sides of it.
    house = {"walls": [[0, 0], [4, 0], [4, 1], [2, 1], [2, 1.5], [4.5, 1.5], [4.5, -3], [0, -3],
                       [0, 0]], "inside": [1, -1]}  # fmt: skip
    wall = names(house, [[0, 0], [1.9, 0], [1.9, 1.6], [4, 1.6], [4, 3], [0, 3]])["wall 1"]
    assert wall.front.area == pytest.approx(1.9 * 3 + 0.1 * 1.4, abs=1e-3)


@pytest.mark.parametrize("jog", [0.03, -0.03])
def test_a_wall_of_an_inch_is_read_as_any_other(jog):
    """A tape that is off by an inch draws a wall of 0.1 ft, and what touches it is a line."""
    house = {"walls": [[-1, 0], [4, 0], [4, jog], [4.03, jog], [4.03, 0], [11, 0]],
             "inside": [5, -3]}  # fmt: skip
    made = planned(lambda x, y: 30 - 0.02 * y, PATIO["outline"], house)
    assert {"wall 1", "wall 5"} <= {wall.wall.name for wall in made.walls}
    fan = [[0, 0], [3, 0.02], [3.02, 0], [3.05, 0.01], [11, 0.6]]
    names({"walls": fan, "inside": [5, -3]}, [[1, 0.6], [9, 0.6], [9, 5], [1, 5]])


@pytest.mark.parametrize("off", [-1e-6, 0.0, 1e-6])
def test_a_strip_of_ground_as_long_as_tells_a_fall_is_told(off):
    """3 ft between a wall and the paving, however the coordinates were rounded."""
    out = 3 * FOOT + off
    wall = planned(lambda x, y: 30 - 0.04 * y, [[1, out], [9, out], [9, 5], [1, 5]]).walls[0]
    assert wall.beyond is not None
    assert wall.beyond.fall == pytest.approx(0.04, rel=1e-3)
    assert wall.beyond_words == "the ground between wall 1 and the paving"


def test_paving_that_begins_off_the_wall_falls_over_its_own_length():
    """From 1.2 m to 2.7 m out: 1.5 m of paving, and not the 2.7 m that it goes out."""
    wall = planned(lambda x, y: 30 - 0.02 * y, [[1, 1.2], [9, 1.2], [9, 2.7], [1, 2.7]]).walls[0]
    assert wall.distance == pytest.approx(2.7)
    assert wall.near == pytest.approx(1.2)
    assert wall.over == pytest.approx(1.5)
    assert wall.drop == pytest.approx(0.02 * 1.5)
    for out, said in ((1.1, "between wall 1 and the paving"), (1.2, "beyond the paving in front")):
        there = GroundBeyond(0.02, np.array([5.0, out]), 1.0)
        assert replace(wall, beyond=there).beyond_words.startswith(f"the ground {said}")


def test_ground_beyond_that_was_surveyed_in_part_says_so():
    """The survey ends along a slanted line: some rays go past it, and others tell a fall."""
    spots = grid_of_spots(lambda x, y: 30 - 0.04 * y)
    spots = spots[spots[:, 1] <= 6 - 0.6 * (spots[:, 0] - 1)]
    area = {**PATIO, "outline": [[1, 0], [9, 0], [9, 1.2], [1, 1.2]], "plane": GIVEN}
    (wall,) = plan(site_of(spots, [area], house=WALL)).areas[0].walls
    assert wall.beyond.fall == pytest.approx(0.04, rel=1e-6)
    assert wall.unsurveyed


def test_a_plane_that_lies_before_another_wall_alone_is_not_held_to_this_one():
    """The paving goes round an outside corner: each plane answers to the wall it lies before."""
    house = {"walls": [[-1, 3], [4, 3], [4, -5]], "inside": [0, -1]}
    outline = [[0, 3], [4, 3], [4, -0.5], [8, -0.5], [8, 7], [0, 7]]
    site = site_of(grid_of_spots(lambda x, y: 30 + 0 * x), [{**PATIO, "outline": outline}],
                   house=house)  # fmt: skip
    before_first = Facet(shapely.Polygon([[-9, 3], [4, 3], [14, 13], [-9, 13]]),
                         Plane(30.2, 0, -0.03))  # fmt: skip
    before_second = Facet(shapely.Polygon([[4, 3], [14, 13], [14, -9], [4, -9]]),
                          Plane(30.2, -0.03, 0))  # fmt: skip
    surface = Surface((before_first, before_second)).over(site.areas[0].polygon)
    for wall in walls_in_reach(site.house, site.areas[0].polygon, 10 * FOOT):
        found = wall_fall(wall, surface, None, False)
        assert found.fall_away == pytest.approx(0.03)


@pytest.mark.parametrize(("feet", "told"), [(2.5, False), (3.1, True)])
def test_a_strip_of_ground_shorter_than_three_feet_tells_no_fall(feet, told):
    """From its roughness alone it could fall either way; and nothing of it was left unsurveyed."""
    out = feet * FOOT
    wall = planned(lambda x, y: 30 - 0.04 * y, [[1, out], [9, out], [9, 5], [1, 5]]).walls[0]
    assert (wall.beyond is not None) == told
    assert not wall.unsurveyed


def test_ground_beyond_of_which_nothing_was_surveyed_says_so():
    spots = grid_of_spots(lambda x, y: 30 - 0.04 * y)
    spots = spots[spots[:, 1] <= 1.0]
    area = {**PATIO, "outline": [[1, 0], [9, 0], [9, 0.8], [1, 0.8]], "plane": GIVEN}
    (wall,) = plan(site_of(spots, [area], house=WALL)).areas[0].walls
    assert (wall.beyond, wall.unsurveyed) == (None, True)


@pytest.mark.parametrize(("twist", "least"), [(0.01, 0.005), (0.0, 0.03)])
def test_a_sliver_before_a_wall_counts_where_it_stands_for_a_warp(twist, least):
    """A facet 0.1 m deep of a ruled surface is that surface; by itself it is too short to tell."""
    outline = shapely.box(1, 0, 9, 4)
    near = Facet(shapely.box(-9, -9, 19, 0.1), Plane(30.2, 0, -0.005))
    far = Facet(shapely.box(-9, 0.1, 19, 19), Plane(30.2025, 0, -0.03))
    surface = Surface((near, far), outline, twist)
    area = {**PATIO, "outline": [[1, 0], [9, 0], [9, 4], [1, 4]]}
    site = site_of(grid_of_spots(lambda x, y: 30 - 0.04 * y), [area], house=WALL)
    (wall,) = walls_in_reach(site.house, outline, 10 * FOOT)
    found = wall_fall(wall, surface, None, False)
    assert found.fall_away == pytest.approx(least)
