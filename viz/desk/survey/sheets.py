"""A csv file as a grid holds it: every line of it, comments too, so that it can be put back whole.

The grid numbers its rows by the lines of the file: a sentence that tells of line 12 is told of the
row 12 that a person sees.
"""

from __future__ import annotations

import hashlib
import re
from collections.abc import Mapping, Sequence
from typing import Any

from msgspec import Struct, field

from grading.errors import Problem, SiteError
from grading.files.csv_points import columns_read
from grading.files.csv_rows import delimiter_of, is_number, lines_in, spanned_rows, whole_lines
from grading.reading.level_csv import column_of

MOST_ROWS = 2000
"""Rows that a grid takes: nobody types more, and a file of more is told with its count."""

_WHERE = re.compile(r"(?P<file>.+?), line (?P<line>\d+)(?:, column (?P<column>.+))?")


class Kind(Struct, frozen=True):
    """What a file is for.

    Attributes
    ----------
    name : str
    numbers, texts : tuple of str
        Columns that must be there, and those that may be.
    new : str
        What a new file is called.
    labels : mapping
        What a grid heads a column with, where it is not its name.
    """

    name: str
    numbers: tuple[str, ...]
    texts: tuple[str, ...]
    new: str
    labels: Mapping[str, str] = field(default_factory=dict)

    @property
    def header(self) -> str:
        """The header of a new file."""
        return ",".join((*self.numbers, *self.texts))

    def reads(self, header: Sequence[str]) -> tuple[str, ...]:
        """Return what each column is taken for, empty where it is passed over."""
        if self is BOOK:
            return tuple(column_of(head) for head in header)
        wanted = (*self.numbers, *self.texts)
        known = columns_read([head.strip().lower() for head in header], wanted)
        return tuple(name if name in wanted else "" for name in known)


SPOTS = Kind("spots", ("x", "y", "z"), ("id", "code", "note"), "spots.csv")
HOLES = Kind("holes", ("x", "y", "depth"), ("area",), "holes.csv")
BOOK = Kind(
    "book", (), ("point", "bs", "is", "fs", "along", "out", "code", "note"), "levels.csv",
    {"backsight": "BS", "intermediate": "IS", "foresight": "FS"},
)  # fmt: skip
KINDS = {kind.name: kind for kind in (SPOTS, HOLES, BOOK)}


class Line(Struct, frozen=True):
    """A row of a file as it stands there, or what lies between rows.

    Attributes
    ----------
    number : int
        Of the file, from 1.
    raw : str
        Of a row with a cell that goes on below, all its lines.
    cells : tuple of str or None
        None of a comment and of an empty line.
    """

    number: int
    raw: str
    cells: tuple[str, ...] | None = None


class Sheet(Struct, frozen=True):
    """A csv file: its header, and all its lines in order, the header's among them."""

    name: str
    kind: Kind
    sign: str
    header: tuple[str, ...]
    head_line: int
    lines: tuple[Line, ...]
    mark: str

    @property
    def rows(self) -> int:
        """How many rows stand below the header."""
        return sum(line.cells is not None and line.number > self.head_line for line in self.lines)

    def record(self) -> dict[str, Any]:
        """Return it as the grid takes it; no lines of one that is too long for it."""
        reads = self.kind.reads(self.header)
        short = self.rows <= MOST_ROWS
        return {
            "name": self.name,
            "sign": self.sign,
            "mark": self.mark,
            "columns": [
                {"head": head, "reads": what, "label": self.kind.labels.get(what, what or head)}
                for head, what in zip(self.header, reads, strict=True)
            ],
            "head_line": self.head_line,
            "lines": [
                {"raw": line.raw, "cells": None if line.cells is None else list(line.cells)}
                for line in (self.lines if short else ())
            ],
            "rows": self.rows,
            "short": short,
        }


def mark_of(text: str) -> str:
    """Return what tells one text of a file from another."""
    return hashlib.blake2b(text.encode(), digest_size=8).hexdigest()


def sheet_of(text: str, name: str, kind: Kind) -> Sheet:
    """Return a csv file as a grid holds it.

    Parameters
    ----------
    text : str
        Of the file; one without a header gets that of its kind, below what remarks it has.
    name : str
        Of the file, in messages.
    kind : Kind

    Raises
    ------
    SiteError
        Its cells cannot be told apart, or it has no header.
    """
    raw = whole_lines(text.rstrip("\n")) if text.strip() else []
    bare = lines_in("\n".join(raw)) if raw else []
    if not any(line.strip() for line in bare):
        raw, bare = [*raw, kind.header], [*bare, kind.header]
    start = next(place for place, line in enumerate(bare) if line.strip())
    sign = delimiter_of(bare[start])
    spans = spanned_rows(bare, start, sign, name)
    header = tuple(cell.strip() for cell in spans[0][2])
    if all(is_number(cell) for cell in header if cell):
        mend = f'Write the line "{kind.header}", in the order of the columns, above the numbers.'
        expected = f"a header with the columns {kind.header}"
        raise SiteError([Problem(f"{name}, line {start + 1}", "numbers", expected, mend)])
    lines: list[Line] = []
    done = 0
    for first, last, cells in spans:
        lines += [Line(at + 1, raw[at]) for at in range(done, first - 1)]
        words = tuple(cell.strip() for cell in cells)
        lines.append(Line(first, "\n".join(raw[first - 1 : last]), words if any(words) else None))
        done = last
    lines += [Line(at + 1, raw[at]) for at in range(done, len(raw))]
    return Sheet(name, kind, sign, header, start + 1, tuple(lines), mark_of(text))


def told(
    problems: Sequence[Problem], sheet_name: str, reads: Sequence[str]
) -> list[dict[str, Any]]:
    """Return problems as a grid marks them, by line and column where they say which.

    Parameters
    ----------
    problems : sequence of Problem
    sheet_name : str
        The file that the grid holds; what is wrong elsewhere has no line.
    reads : sequence of str
        What each column is taken for.
    """
    found = []
    for problem in problems:
        where = _WHERE.fullmatch(problem.where)
        own = where is not None and where["file"] == sheet_name
        column = where["column"] if where is not None else None
        found.append(
            {
                "line": int(where["line"]) if own and where is not None else None,
                "column": reads.index(column) if own and column in reads else None,
                "words": problem.page,
            }
        )
    return found
