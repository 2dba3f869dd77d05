"""The last page of the crew's sheet: what comes, where it stands, hours, trips, room to sketch."""

from __future__ import annotations

import math
from collections.abc import Iterator

from grading.answers.halfway_words import left_words
from grading.geometry.tolerances import ROUNDING
from grading.order.days import days_words, factor_words
from grading.order.hauling import Loads
from grading.order.supplies import Supply
from grading.units import HOUR, Unit, volume
from viz.sheets.blocks import (
    Block,
    Column,
    Page,
    beside,
    elsewhere,
    heading,
    listed,
    sketch,
    table,
    words,
)
from viz.sheets.head import Job
from viz.table import CUBIC
from viz.tables.order import HEAVY, amount_of, cubic, heavy, pallets_words
from viz.words.cautions import CREW
from viz.words.plain import opened, stopped
from viz.words.uncounted import not_counted

_CLOSE = 0.6  # mm above and below a row: these lists are long, and read once


def work_page(job: Job) -> Page:
    """Return the page of order, hours and record; no prices stand on it.

    Parameters
    ----------
    job : Job
    """
    left: list[Block] = [heading("Order list"), _supplies(job)]
    out = not_counted(job.plan, keys=False)
    if out:
        left += [words("Not in this list, nor in the hours:", bold=True), listed(out)]
    left += [heading("Where things stand"), listed(places(job))]
    right: list[Block] = [heading("Hours, one person"), _hours(job), *_days(job),
                          heading("Through the gate"), _trips(job),
                          heading("Before and while you dig"),
                          listed(CREW, boxes=True)]  # fmt: skip
    blocks = [
        *(words(said, bold=True) for said in left_words(job.plan)),
        beside([*left, elsewhere(_OVERLEAF)], right, shares=(1.0, 1.0)),
        sketch(
            "Sketch what you bury: two tapes, how deep", "Photograph it before you cover it.",
            _OVERLEAF,
        ),
    ]  # fmt: skip
    return Page("Order, hours, record", tuple(blocks))


def _supplies(job: Job) -> Block:
    unit = job.unit
    rows = [[each.title, _order(each), _that_is(each, unit)] for each in job.order.total.supplies]
    return table([Column("Item", 42.0, "words"), Column("order", 30.0, strong=True),
                  Column("that is", 34.0), Column("came", 13.0, "box")], rows,
                 gap=_CLOSE)  # fmt: skip


def _order(supply: Supply) -> str:
    return f"{round(supply.count, 3):g} {package_words(supply.package.word, supply.count)}".strip()


def _that_is(supply: Supply, unit: Unit) -> str:
    told = [f"{cubic(supply.loose_order, unit):g} {CUBIC[unit]} loose" if supply.loose else "",
            pallets_words(supply)]  # fmt: skip
    said = ", ".join(filter(None, told))
    if said:
        return said
    return f"for {amount_words(supply.amount, supply.measure, unit)}"


def amount_words(amount: float, measure: str, unit: Unit) -> str:
    """Return an amount in the site's unit: 248.6 ft², 12 rolls."""
    if measure == "each":
        # What is counted is whole.
        return str(math.ceil(amount - ROUNDING))
    told, word = amount_of(amount, measure, unit)
    return f"{told:g} {package_words(word, told)}".strip()


_OVERLEAF = (
    "Sketch what you bury on the back of this page: two tapes, how deep. Photograph it before you "
    "cover it."
)
"""Said where too little of the page is left to sketch on."""

_MEASURES = ("ft", "m", "ft²", "m²", "yd³", "m³", "lb", "kg")
"""Units, which have no plural."""


def package_words(word: str, count: float) -> str:
    """Return a package's word, for as many as there are."""
    if word == "each":
        return ""
    if count == 1 or word in _MEASURES:
        return word
    return f"{word}es" if word.endswith("x") else f"{word}s"


def _hours(job: Job) -> Block:
    unit, total = job.unit, job.order.total
    rows = []
    for task in total.tasks:
        told = amount_words(task.amount, task.measure, unit) if task.measure else ""
        rows.append([task.title, told, f"{task.mean / HOUR:.1f}"])
    rows.append(["all tasks", "", f"{total.time.mean / HOUR:.1f}"])
    return table([Column("Task", 48.0, "words"), Column("how much", 22.0), Column("plan", 14.0),
                  Column("took", 12.0, "box")], rows, total=True, gap=_CLOSE)  # fmt: skip


def _days(job: Job) -> Iterator[Block]:
    yield words(f"{opened(days_words(job.order, job.order.total))}.")
    yield words(stopped(factor_words(job.order.crew).yard))


def _trips(job: Job) -> Block:
    unit, haul = job.unit, job.order.total.haul
    tons, spoil = HEAVY[unit], haul.spoil

    def told(loose: float, mass: float) -> str:
        return f"{volume(loose, unit)} loose, {weight(mass)}"

    def weight(mass: float) -> str:
        return f"{heavy(mass, unit):g} {package_words(tons, 2)}"

    rows = [
        ["soil out", told(spoil.loose, spoil.mass), str(haul.out.count)],
        ["stone, sand in", told(haul.stone_loose, haul.stone_mass), str(haul.stone.count)],
        ["pavers in", weight(haul.pavers_mass), str(haul.pavers.count)],
    ]  # fmt: skip
    if haul.panels.count:
        rows.append(["panels in", weight(haul.panels_mass), str(haul.panels.count)])
    return table(
        [Column("Load", 26.0, "words"), Column("of it", 50.0), Column("trips", 14.0)], rows
    )


def places(job: Job) -> Iterator[str]:
    """Give where bin, stone, pavers and panels stand, and how what is moved gets there."""
    haul = job.order.total.haul
    yield f"Moved {haul.way.words}."
    if haul.bins.count:
        yield (
            f"Bins of soil at the far end of that way: {_loads(haul.bins)}. Never more than level "
            "full."
        )
    if haul.deliveries.count:
        yield (
            "Stone and sand beside them, on boards or fabric; deliveries: "
            f"{_loads(haul.deliveries)}."
        )
    where: dict[str, list[str]] = {}
    for area in job.plan.areas:
        name = area.area.name
        where.setdefault(job.plan.advice.area(name).stacks.words, []).append(name)
    for said, names in where.items():
        yield stopped(f"{', '.join(names)}: {said}" if len(where) > 1 else said)
    if haul.panels.count:
        yield "Panels flat, dry and off the bed, by the side that is laid last."


def _loads(found: Loads) -> str:
    return f"{found.count}, by {found.governed}" if found.governed else str(found.count)
