"""A table of words and numbers, for the terminal and for a spreadsheet."""

from __future__ import annotations

import csv
import io
from dataclasses import dataclass

from grading.units import Unit, cubic_yards, feet_inches

CUBIC: dict[Unit, str] = {"ft": "yd³", "m": "m³"}


@dataclass(frozen=True)
class Table:
    """Headers, each with its unit, and rows of cells."""

    headers: tuple[str, ...]
    rows: tuple[tuple[object, ...], ...]


def cubic(cubic_metres: float, unit: Unit) -> float:
    """Return a volume [m3] in the site's own unit: yd3 or m3."""
    return cubic_yards(cubic_metres) if unit == "ft" else cubic_metres


def moved(cubic_metres: float, unit: Unit) -> str:
    """Write a volume of earth [m3] in the site's own unit: 8.76 yd³."""
    return f"{cubic(cubic_metres, unit):.2f} {CUBIC[unit]}"


def both(cubic_metres: float) -> tuple[float, float]:
    """Return a volume [m3] in yd3 and m3, rounded for a spreadsheet."""
    return round(cubic_yards(cubic_metres), 3), round(cubic_metres, 3)


def elevation(metres: float) -> tuple[str, float]:
    """Return an elevation [m] in feet-inches and in metres, for a spreadsheet."""
    return feet_inches(metres), round(metres, 4)


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
