"""The order as a workbook: a sheet for each area, then totals, moving, hours and money.

XlsxWriter, because it writes formulas with their values beside them, needs nothing else, and
gives the same bytes on every run; nothing is ever read back.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from contextlib import contextmanager
from datetime import datetime
from pathlib import Path
from typing import Any

from msgspec import Struct

from grading.order.telling import telling_of
from viz.signature import not_for_signature
from viz.table import Table
from viz.tables import order as tables
from viz.tables.account import Account
from viz.words.cautions import REPORT

_LONGEST_NAME = 31  # letters of a sheet's name
_FORBIDDEN = str.maketrans(dict.fromkeys("[]:*?/\\'", "-"))
_KEPT = {"totals", "hours", "money", "history"}  # the last is the format's own
_WIDEST = 70
_FINE = "0.000"
_PLACES = {
    "in": "0.00", "mm": "0", "ft²": "#,##0.0", "m²": "#,##0.0", "yd³": "#,##0.00",
    "m³": "#,##0.00", "%": "0.0", "degrees clockwise from +y": "0", "count": "#,##0",
}  # fmt: skip
"""How many places a figure is shown with by the unit in its header; the cell holds them all."""
MADE = datetime(2000, 1, 1)  # the same on every run


def write_workbook(account: Account, path: Path) -> None:
    """Write an order as XLSX.

    Parameters
    ----------
    account : Account
    path : Path
    """
    order = account.order
    unit, telling = order.plan.site.unit, telling_of(order)
    with book_at(path, order.plan.site.name) as book:
        pages = Pages(book)
        for area in order.areas:
            sheet = pages.add(area.area.area.name)
            sheet.heading(f"{order.plan.site.name}: {tables.area_title(area)}")
            sheet.table(tables.lines_table(area.chosen, unit))
            sheet.heading("To order for this area alone")
            sheet.table(tables.supplies_table(area.chosen, unit, telling, room=True), priced=True)
            sheet.heading("Base systems side by side, this area alone; * chosen")
            comparison = tables.comparison_table(area.bases, unit, telling, area.area.chosen)
            sheet.table(comparison)
            for name, job in area.bases.items():
                if name != area.area.chosen:
                    sheet.heading(f"On {name} instead")
                    sheet.table(tables.lines_table(job, unit))
        jobs, total = tables.site_jobs(order), order.total
        sheet = pages.add("Totals", own=True)
        sheet.heading("To order for the whole site, on the bases chosen, rounded up as it is sold")
        sheet.table(
            tables.supplies_table(total, unit, telling, room=True), priced=True, summed=True
        )
        sheet.heading(f"Moving it, {order.way.words}")
        sheet.table(tables.moving_table(jobs, unit))
        sheet = pages.add("Hours", own=True)
        sheet.heading("Hours of one person, whole site on the bases chosen")
        sheet.table(tables.hours_table(total, unit))
        sheet.heading("How they may turn out")
        crew = order.crew
        sheet.table(tables.percentiles_table(total, crew["crew-size"], crew["crew-day"], telling))
        sheet = pages.add("Money", own=True)
        if not telling.priced:
            sheet.words(f"{telling.why.file}.")
        sheet.heading("Whole site, base systems side by side; * chosen")
        chosen = tables.site_choice(order)
        sheet.table(tables.comparison_table(jobs, unit, telling, chosen))
        sheet.heading("Whole cost")
        sheet.table(tables.money_table(jobs, telling))
        sheet.heading("What moves the comparison most")
        sheet.table(tables.swings_table(account.swings, unit, telling, 100))
        for found in account.break_evens:
            sheet.words(tables.break_even_words(found, unit, telling))
        band = not_for_signature(order.plan)
        for page in pages.all:
            if band:
                page.words(band)
            page.words(" ".join(REPORT.split()))
            page.close()


class Live(Struct, frozen=True):
    """What a spreadsheet works out anew where a figure is changed.

    Attributes
    ----------
    sums : tuple of str
        Starts of the headers whose columns are summed below the table: of the rows that are shown,
        where some are sifted out.
    product : (str, (str, str), float), optional
        The start of the header of a column that is the product of two others, over a number.
    """

    sums: tuple[str, ...] = ()
    product: tuple[str, tuple[str, str], float] | None = None


NOT_LIVE = Live()


@contextmanager
def book_at(path: Path, title: str) -> Iterator[Any]:
    """Give a workbook that is written at the end.

    Raises
    ------
    OSError
        It cannot be written.
    """
    import xlsxwriter
    from xlsxwriter.exceptions import FileCreateError

    # Names and notes are words: none of them is a formula or a link. Made in memory, so that no
    # temporary folder has to hold it.
    options = {"strings_to_formulas": False, "strings_to_urls": False, "in_memory": True}
    try:
        with xlsxwriter.Workbook(str(path), options) as book:
            book.set_properties({"title": title, "created": MADE})
            book.set_size(2400, 1600)
            yield book
    except FileCreateError as error:
        cause = error.args[0] if error.args else None
        raise cause if isinstance(cause, OSError) else OSError(str(error)) from error


class Pages:
    """The sheets of a book, each by a name that it may have."""

    def __init__(self, book: Any) -> None:
        self.book, self._names = book, set[str]()
        self.all: list[Page] = []
        self.looks = {
            "heading": book.add_format({"bold": True, "font_size": 12}),
            "head": book.add_format(
                {"bold": True, "text_wrap": True, "bottom": 1, "valign": "top",
                 "bg_color": "#ECECEC"}
            ),
            "words": book.add_format({"valign": "top"}),
            "long": book.add_format({"text_wrap": True, "valign": "top"}),
            "number": book.add_format({"valign": "top", "num_format": "#,##0.##"}),
            "whole": book.add_format({"valign": "top", "num_format": "#,##0"}),
            "money": book.add_format({"valign": "top", "num_format": "#,##0.00"}),
            **{
                places: book.add_format({"valign": "top", "num_format": places})
                for places in (*_PLACES.values(), _FINE)
            },
            "typed": book.add_format({"num_format": "#,##0.00", "border": 1}),
            "sum": book.add_format({"bold": True, "top": 1, "num_format": "#,##0.00"}),
        }  # fmt: skip

    def add(self, name: str, own: bool = False) -> Page:
        """Add a sheet; those of the site as a whole keep their `own` names."""
        plain = " ".join(name.translate(_FORBIDDEN).split())[:_LONGEST_NAME].strip("-' ") or "area"
        taken = self._names if own else self._names | _KEPT
        title, count = plain, 1
        while title.lower() in taken:
            count += 1
            title = f"{plain[: _LONGEST_NAME - 4]} {count}"
        self._names.add(title.lower())
        page = Page(self.book.add_worksheet(title), self.looks)
        self.all.append(page)
        return page


class Page:
    """One sheet, filled from the top."""

    def __init__(self, sheet: Any, looks: dict[str, Any]) -> None:
        self.sheet, self.looks, self.row = sheet, looks, 0
        self.widths: dict[int, int] = {}
        sheet.set_landscape()
        sheet.fit_to_pages(1, 0)
        sheet.set_footer("&L&A&RPage &P of &N")

    def heading(self, words: str) -> None:
        """Write a heading, a row below what is there."""
        self.row += 1 if self.row else 0
        self.sheet.write_string(self.row, 0, words, self.looks["heading"])
        self.row += 1

    def words(self, words: str) -> None:
        """Write a line of words, a row below what is there."""
        self.row += 1
        self.sheet.write_string(self.row, 0, words)

    def table(
        self, table: Table, priced: bool = False, summed: bool = False, alone: bool = False,
        live: Live = NOT_LIVE,
    ) -> None:  # fmt: skip
        """Write a table from the next row on; one `alone` on its sheet can be sorted and sifted.

        Its headers stay in sight, and its figures are shown with the places of their unit.
        """
        for column, header in enumerate(table.headers):
            self.sheet.write_string(self.row, column, header, self.looks["head"])
            self._widen(column, [max(header.split(), key=len)])
        first = self.row = self.row + 1
        for row in table.rows:
            self._row(row, table.headers, priced, alone)
            self._product(row, table.headers, live)
        if alone:
            self.sheet.freeze_panes(first, 1)
            self.sheet.autofilter(first - 1, 0, max(self.row - 1, first), len(table.headers) - 1)
        if summed and table.rows:
            self._sum(table, first)
        if live.sums and table.rows:
            self._sums(table, first, live.sums)
        self.row += 1

    def _row(
        self, row: Sequence[object], headers: Sequence[str], priced: bool, alone: bool
    ) -> None:
        for column, cell in enumerate(row):
            if isinstance(cell, int | float) and not isinstance(cell, bool):
                fraction = _places(headers[column]) if alone else "number"
                whole = isinstance(cell, int) or (not alone and cell.is_integer())
                look = self.looks["whole" if whole else fraction]
                if headers[column].startswith("price"):
                    look = self.looks["money"]
                if priced and headers[column].startswith("cost"):
                    formula = _product(self.row, headers)
                    self.sheet.write_formula(self.row, column, formula, self.looks["money"], cell)
                else:
                    self.sheet.write_number(self.row, column, cell, look)
                self._widen(column, [f"{cell:,.2f}"])
            elif priced and cell == "" and headers[column].startswith("cost"):
                # A price that nobody gave is not there yet: its cost comes as it is typed in.
                self.sheet.write_formula(
                    self.row, column, _product(self.row, headers, typed=True),
                    self.looks["money"], "",
                )  # fmt: skip
            elif priced and cell == "" and headers[column].startswith("price"):
                self.sheet.write_blank(self.row, column, None, self.looks["typed"])
            elif cell != "":
                long = len(str(cell)) > _WIDEST
                self.sheet.write_string(
                    self.row, column, str(cell), self.looks["long" if long else "words"]
                )
                self._widen(column, [str(cell)])
        self.row += 1

    def _sum(self, table: Table, first: int) -> None:
        from xlsxwriter.utility import xl_range

        column = next(k for k, head in enumerate(table.headers) if head.startswith("cost"))
        costs = [row[column] for row in table.rows if row[column] != ""]
        total = sum(float(str(cost)) for cost in costs) if costs else ""
        self.sheet.write_string(self.row, 0, "all of it", self.looks["sum"])
        cells = xl_range(first, column, self.row - 1, column)
        formula = f"=SUM({cells})" if costs else f'=IF(SUM({cells})=0,"",SUM({cells}))'
        self.sheet.write_formula(self.row, column, formula, self.looks["sum"], total)
        self.row += 1

    def _product(self, row: Sequence[object], headers: Sequence[str], live: Live) -> None:
        """Put the formula of a product in its place, in the row that was written last."""
        from xlsxwriter.utility import xl_rowcol_to_cell

        if live.product is None:
            return
        made, of, per = live.product
        column, *parts = (_starting(headers, each) for each in (made, *of))
        cells = "*".join(xl_rowcol_to_cell(self.row - 1, part) for part in parts)
        look = self.looks[_places(headers[column])]
        self.sheet.write_formula(self.row - 1, column, f"={cells}/{per:g}", look, row[column])

    def _sums(self, table: Table, first: int, starts: Iterable[str]) -> None:
        """Write the sums of columns a row below a table, so that sorting leaves them there."""
        from xlsxwriter.utility import xl_range

        last = self.row - 1
        self.row += 1
        self.sheet.write_string(self.row, 0, "sum of the rows shown", self.looks["sum"])
        for start in starts:
            column = _starting(table.headers, start)
            total = sum(float(str(row[column] or 0)) for row in table.rows)
            formula = f"=SUBTOTAL(109,{xl_range(first, column, last, column)})"
            self.sheet.write_formula(self.row, column, formula, self.looks["sum"], total)
        self.row += 1

    def _widen(self, column: int, texts: Iterable[str]) -> None:
        wide = max(len(text) for text in texts) + 2
        self.widths[column] = min(max(self.widths.get(column, 8), wide), _WIDEST)

    def close(self) -> None:
        """Make every column as wide as what it holds."""
        for column, wide in self.widths.items():
            self.sheet.set_column(column, column, wide)


def _starting(headers: Sequence[str], start: str) -> int:
    return next(k for k, head in enumerate(headers) if head.startswith(start))


def _places(header: str) -> str:
    """Return how a figure under a header is shown."""
    unit = header.rpartition(" (")[2].rstrip(")")
    return _PLACES.get(unit, _FINE)


def _product(row: int, headers: Sequence[str], typed: bool = False) -> str:
    """Return the formula of a cost: what is ordered times its price, once that is typed in."""
    from xlsxwriter.utility import xl_rowcol_to_cell

    starts = ("order", "price")
    cells = [xl_rowcol_to_cell(row, _starting(headers, start)) for start in starts]
    made = f"{cells[0]}*{cells[1]}"
    return f'=IF({cells[1]}="","",{made})' if typed else f"={made}"
