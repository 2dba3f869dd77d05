"""`fallaway card`: what every base takes over every depth of topsoil, printed and written."""

from __future__ import annotations

import json
from collections.abc import Callable, Iterator, Sequence
from pathlib import Path

from tabulate import tabulate

from grading.answers.card import Card, CardRow
from grading.answers.card_words import (
    FINISH_STAYS,
    advised_names,
    topsoil_words,
)
from grading.order.model import Job
from grading.pipeline import Plan
from grading.record.card import card_record
from grading.units import HOUR, INCH, Unit, size
from viz.drawings.charts.card import card_chart
from viz.files import write_with
from viz.paper.band import banded
from viz.paper.page import page_for
from viz.paper.players import write as play
from viz.signature import not_for_signature
from viz.table import Table, csv_text
from viz.tables.card import CardSheet, verdicts
from viz.tables.order import CUBIC, cubic
from viz.words.cautions import REPORT
from viz.words.done import done_lines


def row_title(plan: Plan, row: CardRow) -> str:
    """Write the topsoil of a row; the one that is reckoned with has a star."""
    if row.depth is None:
        return f"{topsoil_words(plan)}, probed *"
    return f"{size(row.depth, plan.site.unit)}{' *' if row.reckoned else ''}"


def text(sheet: CardSheet) -> str:
    """Return a decision card as it is printed in the terminal.

    Parameters
    ----------
    sheet : CardSheet
    """
    return "\n".join(_text(sheet))


def _text(sheet: CardSheet) -> Iterator[str]:
    card, plan = sheet.card, sheet.card.plan
    unit = plan.site.unit
    yield plan.site.name
    if band := not_for_signature(plan):
        yield band
    yield "What every base takes over every depth of topsoil, the whole site"
    yield FINISH_STAYS
    mark = CUBIC[unit]
    headers = (
        "topsoil", "base", f"dig\n{mark}", f"refill\n{mark}", "trips", "bins", "hours",
        f"cost\n{plan.crew.currency}", "advised", "",
    )  # fmt: skip
    rows: list[tuple[object, ...]] = []
    for row in card.rows:
        cheapest = row.cheapest
        for place, (name, job) in enumerate(row.jobs.items()):
            rows.append(
                (
                    "" if place else row_title(plan, row),
                    name,
                    f"{cubic(job.cut, unit):.2f}",
                    f"{cubic(job.fill, unit):.2f}",
                    job.haul.trips,
                    job.haul.bins.count,
                    f"{job.time.mean / HOUR:.0f}",
                    f"{job.cost.total:,.0f}",
                    "" if place else advised_names(plan, row.advised),
                    "cheapest" if name == cheapest else "",
                )
            )
    align = ("left", "left", *["right"] * 6, "left", "left")
    yield tabulate(rows, headers, colalign=align, disable_numparse=True)
    yield f"* as the plan reckons with: {topsoil_words(plan)}"
    yield ""
    yield from verdicts(sheet)
    halfway = list(done_lines(plan))
    yield from ["", *halfway] if halfway else []
    yield f"\n{REPORT}"


def card_table(card: Card) -> Table:
    """Return the card for a spreadsheet: a row for each depth, base and area, all of it numbers.

    Parameters
    ----------
    card : Card
    """
    plan = card.plan
    unit = plan.site.unit
    rows = []
    for row in card.rows:
        whole = ("whole site", row.jobs, advised_names(plan, row.advised))
        parts = [
            (area.area.name, jobs, base or "none")
            for area, jobs, base in zip(plan.areas, row.areas, row.advised, strict=True)
        ]
        for where, jobs, advised in (whole, *(parts if len(parts) > 1 else ())):
            least = min(jobs, key=lambda name: jobs[name].cost.total)
            rows += [
                (
                    topsoil_words(plan) if row.depth is None else _deep(row.depth, unit),
                    "yes" if row.reckoned else "", where, name, *_figures(job, unit), advised,
                    "yes" if name == least else "",
                )
                for name, job in jobs.items()
            ]  # fmt: skip
    mark, small = CUBIC[unit], {"ft": "in", "m": "mm"}[unit]
    headers = (
        f"topsoil ({small})", "reckoned with", "area", "base", f"dig, bank ({mark})",
        f"refill, compacted ({mark})", "trips of soil and stone (count)", "bins of soil (count)",
        "hours of one person (h)", f"cost ({plan.crew.currency})", "advised", "cheapest",
    )  # fmt: skip
    return Table(headers, tuple(rows))


def _deep(depth: float, unit: Unit) -> float:
    return round(depth / INCH, 3) if unit == "ft" else round(depth * 1000, 1)


def _figures(job: Job, unit: Unit) -> tuple[float, ...]:
    return (
        cubic(job.cut, unit), cubic(job.fill, unit), job.haul.trips, job.haul.bins.count,
        round(job.time.mean / HOUR, 1), round(job.cost.total),
    )  # fmt: skip


def as_json(sheet: CardSheet) -> str:
    """Return a decision card as JSON, in SI."""
    return json.dumps(card_record(sheet.card, sheet.deeper), indent=2, allow_nan=False)


def write(sheet: CardSheet, folder: Path, say: Callable[[str], None]) -> Sequence[Path]:
    """Write a decision card into a folder: text, CSV, JSON, and the picture to print.

    Parameters
    ----------
    sheet : CardSheet
    folder : Path
    say : callable
        Told what is being done.

    Raises
    ------
    SiteError
        The folder cannot be written.
    """

    return write_with(folder, lambda made: _make(sheet, made, say), sheet.card.plan.site)


def _make(sheet: CardSheet, folder: Path, say: Callable[[str], None]) -> None:

    plan = sheet.card.plan
    (folder / "card.txt").write_text(text(sheet) + "\n", encoding="utf-8")
    (folder / "card.json").write_text(as_json(sheet) + "\n", encoding="utf-8")
    (folder / "card.csv").write_text(csv_text(card_table(sheet.card)), encoding="utf-8-sig")
    say("drawing the card ...")
    chart = card_chart(sheet, page_for(plan.site.unit))
    play(banded(chart, not_for_signature(plan)), folder / "card", ("svg", "png", "pdf"))
