"""Spots that stand out from the ground around them, as a misread staff makes them."""

from __future__ import annotations

from collections.abc import Iterable

import numpy as np
from msgspec import Struct

from grading.distributions import normal_quantile, student_quantile
from grading.geometry.arrays import Bools, Floats, Ints
from grading.geometry.tolerances import NOTHING
from grading.geometry.triangulation import Triangles
from grading.ground.plates import MOST, downdated, plate_precision
from grading.units import FOOT, INCH

# A spot is named when it is off by more than LEAST, and by so many deviations that of honest
# surveys, were their misses normal, this share had a name: 3 deviations in 30 spots, 4 in 1,300.
# No source: chosen on real ground of lawn roughness, where one honest survey in twenty at most has
# one (`tests/published/ground/test_misread_levels.py`), and 0.2 m is more than lawn ever hides.
SHARE_NAMED = 0.08
LEAST = 0.2
# At the edge of the survey the plate is held from one side alone and swings out on hollow ground.
AT_EDGE = 2.0
# So few spots have no median to speak of: each is held to the scatter of the others, and one
# honest survey in thirty, where the ground is as rough as the others say, has a name.
FEW = 24
FALSE_ALARM = 0.03
# Fewer spots leave nothing to tell a blunder from the lie of the land.
FEWEST = 5
# No ground is a plane to an inch at every spot but one, and there off by this much. Four or five
# others have one or two ways alone to miss their plane, and lie on it to an inch by chance: on one
# lawn in ten, measured as above. [m]
_ON_PLANE = INCH
_FEW_ON_PLANE = INCH / 4
OFF_PLANE = 0.85 * FOOT
# How far beyond the others a spot may lie for their plane to be held to it. [leverage]
_FARTHEST = 4.0
# Beyond the levels of all other spots by more than this, and by more than the way to the nearest
# of them: steeper than one to one. [m]
_TOO_FAR_OFF = 3 * FOOT
# A spot that the others hold so much less than they hold the best held is not held at all. [ratio]
_UNKNOWN = 1e-9  # own: a ratio of leverages
# Reading noise that a survey is never taken to be better than. [m]
_NOISE = 0.005
# A slip of a foot is what the spots are tried with.
SLIP = FOOT
# Of a survey larger than one plate takes, each spot that a plane through its neighbours finds odd
# is judged by a plate through this many around it.
_PATCH = 90
_MOST_JUDGED = 100


class Blunders(Struct, frozen=True, eq=False):
    """What the spots say of one another.

    spots : (k,) int, those that stand out, worst first.
    heights : (k,) float, how far above the ground around each. [m]
    power : share of the spots at which a foot up or down would have been found; None where there
        are too many to try them one by one.
    """

    spots: Ints
    heights: Floats
    power: float | None


def blunders(points: Floats, mesh: Triangles, never: Bools) -> Blunders:
    """Return the spots that stand out, worst first, and how well the spots check one another.

    Parameters
    ----------
    points : (n, 3) float
        Spots. [m]
    mesh : Triangles
        Theirs.
    never : (n,) bool
        Spots that are never named: the ground is known to crease there, or the reading was
        settled.

    Notes
    -----
    A spot is compared with a thin plate through all others, stiff enough to miss the typical
    spot least. Its miss is divided by the standard deviation that the plate, taken as a random
    ground, has where this spot is left out: misses at an edge or in a gap count less, and of all
    spots near a blunder the blunder itself counts most. The usual size of this is 1.4826 times
    its median; of few spots, the root mean square of the others', held to Student's t. The worst
    spot is set aside and the rest is looked at again. A spot with a neighbour that stands out
    half as much to the same side is a crest or the foot of a bank, and is left alone.

    Two things are named however few the spots are: one that lies OFF_PLANE off a plane that all
    others fit to an inch, and one so far beyond all others that no ground leads there.

    The power is tried, not assumed: each spot is moved up and down by a foot, and counted when it
    would then be named.
    """
    count = len(points)
    limit = np.full(count, deviations(count))
    limit[mesh.ring] *= AT_EDGE
    limit[never] = np.inf
    power = None
    if count <= MOST:
        survey = _Small(points, _in_order(mesh.sides()), limit)
        found, power = survey.standing_out(), survey.power()
    else:
        found = _standing_out_of_many(points, mesh, limit)
    named = sorted(found, key=lambda spot: -abs(found[spot]))
    heights = np.array([found[spot] for spot in named])
    return Blunders(np.array(named, np.int64), heights, power)


def deviations(count: int) -> float:
    """Return how many usual sizes a spot of so many may be off."""
    return normal_quantile(1 - SHARE_NAMED / (2 * count))


class _Small:
    """A survey that one plate takes: every question about it is asked of many levels at once.

    limit : (n,) float, how many usual sizes a spot may be off, infinite where it is never named.
    """

    def __init__(self, points: Floats, pair: Ints, limit: Floats) -> None:
        self.xy, self.limit = points[:, :2], limit
        # counted from the middle, so that squares keep their digits
        self.z = points[:, 2] - np.median(points[:, 2])
        self.count = len(points)
        both = np.concatenate((pair, pair[:, ::-1]))
        both = both[np.argsort(both[:, 0], kind="stable")]
        self.near, self.other = both.T
        self.kept = np.ones(self.count, bool)
        self.precision = plate_precision(self.xy) if self.count >= FEWEST else None
        self.away = np.hypot(*(self.xy[:, None] - self.xy[None]).transpose(2, 0, 1))

    def standing_out(self) -> dict[int, float]:
        """Return the height above the rest of every spot that stands out. [m]"""
        found: dict[int, float] = {}
        kept, precision = self.kept.copy(), self.precision
        while kept.sum() >= min(FEWEST, self.count) and len(found) <= self.count // 10:
            odd, miss, worth = self._odd(self.z[None], kept, precision)
            if not odd.any():
                break
            worst = int(np.argmax(np.where(odd[0], worth[0], -1.0)))
            found[worst] = float(miss[0, worst])
            kept[worst] = False
            if precision is not None:
                precision = downdated(precision, worst)
        self.kept, self.precision = kept, precision
        return found

    def power(self) -> float:
        """Return the share of spots, each moved a slip up and down, that would be named.

        Of those that are left when the ones that stand out are set aside.
        """
        tried = np.flatnonzero(self.kept & np.isfinite(self.limit))
        if self.count < FEWEST or not len(tried):
            return 0.0
        trial = np.arange(2 * len(tried))
        moved = np.tile(tried, 2)
        z = np.tile(self.z, (len(trial), 1))
        z[trial, moved] += np.repeat((SLIP, -SLIP), len(tried))
        odd, _, worth = self._odd(z, self.kept, self.precision)
        first = np.argmax(np.where(odd, worth, -1.0), axis=1)
        return float((odd[trial, moved] & (first == moved)).mean())

    def _odd(
        self, z: Floats, kept: Bools, precision: Floats | None
    ) -> tuple[Bools, Floats, Floats]:
        """Return which spots stand out in each of many surveys, by how much, and how strongly.

        z : (t, n) float, levels of the spots in each survey. [m]

        Returns (t, n) bool; (t, n) float, spot less the ground without it [m]; and (t, n) float
        by which the spots are ranked.
        """
        odd = np.zeros(z.shape, bool)
        miss, worth = np.zeros(z.shape), np.zeros(z.shape)
        may = kept & np.isfinite(self.limit)
        if precision is not None and kept.sum() >= FEWEST:
            miss, ratio, usual = self._misses(z, kept, precision)
            worth = np.abs(ratio)
            odd = (worth > usual) & (np.abs(miss) > LEAST) & may
            odd &= self._alike(ratio) < worth / 2
            flat, off = _off_plane(self.xy, z, kept)
            flat &= may
            # what no ground explains goes before what this ground does not
            odd, miss = odd | flat, np.where(flat, off, miss)
            worth = worth + np.where(flat, np.abs(off) * 1e3, 0.0)
        far, off = self._too_far_off(z, kept)
        far &= may
        # the range of the others is all there is to go by where no plate can be made
        miss = np.where(far & (miss == 0.0), off, miss)
        return odd | far, miss, worth + np.where(far, np.abs(off) * 1e6, 0.0)

    def _misses(self, z: Floats, kept: Bools, precision: Floats) -> tuple[Floats, Floats, Floats]:
        """Return spot less plate without it [m], that over its expected size, and the most allowed.

        Rippa's closed form for the miss (see `smooth.leave_one_out`): the coefficient over the
        diagonal of the inverse, which is one over the variance left at a spot when all others are
        known, as in kriging [1]_.

        References
        ----------
        .. [1] O. Dubrule, "Cross validation of kriging in a unique neighborhood", Mathematical
           Geology 15, 1983, pp. 687-699.
        """
        count = int(kept.sum())
        diagonal = np.einsum("kii->ki", precision)
        # the others may stand on one line: then nothing is known of the ground at this one
        known = kept & (diagonal > _UNKNOWN * diagonal.max(axis=1, keepdims=True))
        diagonal = np.where(known, diagonal, 1.0)
        coefficient = np.einsum("kij,tj->tki", precision, np.where(kept, z, 0.0))
        coefficient = np.where(known, coefficient, 0.0)
        miss = coefficient / diagonal
        ratio = coefficient / np.sqrt(diagonal)
        if self.count <= FEW:
            # the middle stiffness: so few spots cannot choose one
            miss, ratio = miss[:, 1], ratio[:, 1]
            total = np.einsum("ti,ti->t", coefficient[:, 1], np.where(kept, z, 0.0))
            free = count - 4
            others = np.maximum(total[:, None] - ratio**2, 0.0) / free
            usual = np.maximum(np.sqrt(others), _NOISE)
            allowed = student_quantile(free, 1 - FALSE_ALARM / (2 * count))
            return miss, ratio, allowed * usual
        typical = np.median(np.abs(miss[..., kept]), axis=2)
        best = np.argmin(typical, axis=1)
        at = np.arange(len(z))
        miss, ratio = miss[at, best], ratio[at, best]
        # spots on a crease are missed by any plate, and say nothing of the ground beside it
        judged = kept & np.isfinite(self.limit)
        judged = judged if 2 * judged.sum() >= kept.sum() else kept
        usual = np.maximum(1.4826 * np.median(np.abs(ratio[:, judged]), axis=1), _NOISE)
        limit = np.where(np.isfinite(self.limit), self.limit, 0.0)
        return miss, ratio, limit * usual[:, None]

    def _alike(self, ratio: Floats) -> Floats:
        """Return how far out the farthest neighbour to the same side stands, (t, n)."""
        alike = np.zeros(ratio.shape)
        if not len(self.near):
            return alike
        same = ratio[:, self.near] * ratio[:, self.other] > 0
        out = np.where(same, np.abs(ratio[:, self.other]), 0.0)
        start = np.flatnonzero(np.append(True, self.near[1:] != self.near[:-1]))
        alike[:, self.near[start]] = np.maximum.reduceat(out, start, axis=1)
        return alike

    def _too_far_off(self, z: Floats, kept: Bools) -> tuple[Bools, Floats]:
        """Return which spots lie beyond all others by more than any ground, and how far. [m]"""
        order = np.sort(z[:, kept], axis=1)
        # the others' highest: the highest of all, but of that spot itself the second
        top, second = order[:, -1:], order[:, -2:-1]
        above = z - np.where(z >= top, second, top)
        low, next_low = order[:, :1], order[:, 1:2]
        below = np.where(z <= low, next_low, low) - z
        off = np.where(above > below, above, -below)
        away = np.where(kept & ~np.eye(self.count, dtype=bool), self.away, np.inf).min(axis=1)
        return (np.abs(off) > np.maximum(_TOO_FAR_OFF, away)) & ((above > 0) | (below > 0)), off


def _off_plane(xy: Floats, z: Floats, kept: Bools) -> tuple[Bools, Floats]:
    """Return which spots lie off a plane that all others fit to an inch, and how far. [m]

    xy : (n, 2); z : (t, n). The plane without a spot follows from the plane with it [1]_.

    References
    ----------
    .. [1] R. D. Cook and S. Weisberg, Residuals and Influence in Regression, 1982, section 2.2.
    """
    local = xy - xy[kept].mean(axis=0)
    x, y = local.T / max(float(np.abs(local).max()), NOTHING)
    basis = np.zeros((3, len(xy)))
    for row, axis in enumerate((np.ones(len(xy)), x, y)):
        axis = np.where(kept, axis, 0.0)
        for _ in range(2):  # twice, so that they are square to each other to the last digits
            axis = axis - np.einsum("a,ai->i", np.einsum("ai,i->a", basis, axis), basis)
        basis[row] = axis / np.sqrt(max(float((axis**2).sum()), NOTHING))
    hat = np.einsum("ai,aj->ij", basis, basis)
    left = np.where(kept, z, 0.0)
    error = np.where(kept, left - np.einsum("ij,tj->ti", hat, left), 0.0)
    free = 1.0 - np.diag(hat)
    held = kept & (free > 1.0 / (1.0 + _FARTHEST))
    off = error / np.where(held, free, 1.0)
    candidate = held & (np.abs(off) > OFF_PLANE)
    flat = np.zeros(z.shape, bool)
    most = _FEW_ON_PLANE if kept.sum() <= 6 else _ON_PLANE
    for trial, spot in np.argwhere(candidate).tolist():
        rest = error[trial] + hat[spot] * off[trial, spot]
        rest[spot] = 0.0
        flat[trial, spot] = np.abs(rest).max() <= most
    return flat, off


def _in_order(pair: Ints) -> Ints:
    """Return sides (e, 2) in the order of their points."""
    return pair[np.lexsort((pair[:, 1], pair[:, 0]))]


def _standing_out_of_many(points: Floats, mesh: Triangles, limit: Floats) -> dict[int, float]:
    from scipy.spatial import cKDTree

    miss, spread = _plane_misses(points, mesh)
    off = np.abs(np.nan_to_num(miss, nan=np.inf))
    found: dict[int, float] = {}
    if not (off > LEAST / 2).any():
        return found
    ratio = np.where(np.isfinite(miss), np.abs(miss) / spread, 0.0)
    usual = max(1.4826 * float(np.median(ratio[ratio > 0])) if ratio.any() else 0.0, _NOISE)
    # the plane alone finds an honest spot on rolling ground odd ten times as often as the plate
    odd = np.flatnonzero((ratio > limit * usual / 2) & (np.abs(miss) > LEAST))
    odd = odd[np.argsort(-ratio[odd], kind="stable")][:_MOST_JUDGED]
    if not len(odd):
        return found
    around = np.asarray(cKDTree(points[:, :2]).query(points[odd, :2], k=_PATCH)[1])
    asked = np.zeros(len(points), bool)
    asked[around] = True
    pair = mesh.sides()
    pair = _in_order(pair[asked[pair].all(axis=1)])
    for spot, patch in zip(odd.tolist(), np.sort(around, axis=1), strict=True):
        if spot in found:
            continue
        # the sides stand in the order of their lower point
        first, last = np.searchsorted(pair[:, 0], np.array((patch, patch + 1)))
        near = np.concatenate([pair[i:j] for i, j in zip(first, last, strict=True)])
        inside = np.searchsorted(patch, near[np.isin(near[:, 1], patch)])
        here = _Small(points[patch], inside, limit[patch]).standing_out()
        mine = int(np.searchsorted(patch, spot))
        if mine in here:
            found[spot] = here[mine]
    return found


def _plane_misses(points: Floats, mesh: Triangles) -> tuple[Floats, Floats]:
    """Return the height over the plane through the neighbours, and its relative scatter.

    NaN where the neighbours give no plane.

    Notes
    -----
    Around each triangle its sides lead from each corner to a neighbour; two triangles tell a side
    both ways round, and one at the edge is told backwards too. So every neighbour of every spot
    comes up once, with nothing put in order.
    """
    count = len(points)
    axes = np.ascontiguousarray(points.T)
    total = np.zeros((10, count))
    for near, other in _led_to(mesh):
        x, y, rise = (axis.take(other) - axis.take(near) for axis in axes)
        for row, term in zip(total, _terms(x, y, rise), strict=True):
            row += np.bincount(near, term, count)
    n = total[0]
    # in units of how far the neighbours are, so that spots near and far apart are judged alike
    scale = total[9] / np.maximum(n, 1)
    scale[scale == 0] = 1.0
    sx, sy, rx, ry = total[[1, 2, 7, 8]] / scale
    sxx, sxy, syy = total[3:6] / scale**2
    # first row of the inverse of the normal matrix, by cofactors
    c0, c1, c2 = sxx * syy - sxy * sxy, sxy * sy - sx * syy, sx * sxy - sxx * sy
    whole = n * c0 + sx * c1 + sy * c2
    # neighbours nearly on one line give no plane
    whole = np.where((n >= 3) & (whole > 1e-3 * n * sxx * syy), whole, np.nan)
    plane = (c0 * total[6] + c1 * rx + c2 * ry) / whole
    return -plane, np.sqrt(1.0 + c0 / whole)


def _terms(x: Floats, y: Floats, rise: Floats) -> Iterable[Floats | None]:
    """Give what is summed over the neighbours of a spot, one after another, for their room."""
    yield from (None, x, y)  # of None, how many they are
    yield x * x
    yield x * y
    yield y * y
    yield rise
    yield rise * x
    yield rise * y
    yield np.hypot(x, y)


def _led_to(mesh: Triangles) -> Iterable[tuple[Ints, Ints]]:
    """Give spots and a neighbour of each, (k,) and (k,): every one of every spot once in all."""
    for i in range(3):
        # in one piece, as they are read ten times
        near, other = np.ascontiguousarray(mesh.corners[:, [i, (i + 1) % 3]].T)
        yield near, other
        edge = mesh.neighbours[:, i] < 0
        yield other[edge], near[edge]
