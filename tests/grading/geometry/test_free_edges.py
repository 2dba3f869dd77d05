"""The free edge of paving: one definition for what is ordered, checked and drawn."""

from __future__ import annotations

import numpy as np
import pytest
import shapely
from make.plans.advised import patio, planned
from make.plans.sampled import sampled
from make.sites.handmade import grid_of_spots, site_of

import sample_sites
from grading.design.edge_holding import raised_stretches
from grading.dig.edge_runs import EdgeRun
from grading.geometry.free_edges import BESIDE, SHORTEST_RUN, free_edges
from grading.order.restrained import restrained_edges
from grading.order.takeoff import takeoffs_of
from grading.pipeline import plan
from grading.units import FOOT, INCH

BOX = shapely.box(0, 0, 6, 4)


def lengths(paving, *lines, bodies=()):
    return sorted(one.length for one in free_edges(paving, map(shapely.LineString, lines), bodies))


def test_what_runs_away_from_the_end_of_a_wall_is_free_from_its_corner_on():
    assert lengths(BOX, [(-1, 0), (7, 0)]) == pytest.approx([14])
    # A wall that ends half way holds half.
    assert lengths(BOX, [(-1, 0), (3, 0)]) == pytest.approx([17])
    # One round a corner holds both sides of it.
    assert lengths(BOX, [(-1, 0), (6, 0), (6, 9)]) == pytest.approx([10])


def test_what_is_no_farther_than_two_inches_holds():
    near, far = BESIDE - 1e-4, BESIDE + 1e-4
    assert lengths(BOX, [(-1, -near), (7, -near)]) == pytest.approx([14])
    assert lengths(BOX, [(-1, -far), (7, -far)]) == pytest.approx([20])
    # Paving drawn as much too far into the house is held all the same.
    assert lengths(BOX, [(-1, near), (7, near)]) == pytest.approx([14])


def test_a_line_that_runs_off_holds_as_far_as_it_is_near():
    """It rises 1 in 10: two inches away 20 in from where it touches."""
    assert lengths(BOX, [(0, 0), (6, -0.6)]) == pytest.approx([20 - 10 * BESIDE])


def test_a_line_across_and_one_that_only_touches_hold_nothing():
    assert lengths(BOX, [(3, -2), (3, 9)]) == pytest.approx([20])
    assert lengths(BOX, [(6, 4), (9, 4)]) == pytest.approx([20])
    assert lengths(BOX, [(-2, -2), (2, 2)]) == pytest.approx([20])


def test_what_is_left_between_two_corners_takes_none():
    short = SHORTEST_RUN - 0.01
    assert lengths(BOX, [(0, 0), (3, 0)], [(3 + short, 0), (6, 0)]) == pytest.approx([14])
    long = SHORTEST_RUN + 0.01
    assert lengths(BOX, [(0, 0), (3, 0)], [(3 + long, 0), (6, 0)]) == pytest.approx([long, 14])


def test_an_edge_within_other_paving_is_held():
    assert lengths(BOX, bodies=[shapely.box(5, -1, 9, 9)]) == pytest.approx([14])


def test_two_round_edges_drawn_with_other_chords_hold_each_other():
    one = shapely.Point(0, 0).buffer(3.0, quad_segs=17) & shapely.box(-9, 0, 9, 9)
    other = shapely.box(-9, 0, 9, 9) - shapely.Point(0, 0).buffer(3.0, quad_segs=40)
    assert lengths(one, other.exterior.coords) == pytest.approx([6.0], abs=0.01)


@pytest.mark.parametrize("turn", [0.0, 0.3, 1.9])
@pytest.mark.parametrize("reverse", [False, True])
@pytest.mark.parametrize("start", range(4))
def test_neither_the_turn_nor_the_way_round_matters(turn, reverse, start):
    spin = np.array([[np.cos(turn), -np.sin(turn)], [np.sin(turn), np.cos(turn)]])
    ring = np.roll(np.array([(0, 0), (6, 0), (6, 4), (0, 4)], float), start, axis=0) @ spin.T
    wall = np.array([(-1, 0), (2, 0)], float) @ spin.T
    paving = shapely.Polygon(ring[::-1] if reverse else ring)
    assert lengths(paving, wall) == pytest.approx([18])


@pytest.mark.parametrize("name", sample_sites.names())
def test_every_sample_orders_just_the_edge_that_its_plan_draws(name):
    """Drawn free, less what a wall stands along or the concrete of a channel, and stubs of it."""
    made = sampled(name)
    channels = [each.geometry for each in made.site.outfalls
                if each.kind == "drain" and not each.existing]  # fmt: skip
    for area in made.areas:
        takeoff = takeoffs_of(made, area, made.crew)[area.chosen]
        stand = [each.stands for each in takeoff.structures]
        beside = shapely.union_all([*stand, *(line.buffer(2 * BESIDE) for line in channels)])
        edges = [shapely.LineString(run.points) for run in area.edge_runs]
        bare = sum(edge.difference(beside.buffer(INCH / 4)).length for edge in edges)
        assert takeoff.free_edge == pytest.approx(bare, abs=2 * SHORTEST_RUN)
        if not stand and not channels:
            assert takeoff.free_edge == pytest.approx(sum(e.length for e in edges), abs=1e-9)


EDGES_FT = {"front-walk": [54.5], "side-walkway": [40.0]}


@pytest.mark.parametrize("name", EDGES_FT)
def test_the_edges_of_the_samples_are_as_they_are_written(name):
    """Read off their site files: 16 + 6 and 22 + 10 1/2 ft; 36 + 4 ft."""
    made = sampled(name)
    found = [sum(run.length for run in area.edge_runs) / FOOT for area in made.areas]
    assert found == pytest.approx(EDGES_FT[name], abs=1e-6)


def test_no_restraint_is_ordered_where_a_wall_has_to_hold_the_edge():
    """The ground falls 5 % away from a level finish: 6 in down 3.048 m out; the patio is 5 m."""
    spots = grid_of_spots(lambda x, y: 10.0 - 0.05 * y + 0 * x)
    area = {"name": "patio", "outline": [(0, 0), (6, 0), (6, 5), (0, 5)],
            "plane": {"at": [0, 0], "z": 10.0, "fall": "0 %", "bearing": 0}}  # fmt: skip
    made = plan(site_of(spots, [area], house={"walls": [(-2, 0), (9, 0)], "inside": (3, -4)}))
    patio_, job = made.areas[0], takeoffs_of(made, made.areas[0], made.crew)["dense"]
    assert sum(run.length for run in patio_.edge_runs) == pytest.approx(16)
    assert job.free_edge == pytest.approx(2 * 0.1524 / 0.05)
    assert job.held_edge == pytest.approx(16 - 2 * 0.1524 / 0.05)
    assert sorted(line.length for line in restrained_edges(made, patio_)) == pytest.approx(
        [0.1524 / 0.05] * 2
    )


def test_a_patio_by_the_house_is_free_on_three_sides():
    made = planned([patio()])
    assert sum(one.length for one in made.areas[0].free_edges) == pytest.approx(18.0)


def test_the_edge_that_a_wall_holds_has_one_length():
    """Of what is told, what is drawn and what is ordered: a hand's breadth takes no wall."""
    limit = 6 * INCH
    along = np.array([0.0, 1.0, 2.0, 8.0, 9.0])
    # High over 1 m and a little at the start, and over 0.1 m at the end.
    height = np.array([limit + 0.02, limit + 0.02, limit - 0.02, limit - 0.009, limit + 0.001])
    points = np.column_stack([along, 0 * along])
    run = EdgeRun(points, along, 10 + height, 10 + 0 * height, False)
    (high,) = run.above(limit)
    assert high == pytest.approx((0.0, 1.5))
    assert [line.length for line in run.raised(limit)] == pytest.approx([1.5])
    assert [line.length for line in run.lower(limit)] == pytest.approx([7.5])
    (told,) = raised_stretches([run], limit)
    assert (told.length, told.height) == pytest.approx((1.5, limit + 0.02))
