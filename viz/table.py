"""A table of words and numbers, for the terminal and for a spreadsheet."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable, Mapping, Sequence
from pathlib import Path

from msgspec import Struct

from grading.units import Unit, cubic_yards, feet_inches, inches, square_feet

CUBIC: Mapping[Unit, str] = {"ft": "yd³", "m": "m³"}

DIGITS = 4
"""Decimals of a place or a level in a spreadsheet, in feet or metres: a tenth of a millimetre."""

Cells = dict[str, object]
"""Cells of a row, each by the title of its column, which has its unit."""


class Table(Struct, frozen=True):
    """Headers, each with its unit, and rows of cells."""

    headers: tuple[str, ...]
    rows: tuple[tuple[object, ...], ...]

    @classmethod
    def of(cls, rows: Iterable[Cells]) -> Table:
        """Return the table of some rows; all have the same titles in the same order."""
        made = list(rows)
        return cls(tuple(made[0]) if made else (), tuple(tuple(row.values()) for row in made))

    def keeping(self, columns: Sequence[int]) -> Table:
        """Return the table of some of its columns, by their places."""
        rows = tuple(tuple(row[k] for k in columns) for row in self.rows)
        return Table(tuple(self.headers[k] for k in columns), rows)

    def rounded(self, digits: int) -> Table:
        """Return the table with its numbers rounded to so many decimals."""
        rows = (
            tuple(round(cell, digits) + 0.0 if isinstance(cell, float) else cell for cell in row)
            for row in self.rows
        )
        return Table(self.headers, tuple(rows))

    def grid(self, first: int = 0, last: int = 0, wide: int | None = None) -> str:
        """Return it for the terminal, under headers that may take several lines.

        Parameters
        ----------
        first, last : int
            How many columns at either end are set from the left; those between are from the
            right. All are from the left where neither is given.
        wide : int, optional
            Letters after which the last column is folded.
        """
        from tabulate import tabulate

        count = len(self.headers)
        align = ["left"] * first + ["right"] * (count - first - last) + ["left"] * last
        return tabulate(
            self.rows, self.headers, colalign=align if first else None, disable_numparse=True,
            maxcolwidths=None if wide is None else [None] * (count - 1) + [wide],
        )  # fmt: skip


def cubic(cubic_metres: float, unit: Unit) -> float:
    """Return a volume [m3] in the site's own unit: yd3 or m3."""
    return cubic_yards(cubic_metres) if unit == "ft" else cubic_metres


def moved(cubic_metres: float, unit: Unit) -> str:
    """Write a volume of earth [m3] in the site's own unit: 8.76 yd³."""
    return f"{cubic(cubic_metres, unit):.2f} {CUBIC[unit]}"


def volumes(title: str, cubic_metres: float) -> Cells:
    """Return a volume [m3] in yd3 and in m3."""
    both = cubic_yards(cubic_metres), cubic_metres
    return {f"{title} (yd3)": round(both[0], 3), f"{title} (m3)": round(both[1], 3)}


def thicknesses(title: str, metres: float, parts: int = 16, digits: int | None = None) -> Cells:
    """Return a thickness [m] in parts of an inch, as words, and in mm."""
    return {f"{title} (in)": inches(metres, parts), f"{title} (mm)": round(metres * 1000, digits)}


def plan_areas(title: str, square_metres: float) -> Cells:
    """Return a plan area [m2] in ft2 and in m2."""
    both = round(square_feet(square_metres), 1), round(square_metres, 2)
    return dict(zip((f"{title} (ft2)", f"{title} (m2)"), both, strict=True))


def elevations(title: str, metres: float) -> Cells:
    """Return an elevation [m] in feet-inches, as words, and in metres."""
    return {f"{title} (ft-in)": feet_inches(metres), f"{title} (m)": round(metres, 4)}


def no_cells(cells: Cells) -> Cells:
    """Return cells of the same titles with nothing in them."""
    return dict.fromkeys(cells, "")


def csv_text(table: Table) -> str:
    """Return a table as CSV; with a byte-order mark in front, Excel opens it as it is.

    Words that a spreadsheet would reckon out as a formula have an apostrophe in front, its own
    sign for words (OWASP, "CSV Injection").
    """
    buffer = io.StringIO()
    writer = csv.writer(buffer, lineterminator="\n")
    writer.writerow(table.headers)
    writer.writerows([_no_formula(cell) for cell in row] for row in table.rows)
    return buffer.getvalue()


def write_tables(tables: Mapping[str, Table], folder: Path) -> None:
    """Write tables into a folder as CSV, each by its name."""
    for name, table in tables.items():
        (folder / f"{name}.csv").write_text(csv_text(table), encoding="utf-8-sig")


def _no_formula(cell: object) -> object:
    """Return a cell that no spreadsheet takes for a formula; a number written out stays one."""
    # Spreadsheets of East Asia take the wide signs for the narrow ones.
    if not isinstance(cell, str) or not cell.lstrip().startswith(tuple("=+-@＝＋－＠")):
        return cell
    try:
        float(cell)
    except ValueError:
        return f"'{cell}"
    return cell
