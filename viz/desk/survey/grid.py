"""Spots and test holes typed into a grid: what the readers of their files say of each cell."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from grading.errors import Problem, SiteError
from grading.files.csv_points import PointList, points_in
from grading.files.csv_rows import is_number, lines_in
from grading.survey.sources.readers.rows import looks_measured
from grading.units import Unit, number
from viz.desk.survey.sheets import HOLES, Kind, sheet_of, told

_SIGNS = "\t;,"


def checked(text: str, name: str, kind: Kind, unit: Unit) -> dict[str, Any]:
    """Return what is wrong in a grid's text, with its lines, and what stands in it in words.

    Parameters
    ----------
    text : str
    name : str
        Of the file.
    kind : Kind
        Of points: spots, or test holes.
    unit : "ft" or "m"

    Returns
    -------
    dict
        `problems` as `sheets.told` has them, `count`, and `words`, empty where there is no point.
    """
    try:
        sheet = sheet_of(text, name, kind)
    except SiteError as error:
        return {"problems": told(error.problems, name, ()), "count": 0, "words": ""}
    reads = kind.reads(sheet.header)
    if not sheet.rows:
        return {"problems": [], "count": 0, "words": ""}
    problems: tuple[Problem, ...] = ()
    points = None
    try:
        points = points_in(lines_in(text), name, unit, kind.numbers, kind.texts)
        problems = tuple(_shallow(points, name, unit)) if kind is HOLES else ()
    except SiteError as error:
        problems = error.problems
    return {
        "problems": told(problems, name, reads),
        "count": sheet.rows,
        "words": "" if points is None else _spanned(points, kind, unit),
    }


def _shallow(points: PointList, name: str, unit: Unit) -> Sequence[Problem]:
    """Return what is wrong with depths: none is less than nothing."""
    return [
        Problem(
            f"{name}, line {line}, column depth", number(depth, unit), "a depth of zero or more",
            "Write 0 where the hole found no topsoil.",
        )
        for line, depth in zip(points.lines, points.values[:, 2].tolist(), strict=True)
        if depth < 0
    ]  # fmt: skip


def _spanned(points: PointList, kind: Kind, unit: Unit) -> str:
    count = len(points.lines)
    low, high = points.values.min(axis=0), points.values.max(axis=0)
    what = "test hole" if kind is HOLES else "spot"
    third = "topsoil" if kind is HOLES else "levels"
    spans = [
        f"{word} {number(float(a), unit)} to {number(float(b), unit)}"
        for word, a, b in zip(("x", "y", third), low, high, strict=True)
    ]
    return f"{count:,} {what}{'' if count == 1 else 's'}: {', '.join(spans)} {unit}"


def pasted(text: str, kind: Kind, columns: Sequence[str], first: int) -> dict[str, Any]:
    """Return a block that was pasted as rows of a grid's columns.

    Parameters
    ----------
    text : str
        Cells parted by tabs, semicolons or commas, as a spreadsheet copies them.
    kind : Kind
    columns : sequence of str
        What each column of the grid is taken for.
    first : int
        The column that the block was pasted into: the first of a block without a header.

    Returns
    -------
    dict
        `rows`, each a list with a cell or None for every column of the grid; `words` on how the
        columns were told, and what of the block found none.
    """
    lines = [line for line in lines_in(text) if line.strip()]
    if not lines:
        return {"rows": [], "words": ""}
    sign = next((sign for sign in _SIGNS if any(sign in line for line in lines)), ",")
    block = [_cells(line, sign) for line in lines]
    reads = kind.reads(block[0]) if kind.numbers else ()
    named = sum(bool(what) for what in reads)
    header = named >= 2 and not any(looks_measured(cell) for cell in block[0])
    if header:
        places = [columns.index(what) if what in columns else None for what in reads]
        spare = [head for head, place in zip(block[0], places, strict=False) if place is None]
        block = block[1:]
        words = "columns taken by their names"
        if spare:
            words += f"; passed over: {', '.join(head or 'one without a name' for head in spare)}"
    else:
        width = max(len(row) for row in block)
        places = [at if at < len(columns) else None for at in range(first, first + width)]
        words = f"columns taken in order, from {columns[first] or 'here'} on"
        if None in places:
            words += f"; {places.count(None)} at the end passed over"
    rows = []
    for cells in block:
        row: list[str | None] = [None] * len(columns)
        for cell, place in zip(cells, places, strict=False):
            if place is not None:
                row[place] = cell
        rows.append(row)
    return {"rows": rows, "words": f"{len(rows):,} row{'' if len(rows) == 1 else 's'}: {words}"}


def _cells(line: str, sign: str) -> list[str]:
    """Return the cells of a line; a decimal comma is a point where commas do not part them."""
    cells = [_unquoted(cell.strip()) for cell in line.split(sign)]
    return [cell.replace(",", ".") if sign != "," and is_number(cell) else cell for cell in cells]


def _unquoted(cell: str) -> str:
    """Return a cell without the quotes that a spreadsheet puts round one with a mark of inches."""
    if len(cell) > 1 and cell.startswith('"') and cell.endswith('"'):
        return cell[1:-1].replace('""', '"')
    return cell
