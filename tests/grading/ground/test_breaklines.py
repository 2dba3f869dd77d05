"""Breaklines as edges of the ground."""

from __future__ import annotations

import numpy as np
import pytest

from grading.errors import SiteError
from grading.ground.breaklines import with_breaklines
from grading.ground.model import surface
from grading.ground.spots import SpotNames
from grading.units import FOOT

NAMES = SpotNames(unit="ft")
NAN = np.nan
# a ditch along y = 5: without its breakline the long thin triangles bridge it
DITCH = np.array(
    [[0, 0, 1], [10, 0, 1], [0, 10, 1], [10, 10, 1], [0, 5, 0], [10, 5, 0], [5, 4, 0.8]]
)


def problem(points, lines):
    with pytest.raises(SiteError) as refused:
        with_breaklines(np.array(points, float), [np.array(line, float) for line in lines], NAMES)
    (found,) = refused.value.problems
    return found


def test_a_breakline_keeps_the_ditch_open():
    along = np.column_stack((np.linspace(0.1, 9.9, 50), np.full(50, 5.0)))
    assert surface(DITCH).elevation(along).max() > 0.1
    ditch = surface(DITCH, breaklines=[DITCH[[4, 5], :2]])
    assert ditch.elevation(along) == pytest.approx(0)
    assert ditch.spots == 7


def test_no_breakline_adds_nothing():
    points, edges = with_breaklines(DITCH, [], NAMES)
    assert points is DITCH
    assert edges.shape == (0, 2)


def test_a_vertex_takes_the_spot_within_two_centimetres():
    points, edges = with_breaklines(DITCH, [np.array([[0.014, 5, NAN], [10, 5.014, NAN]])], NAMES)
    assert len(points) == 7
    assert edges.tolist() == [[4, 5]]


def test_a_vertex_away_from_every_spot_needs_an_elevation():
    found = problem(DITCH * FOOT, [np.array([[0, 5], [7, 5]]) * FOOT])
    assert found.where == "site.toml, key ground.breaklines[1][2]"
    assert "x = 7, y = 5, 2.24 ft from the nearest spot" in found.found
    assert "20 mm" in found.expected
    assert "[x, y, z]" in found.mend


def test_a_vertex_with_its_own_elevation_becomes_a_point():
    ground = surface(DITCH, breaklines=[np.array([[0, 5, NAN], [5, 6, -0.5], [10, 5, NAN]])])
    assert ground.elevation(np.array([[5, 6], [2.5, 5.5]])) == pytest.approx([-0.5, -0.25])
    assert ground.spots == 7
    assert len(ground.points) == 8


def test_a_breakline_outside_the_spots_extends_the_survey():
    ground = surface(DITCH, breaklines=[np.array([[0, 5, 0], [-3, 5, -0.2]])])
    assert ground.surveyed.area == pytest.approx(100 + 15)
    assert ground.elevation(np.array([[-1.5, 5]])) == pytest.approx([-0.1])


def test_a_vertex_shared_by_two_lines_is_one_point():
    one, two = np.array([[0, 5, NAN], [5, 6, 0.3]]), np.array([[5, 6, NAN], [10, 5, NAN]])
    points, edges = with_breaklines(DITCH, [one, two], NAMES)
    assert len(points) == 8
    assert edges.tolist() == [[4, 7], [7, 5]]


def test_two_elevations_at_one_vertex_are_refused():
    found = problem(DITCH * FOOT, [np.array([[0, 5, 0.5], [10, 5, 0]]) * FOOT])
    assert found.where == "site.toml, key ground.breaklines[1][1]"
    assert found.found == "elevation 0.5 ft at x = 0, y = 5, where the survey has 0 ft"
    found = problem(
        DITCH * FOOT,
        [np.array([[0, 5, 0], [5, 6, 1]]) * FOOT, np.array([[5, 6, 2], [10, 5, 0]]) * FOOT],
    )
    assert "where another vertex has 1 ft" in found.found


def test_spots_on_the_way_are_honoured():
    """Two spots shot along a kerb, rounded to 0.01 ft, lie 2 mm beside the straight line."""
    kerb = np.concatenate((DITCH, [[7, 5.002, 0.03], [3, 4.998, 0.01]]))
    edges = with_breaklines(kerb, [kerb[[4, 5], :2]], NAMES)[1]
    assert edges.tolist() == [[4, 8], [8, 7], [7, 5]]
    ground = surface(kerb, breaklines=[kerb[[4, 5], :2]])
    assert ground.elevation(np.array([[1.5, 4.999], [5, 5]])) == pytest.approx([0.005, 0.02])


def test_a_spot_beside_the_line_stays_beside_it():
    foot_of_kerb = np.concatenate((DITCH, [[5, 5.01, -0.15]]))
    assert with_breaklines(foot_of_kerb, [DITCH[[4, 5], :2]], NAMES)[1].tolist() == [[4, 5]]


def test_crossing_lines_are_refused_with_both_named():
    found = problem(DITCH * FOOT, [DITCH[[4, 5], :2] * FOOT, DITCH[[0, 3], :2] * FOOT])
    assert found.where == "site.toml, key ground.breaklines[1]"
    assert found.found == "a crossing with breaklines[2] at x = 5, y = 5"


def test_a_line_that_crosses_itself_is_refused():
    found = problem(DITCH, [DITCH[[0, 3, 2, 1], :2]])
    assert "a crossing with itself" in found.found


def test_lines_may_meet_at_a_spot():
    spots = np.concatenate((DITCH, [[5, 5, 0.0]]))
    ground = surface(spots, breaklines=[spots[[4, 5], :2], spots[[0, 3], :2]])
    assert ground.elevation(np.array([[2.5, 2.5], [2.5, 5]])) == pytest.approx([0.5, 0])


def test_a_line_may_end_on_another():
    points, edges = with_breaklines(
        DITCH, [DITCH[[4, 5], :2], np.array([[5, 5, 0.2], [5, 4, NAN]])], NAMES
    )
    assert edges.tolist() == [[4, 7], [7, 5], [7, 6]]
    assert len(points) == 8


def test_a_line_drawn_twice_is_one_line():
    twice = [DITCH[[4, 5], :2], DITCH[[5, 4], :2]]
    assert surface(DITCH, breaklines=twice).elevation(np.array([[5, 5]])) == pytest.approx([0])


def test_a_closed_line_leaves_the_ground_inside_it():
    ground = surface(DITCH, breaklines=[DITCH[[0, 1, 3, 2, 0], :2]])
    assert np.isfinite(ground.elevation(np.array([[5, 5], [1, 8]]))).all()


def test_a_line_of_one_place_is_refused():
    assert "one place" in problem(DITCH, [np.array([[0, 5], [0.01, 5]])]).found


def test_a_vertex_that_is_no_number_is_refused():
    assert "finite" in problem(DITCH, [np.array([[0, NAN], [10, 5]])]).expected
