import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from make.sites.handmade import PATIO, WALL, grid_of_spots, site_of

from grading.design.places import Places
from grading.design.points import named_points
from grading.pipeline import plan
from grading.site.model import House
from grading.site.walls import named_walls
from grading.units import FOOT, INCH, read_length

HOUSE = {"walls": [[0, 0], [8, 0], [8, 5]], "inside": [10, -2]}
"""An inside corner: wall 1 faces north, wall 2 faces west."""


def places(unit="m", house=HOUSE):
    return Places(unit, named_walls(House.model_validate(house, context={"unit": "m"})))


@pytest.mark.parametrize(
    ("at", "said"),
    [
        # Facing wall 1 from the yard one looks south, and its left end is the eastern one.
        ((2, 1), "6 m from the left end of wall 1, 1 m out"),
        ((7.5, 3), "2 m from the left end of wall 2, 0.5 m out"),
        ((3, 0), "5 m from the left end of wall 1, at the wall"),
        ((-1.25, 0.5), "1.25 m past the right end of wall 1, 0.5 m out"),
        ((8, 6), "1 m past the left end of wall 2, at the wall"),
        ((7.5, 7), "2 m past the left end of wall 2, 0.5 m out"),
        # Behind both lines: no distance out is negative.
        ((9.5, -2), "1.5 m past the left end of wall 1, 2 m back from its line"),
        # Just past the corner of the house, and no 9 m along the other wall from it.
        ((-1, -0.25), "1 m past the right end of wall 1, 0.25 m back from its line"),
    ],
)
def test_a_place_is_told_along_the_nearest_wall_and_out_from_it(at, said):
    assert places().at(np.array(at, float)) == said


def test_what_is_said_of_a_wall_is_told_along_that_wall():
    at = np.array([7.75, 0.5])
    assert places().at(at) == "4.5 m from the left end of wall 2, 0.25 m out"
    assert places().at(at, "wall 1") == "0.25 m from the left end of wall 1, 0.5 m out"


def test_in_feet_it_is_told_to_the_inch():
    at = np.array([8 - (4 * FOOT + 8.2 * INCH), 3 * FOOT])
    assert places("ft").at(at) == "4' 8\" from the left end of wall 1, 3' 0\" out"


@given(st.floats(-3, 12), st.floats(-1, 9), st.floats(0, 360), st.sampled_from([1.0, 7e5]))
def test_what_is_told_can_be_taped_back_to_the_place(x, y, turn, far):
    """However the house stands, and wherever the plan has its origin."""
    cos, sin = np.cos(np.radians(turn)), np.sin(np.radians(turn))
    spin = np.array([[cos, sin], [-sin, cos]])
    moved = {
        "walls": (np.array(HOUSE["walls"]) @ spin + far).tolist(),
        "inside": (np.array(HOUSE["inside"]) @ spin + far).tolist(),
    }
    at = np.array([x, y]) @ spin + far
    said = places(house=moved).at(at)
    first, out = said.split(", ")
    along, wall = first.split(" the ")
    walls = {name: rest for name, *rest in named_walls(House(**moved))}
    start, end, outward = walls[wall.split(" of ")[1]]
    left = np.array([outward[1], -outward[0]])
    if (end - start) @ left > 0:
        start, end = end, start
    by = read_length(" ".join(along.split()[:2]), "m")
    if "past the left" in said:
        by = -by
    if "past the right" in said:
        by += float(np.hypot(*(end - start)))
    if out == "at the wall":
        off = 0.0
    elif out.endswith(" out"):
        off = read_length(out.removesuffix(" out"), "m")
    else:
        off = -read_length(out.removesuffix(" back from its line"), "m")
    found = start + by * (end - start) / np.hypot(*(end - start)) + off * outward
    assert np.hypot(*(found - at)) < 0.02


def test_without_a_house_it_is_told_from_two_corners_by_the_letters_of_the_drawings():
    made = plan(site_of(grid_of_spots(lambda x, y: 30 - 0.02 * y), [PATIO]))
    points = named_points(made.areas[0])
    corner = dict(zip(points.names, points.xy, strict=True))
    near, far = sorted(corner, key=lambda name: float(np.hypot(*(corner[name] - [2, 1]))))[:2]
    ways = [float(np.hypot(*(corner[name] - [2, 1]))) for name in (near, far)]
    assert made.places.at(np.array([2.0, 1.0])) == (
        f"{ways[0]:.2f} m from corner {near} and {ways[1]:.2f} m from corner {far} of patio"
    )
    assert made.places.at(corner["b"]) == "at corner b of patio"


def test_every_place_that_a_plan_tells_can_be_found_with_a_tape():
    """A house far from the origin of the plan, as a surveyor's coordinates have it."""
    spots = grid_of_spots(lambda x, y: 30 - 0.02 * y)
    origin = np.array([640_000, 213_000])
    spots[:, :2] += origin
    house = {key: (np.array(value) + origin).tolist() for key, value in WALL.items()}
    outline = (np.array(PATIO["outline"]) + origin).tolist()
    made = plan(site_of(spots, [{**PATIO, "outline": outline}], house=house))
    for check in made.checks:
        assert "near (" not in check.text
        assert "640" not in check.text
