"""The file of points that were shot on the site and are seen in a scan."""

from __future__ import annotations

from pathlib import Path

import numpy as np

from grading.errors import Problem, SiteError, unread
from grading.files.csv_points import read_points
from grading.signs import shortened, visible
from grading.survey.sources.registration import Common
from grading.units import FARTHEST, Unit

OURS = ("x", "y", "z")
THEIRS = ("scan x", "scan y", "scan z")
HEADER = f"point,{','.join(OURS)},{','.join(THEIRS)}"


def read_common(
    path: Path, unit: Unit, scan_unit: tuple[float, float], y_up: bool = False
) -> Common:
    """Return the points of a csv file with the columns of HEADER.

    Parameters
    ----------
    path : Path
    unit : "ft" or "m"
        What a bare number of x, y and z means: that of the site.
    scan_unit : (float, float)
        What one of the scan's unit is along the ground and upward. [m]
    y_up : bool
        y points up in the scan.

    Raises
    ------
    SiteError
        It cannot be read, or a cell is no number, with its line.
    """
    shown = path.name
    try:
        points = read_points(path, shown, unit, OURS, ("id", *THEIRS))
    except OSError as error:
        raise SiteError([unread(str(path), error, "a file of common points")]) from error
    problems = []
    missing = [name for name in THEIRS if name not in points.texts]
    if missing:
        listed = ", ".join(f'"{name}"' for name in missing)
        mend = f'Write the header "{HEADER}".'
        raise SiteError([Problem(shown, f"no column {listed}", f"columns {HEADER}", mend)])
    seen = np.zeros((len(points.lines), 3))
    for column, name in enumerate(THEIRS):
        for row, (line, cell) in enumerate(zip(points.lines, points.texts[name], strict=True)):
            try:
                value = float(cell)
            except ValueError:
                value = np.inf
            if not abs(value) <= FARTHEST:
                where = f"{shown}, line {line}, column {name}"
                found = f'"{shortened(visible(cell))}"'
                problems.append(Problem(where, found, "a number, in the unit of the scan"))
            seen[row, column] = value
    if problems:
        raise SiteError(problems)
    along, upward = scan_unit
    if y_up:
        seen = np.column_stack([seen[:, 0] * along, -seen[:, 2] * along, seen[:, 1] * upward])
    else:
        seen = seen * [along, along, upward]
    own = points.texts.get("id", ("",) * len(seen))
    names = tuple(name or f"line {line}" for name, line in zip(own, points.lines, strict=True))
    return Common(names, points.values, seen)
