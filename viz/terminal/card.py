"""`fallaway card`: what every base takes over every depth of topsoil, printed and written."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from pathlib import Path

from grading.answers.card import Card, CardRow
from grading.answers.card_words import (
    FINISH_STAYS,
    advised_names,
    topsoil_words,
)
from grading.order.telling import telling_of
from grading.pipeline import Plan
from grading.records.answers import card_record
from grading.units import HOUR, INCH, Unit, size
from viz.drawings.charts.card import card_chart
from viz.files import write_with
from viz.paper.band import banded
from viz.paper.page import page_for
from viz.paper.players import write as play
from viz.signature import not_for_signature
from viz.table import CUBIC, Cells, Table, write_tables
from viz.tables.card import CardSheet, verdicts
from viz.tables.order import cubic
from viz.terminal.lines import in_json
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
    unit, telling = plan.site.unit, telling_of(plan.order)
    yield plan.site.name
    if band := not_for_signature(plan):
        yield band
    yield "What every base takes over every depth of topsoil, the whole site"
    yield FINISH_STAYS
    mark = CUBIC[unit]
    yield Table.of(
        {
            "topsoil": "" if place else row_title(plan, row), "base": name,
            f"dig\n{mark}": f"{cubic(job.cut, unit):.2f}",
            f"refill\n{mark}": f"{cubic(job.fill, unit):.2f}", "trips": job.haul.trips,
            "bins": job.haul.bins.count, "hours": f"{job.time.mean / HOUR:.0f}",
            f"cost\n{telling.head}": telling.column(job.cost.total),
            "advised": "" if place else advised_names(plan, row.advised),
            "": "cheapest" if name == row.cheapest else "",
        }
        for row in card.rows
        for place, (name, job) in enumerate(row.jobs.items())
    ).grid(2, 2)  # fmt: skip
    yield f"* as the plan reckons with: {topsoil_words(plan)}"
    if not telling.priced:
        yield f"{telling.why.file}."
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
    return Table.of(cells for row in card.rows for cells in _rows(card.plan, row))


def _rows(plan: Plan, row: CardRow) -> Iterator[Cells]:
    unit = plan.site.unit
    telling = telling_of(plan.order)
    mark, small = CUBIC[unit], {"ft": "in", "m": "mm"}[unit]
    told = [("whole site", row.jobs, advised_names(plan, row.advised))]
    if len(plan.areas) > 1:
        bases = [base or "none" for base in row.advised]
        told += zip((area.area.name for area in plan.areas), row.areas, bases, strict=True)
    for where, jobs, advised in told:
        least = min(jobs, key=lambda name: jobs[name].cost.total)
        for name, job in jobs.items():
            yield {
                f"topsoil ({small})": (
                    topsoil_words(plan) if row.depth is None else _deep(row.depth, unit)
                ),
                "reckoned with": "yes" if row.reckoned else "", "area": where, "base": name,
                f"dig, bank ({mark})": cubic(job.cut, unit),
                f"refill, compacted ({mark})": cubic(job.fill, unit),
                "trips of soil and stone (count)": job.haul.trips,
                "bins of soil (count)": job.haul.bins.count,
                "hours of one person (h)": round(job.time.mean / HOUR),
                f"cost ({telling.head})": telling.number(job.cost.total), "advised": advised,
                "cheapest": "yes" if name == least else "",
            }  # fmt: skip


def _deep(depth: float, unit: Unit) -> float:
    return round(depth / INCH, 3) if unit == "ft" else round(depth * 1000, 1)


def as_json(sheet: CardSheet) -> str:
    """Return a decision card as JSON, in SI."""
    return in_json(card_record(sheet.card, sheet.deeper))


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
    write_tables({"card": card_table(sheet.card)}, folder)
    say("drawing the card ...")
    chart = card_chart(sheet, page_for(plan.site.unit))
    play(banded(chart, not_for_signature(plan)), folder / "card", ("svg", "png", "pdf"))
