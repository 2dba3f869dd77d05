import numpy as np
import pytest
from handmade import PATIO, WALL, grid_of_spots, site_of

from grading.pipeline import plan
from grading.units import FOOT
from grading.walls import walls_in_reach

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
    assert wall.beyond.fall == pytest.approx(0.04, rel=1e-9)
    assert wall.beyond.length == pytest.approx(10 * FOOT - 1.5)
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
