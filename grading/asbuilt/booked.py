"""Shots of what was built as they stand in a level book: at stakes, or anywhere by tape."""

from __future__ import annotations

from pathlib import Path

import numpy as np

from grading.asbuilt.shots import BuiltShots, areas_of_stakes
from grading.errors import Problem, SiteError
from grading.files.csv_rows import columns_of
from grading.reading.level_csv import is_book, read_level_book
from grading.setout.instrument import benchmarks_of
from grading.setout.model import SetOut
from grading.site.level_book import BookRow
from grading.site.model import Site
from grading.site.survey_tables import Benchmark, LevelsTable, same_name
from grading.survey.levels import levels_from
from grading.survey.taped import taped
from grading.units.rods import RodUnit


def holds_a_book(path: Path) -> bool:
    """Whether a csv file of shots is a level book: it has a column of backsights or sights."""
    return path.is_file() and is_book(columns_of(path, path.name))


def booked_shots(path: Path, site: Site, found: SetOut, marks: RodUnit) -> BuiltShots:
    """Read a level book of shots, reduced from the benchmarks of the site and the sills of doors.

    Parameters
    ----------
    path : Path
        One row a position of the rod, as for `[[levels]]`; a point that is placed by nothing is a
        stake, by its name, or a benchmark.
    site : Site
    found : SetOut
        Whose stakes are named.
    marks : RodUnit
        What the rod is marked in.

    Raises
    ------
    SiteError
        Everything that is wrong with the book, each with its line; or it does not close.
    """
    limits = site.in_force
    table = LevelsTable.model_validate({"file": path.name, "rod": marks})
    held = [each.name for each in found.references]
    book = read_level_book(path, table, site.unit, held, limits["rod-length"])
    known = [Benchmark(name=name, z=z) for name, z in benchmarks_of(site).items()]
    fixed = {same_name(each.name): each for each in known}
    places, problems = taped([book], site.house, site.references, limits, site.unit, fixed)
    if problems:
        raise SiteError(problems)
    levels = levels_from([book], known, limits, site.unit)
    if levels.failed:
        raise SiteError(
            [Problem(path.name, fault, "a book that closes") for fault in levels.faults]
        )
    stakes = areas_of_stakes(found)
    rows = []
    for point in levels.points:
        row = point.sight.row
        if point.fixed or point.inverted:
            continue
        where = f"{path.name}, line {row.line}"
        place = places.places.get(point.key)
        if place is not None:
            rows.append((row.point or f"line {row.line}", "", place.xy, point.z, row))
            continue
        having = [(name, own[row.point]) for name, own in stakes.items() if row.point in own]
        if len(having) == 1:
            (area, at), *_ = having
            rows.append((row.point, area, at, point.z, row))
        elif row.fore is not None and row.inter is None:
            continue  # a turning point is no shot of what was built
        elif having:
            told = " and ".join(name for name, _ in having)
            mend = "Give its place by tape."
            problems.append(Problem(where, f'stake "{row.point}" of {told}', "one of them", mend))
        else:
            mend = "`fallaway stakes SITE` lists them; or give its place by tape."
            problems.append(Problem(where, f'"{row.point}"', "the name of a stake", mend))
    if not rows and not problems:
        problems.append(Problem(path.name, "no shot but of benchmarks", "one or more"))
    if problems:
        raise SiteError(problems)
    return BuiltShots(
        names=tuple(name for name, *_ in rows),
        areas=tuple(area for _, area, *_ in rows),
        xyz=np.array([[*at, z] for _, _, at, z, _ in rows]),
        rods=np.array([_reading(row) for *_, row in rows]),
        notes=tuple(row.note for *_, row in rows),
        photos=("",) * len(rows),
        lines=tuple(row.line for *_, row in rows),
        file=path.name,
    )


def _reading(row: BookRow) -> float:
    """Return what the rod read in a row. [m]"""
    read = next(each for each in (row.inter, row.fore, row.back) if each is not None)
    return float(read)
