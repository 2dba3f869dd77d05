"""An order as plain data, in SI: what goes into the JSON beside the plan."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from grading.crew.estimate import Spread
from grading.order.break_even import BreakEven
from grading.order.hauling import Haul, Loads
from grading.order.labour import Task
from grading.order.lines import Line
from grading.order.margins import cheapest, totals
from grading.order.model import Job, Order
from grading.order.money import LIKELY_RANGE, Cost
from grading.order.sensitivity import Swing
from grading.order.supplies import Supply
from grading.units import nominals

SHARES = (0.05, *LIKELY_RANGE[:1], 0.25, 0.5, 0.75, *LIKELY_RANGE[1:], 0.95)


def _line(line: Line) -> dict[str, Any]:
    return {
        "item": line.item,
        "title": line.title,
        "measure": line.measure,
        "net": line.net,
        "amount": line.amount,
        "compacted": line.compacted,
        "loose": line.loose,
        "mass": line.mass,
        "how": line.how,
    }


def _supply(supply: Supply) -> dict[str, Any]:
    return {
        "item": supply.item,
        "measure": supply.measure,
        "net": supply.net,
        "amount": supply.amount,
        "order": supply.count,
        "package": supply.package.word,
        "package_size": supply.package.size,
        "loose_order": supply.loose_order,
        "pallets": supply.pallets,
        "mass": supply.mass,
        "price": supply.price,
        "cost": supply.cost,
    }


def _loads(loads: Loads) -> dict[str, Any]:
    return {"count": loads.count, "governed_by": loads.governed}


def _haul(haul: Haul) -> dict[str, Any]:
    spoil = haul.spoil
    return {
        "by": haul.way.carrier,
        "how": haul.way.words,
        "path": haul.way.path,
        "spoil_bank": spoil.bank,
        "spoil_loose": spoil.loose,
        "spoil_mass": spoil.mass,
        "stone_loose": haul.stone_loose,
        "stone_mass": haul.stone_mass,
        "trips_out": _loads(haul.out),
        "trips_in": _loads(haul.stone),
        "trips_pavers": _loads(haul.pavers),
        "trips_panels": _loads(haul.panels),
        "bins": _loads(haul.bins),
        "deliveries": _loads(haul.deliveries),
    }


def _task(task: Task) -> dict[str, Any]:
    low, likely, high = task.time
    return {
        "task": task.title,
        "amount": task.amount,
        "measure": task.measure,
        "rate": task.rate,
        "low": low,
        "likely": likely,
        "high": high,
        "mean": task.mean,
    }


def _time(time: Spread) -> dict[str, Any]:
    return {
        "low": time.low,
        "mean": time.mean,
        "high": time.high,
        "deviation": time.deviation,
        "percentiles": {f"{share:g}": time.quantile(share) for share in SHARES},
    }


def _cost(cost: Cost) -> dict[str, Any]:
    return {
        "material": cost.of("material"),
        "haul": cost.of("haul"),
        "hours": cost.of("hours"),
        "total": cost.total,
        "low": cost.low,
        "high": cost.high,
    }


def job_record(job: Job) -> dict[str, Any]:
    """Return a job as plain data: m, m2, m3, kg, seconds of one person, money.

    Parameters
    ----------
    job : Job
    """
    return {
        "lines": [{"area": area, **_line(line)} for area, line in job.lines],
        "supplies": [_supply(supply) for supply in job.supplies],
        "haul": _haul(job.haul),
        "tasks": [_task(task) for task in job.tasks],
        "time": _time(job.time),
        "cost": _cost(job.cost),
    }


def _swing(swing: Swing) -> dict[str, Any]:
    return {
        "figure": swing.entry.name,
        "of": swing.entry.book,
        "title": swing.entry.title,
        "unit": swing.entry.dimension,
        "from": swing.values[0],
        "to": swing.values[1],
        "margin_from": swing.margins[0],
        "margin_to": swing.margins[1],
        "turns": swing.turns,
        "source": nominals(swing.entry.source, "ft"),
    }


def break_even_record(found: BreakEven) -> dict[str, Any]:
    """Return a break-even as plain data, the value of `break_even` in the cost."""
    return {
        "base": found.base,
        "against": found.against,
        "of": found.what,
        "value": found.value,
        "present": found.present,
        "searched": list(found.searched),
        "jumps": found.jumps,
        "saved_below": None if found.value is None else found.below,
        "saved_above": None if found.value is None else found.above,
        "steps": [
            {"base": step.base, "of": step.title, "package": step.each, "more": step.more}
            for step in found.steps
        ],
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
        "crew": order.crew.file,
        "cheapest": cheapest(totals(order.costs)) if order.areas else None,
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
