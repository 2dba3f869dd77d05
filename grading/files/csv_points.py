"""Lists of points in csv files, as spreadsheets, data collectors and people write them."""

from __future__ import annotations

import csv
import difflib
from collections.abc import Callable, Iterable, Sequence
from itertools import repeat
from pathlib import Path

import numpy as np
from msgspec import Struct

from grading.errors import Problem, SiteError
from grading.files.csv_rows import (
    END,
    body_of,
    delimiter_of,
    header_at,
    is_number,
    lines_of,
    rows_of,
    shortened_list,
    too_long,
    unfit_text,
)
from grading.geometry.arrays import Floats
from grading.signs import listed, shortened, visible
from grading.units import FARTHEST, METRES, Unit, UnitError, read_length

NO_POINTS = "a header and no points"
"""What is found in a file that is only begun."""

LONGEST_TEXT = 200
"""Letters of an id, a code or a note at the most."""


class PointList(Struct, frozen=True, eq=False):
    """The rows of a csv file.

    Attributes
    ----------
    values : (n, k) float
        The columns of numbers, in the order asked for. [m]
    texts : dict
        The columns of text that the file has, each of n.
    lines : sequence of int
        The line of the file that each row is on: a range where no line between is blank.
    unread : tuple of str
        The heads of the columns that are none of those asked for, in small letters; empty of one
        that has none.
    """

    values: Floats
    texts: dict[str, tuple[str, ...]]
    lines: Sequence[int]
    unread: tuple[str, ...] = ()


def read_points(
    path: Path, shown: str, unit: Unit, numbers: Sequence[str], texts: Sequence[str] = ()
) -> PointList:
    """Read a csv file of points.

    Parameters
    ----------
    path : Path
        The file: UTF-8, or UTF-16 with a byte-order mark. Cells are parted by commas, by
        semicolons (decimals may then have a comma) or by tabs, as the header is. Columns come in
        any order, with a header in any case; other columns are not read, and named. Blank lines
        and lines that start with # are passed over.
    shown : str
        The name of the file in messages.
    unit : "ft" or "m"
        What a bare number means.
    numbers : sequence of str
        Columns that must be there, of lengths as `grading.units.read_length` takes them.
    texts : sequence of str
        Columns that may be there.

    Raises
    ------
    SiteError
        Everything in the file that is wrong, each with its line and column.
    """
    return points_in(lines_of(path, shown), shown, unit, numbers, texts)


def points_in(
    lines: Sequence[str], shown: str, unit: Unit, numbers: Sequence[str], texts: Sequence[str] = ()
) -> PointList:
    """Read the lines of a csv file of points, comments left empty: see `read_points`."""
    start = header_at(lines, shown, ",".join(numbers))
    delimiter = delimiter_of(lines[start])
    scan = _scan(lines[start:], start + 1, delimiter, unit, numbers, texts)
    if scan is not None:
        return scan
    rows = rows_of(lines, start, delimiter, shown)
    header = columns_read([cell.strip().lower() for cell in rows[0][1]], (*numbers, *texts))
    where = f"{shown}, line {rows[0][0]}"
    _check_header(header, where, numbers)
    body = body_of(rows, shown, NO_POINTS)
    return _table(body, header, shown, unit, delimiter, numbers, texts)


def _scan(
    lines: Sequence[str],
    first: int,
    delimiter: str,
    unit: Unit,
    numbers: Sequence[str],
    texts: Sequence[str],
) -> PointList | None:
    """Return the points of a file of plain cells, as instruments write them, in one go.

    None where a cell goes over several lines, a row is longer or shorter than the header, a number
    is told in words, or a text may not be fit: the slower way reads it, or says what is wrong.
    `first` is the number of the first line, the header.
    """
    if '"' in lines[0]:
        return None
    header = [name.strip().lower() for name in lines[0].split(delimiter)]
    header = columns_read(header, (*numbers, *texts))
    if any(header.count(name) != 1 for name in numbers):
        return None
    last = len(lines)
    while last > 1 and not lines[last - 1]:
        last -= 1
    body = lines[1:last]
    places: Sequence[int] = range(first + 1, first + last)
    if not all(body):
        there = [place for place, line in enumerate(body) if line]
        body, places = [body[place] for place in there], [places[place] for place in there]
    if not body:
        return None
    where = [header.index(name) for name in numbers]
    words: dict[str, tuple[str, ...]] = {}
    unread: tuple[str, ...] = ()
    try:
        if len(header) == len(numbers):
            values = np.loadtxt(body, delimiter=delimiter, comments=None, ndmin=2)
            if values.shape != (len(body), len(header)):
                return None
            values = values[:, where]
        else:
            columns = _columns(body, delimiter, len(header))
            # Python, but nobody who measures, takes 1_000 for a number.
            if any("_" in "".join(columns[at]) for at in where):
                return None
            values = np.empty((len(where), len(body))).T
            for place, at in enumerate(where):
                values[:, place] = np.fromiter(map(float, columns[at]), float, len(body))
            whole_rows_fit = _fit(body)
            unread = _unread(
                header, (*numbers, *texts), lambda at: any(map(str.strip, columns[at]))
            )
            for name in texts:
                if name in header:
                    words[name] = tuple(map(str.strip, columns[header.index(name)]))
                    if not (whole_rows_fit or _fit(words[name])):
                        return None
    except ValueError:
        return None
    if not (np.abs(values) <= FARTHEST).all():
        return None
    values = values * METRES[unit]
    values.flags.writeable = False
    return PointList(values, words, places, unread)


def _columns(body: Sequence[str], delimiter: str, width: int) -> list[list[str]]:
    """Return the columns of rows of one line each; ValueError where they are none.

    One split for all plain ones, which takes a third of the time of one for each: Python need not
    keep an eye on a list for every row. Rows with a quote are read by themselves.
    """
    whole, quoted, own = delimiter.join(body), [], []
    if '"' in whole:
        body = list(body)
        quoted = [place for place, line in enumerate(body) if '"' in line]
        own = _quoted_cells([body[place] for place in quoted], delimiter, width)
        for place in quoted:
            body[place] = delimiter * (width - 1)
        whole = delimiter.join(body)
    if set(map(str.count, body, repeat(delimiter))) != {width - 1}:
        raise ValueError("rows that are not as wide as the header")
    cells = whole.split(delimiter)
    columns = [cells[at::width] for at in range(width)]
    for at, column in enumerate(columns):
        for place, cell in zip(quoted, own[at::width], strict=True):
            column[place] = cell
    return columns


def _quoted_cells(lines: Sequence[str], delimiter: str, width: int) -> list[str]:
    """Return the cells of lines that hold quotes, row by row; ValueError where one is no row.

    A quote that is left open takes in the lines after it, of which there is one at least.
    """
    cells: list[str] = []
    row: list[str] = []
    try:
        for row in csv.reader([*lines, END], delimiter=delimiter, skipinitialspace=True):
            if len(row) != width:
                break
            cells += row
    except csv.Error as error:
        raise ValueError(str(error)) from None
    if row != [END] or len(cells) != width * len(lines):
        raise ValueError("cells that go over several lines, or rows not as wide as the header")
    return cells


def _unread(
    header: Sequence[str], wanted: Sequence[str], holds: Callable[[int], bool]
) -> tuple[str, ...]:
    """Return the heads of what is not read: of two of one name the second is not.

    A column without a head is one where it holds something.
    """
    return tuple(
        name for at, name in enumerate(header)
        if (name not in wanted or header.index(name) != at) and (name or holds(at))
    )  # fmt: skip


def not_read(points: PointList, shown: str, texts: Sequence[str]) -> str:
    """Tell of the columns of a file that are not read, and of one that may be meant by them."""
    heads = [f'"{shortened(visible(head))}"' for head in points.unread if head]
    heads += ["without a head"] * ("" in points.unread)
    several = len(heads) > 1
    free = [name for name in texts if name not in points.texts]
    near = ((head, difflib.get_close_matches(head, free, 1)) for head in points.unread)
    meant = next((f'; call "{head}" {found[0]} if it is that' for head, found in near if found), "")
    return (
        f"the {'columns' if several else 'column'} {listed(heads)} of {shown} "
        f"{'are' if several else 'is'} not read{meant}."
    )


def _fit(texts: Sequence[str]) -> bool:
    """Say whether texts are all fit at a glance, as nearly all are."""
    return max(map(len, texts)) <= LONGEST_TEXT and "".join(texts).isprintable()


# What data collectors and surveyors head their columns with. Common practice, no source.
_OTHER_NAMES = {
    "x": ("e", "east", "easting"),
    "y": ("n", "north", "northing"),
    "z": ("elev", "elev.", "elevation", "level", "rl"),
    "id": ("p", "pt", "point", "point id", "number", "no", "no."),
    "code": ("d", "desc", "desc.", "description"),
    "note": ("notes", "remark", "remarks"),
}
_STAFF = ("rod", "staff", "reading", "rod reading", "fs", "is", "foresight", "intermediate sight")


def columns_read(header: Sequence[str], wanted: Sequence[str]) -> list[str]:
    """Return a header in small letters with other names for columns made into those used here.

    A name that only one column has takes the place of one that none has.
    """
    names = list(header)
    for name in wanted:
        other = [cell for cell in header if cell in _OTHER_NAMES.get(name, ())]
        if name not in names and len(other) == 1:
            names[names.index(other[0])] = name
    return names


def _check_header(header: Sequence[str], where: str, numbers: Sequence[str]) -> None:
    """Raise SiteError where a column is missing or there twice."""
    columns = ",".join(numbers)
    problems = []
    if all(is_number(cell) for cell in header if cell):
        found = f'"{shortened(",".join(header))}"'
        mend = f'Write the line "{columns}", in the order of the columns, above the numbers.'
        raise SiteError([Problem(where, found, f"a header with the columns {columns}", mend)])
    spare = [cell for cell in header if cell and cell not in numbers]
    for name in numbers:
        count = header.count(name)
        if count == 0:
            near = difflib.get_close_matches(name, spare, 1, cutoff=0.3)
            near = near or [cell for cell in spare if cell.startswith(name)]
            mend = f'Rename the column "{near[0]}" to "{name}".' if near else "Add the column."
            read = [cell for cell in spare if cell in _STAFF]
            if name == "z" and read:
                mend = (
                    f'The column "{read[0]}" tells how far below the instrument a spot is: add a '
                    'column "z" with the height of the instrument less that.'
                )
            columns = shortened(visible(",".join(header)))
            problems.append(Problem(where, f"the columns {columns}", f'a column "{name}"', mend))
        elif count > 1:
            mend = "Rename or delete one of them."
            problems.append(Problem(where, f'{count} columns "{name}"', "one", mend))
    if problems:
        raise SiteError(problems)


def _table(
    body: Sequence[tuple[int, list[str]]],
    header: Sequence[str],
    shown: str,
    unit: Unit,
    delimiter: str,
    numbers: Sequence[str],
    texts: Sequence[str],
) -> PointList:
    lines = tuple(line for line, _ in body)
    width = len(header)
    problems = list(too_long(body, width, shown))
    fit = [row if len(row) >= width else row + [""] * (width - len(row)) for _, row in body]
    values = np.zeros((len(fit), len(numbers)))
    for place, name in enumerate(numbers):
        at = header.index(name)
        cells = [row[at] for row in fit]
        if delimiter != ",":
            cells = [cell.replace(",", ".") for cell in cells]
        plain = _plain(cells)
        if plain is not None:
            values[:, place] = plain * METRES[unit]
            continue
        for row_, (line, cell) in enumerate(zip(lines, cells, strict=True)):
            try:
                values[row_, place] = read_length(cell, unit)
            except UnitError as error:
                found = error.found if cell.strip() else "nothing"
                problems.append(
                    Problem(
                        f"{shown}, line {line}, column {name}", found, error.expected, error.mend
                    )
                )
    for name in texts:
        for line, row in zip(lines, fit, strict=True) if name in header else ():
            where = f"{shown}, line {line}, column {name}"
            problems += unfit_text(row[header.index(name)].strip(), where, LONGEST_TEXT)
    if problems:
        raise SiteError(shortened_list(problems, shown))
    values.flags.writeable = False
    kept = {
        name: tuple(row[header.index(name)].strip() for row in fit)
        for name in texts
        if name in header
    }
    unread = _unread(header, (*numbers, *texts), lambda at: any(row[at].strip() for row in fit))
    return PointList(values, kept, lines, unread)


def _plain(cells: Iterable[str]) -> Floats | None:
    """Return the numbers of a column where all its cells are plain ones, in one go."""
    try:
        numbers = np.array([float(cell) for cell in cells])
    except ValueError:
        return None
    # What Python alone takes for a number (1_000) is told by the slower way.
    plain = bool((np.abs(numbers) <= FARTHEST).all()) and not any("_" in cell for cell in cells)
    return numbers if plain else None
