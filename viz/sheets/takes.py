"""What the work takes, for the homeowner: what it moves, the bases side by side, what it costs."""

from __future__ import annotations

from typing import Any

from grading.dig.hole import Dig
from grading.order.hauling import Haul
from grading.order.model import AreaOrder
from grading.order.model import Job as Work
from grading.units import Unit
from viz.sheets.compile import printable
from viz.sheets.head import Job
from viz.tables.order import heavy
from viz.words.figures import DIRT, earth, small

_SHOWN = 4  # base systems side by side in figures


def moves(job: Job, order: AreaOrder, several: bool) -> list[dict[str, str]]:
    """Return what an area moves; where there are several, of it alone: bins are shared."""
    if not several:
        return _moved(job, order.chosen.haul, job.order.total, "eight jobs in ten take that")
    return _moved(job, order.chosen.haul, order.chosen, "of the crew, this area alone")


def _moved(job: Job, haul: Haul, work: Work, days_of: str) -> list[dict[str, str]]:
    trips = haul.trips + haul.pavers.count
    loads = "barrow loads" if haul.way.carrier == "barrow" else f"trips by {haul.way.carrier}"
    bins = "bin of soil" if haul.bins.count == 1 else "bins of soil"
    loose = earth(haul.spoil.loose, job.unit)
    return [
        {"number": f"{haul.bins.count}", "unit": bins, "words": f"{loose} loose"},
        {"number": f"{trips}", "unit": loads, "words": "of soil, stone and pavers"},
        {"number": _days(job, work), "unit": "days on site", "words": days_of},
    ]


def _days(job: Job, work: Work) -> str:
    """Return the days that eight jobs in ten take."""
    low, high = (f"{job.order.days(work, share):.1f}" for share in (0.1, 0.9))
    return low if low == high else f"{low} to {high}"


def whole_job(job: Job) -> str:
    """Say what the whole job moves, where it has several areas: they share bins and days."""
    if len(job.order.areas) < 2:
        return ""
    parts = _moved(job, job.order.total.haul, job.order.total, "")
    bins, loads, days = (f"{part['number']} {part['unit']}" for part in parts)
    said = f"{bins}, {loads} {parts[1]['words']}, {days}"
    return f"The whole job, all areas together: {said} (eight jobs in ten take that)."


def _down_to_soil(dig: Dig, unit: Unit) -> str:
    """Say how deep the soil lies under the finish, the refill above it included."""
    if dig.refill is None:
        return small(dig.build_up, unit)
    return f"up to {small(dig.build_up + dig.refill.greatest, unit, DIRT)}"


def side_by_side(job: Job, order: AreaOrder) -> dict[str, Any]:
    """Return the base systems side by side in figures."""
    plan, unit = order.area, job.unit
    names = [plan.chosen, *(name for name in plan.digs if name != plan.chosen)][:_SHOWN]
    works: dict[str, Work] = dict(order.bases)
    heavy_word = {"ft": "ton", "m": "tonne"}[unit]
    most = max(plan.digs[name].cut for name in names) or 1.0

    note = "This area alone, without setting up and cleaning up, alike on every base."
    if len(names) < len(plan.digs):
        note += f" Bases beyond the first {_SHOWN} are in the report."
    digs = {name: plan.digs[name] for name in names}
    rows = [
        ("Top of the paving down to the soil", [_down_to_soil(dig, unit) for dig in digs.values()]),
        ("Deepest dig below today's ground",
         [small(dig.max_dig, unit, DIRT) for dig in digs.values()]),
        ("Earth to dig, as it lies", [earth(dig.cut, unit) for dig in digs.values()]),
        ("Earth to cart away, loose", [earth(dig.spoil_loose, unit) for dig in digs.values()]),
        ("Stone put back to fill the hole up",
         [earth(dig.fill, unit) if dig.fill > 5e-3 else "none" for dig in digs.values()]),
        ("Stone and sand brought in",
         [f"{heavy(works[name].haul.stone_mass, unit):.1f} {heavy_word}" for name in names]),
        ("Bins of soil", [str(works[name].haul.bins.count) for name in names]),
        ("Loads of soil and stone", [str(works[name].haul.trips) for name in names]),
        ("Days of the crew, eight jobs in ten", [_days(job, works[name]) for name in names]),
    ]  # fmt: skip
    if job.plan.crew.card.show_prices:
        sign = job.order.crew.currency
        costs = [f"{sign}{works[name].cost.total:,.0f}" for name in names]
        rows.append(("Cost, all counted", costs))
    return {
        "heads": [printable(dig.system.title, 40) for dig in digs.values()],
        "bars": [100 * dig.cut / most for dig in digs.values()],
        "rows": [{"name": head, "cells": cells} for head, cells in rows],
        "note": note,
    }


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
