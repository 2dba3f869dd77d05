"""A level book as it is booked: reduced after every reading, and what it says of itself."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from pathlib import Path
from typing import Any

from msgspec import Struct

from grading.catalogue.rules import RULES, Limits
from grading.design.places import Places
from grading.errors import Problem, SiteError
from grading.files.csv_rows import cells_in, lines_in
from grading.reading.level_csv import WANTED, level_book_in
from grading.reading.limits import limits_of
from grading.reading.written import Written
from grading.site.house import House
from grading.site.level_book import LevelBook
from grading.site.survey_tables import Benchmark, LevelsTable, Reference, same_name
from grading.site.walls import named_walls
from grading.survey.levels import Levels, levels_from
from grading.survey.setups import point_key
from grading.survey.taped import Taped, references_of, taped
from viz.desk.survey.sheets import BOOK, Sheet, sheet_of, told
from viz.terminal.levels import RODS, adjusted_words, book_rows, closed_words


class _Around(Struct, frozen=True, eq=False):
    """What books hang on, as far as it can be read."""

    written: Written
    house: House | None
    tables: Mapping[str, LevelsTable]
    marks: Sequence[Benchmark]
    own: Sequence[Reference]
    limits: Limits
    files: Mapping[str, str]

    @property
    def references(self) -> list[str]:
        """What a tape may be held to."""
        return list(references_of(self.house, self.own))


def _around(document: Mapping[str, Any], files: Mapping[str, str], folder: Path) -> _Around:
    written = Written(folder, dict(document))
    limits = limits_of(written)
    return _Around(
        written, written.one("house", House), written.many("levels", LevelsTable),
        list(written.many("benchmark", Benchmark).values()),
        list(written.many("reference", Reference).values()), limits, files,
    )  # fmt: skip


def held_to(document: Mapping[str, Any], folder: Path) -> dict[str, list[str]]:
    """Return the walls that may be taped along, what a tape may be held to, and the benchmarks."""
    around = _around(document, {}, folder)
    return {
        "walls": [name for name, *_ in named_walls(around.house)],
        "references": around.references,
        "benchmarks": [mark.name for mark in around.marks],
    }


def tilt_of(document: Mapping[str, Any], folder: Path, name: str) -> float | None:
    """Return how much too high the level of a book reads for each metre; None where not tested."""
    tables = _around(document, {}, folder).tables.values()
    found = next((table.collimation for table in tables if table.file == name), None)
    return None if found is None else float(found)


def reduced(
    document: Mapping[str, Any], files: Mapping[str, str], folder: Path, name: str
) -> dict[str, Any]:
    """Return a level book reduced, or what is wrong in it.

    Parameters
    ----------
    document : mapping
        The site file as TOML has it: [[levels]] names the book, [[benchmark]] what it hangs on.
    files : mapping
        The texts of the level books by their names, that of this one among them.
    folder : Path
        Of the site, for messages.
    name : str
        The file of the book.

    Returns
    -------
    dict
        `problems` by line and column, `rows` by line, `closes` and `says` in words.
    """
    around = _around(document, files, folder)
    wrong: list[Problem] = []
    sheet: Sheet | None = None
    try:
        sheet = sheet_of(files.get(name, ""), name, BOOK)
    except SiteError as error:
        wrong += error.problems
    empty = sheet is not None and not sheet.rows
    books = [] if empty else list(_books(around, wrong))
    found = None if wrong or not books else _reduction(around, books, wrong)
    reads = () if sheet is None else BOOK.reads(sheet.header)
    record: dict[str, Any] = {
        "problems": told(wrong, name, reads), "rows": {}, "closes": [], "says": [],
        "points": 0,
    }  # fmt: skip
    if found is not None:
        levels, places = found
        unit = around.written.unit
        record["rows"] = {row["line"]: row for row in _rows(levels, places, around, name)}
        record["closes"] = [
            {
                "words": closed_words(each, unit),
                "status": each.status,
                "line": each.closing.sight.row.line if each.closing.file == name else None,
            }
            for each in levels.closures
        ]
        record["says"] = list(_says(levels, places, around))
        record["points"] = sum(point.key in places.places for point in levels.points)
    return record


def _books(around: _Around, wrong: list[Problem]) -> Iterator[LevelBook]:
    """Yield the books that can be read; what is wrong in them is noted."""
    usual = RULES["rod-length"].limit
    longest = max(around.limits["rod-length"], usual if isinstance(usual, float) else 0.0)
    for table in around.tables.values():
        text = around.files.get(table.file)
        if text is None:
            continue  # what names no file is told by the reading of the site
        try:
            cells = cells_in(lines_in(text), table.file, WANTED)
            yield level_book_in(cells, table, around.written.unit, around.references, longest)
        except SiteError as error:
            wrong += error.problems


def _reduction(
    around: _Around, books: Sequence[LevelBook], wrong: list[Problem]
) -> tuple[Levels, Taped] | None:
    unit = around.written.unit
    fixed = {same_name(each.name): each for each in around.marks}
    places, problems = taped(books, around.house, around.own, around.limits, unit, fixed)
    wrong += problems
    try:
        return levels_from(books, around.marks, around.limits, unit), places
    except SiteError as error:
        wrong += error.problems
    return None


def _rows(levels: Levels, places: Taped, around: _Around, name: str) -> Iterator[dict[str, Any]]:
    """Give what became of each line of a book that has a reading, in words."""
    unit = around.written.unit
    at = Places(unit, named_walls(around.house))
    fixed = {same_name(each.name): each for each in around.marks}
    for row in book_rows(name, levels, unit):
        line, point, _, instrument, _, _, elevation, adjusted, _, marks = row
        place = places.places.get(point_key(point, name, int(line), fixed))
        yield {
            "line": int(line),
            "point": point,
            "instrument": instrument,
            "elevation": elevation,
            "adjusted": adjusted if levels.adjusted else "",
            "marks": marks,
            "place": "" if place is None else at.at(place.xy),
        }


def _says(levels: Levels, places: Taped, around: _Around) -> Iterator[dict[str, str]]:
    """Give the sentences of the books and of the ties, the worst first."""
    unit = around.written.unit
    for sentence in levels.faults:
        yield {"text": sentence, "tone": "fails"}
    for point in places.tied:
        if fault := point.fault(unit):
            yield {"text": fault, "tone": "fails"}
    for sentence in (*levels.unchecked, *levels.close, *levels.warnings):
        yield {"text": sentence, "tone": "look"}
    for point in places.tied:
        for sentence in point.warnings(unit):
            yield {"text": sentence, "tone": "look"}
    if levels.closures:
        yield {"text": adjusted_words(levels), "tone": "quiet"}
        yield {"text": f"limit: {levels.limit_source}", "tone": "quiet"}


def rods() -> list[dict[str, str]]:
    """Return what a rod may be marked in, each with its words."""
    return [{"to": unit, "label": words} for unit, words in RODS.items()]
