"""Unit prices for what the ground may hold: of plans over deeper topsoil, made the long way too."""

from __future__ import annotations

import pytest
from make.plans.jobs import crew, level_yard

from grading.crew.model import default_crew
from grading.crew.price_table import PriceTable
from grading.order.model import order_of
from grading.price.ground import ground_of
from grading.price.mean_cost import counted
from grading.units import HOUR, INCH

CUBIC_YARD = 0.9144**3


def terms(**written):
    return PriceTable.model_validate(
        {"margin": "35 %", "tax": "none", "deposit_most": "none"} | written
    )


def likely():
    """Return a crew whose rates do not vary."""
    found = default_crew()
    for entry in list(found.rates.values()):
        found = found.having(entry, entry.likely)
    return found


def test_a_yard_of_deeper_soil_in_and_out_is_priced_as_by_hand():
    """.926 yd3 of loam out and stone in, by barrow over 50 ft, each rate at its likely value.

    By hand: 1.157 yd3 loose at 25 %, a ninth of a bin of 10 yd3 at 420 [52.50 with the weight],
    1.83 ton of stone at 32 [58.65] and its part of a delivery [13.44], 4.44 h at 58 [257.70]:
    382.30, at a margin of 35 % 588 and 635 for each yd3 as it lies.
    """
    order = order_of(level_yard((20, 15), organics=12 * INCH, soil="loam"), likely())
    found = ground_of(order, terms())
    before, last = found.steps[4], found.steps[5]
    cost = last.cost.less(before.cost)
    volume = (last.dug - before.dug) / CUBIC_YARD
    assert last.filled - before.filled == pytest.approx(last.dug - before.dug)
    part = 0.926 / volume
    assert cost.material * part == pytest.approx(58.65, abs=0.05)
    assert cost.haul * part == pytest.approx(52.50 + 13.44, abs=0.05)
    assert cost.hours * part == pytest.approx(257.70, abs=0.1)
    assert cost.time / HOUR * part == pytest.approx(4.44, abs=0.01)
    assert cost.total * part == pytest.approx(382.30, abs=0.1)
    assert found.by_volume * CUBIC_YARD == pytest.approx(635, abs=1)
    assert found.hour * HOUR == pytest.approx(58 / 0.65)


@pytest.mark.parametrize("base", ["dense", "panel"])
def test_each_inch_is_what_a_yard_surveyed_so_takes(base):
    """The whole yard planned again with that much more topsoil in its survey."""
    known = order_of(level_yard(organics=4 * INCH, base=base), default_crew())
    found = ground_of(known, terms())
    at = counted(known.total.jobs, known).cost
    for inches in (1, 3, 8):
        again = order_of(level_yard(organics=(4 + inches) * INCH, base=base), default_crew())
        step = found.steps[inches - 1]
        assert step.more == pytest.approx(inches * INCH)
        assert step.dug == pytest.approx(again.total.cut - known.total.cut, abs=1e-9)
        assert step.filled == pytest.approx(again.total.fill - known.total.fill, abs=1e-9)
        more = counted(again.total.jobs, again).cost.less(at)
        if again.total.cut > known.total.cut + 0.5:
            assert step.cost.total == pytest.approx(more.total, abs=1e-6)
        assert step.price == pytest.approx(step.cost.total / 0.65, abs=1e-6)


def test_lighter_soil_out_of_the_same_hole_is_nobody_s_gain():
    """A hole that goes deeper than the topsoil does: more of it is topsoil, and no more is dug."""
    deep = order_of(level_yard(organics=2 * INCH, base="dense"), default_crew())
    found = ground_of(deep, terms())
    assert found.steps[0].dug == pytest.approx(0.0, abs=1e-9)
    assert found.steps[0].price == pytest.approx(0.0, abs=1e-9)
    prices = [round(step.price, 6) for step in found.steps]
    assert prices == sorted(prices)


def test_another_bin_opens_where_a_yard_surveyed_so_takes_one_more():
    known = order_of(level_yard(organics=6 * INCH), default_crew())
    opens = ground_of(known, terms()).next_bin
    assert opens is not None
    bins = [
        order_of(level_yard(organics=6 * INCH + more), default_crew()).total.haul.bins.count
        for more in (0.0, opens - 1e-3, opens + 1e-3)
    ]
    assert bins[1:] == [bins[0], bins[0] + 1]
    # A bin that never fills is never followed by another.
    vast = crew(materials={"bin-volume": "500 yd3", "bin-mass": "900 ton"})
    assert ground_of(order_of(level_yard(), vast), terms()).next_bin is None


def test_a_mean_is_what_many_jobs_come_to_and_no_more_than_whole_bins():
    order = order_of(level_yard(), default_crew())
    mean, whole = counted(order.total.jobs, order).cost, order.areas[0].chosen.cost
    assert mean.material < whole.of("material")
    assert mean.haul < whole.of("haul")
    # Trips alone are rounded among the hours.
    assert mean.hours == pytest.approx(whole.of("hours"), rel=0.01)
