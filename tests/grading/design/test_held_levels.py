"""A finish that nothing ties to a level is told; one level holds all that hang together."""

import numpy as np
import pytest
from make.sites.handmade import PATIO, WALL, grid_of_spots, site_of

from grading.pipeline import plan

FLUSH = {**PATIO, "name": "walk", "use": "walkway", "outline": [[9, 0], [11, 0], [11, 2], [9, 2]]}
BELOW = {**PATIO, "name": "lower", "outline": [[1, 5], [9, 5], [9, 8], [1, 8]]}
APART = {**PATIO, "name": "pad", "outline": [[1, 6.5], [4, 6.5], [4, 8], [1, 8]]}
DOOR = {"name": "door", "at": [3, 0], "sill": 30.3}
STEP = {"down": ["patio", "lower"], "risers": 1, "riser": ["4 in", "7 in"]}
GIVEN = {"at": [1, 0], "z": 30.2, "fall": "2 %", "bearing": 0}


def said(*areas, **kwargs):
    spots = grid_of_spots(lambda x, y: 30 - 0.03 * y + 0.02 * np.sin(x))
    made = plan(site_of(spots, areas, house=WALL, **kwargs))
    return [warning for warning in made.warnings if "nothing holds" in warning]


@pytest.mark.parametrize("areas", [[PATIO, FLUSH], [FLUSH, PATIO]])
def test_what_is_flush_with_a_patio_at_a_door_is_held_by_that_door(areas):
    assert said(*areas, doors=[DOOR]) == []


def test_a_level_is_passed_on_over_a_step_and_from_area_to_area():
    assert said(FLUSH, PATIO, BELOW, steps=[STEP], doors=[DOOR]) == []


def test_areas_that_hang_together_and_on_nothing_are_told_together():
    (words,) = said(PATIO, FLUSH)
    assert words.startswith("nothing holds the finish of patio and walk to a level")
    assert "so they lie where the least is dug and refilled" in words


def test_a_given_plane_holds_what_is_flush_with_it():
    assert said({**PATIO, "plane": GIVEN}, FLUSH) == []


def test_an_area_apart_is_not_held_by_the_door_of_another():
    (words,) = said(PATIO, APART, doors=[DOOR])
    assert "the finish of pad to a level: no door, siding or existing paving beside it" in words


@pytest.mark.parametrize(
    ("finish", "words"),
    [
        ({"objective": "least earth"}, "so it lies where the least earth is moved"),
        ({"objective": "gentlest fall"}, "so it lies where it falls the least"),
    ],
)
def test_it_lies_where_the_objective_puts_it(finish, words):
    assert words in said(PATIO, finish=finish)[0]


def test_a_level_that_is_wished_for_holds_it():
    assert said(PATIO, finish={"objective": "elevation", "elevation": 30.1}) == []
