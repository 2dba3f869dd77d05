"""Where to shoot next, so that the spots of a survey check one another best."""

from __future__ import annotations

import numpy as np
import shapely

from grading.geometry.arrays import Floats
from grading.geometry.grids import grid_in
from grading.geometry.tolerances import NOTHING, SLIVER
from grading.ground.plates import (
    MOST,
    NOISE_RATIOS,
    inverse_of_spd,
    kernel,
    plate_precision,
    scaled,
)

Shape = shapely.Polygon | shapely.MultiPolygon

# How far from the paving a further shot may be. [m] Common practice, no source: a stride.
BESIDE = 1.0
# A further shot at the place of another tells only how well the rod was read. [m]
APART = 0.5
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
