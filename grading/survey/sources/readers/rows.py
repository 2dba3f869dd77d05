"""Rows of cells, of a text or a spreadsheet, read as points."""

from __future__ import annotations

import math
import re
from collections.abc import Iterable, Sequence

import numpy as np
from msgspec import Struct

from grading.errors import Problem, SiteError
from grading.files.csv_rows import unfit_text
from grading.signs import shortened, visible
from grading.survey.sources.model import PointFile
from grading.survey.sources.said_units import metres_of, named, of_word
from grading.units import FARTHEST, UnitError, read_length

Cells = Sequence[str]

IN_ORDER = ("id", "y", "x", "z", "code")
"""What rows without a header are: point, north, east, elevation, description."""

_NAMES = {
    "x": ("x", "e", "east", "easting"),
    "y": ("y", "n", "north", "northing"),
    "z": ("z", "elev", "elev.", "elevation", "level", "rl", "height", "h"),
    "id": ("id", "name", "p", "pt", "point", "point id", "number", "no", "no.", "pnt"),
    "code": ("code", "d", "desc", "desc.", "description", "note"),
    "sd z": ("sd z", "sd_z", "vrms"),
    "sd xy": ("sd xy", "sd_xy", "hrms"),
}  # what data collectors head their columns with: common practice, no source
_WITH_UNIT = re.compile(r"(?P<name>.*?)\s*[(\[](?P<unit>[^)\]]*)[)\]]\s*")
_MOST_TOLD = 20
_LONGEST = 200


class _Table(Struct):
    """What was read of rows so far."""

    shown: str
    columns: dict[str, int]
    said: float | None
    metres: float | None = None
    bare: bool = False


def points_of_rows(
    rows: Iterable[tuple[int, Cells]], shown: str, kind: str, given: float | None
) -> PointFile:
    """Return the points of rows of cells.

    Parameters
    ----------
    rows : iterable of (int, sequence of str)
        Each with its number in the file; empty ones are passed over.
    shown, kind : str
        As of a `PointFile`.
    given : float or None
        What the person says that one of a bare number is. [m]

    Raises
    ------
    SiteError
        Columns are missing, cells are no lengths, or nothing says what bare numbers mean.
    """
    body = [(number, [cell.strip() for cell in cells]) for number, cells in rows]
    body = [(number, cells) for number, cells in body if any(cells)]
    if not body:
        raise SiteError([Problem(shown, "no rows", "a row for each point")])
    remarks: tuple[str, ...] = ()
    if _is_header(body[0][1]):
        columns, said = _header(body[0], shown)
        body = body[1:]
        if not body:
            raise SiteError([Problem(shown, "a header and no points", "a row for each point")])
    else:
        columns, said = _without_header(body, shown), None
        remarks = (
            f"{shown} has no header: its columns are taken as point, north, east, elevation, "
            "description",
        )
    table = _Table(shown, columns, said, said if said is not None else given)
    problems: list[Problem] = []
    values = np.full((len(body), 5), np.nan)
    for place, (number, cells) in enumerate(body):
        for column, name in enumerate(("x", "y", "z", "sd z", "sd xy")):
            if name not in columns:
                continue
            where = f"{shown}, line {number}, column {name}"
            cell = _cell(cells, columns[name])
            if not cell and name.startswith("sd"):
                continue
            try:
                values[place, column] = _length(cell, table)
            except UnitError as error:
                problems.append(Problem(where, error.found, error.expected, error.mend))
                continue
            if name.startswith("sd") and not values[place, column] > 0:
                expected = "a standard deviation of more than zero"
                problems.append(Problem(where, shortened(visible(cell)), expected))
    if table.bare and table.metres is None:
        metres_of(None, None, shown)  # raises
    texts = {
        name: _texts(body, columns.get(name), shown, name, problems) for name in ("id", "code")
    }
    if problems:
        more = len(problems) - _MOST_TOLD
        rest = [Problem(shown, f"{more} more cells like these", "none")] if more > 0 else []
        raise SiteError([*problems[:_MOST_TOLD], *rest])
    metres = table.metres
    return PointFile(
        shown, kind,
        unit=named(metres) if metres is not None and table.bare else "in each cell",
        told_by="file" if said is not None or not table.bare else "person",
        xyz=values[:, :3].copy(), names=texts["id"], codes=texts["code"],
        sd_z=values[:, 3].copy(), sd_xy=values[:, 4].copy(), remarks=remarks,
    )  # fmt: skip


def _cell(cells: Cells, place: int) -> str:
    return cells[place] if place < len(cells) else ""


def _length(cell: str, table: _Table) -> float:
    """Return a length [m]; NaN where a bare number has no unit yet, which is said at the end."""
    number = _number(cell)
    if number is None:
        metres = read_length(cell, "m")
        if re.search(r"[a-z'\"\u2032\u2033\u2019\u201d]", cell.lower()):
            return metres
        number = metres  # a fraction, such as 9 3/8
    table.bare = True
    value = number * (table.metres if table.metres is not None else 1.0)
    if not abs(value) <= FARTHEST:
        raise UnitError(f'"{shortened(visible(cell))}"', "a length of a site")
    return value


def _number(cell: str) -> float | None:
    """Return a plain number, or None; Python alone takes 1_000 for one."""
    try:
        number = None if "_" in cell else float(cell)
    except ValueError:
        return None
    return number if number is not None and math.isfinite(number) else None


def _is_header(cells: Cells) -> bool:
    """Return whether a first row names columns: a row of a point has three numbers in it."""
    return sum(looks_measured(cell) for cell in cells) < 3


def looks_measured(cell: str) -> bool:
    """Return whether a cell holds a number or a length, however it is written."""
    if _number(cell) is not None:
        return True
    try:
        read_length(cell, "m")
    except UnitError:
        return False
    return True


def _header(first: tuple[int, Cells], shown: str) -> tuple[dict[str, int], float | None]:
    """Return the columns by what they are here, and the unit that they name. [m]"""
    number, cells = first
    where = f"{shown}, line {number}"
    names, units = [], set()
    for cell in cells:
        match = _WITH_UNIT.fullmatch(cell)
        name = (match["name"] if match else cell).strip().lower()
        names.append(name)
        unit = of_word(match["unit"]) if match else None
        if unit is not None and any(name in _NAMES[axis] for axis in ("x", "y", "z")):
            units.add(unit)
    columns = {}
    for ours, theirs in _NAMES.items():
        found = [name for name in theirs if name in names]
        # Of several names and codes the first is taken; of several heights none is.
        if len(ours) == 1 and sum(map(names.count, found)) > 1:
            listed = ", ".join(f'"{name}"' for name in found)
            mend = "Rename or delete all but one."
            raise SiteError([Problem(where, f"the columns {listed}", f"one for {ours}", mend)])
        if found:
            columns[ours] = names.index(found[0])
    missing = [axis for axis in ("x", "y", "z") if axis not in columns]
    if missing:
        told = shortened(visible(",".join(cells)))
        expected = "columns x, y, z, or east, north, elevation"
        mend = f"Name the column of {missing[0]} in the first line."
        raise SiteError([Problem(where, f'"{told}"', expected, mend)])
    if len(units) > 1:
        several = "columns in " + " and ".join(sorted(map(named, units)))
        raise SiteError([Problem(where, several, "one unit for x, y and z")])
    return columns, units.pop() if units else None


def _without_header(body: Sequence[tuple[int, Cells]], shown: str) -> dict[str, int]:
    """Return the columns of rows in the order of IN_ORDER; SiteError where they are not."""
    number, cells = body[0]
    ids = [_number(_cell(row, 0)) for _, row in body]
    whole = all(value is None or value == int(value) for value in ids)
    if len(cells) < 4 or not whole or not all(map(looks_measured, cells[1:4])):
        told = shortened(visible(",".join(cells)))
        expected = "a header, or rows of point, north, east, elevation, description"
        mend = 'Write a first line that names the columns, such as "x,y,z".'
        raise SiteError([Problem(f"{shown}, line {number}", f'"{told}"', expected, mend)])
    return {name: place for place, name in enumerate(IN_ORDER)}


def _texts(
    body: Sequence[tuple[int, Cells]],
    place: int | None,
    shown: str,
    name: str,
    problems: list[Problem],
) -> tuple[str, ...]:
    """Return a column of text, noting what cannot be shown."""
    if place is None:
        return ("",) * len(body)
    texts = []
    for number, cells in body:
        text = " ".join(_cell(cells, place).split())
        problems += unfit_text(text, f"{shown}, line {number}, column {name}", _LONGEST)
        texts.append(text)
    return tuple(texts)
