"""The survey read from all its files: spots, level books, and what both hang on."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from functools import partial

import numpy as np
from msgspec import Struct

from grading.catalogue.rules import RULES, Limit, Limits
from grading.errors import Problem, SiteError
from grading.files.fields import array_of
from grading.files.toml_text import nearest, shown_value
from grading.geometry.arrays import Floats
from grading.kept import fingerprint
from grading.reading.level_csv import read_level_book
from grading.reading.written import Written, read_once
from grading.signs import listed
from grading.site.house import House
from grading.site.level_book import LevelBook
from grading.site.model import Spots
from grading.site.survey_tables import Benchmark, LevelsTable, Reference, named_once, same_name
from grading.survey.booked import booked_survey
from grading.survey.levels import Levels, levels_from
from grading.survey.shots import Survey, joined
from grading.survey.taped import references_of, taped
from grading.units import METRES, UnitError, read_length

SPOTS = 'the csv file of spot elevations, such as "spots.csv"'


class Surveyed(Struct, frozen=True, eq=False):
    """What was read of the survey; `spots` is None where it leaves none to speak of."""

    spots: Spots | None
    levels: tuple[LevelBook, ...] = ()
    benchmarks: tuple[Benchmark, ...] = ()
    references: tuple[Reference, ...] = ()


def read_survey(site: Written, house: House | None, limits: Mapping[str, Limit]) -> Surveyed:
    """Return the survey of a site from every file that it names.

    Parameters
    ----------
    site : Written
        Told what is wrong.
    house : House or None
    limits : mapping
        The site's own.
    """
    held = Limits(limits, site.unit, site.unit)
    tables = site.many("levels", LevelsTable)
    marks, own = site.many("benchmark", Benchmark), site.many("reference", Reference)
    before = len(site.problems)
    if "spots" not in site.written and "levels" not in site.written:
        site.wrong("spots", "nothing", SPOTS, "Add `spots`.")
    parts = [_spots(site, name, held) for name in _files(site.written.get("spots"))]
    _check_marks(site, tables, marks, own, house)
    if _told(site, house, tables, marks, own):
        return Surveyed(None)
    references = references_of(house, list(own.values()))
    books = [_book(site, key, table, list(references), held) for key, table in tables.items()]
    made = [each for each in books if each is not None]
    whole = len(made) == len(tables) and len(site.problems) == before
    booked = None
    if made and whole:
        booked = _booked(site, made, list(marks.values()), list(own.values()), house, held)
        _check_used(site, made, marks)
    surveys = [*parts, *([booked] if made else [])]
    if any(each is None for each in surveys) or not surveys or len(made) < len(tables):
        return Surveyed(None)
    survey = joined([each for each in surveys if each is not None])
    files = list(dict.fromkeys(survey.sources))
    if not files:
        mend = "Say where the rod stood: x and y, along and out, or ties."
        found = "no point that was both read and placed"
        site.problems.append(Problem(made[0].file, found, "three or more", mend))
        return Surveyed(None)
    return Surveyed(
        survey.spots(listed(files)), tuple(made), tuple(marks.values()), tuple(own.values())
    )


def _told(site: Written, house: House | None, *tables: Mapping[str, object]) -> bool:
    """Return whether what the books hang on is wrong itself: they are read when that is mended."""
    kinds = ("levels", "benchmark", "reference")
    short = any(
        isinstance(site.written.get(kind), list) and len(site.written[kind]) > len(read)
        for kind, read in zip(kinds, tables, strict=True)
    )
    return "levels" in site.written and (short or ("house" in site.written and house is None))


def _files(value: object) -> list[str]:
    """Return the files that `spots` names; what is no name is said of the head."""
    names = value if isinstance(value, list) else [value]
    return [name for name in names if isinstance(name, str) and name.strip()]


def _spots(site: Written, name: str, limits: Limits) -> Survey | None:
    points = site.points(name, "spots", "xyz", ("id", "code", "note", "sd_z", "sd_xy"))
    if points is None:
        return None
    count = len(points.lines)
    none = ("",) * count
    sds = [
        _spread(site, name, points.lines, points.texts.get(column), column, limits[rule])
        for column, rule in (("sd_z", "level-sd"), ("sd_xy", "tape-sd"))
    ]
    return Survey(
        xyz=points.values,
        sd_z=sds[0],
        sd_xy=sds[1],
        sources=(name,) * count,
        lines=points.lines,
        names=points.texts.get("id", none),
        codes=points.texts.get("code", none),
        notes=points.texts.get("note", none),
        readings=(None,) * count,
    )


def _spread(
    site: Written, name: str, lines: Sequence[int], cells: Sequence[str] | None, column: str,
    usual: float,
) -> Floats:  # fmt: skip
    """Return a column of standard deviations; those that are left out are the usual one. [m]"""
    if cells is None:
        return np.broadcast_to(usual, len(lines))  # one number, however many spots there are
    try:  # as an instrument writes them, in one go
        found = np.array([float(cell) if cell else np.nan for cell in cells]) * METRES[site.unit]
    except ValueError:
        found = np.full(len(lines), np.nan)
        for row, (line, cell) in enumerate(zip(lines, cells, strict=True)):
            try:
                found[row] = read_length(cell, site.unit) if cell else np.nan
            except UnitError as error:
                where = f"{name}, line {line}, column {column}"
                site.problems.append(Problem(where, error.found, error.expected, error.mend))
    wrong = np.flatnonzero(~(found > 0) & ~np.isnan(found))
    for row in wrong[:10]:
        where = f"{name}, line {lines[row]}, column {column}"
        expected = "a standard deviation of more than zero"
        site.problems.append(Problem(where, shown_value(cells[row]), expected))
    return array_of(np.where(np.isnan(found), usual, found))


def _book(
    site: Written, key: str, table: LevelsTable, references: Sequence[str], limits: Limits
) -> LevelBook | None:
    path = site.inside(table.file, f"{key}.file")
    if path is None:
        return None
    # A site's own rod that is shorter fails the check of the whole book, which says so.
    usual = RULES["rod-length"].limit
    longest = max(limits["rod-length"], usual if isinstance(usual, float) else 0.0)
    made = partial(read_level_book, path, table, site.unit, references, longest)
    how = (fingerprint(table, site.unit, references, longest),)
    return site.file(table.file, lambda: read_once(path, how, made))


def _check_marks(
    site: Written, tables: Mapping[str, LevelsTable], marks: Mapping[str, Benchmark],
    own: Mapping[str, Reference], house: House | None,
) -> None:  # fmt: skip
    """Note benchmarks and references that share a name, or of which there are none."""
    names = {f"{key}.name": each.name for key, each in marks.items()}
    held = {f"{key}.name": each.name for key, each in own.items()}
    for key, name, first in (*named_once(names), *named_once(held)):
        site.wrong(key, f"{shown_value(name)}, which is {first} too", "a name of its own")
    corners = {same_name(each) for each in references_of(house, ())}
    for key, name in held.items():
        if same_name(name) in corners:
            found = f"{shown_value(name)}, as a corner of the house is called"
            site.wrong(key, found, "a name of its own", "Rename it, or leave it out.")
    files = {f"{key}.file": each.file for key, each in tables.items()}
    for key, name, first in named_once(files):
        site.wrong(key, f"{shown_value(name)}, which is {first} too", "a file of its own")
    if tables and "benchmark" not in site.written:
        mend = "Write [[benchmark]] with the name that the level book has, and its z."
        site.wrong("benchmark", "no [[benchmark]]", "one or more beside [[levels]]", mend)


def _booked(
    site: Written, books: Sequence[LevelBook], marks: Sequence[Benchmark],
    own: Sequence[Reference], house: House | None, limits: Limits,
) -> Survey | None:  # fmt: skip
    fixed = {same_name(each.name): each for each in marks}
    places, problems = taped(books, house, own, limits, site.unit, fixed)
    site.problems += problems
    levels: Levels | None = None
    try:
        levels = levels_from(books, marks, limits, site.unit)
    except SiteError as error:
        site.problems += error.problems
    if levels is None or problems:
        return None
    return booked_survey(levels, places, books, limits)


def _check_used(site: Written, books: Sequence[LevelBook], marks: Mapping[str, Benchmark]) -> None:
    """Note a benchmark that no book reads, where there is one, and a test of no long sight."""
    rows = [row for book in books for row in book.rows]
    read = {same_name(row.point) for row in rows if row.written}
    points = list(dict.fromkeys(row.point for row in rows if row.point))
    for key, mark in marks.items():
        if books and same_name(mark.name) not in read:
            found = f"{shown_value(mark.name)}, which no level book reads"
            mend = nearest(mark.name, points) or "Call it as the book does, or leave it out."
            site.wrong(f"{key}.name", found, "a point of a level book", mend)
    for place, book in enumerate(books, start=1):
        far = any(row.distance is not None for row in book.rows)
        if book.collimation is not None and not far:
            found = "a two-peg test beside sights of unknown length"
            mend = "Book the distance of each sight, or leave `two_peg` out."
            site.wrong(f"levels[{place}].two_peg", found, "a column `distance`", mend)
