"""What the crew orders, moves and works, whole site."""

from __future__ import annotations

from collections.abc import Iterator

from grading.answers.halfway_words import left_words
from grading.order.days import days_words, factor_words
from grading.order.hauling import Loads
from grading.order.labour import Task
from grading.units import HOUR, Unit, volume
from viz.sheets.blocks import (
    Section,
    listed,
    table,
    words,
)
from viz.sheets.compile import Compiled
from viz.sheets.head import Job
from viz.table import CUBIC
from viz.tables.order import HEAVY, LIGHT, amount_of, cubic, heavy, light, pallets_words
from viz.words.plain import opened
from viz.words.uncounted import not_counted


def ordering(job: Job, sheet: Compiled) -> Iterator[Section]:
    """Yield the order list of the whole site, rounded up as it is sold."""
    unit, priced = job.unit, job.plan.crew.card.show_prices
    total, sign = job.order.total, job.order.crew.currency
    rows = []
    for supply in total.supplies:
        needed, word = amount_of(supply.amount, supply.measure, unit)
        also = [
            f"{cubic(supply.loose_order, unit):g} {CUBIC[unit]} loose" if supply.loose else "",
            pallets_words(supply),
            f"{light(supply.mass, unit):,} {LIGHT[unit]}" if supply.mass else "",
        ]
        order = f"{round(supply.count, 3):g} {_package_words(supply.package.word, supply.count)}"
        row = [
            supply.title,
            order,
            f"{needed:g} {_package_words(word, 1)}",
            ", ".join(filter(None, also)),
        ]
        rows.append([*row, f"{sign}{supply.cost:,.0f}"] if priced else row)
    heads = ["Item", "Order", "Needed", "That is"] + (["Cost"] if priced else [])
    shares = [38, 40, 34, 54] + ([22] if priced else [])
    left_out = not_counted(job.plan)
    blocks = [words(said, bold=True) for said in left_words(job.plan)]
    blocks.append(table([*heads, "Came"], rows, [*shares, 18], left=1, pencil=1))
    if left_out:
        blocks.append(words("Not in this list, nor in the hours:", bold=True))
        blocks.append(listed(left_out))
    yield Section(
        "Order list, whole site" if len(job.plan.areas) > 1 else "Order list", tuple(blocks)
    )


def _package_words(word: str, count: float) -> str:
    """Return a package's word, for as many as there are."""
    if word == "each":
        return ""
    if count == 1:
        return word
    return f"{word}es" if word.endswith("x") else f"{word}s"


def moving(job: Job, sheet: Compiled) -> Iterator[Section]:
    """Yield what is carried, in how many trips and bins, and the hours of each task."""
    unit, total = job.unit, job.order.total
    haul, tons, spoil = total.haul, HEAVY[unit], total.haul.spoil

    def told(found: Loads) -> str:
        return f"{found.count}, by {found.governed}" if found.governed else str(found.count)

    rows = [
        ["Soil out", f"{volume(spoil.bank, unit)} bank", f"{volume(spoil.loose, unit)} loose",
         f"{heavy(spoil.mass, unit):g} {tons}", str(haul.out.count)],
        ["Stone and sand in", "", f"{volume(haul.stone_loose, unit)} loose",
         f"{heavy(haul.stone_mass, unit):g} {tons}", str(haul.stone.count)],
        ["Pavers in", "", "", f"{heavy(haul.pavers_mass, unit):g} {tons}", str(haul.pavers.count)],
    ]  # fmt: skip
    if haul.panels.count:
        weight = f"{heavy(haul.panels_mass, unit):g} {tons}"
        rows.append(["Panels in", "", "", weight, str(haul.panels.count)])
    hours = [
        [task.title, _amount_words(task, unit), f"{task.mean / HOUR:.1f}"] for task in total.tasks
    ]
    hours.append(["all tasks, of one person", "", f"{total.time.mean / HOUR:.0f}"])
    yield Section(
        "Moving it, and hours",
        (
            words(
                f"Moved {haul.way.words}. Bins of soil: {told(haul.bins)}. "
                f"Deliveries of stone and sand: {told(haul.deliveries)}."
            ),
            table(("Load", "In the ground", "As carried", "Weight", "Trips"), rows,
                  (44, 36, 40, 36, 20), left=1),
            table(("Task", "How much", "Hours, mean", "Took"), hours, (80, 44, 34, 30),
                  pencil=1, last_bold=True),
            words(f"{opened(days_words(job.order, total))}. {factor_words(job.order.crew)}."),
        ),
    )  # fmt: skip


def _amount_words(task: Task, unit: Unit) -> str:
    amount, word = amount_of(task.amount, task.measure, unit)
    return f"{amount:g} {word}" if task.measure else ""
