"""The ground between its spots as a random surface about its trend: a Gaussian process.

z = trend + f + noise: f is random with Matern's covariance of smoothness 3/2, whose length and
size, and that of the noise, are chosen by restricted maximum likelihood [1]_ from a fixed grid, so
that nothing can fail to converge and the same survey gives the same bytes.

References
----------
.. [1] C. E. Rasmussen and C. K. I. Williams, Gaussian Processes for Machine Learning, 2006,
   sections 2.7 and 4.2; D. A. Harville, "Maximum likelihood approaches to variance component
   estimation", Journal of the American Statistical Association 72, 1977, pp. 320-338.
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import cached_property

import numpy as np
from msgspec import Struct

from grading.geometry.arrays import Floats, Ints
from grading.geometry.tolerances import ROUNDING
from grading.ground.trend import Bend, trend

MOST = 300
"""The process is fitted to so many spots at the most; its time goes with their cube."""

STATED = 0.003
"""What a level is read to by practice: noise is never taken to be less. [m] Common practice, no
source."""

_LENGTHS = 11
_NOISE_RATIOS = np.array([1e-7, 1e-5, 1e-4, 1e-3, 1e-2, 1e-1, 3e-1])  # own: a size of its own
_FLAT = 1e-4  # own: m: no ground is flatter than this
_BEYOND = 1e13  # larger than any product that stands in the corner of the matrix


class Process(Struct, frozen=True, eq=False, dict=True):
    """The ground as random as its spots say it is.

    Attributes
    ----------
    xyz : (n, 3) float
        The spots that it rests on. [m]
    of : int
        How many spots there are: more than those where they were too many.
    bends : tuple of Bend
        Of its trend.
    length : float
        Over which ground forgets itself: Matern's length, kernel (1 + s) exp(-s), s = sqrt(3) d
        over the length. [m]
    size, noise : float
        Standard deviations of the random part, and of a reading. [m]
    more : (n,) float or None
        How much more the variance of each reading is than that of most; None where it is no more
        for any. [m2]
    """

    xyz: Floats
    of: int
    bends: tuple[Bend, ...]
    length: float
    size: float
    noise: float
    more: Floats | None = None

    @property
    def freedom(self) -> int:
        """Spots beyond those that the trend takes: of Student's t that its intervals are by."""
        return len(self.xyz) - 3 - len(self.bends)

    @property
    def origin(self) -> Floats:
        """What the trend is taken about, (2,). [m]"""
        return np.asarray(self.xyz[:, :2].mean(axis=0))

    def trend(self, xy: Floats) -> Floats:
        """Return the columns (k, p) of the trend at points (k, 2). [m]"""
        return _trend(xy, self.bends, self.origin)

    def covariance(self, one: Floats, other: Floats) -> Floats:
        """Return the covariance (k, j) of the random part at points (k, 2) and (j, 2). [m2]"""
        return self.size**2 * matern(distance(one, other) / self.length)

    @cached_property
    def _known(self) -> tuple[Floats, Floats, Floats]:
        """Inverse of the spots' covariance, the trend's precision inverse, the weights of it."""
        xy = self.xyz[:, :2]
        whole = self.covariance(xy, xy) + self.noise**2 * np.eye(len(xy))
        if self.more is not None:
            whole += np.diag(self.more)
        inverse = np.linalg.inv(whole)
        basis = self.trend(xy)
        spread = np.linalg.inv(basis.T @ inverse @ basis)
        return np.asarray(inverse), np.asarray(spread), np.asarray(spread @ basis.T @ inverse)

    @property
    def spread(self) -> Floats:
        """The covariance (p, p) of the coefficients of the trend."""
        return self._known[1]

    @cached_property
    def coefficients(self) -> Floats:
        """The coefficients (p,) of the trend, by generalised least squares."""
        return np.asarray(self._known[2] @ self.xyz[:, 2])

    def weights(self, xy: Floats) -> Floats:
        """Return the weights (k, n) that spots have in the best forecast at points (k, 2).

        Universal kriging: the trend is estimated with the rest.
        """
        inverse, _, by_trend = self._known
        at = self.xyz[:, :2]
        simple = self.covariance(xy, at) @ inverse
        return np.asarray(simple + (self.trend(xy) - simple @ self.trend(at)) @ by_trend)

    def left(self, one: Floats, other: Floats) -> Floats:
        """Return the covariance (k, j) that the spots leave between points. [m2]"""
        inverse, spread, _ = self._known
        at = self.xyz[:, :2]
        first, second = self.covariance(one, at), self.covariance(other, at)
        held = second @ inverse
        basis = self.trend(at)
        lost = self.trend(one) - first @ inverse @ basis
        kept = self.trend(other) - held @ basis
        return self.covariance(one, other) - first @ held.T + lost @ spread @ kept.T


def matern(ratio: Floats) -> Floats:
    """Return Matern's correlation of smoothness 3/2 at distances over its length."""
    scaled = np.sqrt(3.0) * ratio
    found = np.exp(-scaled)
    scaled += 1.0
    found *= scaled
    return np.asarray(found)


def distance(one: Floats, other: Floats) -> Floats:
    """Return how far points (k, 2) and (j, 2) are apart, (k, j). [m]"""
    square = (one[:, None, 0] - other[None, :, 0]) ** 2
    square += (one[:, None, 1] - other[None, :, 1]) ** 2
    return np.asarray(np.sqrt(square, out=square))


def fitted(
    points: Floats, bends: Sequence[Bend] = (), of: int | None = None,
    besides: Floats | None = None, stated: float = STATED,
) -> Process | None:  # fmt: skip
    """Return the process that spots are likeliest of; None where they are too few to say.

    Parameters
    ----------
    points : (n, 3) float
        Distinct spots, at most MOST of them. [m]
    bends : sequence of Bend
        Of the trend.
    of : int, optional
        How many there are in all.
    besides : (n, b) float, optional
        Columns that stand in the trend besides, such as which set-up a spot was shot from.
    stated : float
        What most levels are read to. [m]

    Notes
    -----
    The likelihood needs the products of the trend and the levels with the inverse of each
    covariance. They stand in the Cholesky factor of that matrix bordered by both: all ratios of
    noise at once, nothing solved.
    """
    xy = points[:, :2] - points[:, :2].mean(axis=0)
    bends = tuple(bends)
    basis = _trend(points[:, :2], bends, points[:, :2].mean(axis=0))
    while bends and np.linalg.matrix_rank(basis / np.abs(basis).max(axis=0)) < basis.shape[1]:
        bends, basis = bends[:-1], basis[:, :-1]
    if besides is not None:
        basis = np.column_stack((basis, besides))
        if np.linalg.matrix_rank(basis / np.abs(basis).max(axis=0)) < basis.shape[1]:
            return None
    count, columns = basis.shape
    if count < columns + 2:
        return None
    level = points[:, 2] - points[:, 2].mean()
    height = max(float(np.abs(level).max()), _FLAT)
    border = np.column_stack((basis / np.abs(basis).max(axis=0), level / height))
    away = distance(xy, xy)
    nearest = float(np.median(np.where(np.eye(count, dtype=bool), np.inf, away).min(axis=1)))
    extent = float(np.hypot(*np.ptp(xy, axis=0)))
    best = -np.inf, 0.0, 0.0, 0.0
    for length in np.geomspace(nearest / 2, 2 * extent, _LENGTHS).tolist():
        likely, variance = _likelihoods(matern(away / length), border, _FLAT / height)
        noise = np.sqrt(variance * _NOISE_RATIOS) * height
        likely = likely - np.log(np.maximum(stated / noise, 1.0)) ** 2 / 2
        k = int(np.argmax(likely))
        if likely[k] > best[0]:
            best = float(likely[k]), length, float(np.sqrt(variance[k])) * height, float(noise[k])
    _, length, size, noise_sd = best
    return Process(points, of or count, bends, length, size, max(noise_sd, stated))


def _likelihoods(kernel: Floats, border: Floats, least: float) -> tuple[Floats, Floats]:
    """Return the restricted log likelihood (r,) for each ratio of noise, and the variance (r,).

    kernel : (n, n); border : (n, p + 1), the trend and the levels; least : least deviation.
    """
    count, wide = border.shape
    trend_wide = wide - 1
    whole = np.zeros((len(_NOISE_RATIOS), count + wide, count + wide))
    whole[:, :count, :count] = kernel + _NOISE_RATIOS[:, None, None] * np.eye(count)
    whole[:, count:, :count] = border.T
    whole[:, count:, count:] = _BEYOND * np.eye(wide)
    lower = np.linalg.cholesky(whole)
    determinant = 2 * np.log(np.diagonal(lower[:, :count, :count], axis1=1, axis2=2)).sum(axis=1)
    half = lower[:, count:, :count]
    product = half @ half.transpose(0, 2, 1)
    square = product[:, :trend_wide, :trend_wide]
    mixed = product[:, :trend_wide, trend_wide]
    left = product[:, trend_wide, trend_wide] - (
        mixed * np.linalg.solve(square, mixed[..., None])[..., 0]
    ).sum(axis=1)
    free = count - trend_wide
    variance = np.maximum(left / free, least**2)
    likely = -0.5 * (free * np.log(variance) + determinant + np.linalg.slogdet(square)[1])
    return likely, variance


def _trend(xy: Floats, bends: Sequence[Bend], origin: Floats) -> Floats:
    columns = trend(xy, bends)
    columns[:, 1:3] -= origin
    return columns


def spread_out(xy: Floats, towards: Floats, most: int = MOST) -> Ints:
    """Return which of many points (n, 2) to take: spread out, and denser near what is asked about.

    Parameters
    ----------
    xy : (n, 2) float
        [m]
    towards : (k, 2) float
        Where the questions are. [m]
    most : int
        How many are taken.

    Notes
    -----
    The farthest from those taken is taken next, its distance counted as less the farther it lies
    from the questions. Of very many points the first in each cell of a fine grid stand for all.
    """
    if len(xy) <= most:
        return np.arange(len(xy))
    from scipy.spatial import (
        cKDTree,
    )  # not before: a survey by hand does without, and starts sooner

    low, wide = xy.min(axis=0), max(float(np.ptp(xy, axis=0).max()), ROUNDING)
    cell = np.floor((xy - low) / wide * 200).astype(np.int64)
    kept = np.unique(cell[:, 0] * 1000 + cell[:, 1], return_index=True)[1]
    kept = kept if len(kept) >= most else np.arange(len(xy))
    at = xy[kept]
    gap = np.asarray(cKDTree(towards).query(at)[0])
    weight = 1.0 / (1.0 + gap / max(float(np.ptp(towards, axis=0).max()), 1.0))
    chosen = [int(np.argmin(gap))]
    away = np.full(len(at), np.inf)
    while len(chosen) < most:
        away = np.minimum(away, np.hypot(*(at - at[chosen[-1]]).T))
        chosen.append(int(np.argmax(away * weight)))
    return np.sort(kept[np.array(chosen)])
