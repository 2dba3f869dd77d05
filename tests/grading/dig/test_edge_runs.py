"""The free edges of paving, unrolled."""

from __future__ import annotations

import numpy as np
import pytest
import shapely
from make.plans.advised import patio, planned
from make.sites.handmade import grid_of_spots, site_of

from grading.dig.edge_runs import STEP, EdgeRun, edge_runs, extremes
from grading.geometry.facets import Surface
from grading.geometry.free_edges import free_edges
from grading.geometry.plane import Plane
from grading.ground.model import survey_to_ground
from grading.site.model import Spots

BOX = shapely.box(0, 0, 6, 4)
HOLED = shapely.Polygon(BOX.exterior.coords, [[(2, 1), (3, 1), (3, 2), (2, 2)]])
FINISH = Surface.of(Plane.through((0.0, 0.0), 10.0, 0.02, 0.0), shapely.box(-9, -9, 19, 19))


def ground():
    spots = grid_of_spots(lambda x, y: 9.8 + 0.01 * x + 0 * y)
    return survey_to_ground(site_of(spots, [patio()]))


def test_an_edge_that_nothing_closes_is_one_run_round():
    (run,) = edge_runs(free_edges(BOX, []), FINISH, ground())
    assert run.closed
    assert run.length == pytest.approx(20.0)
    assert (run.along[0], run.along[-1]) == (0.0, pytest.approx(20.0))
    assert np.diff(run.along).max() <= STEP + 1e-9
    assert run.points[0] == pytest.approx(run.points[-1])
    assert run.finish == pytest.approx(10.0 - 0.02 * run.points[:, 1])
    assert run.height == pytest.approx(0.2 - 0.02 * run.points[:, 1] - 0.01 * run.points[:, 0])


def test_a_wall_takes_its_side_away_and_a_hole_is_a_run_of_its_own():
    wall = shapely.LineString([(0, 0), (6, 0)])
    side, hole = edge_runs(free_edges(HOLED, [wall]), FINISH, ground())
    assert not side.closed
    assert hole.closed
    assert side.length == pytest.approx(20.0 - 6.0)
    assert hole.length == pytest.approx(4.0)
    # The paving lies to the left, the way round that an outline is written.
    turn = np.diff(side.points, axis=0)
    inside = side.points[:-1] + turn / 2 + np.column_stack([-turn[:, 1], turn[:, 0]]) * 0.1
    assert shapely.contains_xy(HOLED, inside[:, 0], inside[:, 1]).all()


def test_an_edge_closed_all_round_has_no_run():
    assert edge_runs(free_edges(BOX, [], [BOX.buffer(1)]), FINISH, ground()) == ()


def test_the_heights_of_an_area_are_the_extremes_of_its_runs():
    made = planned([patio()])
    area = made.areas[0]
    heights = np.concatenate([run.height for run in area.edge_runs])
    # Finish 30.1 less 2 %, ground 30 less 2 %: 0.1 above it everywhere.
    assert heights == pytest.approx(0.1)
    assert area.edge_heights == pytest.approx((0.1, -0.1))
    assert sum(run.length for run in area.edge_runs) == pytest.approx(18.0)


def test_ground_that_was_not_surveyed_is_no_number():
    spots = grid_of_spots(lambda x, y: 9.8 + 0 * x, ((0.0, 0.0), (6.0, 2.0)), 0.5)
    site = site_of(spots, [patio()])
    assert isinstance(site.spots, Spots)
    runs = edge_runs(free_edges(BOX, []), FINISH, survey_to_ground(site))
    known = np.concatenate([np.isfinite(run.ground) for run in runs])
    assert known.any()
    assert not known.all()


def standing(*heights, closed=False):
    """Return a run over level ground whose finish stands so high, a metre from one to the next."""
    at = np.arange(float(len(heights)))
    points = np.column_stack([at, 0 * at])
    return EdgeRun(points, at, 10 + np.array(heights), np.full(len(at), 10.0), closed)


def test_the_least_and_the_most_are_found_on_whichever_edge_they_are():
    first, second = standing(0.2, 0.3, 0.2), standing(0.4, 0.1, 0.2)
    assert extremes([first, second]) == ((second, 1), (second, 0))
    assert extremes([second, first]) == ((second, 1), (second, 0))
    assert extremes([standing(np.nan)]) is None


def test_heights_that_no_tape_tells_apart_are_told_at_the_two_ends():
    """Less than a tenth of a millimetre is none: the most at the first of them, the least last."""
    run = standing(0.20001, 0.20002, 0.20003, 0.20001)
    assert extremes([run]) == ((run, 3), (run, 0))


@pytest.mark.parametrize(
    ("heights", "above"),
    [
        ((0.0, 0.2, 0.4, 0.2, 0.0), [(1.5, 2.5)]),
        ((0.4, 0.2, 0.0, 0.2, 0.5), [(0.0, 0.5), (3 + 1 / 3, 4.0)]),
        ((0.4, 0.4, 0.2), [(0.0, 1.5)]),
        # Where the ground was not surveyed it is not known to be high.
        ((0.2, 0.4, np.nan, 0.4, 0.2), [(0.5, 1.0), (3.0, 3.5)]),
        ((np.nan, 0.4, 0.4, np.nan), [(1.0, 2.0)]),
        # 0.15 m takes no holder of its own, and 0.16 m does.
        ((0.0, 0.3 + 0.3 * 0.075 / 0.925, 0.0), []),
        ((0.0, 0.3 + 0.3 * 0.08 / 0.92, 0.0), [(0.92, 1.08)]),
        ((0.2, 0.2), []),
    ],
)
def test_an_edge_stands_higher_from_where_its_height_passes_the_limit(heights, above):
    """Between two points the height is linear; 0.3 m is the limit."""
    assert standing(*heights).above(0.3) == tuple(pytest.approx(each) for each in above)


def test_what_stands_lower_is_the_rest_of_the_edge():
    low = standing(0.0, 0.2, 0.4, 0.2, 0.0)
    assert [each.length for each in low.lower(0.3)] == pytest.approx([1.5, 1.5])
    assert [each.length for each in low.raised(0.3)] == pytest.approx([1.0])
    assert [each.length for each in low.lower(0.5)] == pytest.approx([4.0])


def test_what_stands_lower_round_a_hole_goes_on_over_its_start():
    """A square of 2 m, high along its second side: what is left begins there and ends there."""
    ring = shapely.LineString([(0, 0), (2, 0), (2, 2), (0, 2), (0, 0)])
    points = shapely.get_coordinates(shapely.segmentize(ring, 1.0))
    height = np.array([0.0, 0.0, 0.4, 0.4, 0.4, 0.0, 0.0, 0.0, 0.0])
    run = EdgeRun(points, np.arange(9.0), 10 + height, np.full(9, 10.0), True)
    assert run.above(0.3) == (pytest.approx((1.75, 4.25)),)
    (rest,) = run.lower(0.3)
    assert rest.length == pytest.approx(8.0 - 2.5)
    assert shapely.get_coordinates(rest)[[0, -1]] == pytest.approx(np.array([[1.75, 2], [1.75, 0]]))
    assert rest.distance(shapely.Point(0, 0)) == pytest.approx(0.0, abs=1e-12)


def test_between_two_high_stretches_of_a_hole_both_gaps_are_told():
    ring = shapely.LineString([(0, 0), (3, 0), (3, 3), (0, 3), (0, 0)])
    points = shapely.get_coordinates(shapely.segmentize(ring, 1.0))
    height = np.array([0, 0.4, 0, 0, 0, 0, 0, 0.4, 0.4, 0, 0, 0, 0.0])
    run = EdgeRun(points, np.arange(13.0), 10 + height, np.full(13, 10.0), True)
    assert run.above(0.3) == (pytest.approx((0.75, 1.25)), pytest.approx((6.75, 8.25)))
    assert [each.length for each in run.lower(0.3)] == pytest.approx(
        [6.75 - 1.25, 12 - 8.25 + 0.75]
    )
