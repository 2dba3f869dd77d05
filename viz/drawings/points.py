"""The points that a sheet tells levels of: corners and ends of folds, with their letters."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from grading.levelgrid import Floats

if TYPE_CHECKING:
    from grading.pipeline import AreaPlan


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
