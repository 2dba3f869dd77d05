"""What flights of steps are built of, dug, ordered and timed.

Worked figure: three risers of units 12 in deep on treads of 12 in, 48 in wide, 16 in long: 3 + 2 +
1 rows of three, 18 units, and three caps' lengths of 48 in (computed; block steps on full courses,
as units are buried rather than the pad tiered: handymanclub.com 6194, a weak source). Hours of a
riser of 4 ft are 3, 4.5 and 6: common practice, from memory.
"""

from __future__ import annotations

import math

import pytest
import shapely
from make.plans.raised_yard import DOWN, raised

from grading.crew.model import default_crew
from grading.order.model import order_of
from grading.records.plan import record
from grading.structures.flights import flights_of
from grading.structures.holding.holds import holding_of
from grading.structures.holding.wall_parts import trenches
from grading.structures.steps_built import counted
from grading.units import FOOT, INCH

CREW = default_crew()


def job(plan):
    return order_of(plan, CREW).total


def built(found):
    (steps,) = (each for each in found.jobs[0].structures if each.kind == "steps")
    return steps


def titled(found, title):
    return next((one for _, one in found.lines if one.title == title), None)


def test_worked_count_of_block_steps():
    found = counted(3, 12 * INCH, 12 * INCH, 48 * INCH, 12 * INCH, 16 * INCH)
    assert (found.rows, found.courses) == (6, 3)
    assert found.units == pytest.approx(18)
    assert found.caps == pytest.approx(3 * 48 * INCH)


@pytest.mark.parametrize("courses", range(1, 7))
@pytest.mark.parametrize("tread", [10, 12, 14, 18])
@pytest.mark.parametrize("deep", [8, 12])
@pytest.mark.parametrize("top", [8, 12, 36])
def test_rows_are_those_that_one_lays_by_hand(courses, tread, deep, top):
    """Lay every course from its face backward, row by row, until no soil shows behind it."""
    rows = 0
    for course in range(1, courses + 1):
        back = (courses - course) * tread + top
        reached = 0
        while reached < back:
            rows, reached = rows + 1, reached + deep
    assert counted(courses, top * INCH, tread * INCH, 1.0, deep * INCH, 0.4).rows == rows


def test_steps_to_the_lawn_are_ordered_dug_and_timed():
    bare, with_it = job(raised()), job(raised([DOWN]))
    (flight,) = flights_of(raised([DOWN]))
    units = titled(with_it, "units of steps from patio to the lawn")
    assert units.item == "wall-units"
    assert units.net == pytest.approx((3 + 2 + 1) * 1.2 / (16 * INCH))
    assert units.amount == math.ceil(units.net * 1.05)
    assert titled(with_it, "caps of steps from patio to the lawn").net == pytest.approx(
        3 * 1.2 / FOOT
    )
    # Pad 6 in thick and 6 in wider on all sides of three rows of 12 in.
    body = (3 * FOOT, 1.2)
    pad = titled(with_it, "pad of steps from patio to the lawn")
    assert pad.compacted == pytest.approx((body[0] + FOOT) * (body[1] + FOOT) * 6 * INCH)
    work = next(one for one in with_it.tasks if one.title == "build steps from patio to the lawn")
    assert work.amount == pytest.approx(3 * 1.2)
    assert [each / 3600 for each in work.time] == pytest.approx(
        [3 * 1.2 / (4 * FOOT) * hours for hours in (3, 4.5, 6)]
    )
    assert with_it.haul.pavers_mass > bare.haul.pavers_mass
    assert flight.width == pytest.approx(1.2)


def test_the_pad_is_dug_below_the_lawn_and_no_ground_twice():
    """The pad's bottom is 6 in and a cap below the lawn; it ends outside the hole of the paving."""
    made = raised([DOWN])
    found = job(made)
    dig = found.jobs[0].dig
    body = shapely.box(2.4, 5 - FOOT, 3.6, 5 + 2 * FOOT)
    pad = body.buffer(6 * INCH, join_style="mitre")
    deep = 6 * INCH + CREW["wall-cap-height"]
    # At both ends a wall's trench goes deeper than the pad: there nothing is dug for the steps.
    made_wall = holding_of(made, made.areas[0], made.areas[0].chosen).walls
    trench = shapely.union_all([where for wall in made_wall for where, _ in trenches(wall)])
    assert trench.intersection(pad).area > 0.01
    pad = pad.difference(trench)
    beyond = pad.difference(dig.polygon).area * deep
    below = max(deep - float(dig.depths.max()), 0.0)  # the hole is dug to the topsoil's bottom
    hole = dig.polygon.intersection(pad).area * below
    # Of the stone behind them what lies behind the pad, down to its top.
    strip = shapely.box(2.4, 5 - 2 * FOOT, 3.6, 5 - FOOT).difference(body.buffer(6 * INCH))
    hole += strip.area * max(CREW["wall-cap-height"] - float(dig.depths.max()), 0.0)
    assert built(found).dug.bank == pytest.approx(beyond + hole, rel=1e-6)
    assert found.cut == pytest.approx(dig.cut + sum(
        each.dug.bank for each in found.jobs[0].structures))  # fmt: skip


def test_where_steps_close_the_edge_no_restraint_and_no_sod_are_ordered():
    """An edge 3 in over the lawn takes a restraint; along steps of 1.2 m it takes none."""
    low = {**DOWN, "risers": 1}
    bare, with_it = job(raised(ground=9.83)), job(raised([low], ground=9.83))
    assert bare.jobs[0].free_edge - with_it.jobs[0].free_edge == pytest.approx(1.2)
    # One riser stands wholly behind the edge; two stand on a strip of the hole that gets no sod.
    assert with_it.jobs[0].beside == pytest.approx(bare.jobs[0].beside)
    two = job(raised([{**low, "risers": 2}], ground=9.83)).jobs[0]
    over = two.dig.polygon.bounds[3] - 5.0
    assert two.beside == pytest.approx(bare.jobs[0].beside - 1.2 * min(over, FOOT))
    # The top course stands behind the edge: no paver lies on it.
    gone = bare.jobs[0].layers[0].area - with_it.jobs[0].layers[0].area
    assert gone == pytest.approx(1.2 * FOOT)


def test_steps_between_areas_stand_on_the_lower_one_and_its_pavers_are_left_out():
    down = {"down": ["patio", "court"], "risers": 2}
    plan = raised([down], lower=9.6)
    found = job(plan)
    assert titled(found, "units of steps from patio to court").net == pytest.approx(
        (2 + 1) * 6.0 / (16 * INCH)
    )
    flush = job(raised([{**down, "risers": 1}], lower=9.6))
    court, other = (next(one for one in each.jobs if one.area.name == "court")
                    for each in (found, flush))  # fmt: skip
    assert other.layers[0].area - court.layers[0].area == pytest.approx(6.0 * FOOT)


def test_at_a_door_the_sill_is_the_house_s_and_the_landing_is_the_top_course():
    door = {"name": "back door", "at": [3, 0], "sill": 10.45, "steps": 3}
    found = job(raised(doors=[door]))
    units = titled(found, "units of steps at back door")
    # Two courses: a landing of 36 in, and it and a tread of 12 in below it.
    assert units.net == pytest.approx((3 + 4) * 4 * FOOT / (16 * INCH))
    gone = job(raised()).jobs[0].layers[0].area - found.jobs[0].layers[0].area
    assert gone == pytest.approx(4 * FOOT * 4 * FOOT)
    # The lowest course is levelled up from where the base ends to a cap below the finish.
    pad = titled(found, "pad of steps at back door")
    up = 3.375 * INCH - CREW["wall-cap-height"]
    covered = (4 * FOOT + 6 * INCH) * 5 * FOOT  # none of it in the house
    assert pad.compacted == pytest.approx(covered * 6 * INCH + 4 * FOOT * 4 * FOOT * up)


def test_a_course_is_as_high_as_a_riser():
    """The lowest unit ends a cap below the front of its tread, a riser above the pad."""
    plan = raised([DOWN])
    one = built(job(plan))
    (flight,) = flights_of(plan)
    pad = one.solids[0]
    lowest = flight.treads[-1]
    assert lowest.front - CREW["wall-cap-height"] - pad.top == pytest.approx(
        flight.riser + (flight.levels[1].mean() - flight.levels[1].min())
    )


def test_what_is_said_of_four_risers_defers_to_the_place_and_names_its_clause():
    one = built(job(raised([{**DOWN, "risers": 4}], ground=9.3)))
    words = " ".join(one.cautions)
    assert "IRC R311.7.8" in words
    assert "ask the building department" in words
    assert one.not_counted == ("a handrail",)
    assert "4 steps of" in one.plain
    assert "4 risers of" in one.said


def test_the_record_has_them():
    area = record(raised([DOWN]))["areas"][0]
    told = next(each for each in area["structures"] if each["kind"] == "steps")
    assert told["kind"] == "steps"
    assert told["dug"]["bank"] > 0
    assert any(line["item"] == "caps" for line in told["lines"])


def test_lawn_opened_for_their_pad_is_sodded_again():
    """6 in round steps that stand 2 ft out, beyond a hole that reaches as far as the dense base."""
    found = job(raised([DOWN]))
    steps, dig = built(found), found.jobs[0].dig
    pad = shapely.box(2.4, 5 - FOOT, 3.6, 5 + 2 * FOOT).buffer(6 * INCH, join_style="mitre")
    wall = [each for each in found.jobs[0].structures if each.kind == "block wall"]
    only = shapely.difference(
        pad, shapely.union_all([dig.polygon, steps.stands, *(each.stands for each in wall)])
    )
    beds = [solid.footprint for each in wall for solid in each.solids]
    assert found.jobs[0].opened >= only.area - 1e-9
    assert found.jobs[0].opened <= only.area + shapely.union_all(beds).area
    sod = titled(found, "lawn repair")
    assert sod.net == pytest.approx(found.jobs[0].beside + found.jobs[0].opened)
    assert "opened for what is built there" in sod.how
