"""Where a further shot tells the most of one number: of a dig, or of a fall.

Each is taken, one after the other, where it leaves least of the number's variance [1]_: the square
of its covariance with the level there over the variance of a shot there. The place that is known
worst of all tells no more than one taken at random.

References
----------
.. [1] A. Krause, A. Singh and C. Guestrin, "Near-optimal sensor placements in Gaussian processes",
   Journal of Machine Learning Research 9, 2008, pp. 235-284: the greedy choice. [from memory]
"""

from __future__ import annotations

import numpy as np
from shapely.geometry.base import BaseGeometry

from grading.geometry.arrays import Floats
from grading.geometry.grids import grid_in
from grading.ground.certainty import Certainty
from grading.ground.process import distance

SPACING = 0.75
"""Of the places that are tried. [m]"""

APART = 0.5
"""A shot nearer than this to another tells only how well the rod was read. [m]"""

MOST_SPOTS = 2000
"""A survey of more spots comes from a scan, and one shot by hand tells next to nothing more."""

_MOST = 400  # places
_TRIED = 8  # of them, with the surface drawn anew


def places_in(where: BaseGeometry) -> Floats:
    """Return places (k, 2) on a grid over a shape, no more than can be tried. [m]"""
    if where.is_empty:
        return np.zeros((0, 2))
    return grid_in(where, max(SPACING, float(np.sqrt(where.area / _MOST))))


def telling_shots(
    certainty: Certainty, xy: Floats, by: Floats, places: Floats, count: int = 3
) -> tuple[Floats, Floats]:
    """Return places (j, 2) to shoot next, at most `count` [m], and what each leaves of a number.

    Parameters
    ----------
    certainty : Certainty
    xy : (k, 2) float, by : (k,) float
        The number: the sum of the levels at these points, with these weights. [m]
    places : (p, 2) float
        Those that may be shot. [m]

    Returns
    -------
    (j, 2) float, (j + 1,) float
        The plus-or-minus of the number before the first, and after each. Every shot makes it less.

    Notes
    -----
    Of the few places that tell the process the most, that one is taken which leaves the least of
    the plus-or-minus of the surface, drawn anew with it: the number that is shown is the surface's.
    """
    process = certainty.process
    own = float(by @ process.covariance(xy, xy) @ by)
    reach = [certainty.of_sum(xy, by, own)]
    if len(certainty.measured.points) > MOST_SPOTS:
        return places[:0], np.array(reach)
    if len(places):
        away = distance(places, certainty.measured.points[:, :2]).min(axis=1)
        places = places[away >= APART]
    chosen: list[int] = []
    if not len(places):
        return places.reshape(-1, 2), np.array(reach)
    left = process.left(places, np.concatenate((places, xy)))
    known, told = left[:, : len(places)], left[:, len(places) :] @ by
    between = distance(places, places)
    free = np.ones(len(places), bool)
    while len(chosen) < count and free.any():
        variance = np.maximum(np.diagonal(known), 0.0) + process.noise**2
        worth = np.where(free, told**2 / variance, -1.0)
        tried = [k for k in np.argsort(-worth, kind="stable")[:_TRIED].tolist() if free[k]]
        leaves = [certainty.with_shots(places[[*chosen, k]]).of_sum(xy, by, own) for k in tried]
        best = tried[int(np.argmin(leaves))]
        if min(leaves) >= reach[-1]:
            break
        chosen.append(best)
        reach.append(min(leaves))
        share = known[:, best] / variance[best]
        told = told - share * told[best]
        known = known - np.outer(share, known[best])
        free &= between[best] >= APART
    return places[chosen], np.array(reach)
