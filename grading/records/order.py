"""An order as plain data, in SI: what goes into the JSON beside the plan."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from grading.crew.factor import JobTime
from grading.crew.model import OWN, Crew
from grading.order.days import days_of
from grading.order.hauling import Haul
from grading.order.labour import Task
from grading.order.margins.apart import aparts_of
from grading.order.margins.break_even import BreakEven
from grading.order.margins.sensitivity import Swing
from grading.order.model import CHOSEN, Job, Order
from grading.order.money import LIKELY_RANGE, Cost, cheapest, totals
from grading.records.fields import each, fields, maybe
from grading.units import nominals

SHARES = (0.05, *LIKELY_RANGE[:1], 0.25, 0.5, 0.75, *LIKELY_RANGE[1:], 0.95)


LINE = "item title measure net amount compacted loose mass how"
"""What is told of a line of a take-off."""
_SUPPLY = (
    "item measure net amount order=count package=package.word package_size=package.size "
    "loose_order pallets mass price cost"
)
_LOADS = "count governed_by=governed"


def _haul(haul: Haul) -> dict[str, Any]:
    return {
        **fields(
            haul,
            "by=way.carrier how=way.words path=way.path spoil_bank=spoil.bank "
            "spoil_loose=spoil.loose spoil_mass=spoil.mass soil_put_back=spoil.kept stone_loose "
            "stone_mass",
        ),
        "trips_out": fields(haul.out, _LOADS),
        "trips_in": fields(haul.stone, _LOADS),
        "trips_pavers": fields(haul.pavers, _LOADS),
        "trips_panels": fields(haul.panels, _LOADS),
        "bins": fields(haul.bins, _LOADS),
        "deliveries": fields(haul.deliveries, _LOADS),
    }


def _task(task: Task) -> dict[str, Any]:
    return {
        **fields(task, "task=title amount measure rate"),
        **dict(zip(("low", "likely", "high"), task.time, strict=True)),
        "mean": task.mean,
    }


def _time(time: JobTime) -> dict[str, Any]:
    return {
        **fields(time, "low mean high deviation by_rates"),
        "percentiles": {f"{share:g}": time.quantile(share) for share in SHARES},
    }


def factor_record(crew: Crew) -> dict[str, Any]:
    """Return what slows or speeds all the work of a crew alike, and the jobs that tell of it.

    Parameters
    ----------
    crew : Crew
    """
    factor = crew.factor
    inside, known = factor.inside
    low, high = factor.band
    return {
        "own": factor.own,
        "file": crew.hours_called,
        **fields(factor, "told middle scale freedom"),
        "low": low,
        "high": high,
        "jobs": known,
        "inside": inside,
        "plain": maybe(factor.plain, list),
    }


def prices_record(crew: Crew) -> dict[str, Any]:
    """Return where the prices that money is reckoned with come from, by name.

    Parameters
    ----------
    crew : Crew
    """
    own = sorted(entry.name for entry in crew.prices.values() if entry.source == OWN)
    return {"given": crew.priced, "own": own, "built_in": "common practice, no source"}


def _cost(cost: Cost) -> dict[str, Any]:
    return {
        "material": cost.of("material"),
        "haul": cost.of("haul"),
        "hours": cost.of("hours"),
        **fields(cost, "total low high"),
    }


def job_record(job: Job) -> dict[str, Any]:
    """Return a job as plain data: m, m2, m3, kg, seconds of one person, money.

    Parameters
    ----------
    job : Job
    """
    return {
        "lines": [{"area": area, **fields(line, LINE)} for area, line in job.lines],
        "supplies": each(job.supplies, _SUPPLY),
        "haul": _haul(job.haul),
        "tasks": [_task(task) for task in job.tasks],
        "time": _time(job.time),
        "cost": _cost(job.cost),
    }


def _swing(swing: Swing) -> dict[str, Any]:
    return {
        **fields(swing.entry, "figure=name of=book title unit=dimension"),
        **dict(zip(("from", "to"), swing.values, strict=True)),
        **dict(zip(("margin_from", "margin_to"), swing.margins, strict=True)),
        "turns": swing.turns,
        "source": nominals(swing.entry.source, "ft"),
    }


def break_even_record(found: BreakEven) -> dict[str, Any]:
    """Return a break-even as plain data, the value of `break_even` in the cost."""
    return {
        **fields(found, "base against of=what value present searched jumps"),
        "saved_below": None if found.value is None else found.below,
        "saved_above": None if found.value is None else found.above,
        "steps": each(found.steps, "base of=title package=each more"),
        "pays_now": found.pays_now,
    }


def cost_record(
    order: Order, swings: Sequence[Swing] = (), break_evens: Sequence[BreakEven] = ()
) -> dict[str, Any]:
    """Return the whole site on each base system as plain data: the value of `site.cost`.

    Parameters
    ----------
    order : Order
    swings : sequence of Swing
    break_evens : sequence of BreakEven
    """
    return {
        "currency": order.crew.currency,
        "prices": prices_record(order.crew),
        "crew": order.crew.called,
        "cheapest": cheapest(totals(order.costs)) if order.areas else None,
        "factor": factor_record(order.crew),
        "days": fields(days_of(order, order.total), "people mean low high"),
        "apart": each(aparts_of(order, CHOSEN), "base against mean low high dearer"),
        "bases": {name: job_record(job) for name, job in order.site.items()},
        "sensitivity": [_swing(swing) for swing in swings],
        "break_even": [break_even_record(found) for found in break_evens],
    }


def order_record(
    order: Order, swings: Sequence[Swing] = (), break_evens: Sequence[BreakEven] = ()
) -> dict[str, Any]:
    """Return an order as plain data, ready for JSON.

    Parameters
    ----------
    order : Order
    swings, break_evens : as for `cost_record`

    Returns
    -------
    dict
        "areas", one mapping of base system to {"quantities": ...} for each area of the plan in
        its order, and "cost", the value of `site.cost`.
    """
    return {
        "areas": [
            {name: {"quantities": job_record(job)} for name, job in area.bases.items()}
            for area in order.areas
        ],
        "cost": cost_record(order, swings, break_evens),
    }
