"""What the work takes, for the homeowner: what it moves, the bases side by side, what it costs."""

from __future__ import annotations

from typing import Any

from grading.dig.hole import Dig
from grading.order.days import RAIN, days_of
from grading.order.hauling import Haul
from grading.order.model import AreaOrder
from grading.order.model import Job as Work
from grading.units import Unit
from viz.sheets.compile import printable
from viz.sheets.head import Job
from viz.tables.order import HEAVY, heavy
from viz.words.figures import DIRT, earth, small

_SHOWN = 4  # base systems side by side in figures


def moves(job: Job, order: AreaOrder, several: bool) -> list[dict[str, str]]:
    """Return what an area moves; where there are several, of it alone: bins are shared."""
    if not several:
        return _moved(job, order.chosen.haul, job.order.total, _eight_in_ten(job, job.order.total))
    return _moved(job, order.chosen.haul, order.chosen, "of the crew, this area alone")


def _moved(job: Job, haul: Haul, work: Work, days_of: str) -> list[dict[str, str]]:
    trips = haul.trips + haul.pavers.count
    loads = "barrow loads" if haul.way.carrier == "barrow" else f"trips by {haul.way.carrier}"
    bins = "bin of soil" if haul.bins.count == 1 else "bins of soil"
    loose = earth(haul.spoil.loose, job.unit)
    return [
        {"number": f"{haul.bins.count}", "unit": bins, "words": f"{loose} loose"},
        {"number": f"{trips}", "unit": loads, "words": "of soil, stone and pavers"},
        {"number": _days_words(job, work), "unit": "days on site", "words": days_of},
    ]


def _days_words(job: Job, work: Work) -> str:
    return days_of(job.order, work).words


def _eight_in_ten(job: Job, work: Work) -> str:
    """Say what eight jobs in ten take."""
    days = days_of(job.order, work)
    return f"{days.crew}; eight such jobs in ten take {days.between}, {RAIN}"


def whole_job_words(job: Job) -> str:
    """Say what the whole job moves, where it has several areas: they share bins and days."""
    if len(job.order.areas) < 2:
        return ""
    parts = _moved(job, job.order.total.haul, job.order.total, "")
    bins, loads, days = (f"{part['number']} {part['unit']}" for part in parts)
    said = f"{bins}, {loads} {parts[1]['words']}, {days}"
    eight = _eight_in_ten(job, job.order.total)
    return f"The whole job, all areas together: {said} ({eight})."


def _down_to_soil_words(dig: Dig, unit: Unit) -> str:
    """Say how deep the soil lies under the finish, the refill above it included."""
    if dig.refill is None:
        return small(dig.build_up, unit)
    return f"up to {small(dig.build_up + dig.refill.greatest, unit, DIRT)}"


def side_by_side(job: Job, order: AreaOrder) -> dict[str, Any]:
    """Return the base systems side by side in figures."""
    plan = order.area
    names = [plan.chosen, *(name for name in plan.digs if name != plan.chosen)][:_SHOWN]
    digs = [plan.digs[name] for name in names]
    jobs = job.order.alone(order)
    told = [_figures(job, plan.digs[name], jobs[name]) for name in names]
    most = max(dig.cut for dig in digs) or 1.0
    note = "Setting up and cleaning up are in the days."
    if len(job.order.areas) > 1:
        note = "This area alone, without setting up and cleaning up, alike on every base."
    if len(names) < len(plan.digs):
        note += f" Bases beyond the first {_SHOWN} are in the report."
    return {
        "heads": [printable(dig.system.title, 40) for dig in digs],
        "bars": [100 * dig.cut / most for dig in digs],
        "rows": [{"name": head, "cells": [each[head] for each in told]} for head in told[0]],
        "note": note,
    }


def _figures(job: Job, dig: Dig, work: Work) -> dict[str, str]:
    """Return what one base takes, each figure by what stands before it."""
    unit, haul = job.unit, work.haul
    found = {
        "Top of the paving down to the soil": _down_to_soil_words(dig, unit),
        "Deepest dig below today's ground": small(dig.max_dig, unit, DIRT),
        "Earth to dig, as it lies": earth(dig.cut, unit),
        "Earth to cart away, loose": earth(dig.spoil_loose, unit),
        "Stone put back to fill the hole up": earth(dig.fill, unit) if dig.fill > 5e-3 else "none",
        "Stone and sand brought in": f"{heavy(haul.stone_mass, unit):.1f} {HEAVY[unit]}",
        "Bins of soil": str(haul.bins.count),
        "Loads of soil and stone": str(haul.trips),
        "Days of the crew": _days_words(job, work),
    }
    if job.plan.crew.card.show_prices:
        found["Cost, all counted"] = f"{job.order.crew.currency}{work.cost.total:,.0f}"
    return found


def cost_words(job: Job) -> str:
    """Say what the job costs, where the crew wants it told."""
    if not job.plan.crew.card.show_prices:
        return ""
    cost, sign = job.order.total.cost, job.order.crew.currency
    return (
        f"Worked out for the whole job: {sign}{cost.total:,.0f}; eight times in ten "
        f"{sign}{cost.low:,.0f} to {sign}{cost.high:,.0f}. Material, hauling and hours; an "
        "estimate, not an offer."
    )
