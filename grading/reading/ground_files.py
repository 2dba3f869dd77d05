"""[ground] read, and the file of test holes that it may name."""

from __future__ import annotations

from collections.abc import Mapping
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from grading.catalogue.rules import Limit, Limits
from grading.errors import Problem
from grading.files.csv_points import PointList
from grading.files.toml_text import shown_value
from grading.ground.test_holes import COLUMN, hole_problems
from grading.reading.written import Written
from grading.site.ground_table import GroundSpec, GroundTable, is_file_name
from grading.site.tables import Area
from grading.units import number

Holes = tuple[str, PointList] | None
"""The file of the test holes and what it tells; None where there is none."""


def read_ground(site: Written, table: GroundTable | None) -> tuple[GroundSpec | None, Holes]:
    """Return what a site says of its ground, and the test holes that it names.

    Parameters
    ----------
    site : Written
        Told what is wrong with their file.
    table : GroundTable or None
        [ground] as it was read.
    """
    raw = site.written.get("ground")
    organics = raw.get("organics") if isinstance(raw, dict) else None
    holes = _probes(site, organics) if is_file_name(organics) else None
    probes = None if holes is None else holes[1]
    if table is None:
        return (GroundSpec() if raw is None else None), holes
    if isinstance(table.organics, str) and probes is None:
        return None, holes
    lines = table.lines()
    if table.breaklines_file is not None:
        lines = _lines_of(site, table.breaklines_file)
    spec = GroundSpec(
        soil=table.soil,
        organics=table.organics if isinstance(table.organics, float) else 0.0,
        probes=None if probes is None else probes.values,
        hole_areas=() if probes is None else _words(probes, COLUMN),
        breaklines=lines,
        surface=table.surface,
    )
    return spec, holes


def _probes(site: Written, name: str) -> Holes:
    probes = site.points(name, "ground.organics", ("x", "y", "depth"), (COLUMN,))
    if probes is None:
        return None
    for line, depth in zip(probes.lines, probes.values[:, 2].tolist(), strict=True):
        if depth < 0:
            where = f"{name}, line {line}, column depth"
            found = number(depth, site.unit)
            site.problems.append(
                Problem(
                    where,
                    found,
                    "a depth of zero or more",
                    "Write 0 where the hole found no topsoil.",
                )
            )
    return name, probes


def _lines_of(site: Written, name: str) -> tuple[NDArray[np.float64], ...]:
    """Return the breaklines of a file: rows of one line stand together, its name beside each.

    Those that cannot be read are noted.
    """
    points = site.points(name, "ground.breaklines", ("x", "y", "z"), ("line",))
    if points is None:
        return ()
    words = points.texts.get("line")
    if words is None:
        mend = "Add the column: the same number for each vertex of a line."
        site.problems.append(Problem(name, "no column line", 'a column "line"', mend))
        return ()
    starts = [row for row in range(len(words)) if row == 0 or words[row] != words[row - 1]]
    lines = [points.values[start:end] for start, end in pairwise([*starts, len(words)])]
    for start, line in zip(starts, lines, strict=True):
        if len(line) < 2:
            where = f"{name}, line {points.lines[start]}"
            found = f"one vertex of the line {shown_value(words[start])}"
            site.problems.append(Problem(where, found, "a breakline of two vertices or more"))
    return tuple(lines)


def check_holes(
    site: Written, holes: Holes, areas: Mapping[str, Area], limits: Mapping[str, Limit]
) -> None:
    """Note test holes of no area that do not say so, and of areas that there are not."""
    written = site.written.get("area", [])
    # An area that is wrong itself is told as that: its holes may be right.
    if holes is None or not areas or len(areas) < len(written):
        return
    file, points = holes
    reach = Limits(limits, site.unit, site.unit)["hole-reach"]
    words, every = _words(points, COLUMN), tuple(areas.values())
    site.problems += hole_problems(
        points.values, words, points.lines, every, reach, site.unit, file
    )


def _words(points: PointList, column: str) -> tuple[str, ...]:
    """Return a column of text, each cell's words one space apart; empty where there is none."""
    return tuple(" ".join(cell.split()) for cell in points.texts.get(column, ()))
