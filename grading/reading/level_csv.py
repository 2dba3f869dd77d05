"""A level book read from its csv file: one row a position of the rod, in the order read."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from fractions import Fraction
from pathlib import Path
from typing import TypeVar

from msgspec import Struct, field

from grading.errors import Problem, SiteError
from grading.files.csv_rows import Cells, read_cells, shortened_list, unfit_text
from grading.files.toml_text import nearest
from grading.signs import shortened, visible
from grading.site.level_book import BookRow, LevelBook, Place
from grading.site.survey_tables import LevelsTable, same_name
from grading.units import Unit, UnitError, length, read_length
from grading.units.rods import read_rod
from grading.worded import Said, Worded

# As crews and texts head these columns. Common practice, no source.
_NAMES = {
    "point": ("point", "station", "name", "id", "pt", "sta"),
    "backsight": ("backsight", "bs", "back", "back sight"),
    "intermediate": ("intermediate", "is", "intermediate sight", "inter", "side shot", "ss"),
    "foresight": ("foresight", "fs", "fore", "fore sight"),
    "distance": ("distance", "dist", "sight distance"),
    "x": ("x", "e", "east"),
    "y": ("y", "n", "north"),
    "wall": ("wall",),
    "along": ("along",),
    "out": ("out", "offset"),
    "side": ("side",),
    "code": ("code", "desc", "description"),
    "note": ("note", "notes", "remark", "remarks"),
}
_COLUMNS = {other: name for name, others in _NAMES.items() for other in others}
_TO = re.compile(r"(?:tie )?to (?P<name>\S.*)", re.IGNORECASE)
_BOTH = {
    "x and y": "x and y",
    "along and out": "how far along the wall and how far out from it",
}
"""What is asked where one of two columns that tell a place is empty."""

WANTED = "point, backsight, intermediate, foresight"
_SIGHTS = {
    "backsight": "a backsight", "intermediate": "an intermediate", "foresight": "a foresight",
}  # fmt: skip
"""The columns of readings, and how one is told."""


def column_of(head: str) -> str:
    """Return what a column is by its head, "to NAME" of ties as it is written; "" for none."""
    if tie := _TO.fullmatch(" ".join(head.split())):
        return f"to {tie['name']}"
    return _COLUMNS.get(same_name(head), "")


def is_book(header: Sequence[str]) -> bool:
    """Whether the columns of a csv file are those of a level book: any is of sights."""
    return any(_COLUMNS.get(same_name(head)) in _SIGHTS for head in header)


LONGEST_CELL = 120
"""Letters of a name, a code or a note at the most."""

T = TypeVar("T")


def read_level_book(
    path: Path, table: LevelsTable, unit: Unit, references: Iterable[str], longest: float
) -> LevelBook:
    """Read a level book.

    Parameters
    ----------
    path : Path
        Its csv file: columns in any order, heads in full or short, in any case. `to NAME` heads
        the distances taped to a reference.
    table : LevelsTable
        What the site file says of it.
    unit : "ft" or "m"
        What a bare number of a tape means; bare numbers of the rod are as `table` says.
    references : iterable of str
        Names that a tape may be held to.
    longest : float
        No rod is longer. [m]

    Raises
    ------
    SiteError
        Everything in the file that is wrong, each with its line and column.
    """
    return level_book_in(read_cells(path, table.file, WANTED), table, unit, references, longest)


def level_book_in(
    cells: Cells, table: LevelsTable, unit: Unit, references: Iterable[str], longest: float
) -> LevelBook:
    """Read the rows of a level book: see `read_level_book`."""
    reader = _Reader(cells, table, unit, longest)
    reader.header(list(references))
    rows = tuple(reader.rows()) if not reader.problems else ()
    if reader.problems:
        raise SiteError(shortened_list(reader.problems, table.file))
    return LevelBook(table.file, table.rod, rows, table.placed == "by eye", table.collimation)


class _Reader(Struct):
    cells: Cells
    table: LevelsTable
    unit: Unit
    longest: float
    problems: list[Problem] = field(default_factory=list)
    columns: dict[str, int] = field(default_factory=dict)
    ties: dict[str, int] = field(default_factory=dict)

    def wrong(self, where: str, found: str, expected: str, mend: Said = "") -> None:
        self.problems.append(Problem(f"{self.table.file}, {where}", found, expected, mend))

    def header(self, references: list[str]) -> None:
        """Take the columns; note those that are there twice, missing or of no known reference."""
        where = f"line {self.cells.line}"
        for at, head in enumerate(self.cells.header):
            shown = shortened(visible(head))
            name = _COLUMNS.get(same_name(head))
            if tie := _TO.fullmatch(" ".join(head.split())):
                known = {same_name(each): each for each in references}
                name = known.get(same_name(tie["name"]))
                if name is None:
                    expected = "to what the tape is held, one of " + ", ".join(references or ["-"])
                    mend: Said = nearest(tie["name"], references) or Worded(
                        "Write a [[reference]] of that name into site.toml.",
                        "Give that point its place, as one that the tape is held to.",
                    )
                    self.wrong(where, f'the column "{shown}"', expected, mend)
                elif name in self.ties:
                    self.wrong(where, f'two columns "to {name}"', "one", "Leave one of them out.")
                else:
                    self.ties[name] = at
            elif name is not None and name in self.columns:
                self.wrong(where, f'two columns "{name}"', "one", "Leave one of them out.")
            elif name is not None:
                self.columns[name] = at
            elif head:
                known_heads = ", ".join(_NAMES)
                mend = nearest(head, [*_COLUMNS, "to A"])
                self.wrong(where, f'the column "{shown}"', f"one of {known_heads}, to A", mend)
        if not any(name in self.columns for name in _SIGHTS) and not self.problems:
            heads = shortened(visible(",".join(self.cells.header)))
            mend = "Write a head over each column: point, bs, is, fs."
            self.wrong(where, f"the columns {heads}", f"the columns {WANTED}", mend)

    def rows(self) -> Iterator[BookRow]:
        for line, cells in self.cells.rows:
            row = self.row(line, cells)
            if row is not None:
                yield row

    def row(self, line: int, cells: tuple[str, ...]) -> BookRow | None:
        before = len(self.problems)
        words = {name: cells[at].strip() for name, at in self.columns.items()}
        for name, cell in words.items():
            if name in ("point", "code", "note", "wall", "side"):
                where = f"{self.table.file}, line {line}, column {name}"
                self.problems += unfit_text(cell, where, LONGEST_CELL)
        sights = {name: self.read(line, name, words.get(name, ""), self.rod) for name in _SIGHTS}
        read = [name for name in _SIGHTS if words.get(name)]
        if len(read) > 1 and read != ["backsight", "foresight"]:
            found = " and ".join(_SIGHTS[name] for name in read)
            expected = "one reading, or of a turning point its foresight and its backsight"
            self.wrong(f"line {line}", f"{found} in one row", expected, "Write a row for each.")
        place = self.place(line, cells, words)
        if not read and place is None:
            expected = "a backsight, an intermediate or a foresight, or a place"
            self.wrong(f"line {line}", "no reading", expected, "Take the line out, or add it.")
        if not read and place is not None and not words.get("point"):
            self.wrong(f"line {line}, column point", "nothing", "the name of what is placed here")
        distance = self.read(line, "distance", words.get("distance", ""), self.far)
        if distance is not None and len(read) > 1:
            mend = "Write the turning point as two rows, the foresight first, each with its own."
            self.wrong(f"line {line}, column distance", "one beside two readings", "one each", mend)
        if len(self.problems) > before:
            return None
        return BookRow(
            line=line,
            point=" ".join(words.get("point", "").split()),
            back=sights["backsight"],
            inter=sights["intermediate"],
            fore=sights["foresight"],
            written=tuple(words[name] for name in read),
            distance=distance,
            place=place,
            code=words.get("code", ""),
            note=words.get("note", ""),
        )

    def read(self, line: int, name: str, cell: str, reads: Callable[[str], T]) -> T | None:
        """Return a cell read; None where it is empty, or wrong, which is noted."""
        if not cell:
            return None
        try:
            return reads(cell)
        except UnitError as error:
            where = f"line {line}, column {name}"
            self.wrong(where, error.found, error.expected, error.mend)
            return None

    def rod(self, cell: str) -> Fraction:
        reading = read_rod(cell, self.table.rod)
        if abs(reading) > Fraction(str(self.longest)):
            expected = f"a reading of a rod, at most {length(self.longest, self.unit)}"
            mend = f'Is the rod marked in what `rod = "{self.table.rod}"` says?'
            raise UnitError(f'"{shortened(cell)}"', expected, mend)
        return reading

    def far(self, cell: str) -> Fraction:
        metres = read_length(cell, self.unit)
        if metres <= 0:
            raise UnitError(f'"{shortened(cell)}"', "a distance of more than zero")
        return Fraction(str(round(metres, 6)))

    def taped(self, cell: str) -> float:
        metres = read_length(cell, self.unit)
        if metres < 0:
            raise UnitError(f'"{shortened(cell)}"', "a taped distance of zero or more")
        return metres

    def place(self, line: int, cells: tuple[str, ...], words: Mapping[str, str]) -> Place | None:
        """Return where the rod stood; None where nothing tells, or where it is told wrongly."""

        def plan(cell: str) -> float:
            return read_length(cell, self.unit)

        taped = {
            name: self.read(line, f"to {name}", cells[at].strip(), self.taped)
            for name, at in self.ties.items()
            if cells[at].strip()
        }
        ties = {name: metres for name, metres in taped.items() if metres is not None}
        x, y, along, out = (
            self.read(line, name, words.get(name, ""), plan) for name in ("x", "y", "along", "out")
        )
        told = {
            "x and y": bool(words.get("x") or words.get("y")),
            "along and out": bool(words.get("along") or words.get("out") or words.get("wall")),
            "ties": bool(taped),
        }
        ways = [way for way, there in told.items() if there]
        where = f"line {line}"
        if words.get("side") and words["side"].lower() not in ("left", "right"):
            expected = '"left" or "right" of the way from the first reference to the second'
            self.wrong(f"{where}, column side", f'"{shortened(words["side"])}"', expected)
        if words.get("side") and "ties" not in ways:
            expected = "a side beside ties"
            self.wrong(f"{where}, column side", "a side without ties", expected, "Leave it out.")
        if not ways:
            return None
        if len(ways) > 1:
            found, expected = f"a place by {' and by '.join(ways)}", "one of them"
            self.wrong(where, found, expected, "Leave the others out.")
            return None
        for way, both in _BOTH.items():
            for name in way.split(" and ") if told[way] else ():
                if not words.get(name):
                    self.wrong(f"{where}, column {name}", "nothing", f"{both}, both or neither")
        if told["x and y"]:
            return None if x is None or y is None else Place(xy=(x, y))
        if told["along and out"]:
            whole = along is not None and out is not None
            return Place(wall=words.get("wall", ""), along=along, out=out) if whole else None
        return Place(ties=ties, side=words.get("side", "").lower()) if ties else None
