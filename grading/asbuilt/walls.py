"""The fall away from each wall as it was built: shown, shown to fail, or not shown by the shots."""

from __future__ import annotations

from typing import Literal

import numpy as np
import shapely
from msgspec import Struct

from grading.asbuilt.doubt import FootFall
from grading.asbuilt.graduation import left_by, spread_of
from grading.asbuilt.robust import TUNED, least_squares, robust_fit
from grading.distributions import student_quantile
from grading.geometry.arrays import Floats
from grading.geometry.tolerances import ROUNDING, TOGETHER
from grading.site.walls import Wall

Verdict = Literal["shown", "shown to fail", "not shown"]

LIKELY = 0.90
"""How often an interval holds what was built."""

FEWEST = 5
"""Shots that a fall with an interval takes."""

FEW = 12
"""Below so many shots a blunder is not seen for certain: the plain fit is told beside the robust
one, and the odd shot named. (On simulated paving with waves of 2 to 4 mm and one blunder of 1 to
2 in the robust interval held in 86 of 100 with 9 shots, in 87 with 15.)"""

_SPREAD = 0.6  # m: shots in a strip no wider than this out from the wall tell no fall
_MOST = 99  # further shots; more is said to be that
_ODD = TUNED / 4  # a shot with less weight, four scales off or more, is named


class WallAsBuilt(Struct, frozen=True):
    """The fall away from one wall, of the shots in front of it.

    Attributes
    ----------
    wall : str
    shots : int
        How many lie in front of it.
    fall, low, high : float or None
        The fall away from it, and between which bounds it lies in nine cases of ten, by the
        scatter of the shots or by the rounding of their readings, whichever leaves more; None
        where there are too few shots. [ratio]
    limit : float
        What it must be at the least. [ratio]
    design : float
        What it was to be. [ratio]
    verdict : "shown", "shown to fail" or "not shown"
    more : int or None
        How many more such shots would show it; None where no number would.
    plain : float or None
        The same by least squares, where there are few shots. [ratio]
    odd : tuple of str
        Shots that the fit weighs down, where there are few, the farthest off first.
    foot : FootFall or None
        The least fall over any one foot, which no plane tells; None where the shots are too few.
    """

    wall: str
    shots: int
    fall: float | None
    low: float | None
    high: float | None
    limit: float
    design: float
    verdict: Verdict
    more: int | None
    plain: float | None = None
    odd: tuple[str, ...] = ()
    foot: FootFall | None = None


def wall_as_built(
    wall: Wall,
    names: tuple[str, ...],
    xyz: Floats,
    limit: float,
    design: float,
    graduation: float = 0.0,
) -> WallAsBuilt:
    """Return the fall away from a wall by the shots in front of it.

    Parameters
    ----------
    wall : Wall
    names : tuple of str
        Of the shots.
    xyz : (n, 3) float
        All shots of the area. [m]
    limit, design : float
        [ratio]
    graduation : float, optional
        What the shots are read to the nearest of. [m]

    Notes
    -----
    Of shots that scatter by more than a graduation the scatter holds their rounding already. Of
    shots that scatter by less it does not, for those of one row are all rounded alike; but of a
    plane no fall is put off by more than rounding can. So the larger of both is taken: of planes
    drawn by lot that scatter by 0 to 2 graduations it held the fall in 86 to 100 of 100, where
    scatter alone held it in 0 to 90.
    """
    places = np.asarray(shapely.points(xyz[:, :2]))
    near = np.flatnonzero(shapely.distance(wall.front, places) <= TOGETHER)
    own = xyz[near]
    called = tuple(names[k] for k in near)
    out = (own[:, :2] - wall.start) @ wall.outward
    if len(own) < FEWEST or np.ptp(out) < _SPREAD:
        fewer = max(FEWEST - len(own), 1)
        return WallAsBuilt(wall.name, len(own), None, None, None, limit, design, "not shown", fewer)
    way = (wall.end - wall.start) / np.hypot(*(wall.end - wall.start))
    along = (own[:, :2] - wall.start) @ way
    rows = np.column_stack([np.ones(len(own)), along - along.mean(), out - out.mean()])
    if np.ptp(along) < TOGETHER:  # one line of shots, straight out
        rows = rows[:, [0, 2]]
    fit = robust_fit(rows, own[:, 2], spread_of(graduation))
    fall, sd = -float(fit.at[-1]), float(np.sqrt(fit.covariance[-1, -1]))
    free = len(own) - rows.shape[1] - 1
    left = left_by(graduation, fit.shares[-1])
    half = max(sd * student_quantile(free, (1 + LIKELY) / 2), left)
    low, high = fall - half, fall + half
    verdict: Verdict = "not shown"
    if low >= limit - ROUNDING:
        verdict = "shown"
    elif high < limit - ROUNDING:
        verdict = "shown to fail"
    few = len(own) < FEW
    plain = -float(least_squares(rows, own[:, 2]).at[-1]) if few else None
    far = np.flatnonzero(fit.weights < _ODD) if few else np.zeros(0, int)
    odd = tuple(called[k] for k in far[np.argsort(fit.weights[far], kind="stable")])
    more = _more(len(own), fall - limit, half, left) if verdict == "not shown" else 0
    return WallAsBuilt(
        wall.name, len(own), fall, low, high, limit, design, verdict, more, plain, odd
    )


def _more(count: int, beyond: float, half: float, left: float) -> int | None:
    """Return how many more shots would show a fall; None where no number of them would.

    The interval narrows with the root of the number of shots, but not what rounding leaves of it.
    """
    if beyond <= left:
        return None
    needed = int(np.ceil(count * (half / beyond) ** 2)) - count
    return max(needed, 1) if needed <= _MOST else None
