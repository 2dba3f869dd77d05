"""Hours and days as they are promised: one figure of them, own jobs in it, bases inside one."""

from __future__ import annotations

import re
from pathlib import Path

import numpy as np
import pytest
from make.plans.jobs import crew, level_yard, patio, worked
from msgspec.structs import replace

import grading
from grading.crew.factor import PastJob, factor_of
from grading.crew.model import default_crew
from grading.order.days import days_of, days_words, factor_words, half_days, halves
from grading.order.margins.apart import apart, apart_words, aparts_of
from grading.order.model import order_of
from grading.order.telling import Telling
from grading.records.order import order_record
from grading.units import HOUR


def with_jobs(*ratios):
    past = [PastJob(str(k), 50 * HOUR, 50 * HOUR * each) for k, each in enumerate(ratios)]
    return replace(default_crew(), factor=factor_of(past))


@pytest.mark.parametrize(
    ("days", "told"), [(0.0, "0"), (0.1, "1/2"), (0.8, "1"), (2.2, "2"), (2.3, "2 1/2"), (7, "7")]
)
def test_days_are_told_to_the_half(days, told):
    assert halves(half_days(days)) == told


def test_own_jobs_go_into_every_task_their_sum_and_the_money():
    plain = order_of(level_yard(), default_crew())
    own = order_of(level_yard(), with_jobs(1.2, 1.2, 1.2))
    told = own.crew.factor.told
    assert told > 1.1
    for task, same in zip(own.total.tasks, plain.total.tasks, strict=True):
        assert task.mean == pytest.approx(told * same.mean)
    assert own.total.time.mean == pytest.approx(told * plain.total.time.mean)
    assert own.total.time.by_rates == pytest.approx(plain.total.time.mean)
    assert own.total.cost.of("hours") == pytest.approx(told * plain.total.cost.of("hours"))
    assert own.total.cost.of("material") == plain.total.cost.of("material")


def test_the_words_say_what_the_range_rests_on():
    assert "common practice, no source, until three jobs" in factor_words(default_crew()).file
    assert "(2 so far)" in factor_words(with_jobs(1.0, 1.1)).file
    said = factor_words(with_jobs(1.1, 1.25, 0.95, 1.2)).file
    assert said.startswith("From 4 jobs of your own in hours.csv: hours by the rates times 1.10")
    assert "4 of 4 took what was foretold" in said
    many = factor_words(with_jobs(*np.linspace(0.8, 1.3, 10))).file
    assert "one in ten took less than 0.85 times" in many


def test_days_and_their_range_are_those_of_the_whole_job():
    order = worked()
    days = days_of(order, order.total)
    day = order.crew["crew-size"] * order.crew["crew-day"]
    assert abs(days.mean - order.total.time.mean / day) <= 0.25
    assert abs(days.high - order.total.time.quantile(0.9) / day) <= 0.25
    assert days.low < days.mean < days.high
    words = days_words(order, order.total)
    assert words == (
        f"about {days.counted} for 3 people; eight such jobs in ten take {days.between}, "
        "rain days not counted"
    )
    record = order_record(order)["cost"]["days"]
    assert record == {"people": 3, "mean": days.mean, "low": days.low, "high": days.high}


def test_one_area_is_told_with_setting_up_as_the_job_is():
    order = worked()
    jobs = order.alone(order.areas[0])
    assert jobs["dense"].time.mean == order.total.time.mean


def test_two_bases_differ_by_less_than_their_ranges_overlap():
    """By a million draws of every rate and of one factor, written without the product's own."""
    order = worked()
    one, other = order.alike["dense"], order.alike["panel"]
    found = apart(one, other, ("dense", "panel"))
    rng, count = np.random.default_rng(11), 400_000
    rates = {task.rate for job in (one, other) for task in job.tasks}
    pace = {}
    for rate in sorted(rates):
        low, likely, high = order.crew.rates[rate].values
        wide = high - low
        a, b = (1 + 4 * (likely - low) / wide, 1 + 4 * (high - likely) / wide) if wide else (1, 1)
        pace[rate] = low + wide * rng.beta(a, b, count)
    factor = np.exp(rng.normal(-0.02, 0.2, count))
    wage = order.crew.price("labour")

    def drawn(job):
        hours = sum(task.amount * pace[task.rate] for task in job.tasks)
        fixed = job.cost.of("material") + job.cost.of("haul")
        return fixed + wage * factor * hours

    more = drawn(one) - drawn(other)
    assert found.mean == pytest.approx(more.mean(), abs=0.01 * abs(found.mean))
    assert found.low == pytest.approx(np.quantile(more, 0.1), abs=8)
    assert found.high == pytest.approx(np.quantile(more, 0.9), abs=8)
    assert found.dearer == pytest.approx((more > 0).mean(), abs=0.003)
    alone = [job.cost.high - job.cost.low for job in (one, other)]
    assert found.high - found.low < 0.8 * max(alone)


def test_a_base_that_is_dearer_or_cheaper_by_the_hours_is_said_both_ways():
    """Panels of a price at which neither base is surely the cheaper."""
    order = order_of(level_yard(), crew(prices={"panels": "40 /panel"}))
    found = apart(order.alike["panel"], order.alike["dense"], ("panel", "dense"))
    assert found.low < 0 < found.high
    words = apart_words(found, Telling("$", 1000.0, True))
    assert " less to $" in words
    assert 0.02 < found.dearer < 0.98
    turned = apart(order.alike["dense"], order.alike["panel"], ("dense", "panel"))
    assert turned.mean == pytest.approx(-found.mean)
    assert (turned.low, turned.high) == pytest.approx((-found.high, -found.low), abs=2)
    assert turned.dearer == pytest.approx(1 - found.dearer, abs=1e-6)


def test_the_record_sets_every_other_base_beside_the_chosen():
    order = worked()
    assert {each.base for each in aparts_of(order, "chosen")} == set(order.bases) - {"dense"}
    record = order_record(order)["cost"]
    assert {each["base"] for each in record["apart"]} == set(order.bases) - {"dense"}
    assert record["factor"]["own"] is False
    assert patio(order).time.factor is order.crew.factor


def test_days_of_the_crew_are_told_from_one_place():
    """A paper that divides hours by a day's work itself makes a second figure of one thing."""
    root = Path(grading.__file__).parents[1]
    own = {"grading/order/days.py", "grading/order/model.py"}
    found = {
        str(path.relative_to(root))
        for folder in ("grading", "viz")
        for path in (root / folder).rglob("*.py")
        if re.search(r"\bmean_days\(|\border\.days\(", path.read_text(encoding="utf-8"))
    }
    assert found <= own
