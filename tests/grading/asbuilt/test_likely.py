"""Shots that lie far off are said to be what they likely are: of another layer, in another unit.

By another route: a plane in closed form, 60 mm of pavers on 25 mm of bedding on 150 mm of base, its
levels written down by hand.
"""

import pytest
from make.sites.compared import folder

import grading
from grading.asbuilt.model import as_built, shots_of_areas
from grading.asbuilt.shots import read_shots
from grading.asbuilt.words import lines_of
from grading.setout.model import set_out

PLACES = [(x, y) for x in (-2, 0, 2) for y in (0, 1.5, 3)]
SUBGRADE = "lie where the subgrade was to be: likely they are of that"
FEET = (
    "Taken as feet, most shots lie about as high as designed: likely they are that; write ft after "
    "each level"
)


@pytest.fixture(scope="module")
def plan(tmp_path_factory):
    return grading.plan(grading.read_site(folder(tmp_path_factory.mktemp("likely") / "a")))


def said(plan, tmp_path, layer, depth, under=None, per=1.0):
    def shots(down):
        rows = [f"{x},{y},{(10.03 - 0.03 * y - down) / per:.4f}" for x, y in PLACES]
        path = tmp_path / "shots.csv"
        path.write_text("\n".join(["x,y,z", *rows]), encoding="utf-8")
        ((area, own),) = shots_of_areas(plan, read_shots(path, "m", set_out(plan), None))
        return area, own

    area, own = shots(depth)
    below = None if under is None else shots(under)[1]
    found = as_built(plan, area, own, layer, below)
    return [words for _, words in lines_of(found, "m")]


def told(said, words):
    return [each for each in said if words in each]


def test_shots_of_the_subgrade_under_a_surface_are_named_once(plan, tmp_path):
    """The bedding lies 60 mm under the surface, the subgrade 235 mm."""
    (line,) = told(said(plan, tmp_path, "surface", 0.0, under=0.232), SUBGRADE)
    assert line == (
        "Thickness at 9 places: 232 mm to 232 mm, designed 60 mm. Most shots under it lie where "
        "the subgrade was to be: likely they are of that"
    )


def test_shots_of_another_layer_than_they_are_said_to_be_are_named(plan, tmp_path):
    (line,) = told(said(plan, tmp_path, "base", 0.232), SUBGRADE)
    assert line.startswith("The top of the base of terrace: 9 of 9 shots beyond the")
    lies = "lie where the top of the base was to be: likely they are of that"
    assert told(said(plan, tmp_path, "surface", 0.085), lies)


def test_levels_in_feet_where_metres_are_meant_are_named(plan, tmp_path):
    """10.03 m are 32.91 ft."""
    assert told(said(plan, tmp_path, "surface", 0.0, per=0.3048), FEET)


@pytest.mark.parametrize(("layer", "depth"), [("surface", 0.0), ("surface", 0.03), ("base", 0.15)])
def test_shots_that_are_right_or_are_only_low_are_said_to_be_nothing_else(
    plan, tmp_path, layer, depth
):
    lines = said(plan, tmp_path, layer, depth, under=0.06 if layer == "surface" else 0.235)
    assert not told(lines, "likely")
