"""Whole cost, what moves the verdict, and the break-evens, each checked by going there."""

from __future__ import annotations

import json
from types import SimpleNamespace

import numpy as np
import pytest
from make.plans.jobs import DEPTHS, crew, level_yard, patio, worked

from grading.crew.estimate import Spread
from grading.crew.model import default_crew
from grading.order.margins.break_even import organics_break_even, price_break_even
from grading.order.margins.sensitivity import swings_of
from grading.order.model import order_of
from grading.order.money import Charge, cost_of
from grading.records.order import cost_record, order_record
from grading.records.plan import record
from grading.units import HOUR, INCH


def costs(order):
    return {name: job.cost.total for name, job in order.alike.items()}


def by_hand(machine=0.0, bins=2):
    """Return the cost of a job whose every count is written here: 10 to 20 hours of one person."""
    piece, bag = SimpleNamespace(word="piece"), SimpleNamespace(word="bag")
    supplies = [
        SimpleNamespace(title="pavers", count=300, package=piece, price=2.5),
        SimpleNamespace(title="sand", count=0, package=bag, price=9.0),
    ]
    haul = SimpleNamespace(bins=SimpleNamespace(count=bins), deliveries=SimpleNamespace(count=3),
                           way=SimpleNamespace(carrier="mini loader"))  # fmt: skip
    tasks = [SimpleNamespace(mean=7 * HOUR, machine=False),
             SimpleNamespace(mean=machine * HOUR, machine=True)]  # fmt: skip
    time = Spread(((10 * HOUR, 12 * HOUR, 20 * HOUR),))
    return cost_of(supplies, haul, tasks, time, default_crew()), time


def test_a_job_is_charged_line_by_line():
    crew, (cost, time) = default_crew(), by_hand(machine=1.5)
    hours = time.mean / HOUR
    loader = crew.price("mini-loader") * HOUR
    assert cost.charges == (
        Charge("material", "pavers", 300, "piece", 2.5),
        Charge("haul", "bins of soil", 2, "bin", crew.price("bin")),
        Charge("haul", "deliveries of stone", 3, "load", crew.price("delivery")),
        Charge("hours", "crew", hours, "h", crew.price("labour") * HOUR),
        Charge("haul", "mini loader", 1.5, "h", loader),
    )
    assert cost.of("material") == 300 * 2.5
    assert cost.of("haul") == pytest.approx(
        2 * crew.price("bin") + 3 * crew.price("delivery") + 1.5 * loader
    )
    assert cost.of("hours") == pytest.approx(hours * crew.price("labour") * HOUR)
    assert cost.total == sum(charge.count * charge.price for charge in cost.charges)


def test_what_is_not_needed_is_not_charged():
    """No bin, no machine, and no bag of sand of which none is taken."""
    cost, _ = by_hand(bins=0)
    assert [charge.title for charge in cost.charges] == ["pavers", "deliveries of stone", "crew"]


def test_the_hours_alone_let_a_cost_vary_and_eight_jobs_in_ten_lie_between_its_ends():
    cost, time = by_hand()
    assert (cost.time, cost.wage) == (time, default_crew().price("labour"))
    for share in (0.02, 0.5, 0.97):
        over = (time.quantile(share) - time.mean) * cost.wage
        assert cost.quantile(share) == pytest.approx(cost.total + over)
    assert (cost.low, cost.high) == (cost.quantile(0.1), cost.quantile(0.9))
    assert cost.low < cost.total < cost.high


def test_cost_is_material_haul_and_hours():
    job = patio(worked())
    cost = job.cost
    assert cost.of("material") == pytest.approx(sum(s.cost for s in job.supplies))
    haul = job.haul.bins.count * 420 + job.haul.deliveries.count * 110
    assert cost.of("haul") == pytest.approx(haul)
    assert cost.of("hours") == pytest.approx(job.time.mean / HOUR * 58)
    groups = ("material", "haul", "hours")
    assert cost.total == pytest.approx(sum(cost.of(group) for group in groups))
    assert cost.low < cost.total < cost.high
    wide = (job.time.quantile(0.9) - job.time.quantile(0.1)) / HOUR * 58
    assert cost.high - cost.low == pytest.approx(wide)


def test_site_is_rounded_up_once():
    """One area alone: the site has the same packages, and the lawn that the work wears, setting out
    and mobilising more."""
    order = worked()
    alone, site = patio(order), order.site["dense"]
    areas = [one for one in site.supplies if one.item != "seed"]
    assert [s.count for s in alone.supplies] == [s.count for s in areas]
    fixed = site.time.mean - alone.time.mean
    seeded = next(task.mean for task in site.tasks if task.rate == "seed-lawn")
    assert (fixed - seeded) / HOUR == pytest.approx((6 + 4 * 8 + 12) / 6 + 3)
    assert order.total.cost.total == pytest.approx(site.cost.total)


def test_having_figures_changed_is_the_same_as_reckoning_anew():
    order = worked()
    entry = order.crew.prices["panels"]
    changed = order.having(order.crew.having(entry, 31.0))
    anew = order_of(order.plan, order.crew.having(entry, 31.0))
    assert costs(changed) == pytest.approx(costs(anew))
    assert costs(changed)["panel"] > costs(order)["panel"]
    assert costs(changed)["dense"] == pytest.approx(costs(order)["dense"])


def test_break_even_price_is_where_the_costs_meet():
    order = worked()
    found = price_break_even(order)
    entry = order.crew.prices["panels"]
    there = costs(order)
    assert found is not None
    assert found.value is not None
    assert found.pays_now == (there["panel"] < min(there["dense"], there["open"]))
    at = costs(order.having(order.crew.having(entry, found.value)))
    assert at["panel"] == pytest.approx(at[found.against], abs=0.05)
    below = costs(order.having(order.crew.having(entry, found.value * 0.98)))
    above = costs(order.having(order.crew.having(entry, found.value * 1.02)))
    assert below["panel"] < below[found.against]
    assert above["panel"] > above[found.against]


def test_break_even_depth_of_organics_is_crossed_on_the_plan_itself():
    order = order_of(level_yard(bases=DEPTHS), default_crew())
    found = organics_break_even(order)
    assert found is not None
    assert found.value is not None
    # Under 3 5/8 in nothing more is dug for the panel; at the dense build-up all advantage is gone.
    assert 3 * INCH < found.value < 10 * INCH
    sides = []
    for depth in (found.value - INCH / 4, found.value + INCH / 4):
        again = costs(order_of(level_yard(bases=DEPTHS, organics=depth), default_crew()))
        sides.append(again["panel"] < min(again["dense"], again["open"]))
    assert sides == [True, False]


def test_a_break_even_that_is_a_leap_is_told_as_one():
    """Bins at 400 and no wages: the panel base passes the others where a bin more is taken, and
    costs the same as them at no depth. Brute force: every quarter inch, planned afresh."""
    own = crew(prices={"labour": 0, "bin": 400, "panels": 8})
    order = order_of(level_yard((24, 16), bases=DEPTHS), own)
    found = organics_break_even(order)
    assert found is not None
    assert found.value is not None
    assert found.jumps
    assert found.below > 1 > -1 > found.above
    assert found.steps

    def margin(depth):
        yard = level_yard((24, 16), bases=DEPTHS, organics=depth)
        at = costs(order_of(yard, own))
        return min(at["dense"], at["open"]) - at["panel"]

    depths = np.arange(0.0, found.value + INCH / 4, INCH / 4).tolist()
    first = next(depth for depth in depths if margin(depth) < 0)
    assert first - INCH / 4 <= found.value <= first
    assert margin(found.value - 1e-5) == pytest.approx(found.below, abs=0.01)
    assert margin(found.value + 1e-5) == pytest.approx(found.above, abs=0.01)


def test_a_break_even_that_is_no_leap_is_where_costs_are_equal():
    found = price_break_even(worked())
    assert found is not None
    assert not found.jumps
    assert found.below == pytest.approx(0.0, abs=0.05)
    assert found.steps == ()


def test_the_plan_s_own_record_holds_what_moves_the_verdict():
    """What `plan --json` prints, not the record that a test fills."""
    cost = record(level_yard(bases=DEPTHS, organics=0.05))["cost"]
    assert [one["of"] for one in cost["break_even"]] == ["price", "organics"]
    assert len(cost["sensitivity"]) > 10
    widths = [abs(one["margin_to"] - one["margin_from"]) for one in cost["sensitivity"]]
    assert widths == sorted(widths, reverse=True)
    json.dumps(cost, allow_nan=False)


def test_no_break_even_is_said_to_be_none():
    free = order_of(
        level_yard(organics=16 * INCH), crew(prices={"labour": 0, "bin": 0, "screws": 5})
    )
    found = price_break_even(free)
    assert found is not None
    assert found.value is None
    assert not found.pays_now
    assert found.searched[0] == 0


def test_a_site_without_the_system_has_no_break_even():
    order = worked()
    assert price_break_even(order, base="gravel") is None
    assert organics_break_even(order, base="gravel") is None


def test_swings_are_margins_at_both_ends():
    order = worked()
    swings = swings_of(order)
    now = costs(order)
    best = min(now, key=now.get)
    assert [s.width for s in swings] == sorted((s.width for s in swings), reverse=True)
    names = [swing.entry.name for swing in swings]
    assert "labour" in names[:4]
    assert "pavers" not in names  # as dear on every base, it moves nothing
    for swing in swings[:3]:
        for value, margin in zip(swing.values, swing.margins, strict=True):
            at = costs(order.having(order.crew.having(swing.entry, value)))
            rest = min(cost for name, cost in at.items() if name != best)
            assert margin == pytest.approx(rest - at[best])


def test_a_figure_that_turns_the_verdict_is_marked():
    """With panels priced a hair under their break-even, a dearer panel turns it."""
    order = worked()
    found = price_break_even(order)
    assert found is not None
    assert found.value is not None
    near = order.having(order.crew.having(order.crew.prices["panels"], found.value * 0.99))
    swing = next(s for s in swings_of(near) if s.entry.name == "panels")
    assert swing.turns


def test_record_is_plain_and_in_si():
    order = worked()
    found = [one for one in (price_break_even(order),) if one]
    record = order_record(order, swings_of(order), found)
    json.dumps(record, allow_nan=False)
    dense = record["areas"][0]["dense"]["quantities"]
    job = patio(order)
    assert dense["haul"]["spoil_loose"] == job.haul.spoil.loose
    assert dense["time"]["mean"] == job.time.mean
    assert [s["item"] for s in dense["supplies"]] == [s.item for s in job.supplies]
    shares = list(dense["time"]["percentiles"].values())
    assert shares == sorted(shares)
    cost = record["cost"]
    assert set(cost["bases"]) == {"chosen", "dense", "open", "panel"}
    assert cost["cheapest"] == min(costs(order), key=costs(order).get)
    assert cost["break_even"][0]["value"] == found[0].value
    assert cost == cost_record(order, swings_of(order), found)
