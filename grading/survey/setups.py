"""A level book as set-ups of the instrument, each with the sights that were taken from it."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence
from fractions import Fraction
from typing import Literal

from msgspec import Struct

from grading.errors import Problem, SiteError
from grading.site.level_book import BookRow, LevelBook
from grading.site.survey_tables import same_name

Kind = Literal["backsight", "intermediate", "foresight"]

_TURNING = re.compile(r"(?:tp|cp|t\.p\.|c\.p\.|turning point|change point)[ .-]*\d*[a-z]?")
"""What crews call a point that only carries the levels on. Two books have one of the same name."""


class Sight(Struct, frozen=True):
    """One reading of the rod.

    Attributes
    ----------
    kind : "backsight", "intermediate" or "foresight"
    point : str
        The key of the point: the same for all sights of one point.
    name : str
        What the book calls it; its line where it has no name.
    booked : Fraction
        As it was read. [m]
    reading : Fraction
        The same, corrected where a two-peg test tells how far the level is out. [m]
    row : BookRow
    """

    kind: Kind
    point: str
    name: str
    booked: Fraction
    reading: Fraction
    row: BookRow

    @property
    def inverted(self) -> bool:
        """Whether the rod was held upside down, as under siding or a lintel."""
        return self.booked < 0


class Setup(Struct, frozen=True):
    """The sights from one position of the instrument, the backsight first.

    file : the level book; number : of the set-up in it, from 1.
    """

    file: str
    number: int
    sights: tuple[Sight, ...]


def point_key(name: str, file: str, line: int, fixed: Mapping[str, object]) -> str:
    """Return the key of a point by what a book calls it.

    A turning point and a point without a name are of their own file; any other name is one point,
    whichever book it stands in.
    """
    key = same_name(name)
    if not key:
        return f"{file}, line {line}"
    if key not in fixed and _TURNING.fullmatch(key):
        return f"{file}, {key}"
    return key


def setups_of(books: Sequence[LevelBook], fixed: Mapping[str, object]) -> tuple[Setup, ...]:
    """Return the set-ups of level books, in the order read.

    Parameters
    ----------
    books : sequence of LevelBook
    fixed : mapping
        The keys of the benchmarks.

    Raises
    ------
    SiteError
        A reading that no backsight stands before.
    """
    problems: list[Problem] = []
    made: list[Setup] = []
    for book in books:
        sights: list[list[Sight]] = []
        for sight in _sights(book, fixed):
            if sight.kind == "backsight":
                sights.append([])
            elif not sights:
                if not any(each.where.startswith(f"{book.file},") for each in problems):
                    where = f"{book.file}, line {sight.row.line}"
                    found = f"a reading of {sight.name} before any backsight"
                    mend = "Book the reading of a benchmark first, under `backsight`."
                    problems.append(Problem(where, found, "the instrument set up", mend))
                continue
            sights[-1].append(sight)
        made += [
            Setup(book.file, number, tuple(each)) for number, each in enumerate(sights, start=1)
        ]
    if problems:
        raise SiteError(problems)
    return tuple(made)


def _sights(book: LevelBook, fixed: Mapping[str, object]) -> Iterator[Sight]:
    """Give the readings of a book in the order in which they were taken."""
    tilt = book.collimation
    for row in book.rows:
        key = point_key(row.point, book.file, row.line, fixed)
        name = row.point or f"line {row.line}"
        off = Fraction(0)
        if tilt is not None and row.distance is not None:
            off = tilt * row.distance
        # Of a turning point the foresight ends one set-up before the backsight begins the next.
        kinds: tuple[tuple[Kind, Fraction | None], ...] = (
            ("intermediate", row.inter), ("foresight", row.fore), ("backsight", row.back),
        )  # fmt: skip
        for kind, reading in kinds:
            if reading is not None:
                yield Sight(kind, key, name, reading, reading - off, row)
