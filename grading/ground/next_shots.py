"""Where to shoot next: for the most of one number, or so that spots check one another best."""

from __future__ import annotations

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from grading.geometry.arrays import Floats
from grading.geometry.grids import grid_in
from grading.geometry.tolerances import NOTHING, SLIVER
from grading.ground.certainty import Certainty
from grading.ground.plates import (
    MOST,
    NOISE_RATIOS,
    inverse_of_spd,
    kernel,
    plate_precision,
    scaled,
)
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


Shape = shapely.Polygon | shapely.MultiPolygon

BESIDE = 1.0
"""How far from the paving a further shot may be: a stride. Common practice, no source. [m]"""

_MOST_PLACES = 120
_STIFFNESS = 1  # the middle of the ratios of noise


def next_shots(xy: Floats, where: Shape, count: int = 3) -> Floats:
    """Return places (k, 2) to shoot next, the most telling first, at most `count`. [m]

    Parameters
    ----------
    xy : (n, 2) float
        The spots, at most MOST less `count`. [m]
    where : shapely geometry
        Where a shot helps: the paving and a stride around it. [m]

    Notes
    -----
    Each place is chosen, one after the other, so that the plates through all but one of the spots
    foretell that one best: least is the sum over the spots of the standard deviation left when a
    spot is left out. Levels play no part in it, so a wrong one does not lead astray.
    """
    places, judged = _places(where), len(xy)
    chosen = np.zeros((0, 2))
    while len(chosen) < count and len(xy) < MOST and len(places):
        gap = np.hypot(*(places[:, None] - xy[None]).transpose(2, 0, 1)).min(axis=1)
        places = places[gap >= APART]
        if not len(places):
            break
        best = places[int(np.argmin(_left(xy, places)[:, :judged].sum(axis=1)))]
        chosen, xy = np.vstack((chosen, best)), np.vstack((xy, best))
    return chosen


def _places(where: Shape) -> Floats:
    return grid_in(where, float(np.sqrt(max(where.area, SLIVER) / _MOST_PLACES)))


def _left(xy: Floats, places: Floats) -> Floats:
    """Return (p, n) what is left of each spot when it is left out, with a shot at each place.

    Standard deviations, in the units of the plate.

    The precision with one point more follows from that without it [1]_: the plate's own forecast
    of the place, and the variance of it.

    References
    ----------
    .. [1] F. Zhang (ed.), The Schur Complement and Its Applications, 2005, section 1.2.
    """
    local, spacing, middle = scaled(xy)
    new = (places - middle) / spacing
    precision, noise = plate_precision(xy)[_STIFFNESS], NOISE_RATIOS[_STIFFNESS]
    plane, other = _plane(local), _plane(new)
    # weights of the spots in the forecast of each place: the plate's, and its plane's
    cross = kernel(((new[:, None] - local[None]) ** 2).sum(axis=-1))
    own = kernel(((local[:, None] - local[None]) ** 2).sum(axis=-1)) + noise * np.eye(len(xy))
    # the least-squares plane carries what lies beyond the bending
    square = inverse_of_spd(np.einsum("ai,bi->ab", plane, plane)[None])[0]
    trend = np.einsum("ai,ab,bp->pi", plane, square, other)
    left = cross - np.einsum("pi,ij->pj", trend, own)
    weight = trend + np.einsum("pi,ij->pj", left, precision)
    variance = (
        noise
        - 2 * np.einsum("pi,pi->p", weight, cross)
        + np.einsum("pi,ij,pj->p", weight, own, weight)
    )
    variance = np.maximum(variance, NOTHING)
    diagonal = np.diag(precision)[None] + weight**2 / variance[:, None]
    return np.asarray(1 / np.sqrt(diagonal))


def _plane(xy: Floats) -> Floats:
    return np.stack((np.ones(len(xy)), xy[:, 0], xy[:, 1]))
