"""The points that a sheet tells levels of: corners and ends of folds, with their letters."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np
import shapely

from grading.levelgrid import Floats
from grading.outline import curves_of

if TYPE_CHECKING:
    from grading.outline import Curve
    from grading.pipeline import AreaPlan

_SAME = 1e-6  # m
_ROUND = 5e-3  # m: the corners of the chords of an arc lie as near to it


@dataclass(frozen=True, eq=False)
class Points:
    """Points (n, 2) [m] with their names, and unit vectors (n, 2) away from the paving.

    The first `corners` of them are corners, the others ends of folds.
    """

    names: tuple[str, ...]
    xy: Floats
    away: Floats
    corners: int


def named_points(plan: AreaPlan) -> Points:
    """Return the corners of an area's paving, then the ends of its folds, lettered in order.

    The letters are those of the plan of levels.
    """
    from viz.drawings.levels import FOLD_ENDS, MOST, corners_of, letters
    from viz.folding import fold_ends, folds_of

    ends = fold_ends(plan, folds_of(plan))[:FOLD_ENDS]
    corners = corners_of(plan.outline, MOST - len(ends))
    xy = np.array([at for at, _ in corners] + ends)
    middle = np.asarray(plan.outline.centroid.coords[0])
    aside = [(at - middle) / max(float(np.hypot(*(at - middle))), 1e-9) for at in ends]
    away = np.array([way for _, way in corners] + aside)
    return Points(tuple(letters(len(xy))), xy, away, len(corners))


def with_holes(plan: AreaPlan, points: Points) -> Points:
    """Return an area's points, then the corners of its holes, lettered on.

    A round hole has no corners: its centre and radius tell it.
    """
    from viz.drawings.levels import corners_of, letters

    found = [
        (at, -away)
        for hole in plan.outline.interiors
        if not _round(plan, hole)
        for at, away in corners_of(shapely.Polygon(hole))
    ]
    if not found:
        return points
    xy = np.vstack([points.xy, [at for at, _ in found]])
    away = np.vstack([points.away, [way for _, way in found]])
    return Points(tuple(letters(len(xy))), xy, away, points.corners)


def _round(plan: AreaPlan, hole: Any) -> bool:
    ring = np.asarray(hole.coords)
    return any(
        np.abs(np.hypot(*(ring - curve.centre).T) - curve.radius).max() < _ROUND
        for curve in circles_of(plan)
    )


def circles_of(plan: AreaPlan) -> list[Curve]:
    """Return the arcs of an area's outline, then of its holes; one of those on one circle."""
    found: list[Curve] = []
    for edges in (plan.area.outline, *plan.area.holes):
        for curve in curves_of(edges):
            mark = np.array([*curve.centre, curve.radius])
            # A circle is written as two arcs: one radius tells it.
            if all(np.abs(mark - (*one.centre, one.radius)).max() >= _SAME for one in found):
                found.append(curve)
    return found
