"""A door whose place was written wrong fails a check, wherever on the paving it lands."""

import pytest
from make.sites.handmade import PATIO, grid_of_spots, site_of

from grading.pipeline import plan

HOUSE = {"walls": [[0, 0], [12, 0]], "inside": [6, -3]}
SPOTS = grid_of_spots(lambda x, y: 30.0 - 0.02 * y)


def checks(at, **limits):
    door = {"name": "back door", "at": at, "sill": 30.2}
    made = plan(site_of(SPOTS, [PATIO], house=HOUSE, doors=[door], limits=limits))
    return [check for check in made.checks if check.rule == "door-in-wall"]


@pytest.mark.parametrize("at", [[5, 0], [5, 0.02], [5, 0.6]])
def test_a_door_in_a_wall_or_in_a_bay_before_it_passes_unsaid(at):
    assert checks(at) == []


def test_a_door_with_x_and_y_changed_over_fails_and_is_told_so():
    (check,) = checks([0, 4])
    assert (check.status, check.where) == ("fail", "back door")
    assert check.value == pytest.approx(4.0)
    assert "back door stands in no wall, 4 m off the foundation line" in check.text
    assert "with its x and y changed over it stands in wall 1" in check.text


def test_a_door_amid_the_paving_fails_unless_the_site_says_that_it_may_stand_there():
    (check,) = checks([5, 3])
    assert check.status == "fail"
    assert "correct its `at`" in check.text
    assert checks([5, 3], **{"door-in-wall": 4.0}) == []
