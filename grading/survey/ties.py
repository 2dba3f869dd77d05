"""A point from taped distances to known ones: by least squares, with how well it is known."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import combinations
from math import atan2, degrees, sqrt

import numpy as np
from msgspec import Struct

from grading.files.fields import array_of
from grading.geometry.arrays import Floats

ODD = 3.29
"""A residual over its standard deviation by more than this is a blunder: one good tie in a thousand
is taken for one. Baarda, A Testing Procedure for Use in Geodetic Networks, 1968 (from memory)."""

LEAST_ANGLE, MOST_ANGLE = 30.0, 150.0
"""Tapes that cross at a sharper or a flatter angle place a point badly. Common practice, no source:
any text on surveying asks for well-shaped triangles. [degrees]"""

NINETY_FIVE = 2.4477468306808161
"""sqrt(-2 ln 0.05): the ellipse that holds a point of known standard deviations in 95 %."""

LEAST_CHECKED = 0.01
"""A tie that the others check by less than this share says nothing of itself."""

_STEPS = 40
_SETTLED = 1e-10  # own: m: no further step
_ROUND = 1e-6  # own: degrees: what is at a limit but for rounding


class Ellipse(Struct, frozen=True):
    """Where a point lies in 95 % of all cases.

    major, minor : semi-axes. [m]
    bearing : of the major one, in degrees clockwise from +y, 0 to 180.
    """

    major: float
    minor: float
    bearing: float


class Fix(Struct, frozen=True, eq=False):
    """A point placed by ties.

    Attributes
    ----------
    xy : (2,) float
        [m]
    covariance : (2, 2) float
        As the standard deviations of the tapes tell it. [m2]
    residuals : (m,) float
        The distance to each reference as placed, less the one taped. [m]
    checked : (m,) float
        How much of an error of each tie shows in its own residual: its redundancy, 0 to 1.
    odd : (m,) float
        Each residual over its own standard deviation; NaN where the other ties do not check it.
    angle : float
        Between the two ties that cross best. [degrees]
    """

    xy: Floats
    covariance: Floats
    residuals: Floats
    checked: Floats
    odd: Floats
    angle: float

    @property
    def sd(self) -> float:
        """Standard deviation along either axis, the mean of both. [m]"""
        return float(np.sqrt(np.trace(self.covariance) / 2))

    @property
    def ellipse(self) -> Ellipse:
        """Where the point lies in 95 % of all cases."""
        size, axes = np.linalg.eigh(self.covariance)
        minor, major = (NINETY_FIVE * sqrt(max(float(each), 0.0)) for each in size)
        return Ellipse(major, minor, degrees(atan2(axes[0, 1], axes[1, 1])) % 180.0)

    @property
    def flat(self) -> bool:
        """Whether the ties cross at so sharp or so flat an angle that they place it badly."""
        return not LEAST_ANGLE - _ROUND <= self.angle <= MOST_ANGLE + _ROUND

    @property
    def suspect(self) -> int | None:
        """The tie that is wrong in all likelihood; None where none is, or where any may be."""
        if len(self.residuals) < 4 or not self.astray:
            return None
        return int(np.nanargmax(np.abs(self.odd)))

    @property
    def astray(self) -> bool:
        """Whether one of the ties is wrong."""
        return bool((np.abs(self.odd[np.isfinite(self.odd)]) > ODD).any())

    def off(self, tie: int) -> float:
        """Return by how much a tie was taped too long, if it is the one that is wrong. [m]"""
        return float(-self.residuals[tie] / self.checked[tie])


def crossings(
    one: Floats, other: Floats, first: float, second: float
) -> tuple[list[Floats], float]:
    """Return where two circles cross, and by how much they fall short of each other.

    Parameters
    ----------
    one, other : (2,) float
        Their centres. [m]
    first, second : float
        Their radii. [m]

    Returns
    -------
    list of (2,) float, float
        To the left of the way from one to the other and to the right of it [m], and 0; where they
        do not meet the point between them that is nearest to both, and the gap. [m]
    """
    apart = float(np.hypot(*(other - one)))
    if apart == 0:
        return [], abs(first - second)
    ahead = (other - one) / apart
    left = np.array([-ahead[1], ahead[0]])
    gap = max(apart - (first + second), abs(first - second) - apart, 0.0)
    along = (apart**2 + first**2 - second**2) / (2 * apart)
    if gap > 0:
        outer = first + (apart - first - second) / 2
        if apart < abs(first - second):
            outer = (first + second + apart) / 2 if first > second else (apart - second - first) / 2
        return [one + outer * ahead], gap
    height = sqrt(max(first**2 - along**2, 0.0))
    return [one + along * ahead + height * left, one + along * ahead - height * left], 0.0


def placed(references: Floats, lengths: Floats, sds: Floats, start: Floats) -> Fix | None:
    """Return the point nearest to all its ties, from a first guess; None where there is none.

    Parameters
    ----------
    references : (m, 2) float
        What the tape was held to. [m]
    lengths, sds : (m,) float
        Distances as taped, and their standard deviations. [m]
    start : (2,) float
        [m]

    Notes
    -----
    Gauss-Newton on the weighted distances, each step halved until it comes nearer: Ghilani,
    Adjustment Computations, chapter 14.
    """
    xy, weight = np.array(start, dtype=float), 1 / sds**2

    def short(at: Floats) -> Floats:
        return np.asarray(lengths - np.hypot(*(at - references).T))

    for _ in range(_STEPS):
        rows = _directions(xy, references)
        normal = rows.T @ (weight[:, None] * rows)
        if not np.linalg.cond(normal) < 1e12:
            return None
        left = short(xy)
        step = np.linalg.solve(normal, rows.T @ (weight * left))
        before = (weight * left**2).sum()
        while (weight * short(xy + step) ** 2).sum() > before and np.hypot(*step) > _SETTLED:
            step = step / 2
        xy = xy + step
        if np.hypot(*step) <= _SETTLED:
            break
    rows = _directions(xy, references)
    normal = rows.T @ (weight[:, None] * rows)
    if not np.linalg.cond(normal) < 1e12:
        return None
    covariance = np.linalg.inv(normal)
    residuals = -short(xy)
    checked = 1 - weight * np.einsum("ij,jk,ik->i", rows, covariance, rows)
    if len(lengths) == 2:
        checked = np.zeros(2)
    seen = checked > LEAST_CHECKED
    odd = np.full(len(lengths), np.nan)
    odd[seen] = residuals[seen] / (sds[seen] * np.sqrt(checked[seen]))
    return Fix(
        array_of(xy), array_of(covariance), array_of(residuals), array_of(checked),
        array_of(odd), _angle(rows),
    )  # fmt: skip


def _directions(xy: Floats, references: Floats) -> Floats:
    """Return the unit vectors (m, 2) from each reference to a point."""
    away = xy - references
    far = np.hypot(*away.T)
    return away / np.where(far > 0, far, 1.0)[:, None]


def _angle(rows: Floats) -> float:
    """Return the angle between the two ties that is nearest to a right one. [degrees]"""
    angles = [
        degrees(atan2(abs(one[0] * other[1] - one[1] * other[0]), float(one @ other)))
        for one, other in combinations(rows, 2)
    ]
    return min(angles, key=lambda each: abs(each - 90.0))


def fixes(references: Floats, lengths: Floats, sds: Floats) -> list[Fix]:
    """Return every point that ties may mean, the likeliest first: on either side of their line.

    Parameters
    ----------
    references : (m, 2) float
        What the tape was held to, two or more. [m]
    lengths, sds : (m,) float
        Distances as taped, and their standard deviations. [m]

    Returns
    -------
    list of Fix
        None where the circles do not meet, or all cross along one line.
    """
    found: list[tuple[float, Fix]] = []
    for start in _starts(references, lengths):
        fix = placed(references, lengths, sds, start)
        if fix is None:
            continue
        misfit = float(((fix.residuals / sds) ** 2).sum())
        if all(np.hypot(*(fix.xy - other.xy)) > sds.max() for _, other in found):
            found.append((misfit, fix))
    if not found:
        return []
    found.sort(key=lambda each: each[0])
    # A point on the other side is as likely only where all references stand in one line, or all
    # but: what fits much worse is no second answer, even where one tie is wrong.
    bar = 4 * found[0][0] + 16.0
    return [fix for misfit, fix in found if misfit <= bar]


def _starts(references: Floats, lengths: Floats) -> Iterator[Floats]:
    for one, other in combinations(range(len(lengths)), 2):
        points, gap = crossings(
            references[one], references[other], float(lengths[one]), float(lengths[other])
        )
        if gap == 0:
            yield from points
        elif len(lengths) > 2:
            # From the line between two references no step leads off it.
            ahead = references[other] - references[one]
            aside = np.array([-ahead[1], ahead[0]]) / 100
            for point in points:
                yield point + aside
                yield point - aside
