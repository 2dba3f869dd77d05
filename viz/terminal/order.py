"""`fallaway order`: the order list, hours and money of a plan, for the terminal and for files."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from pathlib import Path

from tabulate import tabulate

from grading.order.days import days_words, factor_words, hours_words
from grading.order.margins.apart import apart_words, aparts_of
from grading.order.telling import telling_of
from grading.records.order import order_record
from grading.units import HOUR
from viz.drawings.charts.costs import cost_sheets
from viz.files import write_with
from viz.paper.band import banded
from viz.paper.page import page_for
from viz.paper.players import write as play
from viz.signature import not_for_signature
from viz.table import Table, write_tables
from viz.tables import order as tables
from viz.tables.account import Account
from viz.tables.workbook import write_workbook
from viz.terminal.lines import in_json
from viz.words.cautions import REPORT
from viz.words.known import bins_known
from viz.words.plain import opened

SHOWN_SWINGS = 6


def _grid(table: Table, wide: int | None = None) -> str:
    headers = [
        header.replace(" (", "\n(") if len(header) > 9 else header for header in table.headers
    ]
    numeric = [
        all(isinstance(row[k], int | float) or row[k] == "" for row in table.rows)
        for k in range(len(headers))
    ]
    cells = [[f"{cell:g}" if isinstance(cell, float) and abs(cell) < 1e5 else cell for cell in row]
             for row in table.rows]  # fmt: skip
    align = ["right" if right else "left" for right in numeric]
    widths = None if wide is None else [None] * (len(headers) - 1) + [wide]
    return tabulate(
        cells, headers, colalign=align if cells else None, disable_numparse=True,
        maxcolwidths=widths,
    )  # fmt: skip


def _without(table: Table, *dropped: str) -> Table:
    return table.keeping(
        [k for k, header in enumerate(table.headers) if not header.startswith(dropped)]
    )


def text(account: Account) -> str:
    """Return an order as it is printed in the terminal.

    Parameters
    ----------
    account : Account
    """
    return "\n".join(_text(account))


def _text(account: Account) -> Iterable[str]:
    plan = account.order.plan
    yield plan.site.name
    if band := not_for_signature(plan):
        yield band
    yield from order_lines(account, account.order.crew.called)
    yield f"\n{REPORT}"


def order_lines(account: Account, figures: str) -> Iterable[str]:
    """Yield all that a plan takes, for the terminal.

    Parameters
    ----------
    account : Account
    figures : str
        What the file of the crew's own figures is called; empty where there are none.
    """
    order = account.order
    plan, crew = order.plan, order.crew
    unit, telling = plan.site.unit, telling_of(order)
    yield (
        f"Figures: {figures}, and those built in where it says nothing"
        if figures
        else "Figures: those built in, common practice and no source but for the soils; "
        "write your own into crew.toml"
    )
    if not telling.priced:
        yield f"{telling.why.file}."
    yield f"Moved {order.way.words}"
    for area in order.areas:
        yield f"\n{tables.area_title(area)}"
        yield _grid(_without(tables.lines_table(area.chosen, unit), "weight"), 58)
        yield ""
        yield _grid(tables.comparison_table(area.bases, unit, telling, area.area.chosen))
    jobs = tables.site_jobs(order)
    total = order.total
    yield "\nTo order for the whole site, on the bases chosen (*), rounded up as it is sold"
    yield from account.still
    yield _grid(_without(tables.supplies_table(total, unit, telling), "unit", "needed"))
    if account.built:
        yield "Built beside and below the paving, counted above:"
        yield from (f"  {words}" for words in account.built)
    if account.ways:
        yield ""
        yield from account.ways
        yield ""
    if account.left_out:
        yield "Not in this list, nor in the hours and the money:"
        yield from (f"  {words}" for words in account.left_out)
    if account.may_need:
        yield "What a job may still need, none of it counted:"
        yield from (f"  {words}" for words in account.may_need)
    yield "\nMoving it, whole site"
    yield _grid(tables.moving_table(jobs, unit))
    yield from filter(None, [bins_known(order)])
    yield "\nHours of one person, whole site on the bases chosen"
    yield _grid(tables.hours_table(total, unit))
    yield f"{opened(days_words(order, total))}.\n{opened(hours_words(order, total))}."
    yield f"{factor_words(crew).file}."
    yield f"For hours.csv, estimated by the rates alone: {total.time.by_rates / HOUR:.0f}"
    yield "\nWhole site, base systems side by side; hours and haul included, * chosen"
    chosen = tables.site_choice(order)
    yield _grid(tables.comparison_table(jobs, unit, telling, chosen))
    yield ""
    yield _grid(tables.money_table(jobs, telling))
    pairs = list(aparts_of(order, chosen))
    if pairs:
        yield "One crew and one yard on either base, so that what slows it slows both:"
        yield from (f"  {apart_words(each, telling)}" for each in pairs)
    if account.price:
        yield f"Price: {account.price}; `fallaway quote SITE` makes its paper."
    if account.swings:
        yield "\nWhat moves the comparison most (the cheapest base saves this much over the next)"
        table = tables.swings_table(account.swings, unit, telling, SHOWN_SWINGS)
        yield _grid(_without(table, "source"))
    yield from (tables.break_even_words(found, unit, telling) for found in account.break_evens)


def sheets(account: Account) -> dict[str, Table]:
    """Return the tables that go into CSV files, by the name of the file.

    Parameters
    ----------
    account : Account
    """
    order = account.order
    unit, telling = order.plan.site.unit, telling_of(order)
    jobs = tables.site_jobs(order)
    chosen = tables.site_choice(order)
    return {
        "order": tables.supplies_table(order.total, unit, telling),
        "order-quantities": tables.all_lines(order),
        "order-moving": tables.moving_table(jobs, unit),
        "order-hours": tables.hours_table(order.total, unit),
        "order-comparison": tables.comparison_table(jobs, unit, telling, chosen),
        "order-money": tables.money_table(jobs, telling),
        "order-sensitivity": tables.swings_table(account.swings, unit, telling, 100),
    }


def write(account: Account, folder: Path, say: Callable[[str], None]) -> Sequence[Path]:
    """Write the order list into a folder: CSV, XLSX, JSON, and the picture of the comparison.

    Parameters
    ----------
    account : Account
    folder : Path
    say : callable
        Told what is being done.

    Raises
    ------
    SiteError
        The folder cannot be written.
    """

    return write_with(folder, lambda made: _make(account, made, say), account.order.plan.site)


def _make(account: Account, folder: Path, say: Callable[[str], None]) -> None:

    record = order_record(account.order, account.swings, account.break_evens)
    (folder / "order.json").write_text(in_json(record) + "\n", encoding="utf-8")
    (folder / "order.txt").write_text(text(account) + "\n", encoding="utf-8")
    write_tables(sheets(account), folder)
    write_workbook(account, folder / "order.xlsx")
    say("drawing the comparison ...")
    page = page_for(account.order.plan.site.unit)
    order = account.order
    words = [
        tables.break_even_words(found, order.plan.site.unit, telling_of(order))
        for found in account.break_evens
    ]
    band = not_for_signature(order.plan)
    for sheet in cost_sheets(order, page, words):
        play(banded(sheet, band), folder / sheet.name)
