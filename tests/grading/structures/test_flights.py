"""Flights of steps, riser by riser.

Worked figures: R 27 in in 4 risers of 6.75 or 5 of 5.4 in, and 8 risers of 10 in treads run 70 in:
vbhomerepair.com/calculating-stairs (its least tread is wrong, and not used here). With treads of
12 in that fall 2 % the four are 6.57 in: closed form. A foot that falls 2 % across 48 in changes
the bottom riser by 0.96 in, more than the 3/8 in of IRC R311.7.5.1, which 0.78 % keeps.
"""

from __future__ import annotations

import numpy as np
import pytest
import shapely
from make.plans.raised_yard import DOWN, raised

from grading.design.door_steps import door_steps, going_of, pitched_riser
from grading.design.steps import shared_edges
from grading.finish.lawn_steps import edge_at
from grading.structures.flights import (
    flight_of,
    flights_of,
)
from grading.units import FOOT, INCH


@pytest.mark.parametrize(
    ("drop", "count", "tread", "pitch", "riser", "run"),
    [(27, 4, 10, 0.0, 6.75, 30), (27, 5, 10, 0.0, 5.4, 40), (56, 8, 10, 0.0, 7.0, 70),
     (27, 4, 12, 0.02, 6.57, 36)],
)  # fmt: skip
def test_worked_flights(drop, count, tread, pitch, riser, run):
    going = going_of(count, tread * INCH)
    assert going / INCH == pytest.approx(run)
    assert pitched_riser(drop * INCH, count, going, pitch) / INCH == pytest.approx(riser, abs=5e-3)


def flight(count, drop, cross=0.0, tread=12 * INCH, pitch=0.02, landing=0.0):
    head = np.array([[0.0, 0.0], [48 * INCH, 0.0]])
    return flight_of(
        "to the lawn", "steps", "patio", ("patio", "lawn"), head, np.array([0.0, 1.0]),
        lambda xy: np.full(len(xy), 10.0),
        lambda xy: 10.0 - drop + cross * (xy[:, 0] - 24 * INCH), count, tread, pitch, landing,
    )  # fmt: skip


@pytest.mark.parametrize("count", [1, 2, 3, 5])
@pytest.mark.parametrize("landing", [0.0, 36 * INCH])
def test_going_down_riser_by_riser_ends_on_the_foot(count, landing):
    """Walk it: each riser down, each tread out and down by its fall."""
    one = flight(count, 0.6, landing=landing)
    level, out = 10.0, 0.0
    for tread in one.treads:
        level -= one.riser
        assert tread.back == pytest.approx(level)
        deep = landing if landing and tread.number == 1 else 12 * INCH
        assert tread.polygon.area == pytest.approx(deep * 48 * INCH)
        assert tread.top.at(np.array([[0.3, out + deep]]))[0] == pytest.approx(level - 0.02 * deep)
        level, out = level - 0.02 * deep, out + deep
    assert level - one.riser == pytest.approx(10.0 - 0.6)
    assert out == pytest.approx(one.going)
    assert one.unlike == pytest.approx(0.0, abs=1e-12)
    assert one.risers.shape == (count, 2)


@pytest.mark.parametrize(("cross", "fine"), [(0.02, False), (0.0078, True), (0.0079, False)])
def test_a_foot_that_falls_across_makes_the_bottom_riser_unlike(cross, fine):
    """Both ends: c x 24 in up at one and down at the other, c x 48 in in all."""
    one = flight(3, 0.5, cross)
    assert one.unlike / INCH == pytest.approx(cross * 48)
    assert (one.unlike <= 3 / 8 * INCH) is fine


def test_down_to_the_lawn_it_takes_as_many_risers_as_keep_each_under_seven_inches():
    """Edge at 9.9, lawn at 9.5: 0.4 m in 3 risers; two would be 7.75 in each."""
    (one,) = flights_of(raised([DOWN]))
    assert (one.kind, one.upper, one.lower, one.count) == ("to the lawn", "patio", "lawn", 3)
    assert one.drop == pytest.approx(0.4)
    assert one.riser == pytest.approx((0.4 - 2 * 12 * INCH * 0.02) / 3)
    assert one.riser <= 7 * INCH
    two = (0.4 - 12 * INCH * 0.02) / 2
    assert two > 7 * INCH
    np.testing.assert_allclose(one.head, [[2.4, 5], [3.6, 5]])
    np.testing.assert_allclose(one.out, [0, 1], atol=1e-12)
    assert one.polygon.intersection(shapely.box(0, 0, 6, 5)).area == pytest.approx(0, abs=1e-9)
    (four,) = flights_of(raised([{**DOWN, "risers": 4, "tread": "14 in"}]))
    assert four.count == 4
    assert four.going == pytest.approx(3 * 14 * INCH)
    assert four.handrail
    assert not one.handrail


def test_steps_stay_on_the_straight_edge_that_they_are_nearest_to():
    made = raised([{**DOWN, "at": [6, 4.9]}])
    (one,) = flights_of(made)
    assert shapely.LineString([(6, 0), (6, 5)]).buffer(1e-9).covers(one.taken)
    assert one.width == pytest.approx(1.2)
    _, _, long = edge_at(made.areas[0].outline, np.array([6.0, 2.0]), 9.0)
    assert long == pytest.approx(5.0)


def test_where_no_place_is_written_they_stand_in_the_way_from_the_door():
    door = {"name": "back door", "at": [2, 0], "sill": 10.1}
    (one,) = flights_of(raised([{"area": "patio", "to": "lawn"}], [door]))
    assert one.head.mean(axis=0) == pytest.approx([2.0, 5.0])


def test_between_areas_they_stand_on_the_lower_one():
    made = raised([{"down": ["patio", "court"], "risers": 2}], lower=9.6)
    (one,) = flights_of(made)
    (edge,) = shared_edges(made)
    assert (one.area, one.upper, one.lower, one.count) == ("court", "patio", "court", 2)
    assert one.width == pytest.approx(6.0)
    # Both fall alike that way, so each riser is the drop along the edge over their number.
    assert one.riser == pytest.approx(edge.riser)
    assert shapely.box(0, 5, 6, 9).buffer(1e-9).covers(one.polygon)


def test_at_a_door_three_risers_begin_with_a_landing_and_two_do_not():
    door = {"name": "back door", "at": [3, 0], "sill": 10.45, "steps": 3}
    (three,) = flights_of(raised(doors=[door]))
    assert three.landing == pytest.approx(36 * INCH)
    assert three.going == pytest.approx(48 * INCH)
    assert three.riser == pytest.approx(0.45 / 3)
    (two,) = flights_of(raised(doors=[{**door, "sill": 10.3, "steps": 2}]))
    assert two.landing == 0.0
    assert two.going == pytest.approx(12 * INCH)
    assert flights_of(raised(doors=[{**door, "sill": 10.1, "steps": 1}])) == ()


def test_landings_lie_above_and_below():
    one = flight(3, 0.5)
    head, foot = one.landings(36 * INCH)
    assert head.area == pytest.approx(36 * INCH * 48 * INCH)
    assert foot.bounds[1] == pytest.approx(2 * FOOT)
    assert head.bounds[3] == pytest.approx(0.0)


@pytest.mark.parametrize("count", [2, 3, 4])
def test_one_step_height_for_one_door(count):
    """What is told of the step at a door is each riser of the flight that is built there."""
    door = {"name": "back door", "at": [3, 0], "sill": 10.0 + 0.15 * count, "steps": count}
    made = raised(doors=[door])
    (one,) = flights_of(made)
    (step,) = door_steps(made.areas[0])
    assert step.riser == pytest.approx(one.riser, abs=1e-12)
    (wall,) = {wall.riser for wall in made.sections.of(made.areas[0], "down").walls if wall.door}
    assert wall == step.riser


def test_where_paving_falls_more_than_treads_may_the_risers_are_higher_and_still_alike():
    """Paving at 4 % and treads at 1:48: over 48 in each of three risers is 0.31 in higher."""
    door = {"name": "back door", "at": [3, 0], "sill": 10.45, "steps": 3}
    made = raised(doors=[door], fall="4 %")
    (step,) = door_steps(made.areas[0])
    assert step.riser == pytest.approx((0.45 + 48 * INCH * (0.04 - 1 / 48)) / 3)
    (one,) = flights_of(made)
    assert one.unlike == pytest.approx(0.0, abs=1e-9)
