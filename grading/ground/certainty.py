"""How far the ground may lie from the surface that is drawn through its spots.

The plus-or-minus is that of the surface itself: of the very weights that it gives to the spots. For
a number T z of the levels z, and the same number w f of the ground, both are random with the
covariance of the process, and so is their difference:

    var = w K w' - 2 T K w' + T (K + noise) T'

What the surface does not carry of the trend, a bend between two spots, is added as it is estimated.
"""

from __future__ import annotations

from functools import cached_property

import numpy as np
from msgspec import Struct
from msgspec.structs import replace
from numpy.typing import NDArray

from grading.distributions import normal_quantile, student_quantile
from grading.geometry.arrays import Floats, Ints
from grading.geometry.tin import Tin
from grading.geometry.tolerances import SAME_PLACE
from grading.geometry.triangulation import triangulate
from grading.ground.process import MOST, STATED, Process, fitted, spread_out
from grading.ground.smooth import plate_matrix
from grading.ground.trend import bends_of
from grading.kept import GROUNDS, Kept, fingerprint

SHARE = 0.90
"""What an interval claims to hold."""

DRAWS = 200
"""Grounds drawn by lot, each with its mirror image."""

_PART = 400  # points at once, of very many


class Measured(Struct, frozen=True, eq=False, dict=True):
    """The surface as its levels make it: spots, and vertices of breaklines with their own levels.

    Attributes
    ----------
    points : (n, 3) float
        Those levels. [m]
    corners : (m, 3) int
        Their triangles.
    edges : (e, 2) int
        Sides that breaklines need.
    lines : tuple of (j, 2) float
        The breaklines. [m]
    smooth : bool
        Whether a thin plate is drawn through them, and not flat triangles.
    sd : (n,) float or None
        Standard deviation of each level; None where each is read as by practice. [m]
    """

    points: Floats
    corners: Ints
    edges: Ints
    lines: tuple[Floats, ...] = ()
    smooth: bool = False
    sd: Floats | None = None

    @property
    def stated(self) -> float:
        """What most levels are read to. [m]"""
        return STATED if self.sd is None else float(np.quantile(self.sd, 0.5, method="lower"))

    @cached_property
    def more(self) -> Floats:
        """How much more the variance of each level is than that of most, (n,). [m2]"""
        if self.sd is None:
            return np.zeros(len(self.points))
        return np.asarray(np.maximum(self.sd**2 - self.stated**2, 0.0))

    @cached_property
    def tin(self) -> Tin:
        """The triangles with what makes questions fast."""
        return Tin(self.points, self.corners)

    def weights(self, xy: Floats) -> tuple[Floats, Ints, NDArray[np.bool_]]:
        """Return the weights (k, u) that levels have at points (k, 2), which levels, and where.

        The last, (k,), says which points lie within the survey; the others have no weights. A
        plate through more than MOST levels differs from flat triangles between them by less than
        it is known to, and is taken for these.
        """
        triangle, share = self.tin.locate(xy)
        inside = triangle >= 0
        if self.smooth and len(self.points) <= MOST:
            found = _plate_weights(self.points[:, :2], xy)
            found[~inside] = 0.0
            return found, np.arange(len(self.points)), inside
        corner = self.corners[triangle[inside]]
        used, place = np.unique(corner, return_inverse=True)
        found = np.zeros((len(xy), len(used)))
        rows = np.flatnonzero(inside)[:, None]
        np.add.at(found, (rows, place.reshape(corner.shape)), share[inside])
        return found, used, inside

    def with_shots(self, xy: Floats) -> Measured:
        """Return the surface with shots more at places (k, 2), their levels as it has them. [m]

        A place that is a level of it already is not one more.
        """
        gap = np.linalg.norm(xy[:, None] - self.points[None, :, :2], axis=2).min(axis=1)
        xy = xy[gap >= SAME_PLACE]
        z = np.nan_to_num(self.tin.elevation(xy), nan=float(self.points[:, 2].mean()))
        points = np.concatenate((self.points, np.column_stack((xy, z))))
        corners = triangulate(points[:, :2], self.edges).corners
        sd = self.sd if self.sd is None else np.append(self.sd, np.full(len(xy), self.stated))
        return replace(self, points=points, corners=corners, sd=sd)


def _plate_weights(at: Floats, xy: Floats) -> Floats:
    """Return the weights (k, n) of points (n, 2) in the thin plate through them at (k, 2)."""
    middle = at.mean(axis=0)
    scale = float(np.abs(at - middle).max())
    at, xy = (at - middle) / scale, (xy - middle) / scale
    square = ((xy[:, None] - at[None]) ** 2).sum(axis=2)
    right = np.ones((len(xy), len(at) + 3))
    right[:, : len(at)] = 0.5 * square * np.log(np.where(square > 0, square, 1.0))
    right[:, len(at) + 1 :] = xy
    return np.asarray(np.linalg.solve(plate_matrix(at), right.T)[: len(at)].T)


class Certainty(Struct, frozen=True, eq=False, dict=True):
    """What is known of the ground.

    Attributes
    ----------
    measured : Measured
    process : Process
    chosen : (n,) int
        Which of the measured levels the process rests on.
    """

    measured: Measured
    process: Process
    chosen: Ints

    @cached_property
    def deviations(self) -> float:
        """How many standard deviations an interval reaches either way: Student's t."""
        return student_quantile(self.process.freedom, 0.5 + SHARE / 2)

    def weights(self, xy: Floats) -> tuple[Floats, Ints]:
        """Return the weights (k, u) of levels in the surface at points (k, 2), and which levels.

        Beyond the survey, where the surface is a guess, those of the best forecast.
        """
        found, used, inside = self.measured.weights(xy)
        if inside.all():
            return found, used
        every = np.union1d(used, self.chosen)
        whole = np.zeros((len(xy), len(every)))
        whole[:, np.searchsorted(every, used)] = found
        beyond = np.flatnonzero(~inside)[:, None]
        whole[beyond, np.searchsorted(every, self.chosen)] = self.process.weights(xy[~inside])
        return whole, every

    def covariance(self, xy: Floats) -> Floats:
        """Return the covariance (k, k) of ground less surface at points (k, 2). [m2]"""
        weight, lost, across, known = self._parts(xy)
        mixed = across @ weight.T
        missed = lost @ self.process.coefficients
        own = self.process.covariance(xy, xy)
        whole = own - mixed - mixed.T + weight @ known @ weight.T
        whole = whole + lost @ self.process.spread @ lost.T + np.outer(missed, missed)
        return np.asarray(whole)

    def deviation(self, xy: Floats) -> Floats:
        """Return the standard deviation (k,) of ground less surface at points (k, 2). [m]"""
        parts = np.array_split(xy, max(1, -(-len(xy) // _PART)))
        variance = np.concatenate([self._variance(part) for part in parts])
        return np.asarray(np.sqrt(np.maximum(variance, 0.0)))

    def _variance(self, xy: Floats) -> Floats:
        weight, lost, across, known = self._parts(xy)
        whole: Floats = self.process.size**2 - 2 * (across * weight).sum(axis=1)
        whole += ((weight @ known) * weight).sum(axis=1)
        whole += ((lost @ self.process.spread) * lost).sum(axis=1)
        return np.asarray(whole + (lost @ self.process.coefficients) ** 2)

    def either_way(self, xy: Floats) -> Floats:
        """Return the plus-or-minus (k,) of the surface at points (k, 2). [m]"""
        return self.deviations * self.deviation(xy)

    def of_sum(self, xy: Floats, by: Floats, own: float | None = None) -> float:
        """Return the plus-or-minus of a sum of levels.

        Parameters
        ----------
        xy : (k, 2) float, by : (k,) float
            The points [m], and their weights.
        own : float, optional
            The variance of that sum in the process, where it is known.
        """
        weight, lost, across, known = self._parts(xy)
        weight, lost, across = by @ weight, by @ lost, by @ across
        if own is None:
            own = float(by @ self.process.covariance(xy, xy) @ by)
        variance = own - 2 * float(across @ weight) + float(weight @ known @ weight)
        variance += float(lost @ self.process.spread @ lost)
        variance += float(lost @ self.process.coefficients) ** 2
        return self.deviations * float(np.sqrt(max(variance, 0.0)))

    def _parts(self, xy: Floats) -> tuple[Floats, Floats, Floats, Floats]:
        """Return the weights of levels at points, the trend that they lose, and the covariances.

        (k, u), (k, p), (k, u) of points and levels, (u, u) of levels as they were read.
        """
        process = self.process
        weight, used = self.weights(xy)
        at = self.measured.points[used, :2]
        lost = process.trend(xy) - weight @ process.trend(at)
        known = process.covariance(at, at)
        known[np.diag_indices(len(at))] += process.noise**2 + self.measured.more[used]
        return weight, lost, process.covariance(xy, at), known

    def draws(self, xy: Floats) -> Floats:
        """Return ground less surface at points (k, 2), of grounds drawn by lot, (2 DRAWS, k). [m]

        Each stands beside its mirror image. They are as much wider than normal as Student's t is.
        """
        value, vector = np.linalg.eigh(self.covariance(xy))
        root = vector * np.sqrt(np.maximum(value, 0.0))
        lot = np.random.default_rng(0).standard_normal((DRAWS, len(xy)))
        found = lot @ root.T * (self.deviations / normal_quantile(0.5 + SHARE / 2))
        return np.concatenate((found, -found))

    def with_shots(self, xy: Floats) -> Certainty:
        """Return what would be known with shots more at places (k, 2), the process as it is."""
        return replace(self, measured=self.measured.with_shots(xy))


def within(values: Floats) -> tuple[float, float]:
    """Return the interval that holds SHARE of what grounds drawn by lot (d,) give."""
    low, high = np.quantile(values, ((1 - SHARE) / 2, (1 + SHARE) / 2)).tolist()
    return low, high


def certainty_of(measured: Measured, towards: Floats, kept: Kept | None = None) -> Certainty | None:
    """Return what is known of the ground; None where its levels are too few to say.

    Parameters
    ----------
    measured : Measured
    towards : (k, 2) float
        Where the questions are: of more than MOST levels the process rests on those near. [m]
    kept : Kept, optional
        What was known before of the same levels.
    """
    chosen = spread_out(measured.points[:, :2], towards, MOST)
    key = measured, fingerprint(chosen)
    return (kept or Kept()).once("certainty", key, lambda: _certainty(measured, chosen), GROUNDS)


def _certainty(measured: Measured, chosen: Ints) -> Certainty | None:
    points = measured.points
    bends = bends_of(measured.lines, points[chosen, :2])
    process = fitted(points[chosen], bends, of=len(points), stated=measured.stated)
    if process is None:
        return None
    return Certainty(measured, replace(process, more=measured.more[chosen]), chosen)
