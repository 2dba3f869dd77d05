"""Contours of the ground and of a finish, and bands of depth, at round levels."""

from __future__ import annotations

import math
from collections.abc import Sequence
from itertools import pairwise

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from grading.design.area import AreaPlan
from grading.design.folds import folds_of
from grading.design.model import Design
from grading.geometry.bands import level_lines_of
from grading.ground.model import Ground
from grading.units import INCH, Unit

Contour = tuple[float, shapely.LineString]  # its level, and it [m]

MOST = 12
"""Contours from the lowest to the highest level."""

MOST_BANDS = 9
"""Bands of depth."""

_MM = 1e-3
_STEPS = {
    "ft": [INCH * k for k in (0.25, 0.5, 1, 2, 3, 6, 12, 24, 60, 120)],
    "m": [_MM * k for k in (5, 10, 20, 25, 50, 100, 200, 250, 500, 1000, 2000)],
}
_BANDS = {
    "ft": [INCH * k for k in (0.5, 1, 2, 3, 6, 12, 24, 48)],
    "m": [_MM * k for k in (10, 20, 25, 50, 100, 200, 500, 1000)],
}
_ROUNDING = 1e-9  # own: of a step
_EITHER_WAY = 0.3  # m: how often it is looked along a contour how well the ground is known
_LOOKED_AT = 0.25  # m: how often the ground is looked at along an outline


def contour_levels(low: float, high: float, unit: Unit) -> tuple[float, list[float]]:
    """Return a round interval and the round levels between two, no more than `MOST`. [m]"""
    steps = _STEPS[unit]
    step = next((one for one in steps if (high - low) / one <= MOST), steps[-1])
    first, last = math.ceil(low / step - _ROUNDING), math.floor(high / step + _ROUNDING)
    return step, [k * step for k in range(first, last + 1)]


def interval(span: float, unit: Unit) -> float:
    """Return a round interval [m] that gives a span [m] no more than `MOST_BANDS` bands."""
    return next((one for one in _BANDS[unit] if span / one <= MOST_BANDS), span / MOST_BANDS)


def levels_within(low: float, high: float, unit: Unit) -> list[float]:
    """Return the limits of the bands from low to high: round levels, zero among them. [m]"""
    step = interval(high - low, unit)
    first, last = math.floor(low / step + _ROUNDING), math.ceil(high / step - _ROUNDING)
    return [k * step for k in range(first, max(last, first + 1) + 1)]


def ground_contours(
    ground: Ground, area: AreaPlan, yard: BaseGeometry, unit: Unit
) -> tuple[float, Sequence[Contour]]:
    """Return the interval of the existing ground's contours in a yard [m], and each of them."""
    xy = ground.points[:, :2]
    inside = shapely.contains_xy(yard, xy[:, 0], xy[:, 1])
    edge = shapely.get_coordinates(shapely.segmentize(area.outline.boundary, _LOOKED_AT))
    known = np.concatenate([ground.points[inside, 2], ground.elevation(edge)])
    known = known[np.isfinite(known)]
    step, at = contour_levels(float(known.min()), float(known.max()), unit)
    return step, [
        (z, part)
        for z, lines in zip(at, ground.contours(np.array(at)), strict=True)
        for line in lines
        if len(line) > 1
        for part in shapely.get_parts(shapely.LineString(line).intersection(yard))
        if isinstance(part, shapely.LineString)
    ]


def parted_by_known(
    design: Design, lines: Sequence[Contour]
) -> tuple[Sequence[Contour], Sequence[Contour]]:
    """Part contours of the ground into what is known well enough, and what is poorly known.

    Parameters
    ----------
    design : Design
    lines : sequence of Contour
    """
    sure, guess = design.uncertainty, list[Contour]()
    if sure is None or not lines:
        return list(lines), guess
    limit = design.limits["known-ground"]
    known: list[Contour] = []
    paths = [shapely.get_coordinates(shapely.segmentize(line, _EITHER_WAY)) for _, line in lines]
    middles = [(path[:-1] + path[1:]) / 2 for path in paths]
    reach = np.split(sure.level(np.concatenate(middles)), np.cumsum([len(at) for at in middles]))
    for (z, _), path, either_way in zip(lines, paths, reach[: len(lines)], strict=True):
        poor = either_way > limit
        if not len(poor):
            continue  # a contour of no length, on the edge of the yard
        ends = [0, *(np.flatnonzero(poor[1:] != poor[:-1]) + 1).tolist(), len(poor)]
        for start, end in pairwise(ends):
            part = shapely.simplify(shapely.LineString(path[start : end + 1]), 0.0)
            assert isinstance(part, shapely.LineString)
            (guess if poor[start] else known).append((z, part))
    return known, guess


def finish_contours(area: AreaPlan, unit: Unit) -> tuple[float, Sequence[Contour]]:
    """Return the interval of the finish's contours [m], and each of them."""
    corners = np.concatenate([shapely.get_coordinates(area.outline),
                              *(fold.line for fold in folds_of(area))])  # fmt: skip
    levels = area.finish.surface.at(corners)
    step, at = contour_levels(float(levels.min()), float(levels.max()), unit)
    lines = level_lines_of(area.finish.surface, area.outline, np.array(at))
    return step, [
        (z, shapely.LineString(line)) for z, found in zip(at, lines, strict=True) for line in found
    ]
