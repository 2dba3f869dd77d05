"""The rows of a csv file as text, whatever stands in them."""

from __future__ import annotations

import csv
import math
from collections.abc import Iterable, Sequence
from pathlib import Path

from msgspec import Struct

from grading.errors import Problem, SiteError
from grading.files.toml_text import decoded, read_limited
from grading.signs import is_visible, shortened, visible

LARGEST_FILE = 64_000_000
"""What a list of points weighs at the most, some two million of them. [bytes]"""

MOST_LINES = 4_000_000
"""Of a list of points: a line that holds next to nothing takes as much room in memory as a point.
Common practice, no source."""

MOST_PROBLEMS = 20
"""Wrong cells listed for one file; the rest are only counted."""


END = "end"
"""A row of one cell after the last: what a quote that is left open takes in."""


class Cells(Struct, frozen=True):
    """A csv file of which nothing but its rows is known.

    Attributes
    ----------
    header : tuple of str
        As it is written.
    rows : tuple of (int, tuple of str)
        The line of the file that each row begins on, and its cells, one for each of the header.
    line : int
        The line of the header.
    """

    header: tuple[str, ...]
    rows: tuple[tuple[int, tuple[str, ...]], ...]
    line: int


def read_cells(path: Path, shown: str, columns: str) -> Cells:
    """Read a csv file as text: see `csv_points.read_points` for what it may look like.

    Parameters
    ----------
    path : Path
    shown : str
        The name of the file in messages.
    columns : str
        What its header should have, in messages.

    Raises
    ------
    SiteError
        It is empty, not text, has no rows, or a row that is longer than its header.
    """
    return cells_in(lines_of(path, shown), shown, columns)


def cells_in(lines: Sequence[str], shown: str, columns: str) -> Cells:
    """Read the lines of a csv file as text, comments left empty: see `read_cells`."""
    start = header_at(lines, shown, columns)
    delimiter = delimiter_of(lines[start])
    rows = rows_of(lines, start, delimiter, shown)
    header = tuple(cell.strip() for cell in rows[0][1])
    body = body_of(rows, shown, "a header and no rows")
    problems = list(too_long(body, len(header), shown))
    if problems:
        raise SiteError(shortened_list(problems, shown))
    comma = delimiter != ","
    return Cells(
        header,
        tuple(
            (line, tuple(_cell(row, at, comma) for at in range(len(header)))) for line, row in body
        ),
        rows[0][0],
    )


def _cell(row: Sequence[str], at: int, comma: bool) -> str:
    """Return a cell; a decimal comma is a point where commas do not part cells."""
    cell = row[at].strip() if at < len(row) else ""
    return cell.replace(",", ".") if comma and is_number(cell) else cell


def columns_of(path: Path, shown: str) -> tuple[str, ...]:
    """Return the names of the columns of a csv file, in small letters; none of an empty file.

    Parameters
    ----------
    path : Path
    shown : str
        The name of the file in messages.

    Raises
    ------
    SiteError
        The file is no text.
    """
    first = next((line for line in lines_of(path, shown) if line.strip()), "")
    row = next(csv.reader([first], delimiter=delimiter_of(first), skipinitialspace=True), [])
    return tuple(cell.strip().lower() for cell in row)


def header_at(lines: Sequence[str], shown: str, columns: str) -> int:
    """Return the place of the header; raise SiteError where there is none."""
    start = next((place for place, line in enumerate(lines) if line.strip()), None)
    if start is None:
        mend = f'Write the header "{columns}" and a line for each point.'
        raise SiteError([Problem(shown, "an empty file", f"the columns {columns}", mend)])
    return start


def delimiter_of(header: str) -> str:
    """Return the sign that parts the cells of a header."""
    return next((sign for sign in "\t;" if sign in header), ",")


def rows_of(
    lines: Sequence[str], start: int, delimiter: str, shown: str
) -> list[tuple[int, list[str]]]:
    """Return the rows with the line that each begins on, the header first."""
    return [(first, row) for first, _, row in spanned_rows(lines, start, delimiter, shown)]


def spanned_rows(
    lines: Sequence[str], start: int, delimiter: str, shown: str
) -> list[tuple[int, int, list[str]]]:
    """Return the rows with the lines that each begins and ends on, the header first.

    Raises
    ------
    SiteError
        A quote that is left open, which would take in all that comes after it.
    """
    reader = csv.reader(
        (f"{line}\n" for line in (*lines[start:], END)),
        delimiter=delimiter, skipinitialspace=True,
    )  # fmt: skip
    # A quoted cell may hold a line break, so a row may take more lines than one.
    rows, line = [], start + 1
    try:
        for row in reader:
            if row:
                rows.append((line, start + reader.line_num, row))
            line = start + reader.line_num + 1
    except csv.Error as error:
        raise SiteError([Problem(f"{shown}, line {line}", str(error), "cells")]) from None
    first, _, last = rows.pop()
    if last != [END]:
        found = f"{shortened(visible(lines[first - 1].strip()))}"
        mend = "Close the quote that a cell begins with, or leave it out."
        raise SiteError([Problem(f"{shown}, line {first}", found, "a quote that ends", mend)])
    return rows


def body_of(
    rows: Sequence[tuple[int, list[str]]], shown: str, found: str
) -> list[tuple[int, list[str]]]:
    """Return the rows below the header that hold anything; raise SiteError where none does."""
    body = [(line, row) for line, row in rows[1:] if any(cell.strip() for cell in row)]
    if not body:
        mend = "Write a line for each point below the header."
        raise SiteError([Problem(shown, found, "at least one point", mend)])
    return body


def too_long(body: Sequence[tuple[int, list[str]]], width: int, shown: str) -> Iterable[Problem]:
    """Yield what is wrong with rows that have more cells than their header."""
    for line, row in body:
        if len(row) > width and any(cell.strip() for cell in row[width:]):
            yield Problem(
                f"{shown}, line {line}",
                f"{len(row)} cells",
                f"{width}, one for each column of the header",
                "Put quotes round a cell that holds a comma; write decimals with a point.",
            )


def lines_of(path: Path, shown: str) -> list[str]:
    """Return the lines of the file, those that are comments left empty."""
    mend = "Thin the scan to one point every few inches."
    data = read_limited(path, shown, LARGEST_FILE, mend)
    check_lines(data, shown, mend)
    encoding = "utf-16" if data[:2] in (b"\xff\xfe", b"\xfe\xff") else "utf-8-sig"
    return lines_in(decoded(data, encoding, shown, 'Save it again as "CSV UTF-8".'))


def check_lines(data: bytes, shown: str, mend: str) -> None:
    """Raise SiteError where a list of points has more lines than any."""
    count = max(data.count(b"\n"), data.count(b"\r"))
    if count > MOST_LINES:
        raise SiteError([Problem(shown, f"{count:,} lines", f"at most {MOST_LINES:,}", mend)])


def lines_in(text: str) -> list[str]:
    """Return the lines of a text, those that are comments left empty."""
    return ["" if is_comment(line) else line for line in whole_lines(text)]


def whole_lines(text: str) -> list[str]:
    """Return the lines of a text, comments as they are."""
    return text.replace("\r\n", "\n").replace("\r", "\n").split("\n")


def is_comment(line: str) -> bool:
    """Return whether a line is passed over."""
    return line.lstrip().startswith("#")


def is_number(cell: str) -> bool:
    """Return whether a cell is a number, its decimals after a point or a comma."""
    try:
        return math.isfinite(float(cell.replace(",", ".")))
    except ValueError:
        return False


def unfit_text(text: str, where: str, most: int) -> Iterable[Problem]:
    """Yield what is wrong with an id, a code or a note of so many letters at the most."""
    if len(text) > most:
        yield Problem(where, f"{len(text)} letters", f"at most {most}")
    elif not is_visible(" ".join(text.split())):
        yield Problem(where, f'"{shortened(visible(text))}"', "printable characters")


def shortened_list(problems: list[Problem], shown: str) -> list[Problem]:
    """Return the first of the problems of a file, the rest counted."""
    if len(problems) <= MOST_PROBLEMS:
        return problems
    rest = len(problems) - MOST_PROBLEMS
    more = Problem(shown, f"{rest} more cells or lines like these", "none")
    return [*problems[:MOST_PROBLEMS], more]
