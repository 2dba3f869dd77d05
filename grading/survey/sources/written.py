"""Spots and breaklines as the csv files that a site takes."""

from __future__ import annotations

import csv
import io
import math
from collections.abc import Sequence

import numpy as np

from grading.geometry.arrays import Floats
from grading.survey.sources.model import PointFile
from grading.units import METRES, Unit

_DECIMALS = {"ft": 4, "m": 5}  # 0.03 and 0.01 mm


def spots_table(
    points: Sequence[PointFile], xyz: Floats, sd_z: Floats, sd_xy: Floats, unit: Unit
) -> bytes:
    """Return the spots as a csv file of a site, columns that nobody filled left out."""
    count = sum(len(each.xyz) for each in points)
    rest = ("",) * (len(xyz) - count)
    names = tuple(name for each in points for name in each.names) + rest
    codes = tuple(code for each in points for code in each.codes) + rest
    columns: dict[str, Sequence[str]] = {"id": names}
    for axis, name in enumerate("xyz"):
        columns[name] = _numbers(xyz[:, axis], unit)
    columns |= {"code": codes, "sd_z": _numbers(sd_z, unit), "sd_xy": _numbers(sd_xy, unit)}
    kept = {name: cells for name, cells in columns.items() if any(cells)}
    return _csv(kept)


def breaklines_table(lines: Sequence[Floats], xyz: Floats, unit: Unit) -> bytes:
    """Return breaklines as a csv file, a row for each vertex; at a point with its level."""
    from scipy.spatial import cKDTree

    tree = cKDTree(xyz[:, :2])
    rows = []
    for line in lines:
        level = line[:, 2].copy()
        at = np.isnan(level)
        level[at] = xyz[tree.query(line[at, :2])[1], 2] if at.any() else level[at]
        rows.append(np.column_stack([line[:, :2], level]))
    numbers = [str(place) for place, line in enumerate(lines, start=1) for _ in line]
    every = np.concatenate(rows)
    columns = {name: _numbers(every[:, axis], unit) for axis, name in enumerate("xyz")}
    return _csv({"line": numbers, **columns})


def _numbers(values: Floats, unit: Unit) -> list[str]:
    """Return lengths as they stand in a file of a site; nothing for NaN."""
    decimals = _DECIMALS[unit]
    written = (values / METRES[unit]).tolist()
    return ["" if math.isnan(each) else f"{each + 0.0:.{decimals}f}" for each in written]


def _csv(columns: dict[str, Sequence[str]]) -> bytes:
    stream = io.StringIO()
    writer = csv.writer(stream, lineterminator="\n")
    writer.writerow(columns)
    writer.writerows(zip(*columns.values(), strict=True))
    return stream.getvalue().encode("utf-8")
