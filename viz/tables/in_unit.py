"""Tables in the unit of one job: a spreadsheet that adds up a column adds up one unit."""

from __future__ import annotations

import re
from collections.abc import Mapping

from grading.units import (
    CUBIC_YARD,
    FOOT,
    GALLON,
    INCH,
    LITRE,
    MINUTE,
    POUND_PER_SQUARE_FOOT,
    SQUARE_FOOT,
    Unit,
)
from viz.table import Table

_IN_FEET: Mapping[str, tuple[str, float, int]] = {
    "m": ("ft", 1 / FOOT, 3),
    "mm": ("in", 1e-3 / INCH, 3),
    "m2": ("ft2", 1 / SQUARE_FOOT, 1),
    "m3": ("yd3", 1 / CUBIC_YARD, 3),
    "L/s": ("gpm", LITRE * MINUTE / GALLON, 2),
    "kPa": ("psf", 1e3 / POUND_PER_SQUARE_FOOT, 0),
    "Pa": ("psf", 1 / POUND_PER_SQUARE_FOOT, 0),
}
"""What a figure in metres, and the like, is in a job in feet: its unit, how many, its decimals."""

_FEET = frozenset({"in", "ft", "ft-in", "ft2", "yd3"})
"""Units that a job in metres has no column in."""

_METRE_DIGITS = {"m": 4, "m2": 2, "m3": 3}

_HEADER = re.compile(r"(.*) \(([^()]+)\)")


def in_unit(table: Table, unit: Unit) -> Table:
    """Return a table in one unit alone: columns of the other left out, or written in it.

    Parameters
    ----------
    table : Table
        Its headers end with their unit in brackets; a column "unit" says that of "value" and
        "limit" beside it.
    unit : "ft" or "m"
        Of the job.
    """
    rows = [list(row) for row in table.rows]
    headers = list(table.headers)
    if "unit" in headers:
        _values(headers, rows, unit)
    kept: list[int] = []
    for column, header in enumerate(table.headers):
        found = _HEADER.fullmatch(header)
        title, of = (found[1], found[2]) if found else (header, "")
        if unit == "m":
            if of not in _FEET:
                kept.append(column)
            continue
        if of in _IN_FEET:
            new, factor, digits = _IN_FEET[of]
            if f"{title} ({new})" in table.headers:
                continue
            headers[column] = f"{title} ({new})"
            for row in rows:
                row[column] = _times(row[column], factor, digits)
        kept.append(column)
    if unit == "m":
        for row in rows:
            for column in kept:
                found = _HEADER.fullmatch(headers[column])
                if found and found[2] in _METRE_DIGITS:
                    row[column] = _times(row[column], 1.0, _METRE_DIGITS[found[2]])
    return Table(tuple(headers), tuple(map(tuple, rows))).keeping(kept)


def _values(headers: list[str], rows: list[list[object]], unit: Unit) -> None:
    """Write each value and limit in the unit of the job, and that unit beside them."""
    place = headers.index("unit")
    columns = [headers.index(name) for name in ("value", "limit") if name in headers]
    for row in rows:
        of = str(row[place])
        # Limits are thicknesses, steps and gaps: inches and millimetres, not feet.
        new, factor, digits = {
            "m": ("in", 1 / INCH, 3) if unit == "ft" else ("mm", 1e3, 1),
            "Pa": _IN_FEET["Pa"] if unit == "ft" else ("kPa", 1e-3, 2),
        }.get(of, (of, 1.0, 4))
        row[place] = new
        for column in columns:
            row[column] = _times(row[column], factor, digits)


def _times(cell: object, factor: float, digits: int) -> object:
    if isinstance(cell, bool) or not isinstance(cell, (int, float)):
        return cell
    return round(cell * factor, digits) + 0.0
