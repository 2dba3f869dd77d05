"""Spots that stand out from the ground around them, as a misread staff makes them."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from grading.extension import ring_of
from grading.smooth import plate_matrix
from grading.survey_check import SpotNames
from grading.triangulation import Floats, Ints, sides
from grading.units import METRES, number

Bools = NDArray[np.bool_]

# A spot is named when it is off by more than both. From memory; no source: four robust standard
# deviations are passed by one honest spot in 16,000, and 0.2 m is more than lawn ever hides.
DEVIATIONS = 4.0
# At the edge of the survey the plate is held from one side alone and swings out on hollow ground.
DEVIATIONS_AT_EDGE = 8.0
LEAST = 0.2
# A blunder this near to one whole unit is taken for a misread figure. [ratio]
WHOLE_UNIT = 0.12
# Reading noise that a survey is never taken to be better than. [m]
_NOISE = 0.005
# Noise of a reading tried for the plate, as a ratio to how far ground bends over one spacing.
_NOISE_RATIOS = (1e-3, 1e-2, 1e-1)
# Fewer spots say nothing about what is usual.
_FEWEST = 8
# One plate takes up to this many spots; of a larger survey, each spot that a plane through its
# neighbours finds odd is judged by a plate through this many around it.
_MOST_IN_PLATE = 300
_MOST_JUDGED = 100
_MOST_NAMED = 10


def blunders(points: Floats, corners: Ints, on_breakline: Bools) -> tuple[Ints, Floats]:
    """Return the spots that stand out (k,), worst first, and how far above the ground (k,). [m]

    Parameters
    ----------
    points : (n, 3) float
        Spots. [m]
    corners : (m, 3) int
        Their triangles.
    on_breakline : (n,) bool
        Spots where the ground is known to crease; never named.

    Notes
    -----
    A spot is compared with a thin plate through all others, stiff enough to miss the typical
    spot least. Its miss is divided by the standard deviation that the plate, taken as a random
    ground, has where this spot is left out: misses at an edge or in a gap count less, and of all
    spots near a blunder the blunder itself counts most. The usual size of this is 1.4826 times
    its median. The worst spot is set aside and the rest is looked at again. A spot with a
    neighbour that stands out half as much to the same side is a crest or the foot of a bank, and
    is left alone. Where every spot is within LEAST / 2 of the least-squares plane through its
    neighbours, no plate is made; that plane alone, tried on generated yards, named an honest
    spot on rolling ground ten times as often.
    """
    pair = sides(corners)
    pair = pair[(pair < len(points)).all(axis=1)]
    limit = np.full(len(points), DEVIATIONS)
    limit[ring_of(corners)] = DEVIATIONS_AT_EDGE
    limit[on_breakline] = np.inf
    miss, spread = _plane_misses(points, np.concatenate((pair, pair[:, ::-1])))
    if not (np.abs(np.nan_to_num(miss, nan=np.inf)) > LEAST / 2).any():
        found = {}
    elif len(points) <= _MOST_IN_PLATE:
        found = _standing_out(points, pair, limit)
    else:
        found = _standing_out_of_many(points, pair, limit, miss, spread)
    named = sorted(found, key=lambda spot: -abs(found[spot]))
    return np.array(named, np.int64), np.array([found[spot] for spot in named])


def _standing_out(points: Floats, pair: Ints, limit: Floats) -> dict[int, float]:
    """Return the height above the rest of every spot that stands out of a small survey.

    limit : (n,) float, how many usual sizes a spot may be off, infinite where it is never named.
    """
    count = len(points)
    found: dict[int, float] = {}
    kept = np.arange(count)
    both_ways = np.concatenate((pair, pair[:, ::-1])).T
    while len(kept) >= _FEWEST and len(found) <= count // 10:
        miss, ratio = np.zeros(count), np.zeros(count)
        miss[kept], ratio[kept] = _plate_misses(points[kept])
        usual = max(1.4826 * float(np.median(np.abs(ratio[kept]))), _NOISE)
        alike = np.zeros(count)
        near, other = both_ways
        same = ratio[near] * ratio[other] > 0
        np.maximum.at(alike, near, np.where(same, np.abs(ratio[other]), 0.0))
        odd = (np.abs(ratio) > limit * usual) & (np.abs(miss) > LEAST)
        odd &= alike < np.abs(ratio) / 2
        if not odd.any():
            break
        worst = int(np.argmax(np.where(odd, np.abs(ratio), 0.0)))
        found[worst] = float(miss[worst])
        kept = kept[kept != worst]
    return found


def _plate_misses(points: Floats) -> tuple[Floats, Floats]:
    """Return spot less plate without it (n,) [m], and the same over its expected size (n,).

    Rippa's closed form for the miss (see `smooth.leave_one_out`); the diagonal of the inverse is
    one over the variance left at a spot when all others are known, as in kriging [1]_.

    References
    ----------
    .. [1] O. Dubrule, "Cross validation of kriging in a unique neighborhood", Mathematical
       Geology 15, 1983, pp. 687-699.
    """
    xy = points[:, :2] - points[:, :2].mean(axis=0)
    # in units of the spacing, so that the ratios of noise mean the same in every survey
    xy = xy / np.sqrt(np.ptp(xy, axis=0).prod() / len(xy))
    count = len(xy)
    matrix = plate_matrix(xy)
    best: tuple[float, Floats, Floats] | None = None
    for noise in _NOISE_RATIOS:
        stiff = matrix.copy()
        stiff[range(count), range(count)] += noise
        inverse = np.linalg.inv(stiff)[:count, :count]
        precision = np.diag(inverse)
        coefficient = inverse @ (points[:, 2] - points[:, 2].mean())
        miss = coefficient / precision
        typical = float(np.median(np.abs(miss)))
        if best is None or typical < best[0]:
            best = typical, miss, coefficient / np.sqrt(precision)
    assert best is not None
    return best[1], best[2]


def _standing_out_of_many(
    points: Floats, pair: Ints, limit: Floats, miss: Floats, spread: Floats
) -> dict[int, float]:
    from scipy.spatial import cKDTree

    ratio = np.where(np.isfinite(miss), np.abs(miss) / spread, 0.0)
    usual = max(1.4826 * float(np.median(ratio[ratio > 0])) if ratio.any() else 0.0, _NOISE)
    odd = np.flatnonzero((ratio > limit * usual) & (np.abs(miss) > LEAST))
    odd = odd[np.argsort(-ratio[odd], kind="stable")][:_MOST_JUDGED]
    found: dict[int, float] = {}
    if not len(odd):
        return found
    around = np.asarray(cKDTree(points[:, :2]).query(points[odd, :2], k=_MOST_IN_PLATE // 2)[1])
    for spot, patch in zip(odd.tolist(), np.sort(around, axis=1), strict=True):
        if spot in found:
            continue
        # the sides stand in the order of their lower point
        first, last = np.searchsorted(pair[:, 0], np.array((patch, patch + 1)))
        near = np.concatenate([pair[i:j] for i, j in zip(first, last, strict=True)])
        inside = np.searchsorted(patch, near[np.isin(near[:, 1], patch)])
        here = _standing_out(points[patch], inside, limit[patch])
        mine = int(np.searchsorted(patch, spot))
        if mine in here:
            found[spot] = here[mine]
    return found


def _plane_misses(points: Floats, pair: Ints) -> tuple[Floats, Floats]:
    """Return the height over the plane through the neighbours, and its relative scatter.

    pair : (e, 2) int, spot and one neighbour. NaN where the neighbours give no plane.
    """
    count = len(points)
    near, other = pair.T
    x, y, rise = (axis.take(other) - axis.take(near) for axis in np.ascontiguousarray(points.T))
    scale = np.bincount(near, np.hypot(x, y), count)
    scale = (scale / np.maximum(np.bincount(near, minlength=count), 1)).take(near)
    x, y = x / scale, y / scale

    def total(value: Floats) -> Floats:
        summed: Floats = np.bincount(near, value, count).astype(float)
        return summed

    n, sx, sy = total(np.ones(len(near))), total(x), total(y)
    sxx, sxy, syy = total(x * x), total(x * y), total(y * y)
    # first row of the inverse of the normal matrix, by cofactors
    c0, c1, c2 = sxx * syy - sxy * sxy, sxy * sy - sx * syy, sx * sxy - sxx * sy
    whole = n * c0 + sx * c1 + sy * c2
    # neighbours nearly on one line give no plane
    whole = np.where((n >= 3) & (whole > 1e-3 * n * sxx * syy), whole, np.nan)
    plane = (c0 * total(rise) + c1 * total(rise * x) + c2 * total(rise * y)) / whole
    return -plane, np.sqrt(1.0 + c0 / whole)


def blunder_warnings(
    points: Floats, corners: Ints, on_breakline: Bools, first: Ints, names: SpotNames
) -> tuple[str, ...]:
    """Return a sentence for each spot that stands out; first : (n,), the file's spot of each."""
    named, height = blunders(points, corners, on_breakline)
    unit = METRES[names.unit]
    said = []
    for spot, up in zip(named[:_MOST_NAMED].tolist(), height.tolist(), strict=False):
        given = int(first[spot])
        sentence = (
            f"{names.where(given)}: {names.name(given)} is {names.about(abs(up))} "
            f"{'above' if up > 0 else 'below'} the ground around it"
        )
        if abs(abs(up) - unit) <= WHOLE_UNIT * unit:
            z = points[spot, 2]
            meant = z - unit if up > 0 else z + unit
            sentence += f": was {number(meant, names.unit)} read as {number(z, names.unit)}?"
        else:
            sentence += "; check the reading, or draw a breakline if the ground steps there."
        said.append(sentence)
    if len(named) > _MOST_NAMED:
        said.append(f"{names.file}: {len(named) - _MOST_NAMED} more spots stand out like these.")
    return tuple(said)
