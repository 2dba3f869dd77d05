"""Ways to hold a raised edge side by side: each whole, as it would be counted if it were given."""

import pytest
from make.plans.raised_yard import FRONT, fitted, yard

from grading.records.holding import holding_record
from grading.units import FOOT, INCH
from viz.words.paving.holding import hold_lines


def ways(made):
    return {way.kind: way for way in made.hold_ways}


def test_each_way_takes_what_its_own_plan_does():
    made = yard(12)
    told = ways(made)
    assert [kind for kind, way in told.items() if way.planned] == ["block wall"]
    for kind in ("block wall", "grass slope", "steps"):
        total = yard(12, {"kind": kind}).order.total
        assert told[kind].cost == pytest.approx(total.cost.total)
        assert told[kind].time == pytest.approx(total.time.mean)
        assert told[kind].material == pytest.approx(total.cost.of("material"))
        assert told[kind].trips == total.haul.trips
    assert told["grass slope"].cost < told["block wall"].cost < told["steps"].cost


def test_soil_that_the_dig_does_not_have_is_bought_and_in_what_a_slope_costs():
    made, sloped = yard(18), yard(18, {"kind": "grass slope"})
    slope = ways(made)["grass slope"]
    (soil,) = [each for each in sloped.order.total.supplies if each.item == "fill-soil"]
    assert soil.cost > 0
    assert slope.not_counted == ()
    assert slope.material == pytest.approx(sloped.order.total.cost.of("material"))


def test_what_a_way_still_needs_is_told_beside_it():
    """No place is low enough for the pipe behind steps."""
    made = yard(12, outlet=False)
    (words,) = ways(made)["steps"].not_counted
    assert "the way out of the pipe behind steps round patio" in words
    assert f"  steps, beside that: {words}" in list(hold_lines(made))


def test_what_may_not_be_is_told_why_and_is_given_no_figures():
    made = yard(12)
    told = ways(made)
    assert "a curb holds 6 in" in told["curb"].refused
    assert told["lower finish"].refused == "its plane is given"
    record = holding_record(made, made.areas[0])
    curb = next(way for way in record["ways"] if way["kind"] == "curb")
    assert curb["cost"] is None
    assert curb["time"] is None
    said = "\n".join(hold_lines(made))
    assert "block wall *" in said
    assert "  not curb: " in said


def test_a_lower_finish_is_planned_again_or_told_what_is_in_its_way():
    high = {"kind": "lower finish", "height": "6 in"}
    made = fitted()
    told = ways(made).get("lower finish")
    if told is None:
        assert made.areas[0].edge_heights[0] <= 6 * INCH + 1e-6
        pytest.fail("the yard is to be raised")
    if told.refused:
        assert "no finish has it together with" in told.refused
    else:
        again = fitted(high)
        assert told.cost == pytest.approx(again.order.total.cost.total)
        assert told.height <= 6 * INCH + 1e-6


def test_nothing_is_set_side_by_side_where_nothing_is_raised():
    assert yard(2).hold_ways == ()
    assert list(hold_lines(yard(2))) == []


def test_ways_of_an_edge_whose_sides_are_held_otherwise_are_of_its_longest():
    made = yard(12, {"kind": "grass slope", "at": FRONT}, {"kind": "block wall"})
    assert [kind for kind, way in ways(made).items() if way.planned] == ["block wall"]
    parts = holding_record(made, made.areas[0])["parts"]
    assert [part["kind"] for part in parts] == ["block wall", "grass slope"]
    assert parts[0]["length"] / FOOT == pytest.approx(28, abs=0.2)
