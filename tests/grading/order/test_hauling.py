"""Trips, bins, deliveries, tasks, and the range of the hours."""

from __future__ import annotations

import numpy as np
import pytest
from make.plans.jobs import crew, level_yard, patio, worked

from grading.crew.estimate import Spread, mean_of, variance_of
from grading.crew.factor import factor_of
from grading.crew.model import default_crew
from grading.order.hauling import loads, way_of
from grading.order.labour import time_of
from grading.order.model import order_of
from grading.site.model import Access
from grading.units import CUBIC_FOOT, CUBIC_YARD, FOOT, HOUR, POUND, SHORT_TON


def access(**keys):
    return Access.model_validate(keys, context={"unit": "ft"})


@pytest.mark.parametrize(
    ("volume", "mass", "count", "governed"),
    [(0, 0, 0, ""), (9.9, 5, 1, "volume"), (10.0, 5, 1, "volume"), (10.01, 5, 2, "volume"),
     (9, 10.5, 2, "weight"), (25, 31, 4, "weight")],
)  # fmt: skip
def test_whichever_comes_first(volume, mass, count, governed):
    found = loads(volume, mass, 10, 10)
    assert (found.count, found.governed) == (count, governed)


def test_spoil_weighs_what_each_soil_weighs():
    """4 in of topsoil at 2700 and the rest clay at 3000 lb/yd3, less what is put back of topsoil:
    24.5 ft2, 3 3/8 in deep."""
    order = order_of(level_yard(organics=4 / 12 * FOOT), default_crew())
    dig, spoil = patio(order).jobs[0].dig, patio(order).haul.spoil
    whole = 304.5 * 4 / 12 / 27
    back = 24.5 * 3.375 / 12 / 27
    clay = dig.cut / CUBIC_YARD - whole
    assert spoil.mass / POUND == pytest.approx(2700 * (whole - back) + 3000 * clay, rel=1e-9)
    assert spoil.bank + spoil.kept == pytest.approx(dig.cut)
    assert spoil.loose == pytest.approx(dig.spoil_loose - 1.25 * back * CUBIC_YARD)


def test_the_crew_s_own_swell():
    plan = level_yard()
    wide = order_of(plan, crew(materials={"clay-swell": "40 %"}))
    assert patio(wide).haul.spoil.loose == pytest.approx(1.4 * patio(wide).haul.spoil.bank)
    own = patio(order_of(plan, default_crew()))
    assert own.haul.spoil.loose == pytest.approx(1.3 * own.haul.spoil.bank)


def test_a_ramp_halves_the_barrow():
    flat = order_of(level_yard(path=80, slope="8 %"), default_crew())
    steep = order_of(level_yard(path=80, slope="9 %"), default_crew())
    room = 4 * CUBIC_FOOT
    loose = patio(flat).haul.spoil.loose
    assert patio(flat).haul.out.count == np.ceil(loose / room)
    assert patio(steep).haul.out.count == np.ceil(loose / (room / 2))
    assert "half loads" in steep.way.words
    assert patio(steep).time.mean > patio(flat).time.mean


def test_a_heavy_barrow_is_bounded_by_weight():
    own = crew(materials={"clay-bank": "6000 lb/yd3"})
    assert patio(order_of(level_yard(), own)).haul.out.governed == "weight"


@pytest.mark.parametrize(
    ("machine", "gate", "carrier"),
    [("none", "60 in", "barrow"), ("mini loader", "38 in", "mini loader"),
     ("mini loader", "37 in", "barrow"), ("powered barrow", "37 in", "powered barrow"),
     ("powered barrow", "31 in", "barrow"), ("mini loader", None, "mini loader")],
)  # fmt: skip
def test_by_machine_where_the_gate_is_wide_enough(machine, gate, carrier):
    keys = {"machine": machine} | ({"gate": gate} if gate else {})
    way = way_of(access(**keys), default_crew(), "ft")
    assert way.carrier == carrier
    if carrier == "barrow" and machine != "none":
        assert "needs a gate of" in way.words


def test_a_machine_saves_hours_and_is_paid():
    by_hand = order_of(level_yard(path=120, gate="38 in"), default_crew())
    driven = order_of(level_yard(path=120, gate="38 in", machine="mini loader"), default_crew())
    assert patio(driven).time.mean < patio(by_hand).time.mean
    assert all("by hand" not in task.title for task in patio(driven).tasks)
    machine = [task for task in patio(driven).tasks if task.machine]
    hours = sum(task.mean for task in machine) / HOUR
    charge = next(c for c in patio(driven).cost.charges if c.title == "mini loader")
    assert charge.cost == pytest.approx(hours * 45)


def test_the_way_is_walked_for_every_trip():
    """Twice the way is twice the walking, and nothing else."""
    jobs = [patio(order_of(level_yard(path=path), default_crew())) for path in (60, 120)]
    walks = [next(task for task in job.tasks if "way" in task.title) for job in jobs]
    haul = jobs[0].haul
    trips = haul.out.count + haul.stone.count + haul.pavers.count
    assert walks[0].amount == pytest.approx(2 * 60 * FOOT * trips)
    assert walks[1].amount == pytest.approx(2 * walks[0].amount)
    others = [job.time.mean - walk.mean for job, walk in zip(jobs, walks, strict=True)]
    assert others[0] == pytest.approx(others[1])


def test_the_way_assumed_is_said():
    assert "as none is given" in way_of(access(), default_crew(), "ft").words
    assert "as none is given" not in way_of(access(path=40), default_crew(), "ft").words


def test_hours_of_a_task_are_amount_times_rate():
    """304.5 ft2 x 9 3/8 in of clay, 6.74 m3 at 3.3 h/m3 likely."""
    task = next(t for t in patio(worked()).tasks if t.rate == "dig-clay")
    assert task.amount == pytest.approx(8.81 * CUBIC_YARD, abs=0.01)
    assert task.time[1] / HOUR == pytest.approx(task.amount * 3.3)


def test_panels_lay_faster_for_pavers_are_staged_on_them():
    dense, panel = (patio(worked(), base) for base in ("dense", "panel"))
    rates = [{t.rate for t in job.tasks} for job in (dense, panel)]
    assert "lay-pavers" in rates[0]
    assert "lay-pavers-on-panels" in rates[1]
    assert "lay-panels" not in rates[0]


def test_site_tasks_count_once():
    order = worked()
    assert "mobilise" not in {task.rate for task in patio(order).tasks}
    assert [task.rate for task in order.total.tasks].count("mobilise") == 1


def test_beta_of_three_points():
    """PERT: (2 + 4 x 5 + 14) / 6 = 6; variance (6 - 2)(14 - 6) / 7."""
    assert mean_of((2, 5, 14)) == pytest.approx(6)
    assert variance_of((2, 5, 14)) == pytest.approx(32 / 7)


@pytest.mark.parametrize(
    "parts",
    [
        ((1.0, 2.0, 5.0),),
        ((1.0, 2.0, 5.0), (10.0, 11.0, 20.0), (0.0, 0.1, 0.1)),
        tuple((float(k), k + 1.0, k + 4.0) for k in range(12)),
        ((3.0, 3.0, 3.0), (1.0, 1.0, 9.0)),
    ],
)
def test_distribution_keeps_mean_and_variance_and_matches_draws(parts):
    spread = Spread(parts)
    values, shares = spread.distribution
    assert shares.sum() == pytest.approx(1, abs=1e-9)
    assert (values * shares).sum() == pytest.approx(spread.mean, rel=1e-9)
    variance = (values**2 * shares).sum() - spread.mean**2
    assert variance == pytest.approx(spread.deviation**2, rel=2e-3)
    # Independently: half a million draws, seeded.
    rng = np.random.default_rng(3)
    total = np.zeros(500_000)
    for low, likely, high in parts:
        wide = high - low
        if wide:
            a, b = 1 + 4 * (likely - low) / wide, 1 + 4 * (high - likely) / wide
            total += low + wide * rng.beta(a, b, len(total))
        else:
            total += low
    for share in (0.05, 0.1, 0.5, 0.9, 0.95):
        tolerance = 0.01 * spread.deviation + 1e-9
        assert spread.quantile(share) == pytest.approx(np.quantile(total, share), abs=tolerance)


def test_one_part_alone_is_the_beta_itself():
    from scipy.stats import beta

    spread = Spread(((2.0, 3.0, 10.0),))
    law = beta(1 + 4 / 8, 1 + 4 * 7 / 8, 2, 8)
    for share in (0.01, 0.1, 0.5, 0.9, 0.99):
        assert spread.quantile(share) == pytest.approx(law.ppf(share), abs=0.006)


def test_certain_work_has_no_range():
    spread = Spread(((4.0, 4.0, 4.0), (1.0, 1.0, 1.0)))
    assert spread.quantile(0.1) == spread.quantile(0.9) == spread.mean == 5


def test_tasks_at_one_rate_go_together():
    """Two halves of a task vary as much as the whole: the rate is slow for both."""
    tasks = patio(worked()).tasks
    rates = {task.rate for task in tasks}
    time = time_of(tasks, factor_of())
    spread = time.tasks
    assert len(spread.parts) == len(rates)
    assert spread.low < spread.quantile(0.1) < spread.quantile(0.9) < spread.high
    assert time.quantile(0.1) < spread.quantile(0.1) < spread.quantile(0.9) < time.quantile(0.9)
    assert spread.mean == pytest.approx(sum(task.mean for task in tasks))


def test_stone_deliveries_by_weight():
    job = patio(worked())
    assert job.haul.stone_mass / SHORT_TON == pytest.approx(12.6, abs=0.5)
    assert (job.haul.deliveries.count, job.haul.deliveries.governed) == (1, "weight")
