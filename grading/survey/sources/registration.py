"""A scan brought onto the axes of the site by points that were shot and seen in it."""

from __future__ import annotations

import math
from collections.abc import Sequence
from itertools import combinations

import numpy as np
import shapely
from msgspec import Struct

from grading.errors import Problem, SiteError
from grading.geometry.arrays import Floats
from grading.units import FOOT, Unit, length

LEAST = 3
"""Common points: two leave a place that was mistaken unseen."""
LEAST_APART = 1.0
"""The two farthest apart are at least so far from each other: nearer ones turn the scan by what
they were misread. [m] Common practice, no source."""
AGREE = 0.1
"""A common point that lies farther from where the others put it is not the same point. [m] Common
practice, no source: phones find a mark within an inch or two."""
USUAL = 0.01
"""Standard deviation of a common point along each axis before it is measured. [m] Common
practice, no source."""
USUAL_WORTH = 4
"""How many residuals that guess counts for beside the measured ones."""
TILT = math.radians(0.5)
"""How far a phone may have been from true gravity. Common practice, no source."""


class Common(Struct, frozen=True, eq=False):
    """Points known on the site and in the scan.

    names : (n,) str
    site, scan : (n, 3) float. [m]
    """

    names: tuple[str, ...]
    site: Floats
    scan: Floats


class Registration(Struct, frozen=True, eq=False):
    """The turn and shift that lay a scan onto the site: site = turn @ scan + shift.

    Attributes
    ----------
    common : Common
    turn : (3, 3) float
        A rotation: about the vertical alone where `unknowns` is 4, any where it is 6.
    shift : (3,) float
        [m]
    unknowns : int
    residuals : (n, 3) float
        Where the scan puts each common point, less where it was shot. [m]
    alone : (n,) float
        How far each lies from where the others put it; NaN where these are too few. [m]
    sd_z, sd_xy : float
        Standard deviation of a common point upward, and along either axis of the plan. [m]
    """

    common: Common
    turn: Floats
    shift: Floats
    unknowns: int
    residuals: Floats
    alone: Floats
    sd_z: float
    sd_xy: float

    def z_sd(self, xy: Floats) -> Floats:
        """Return the standard deviation of the elevation that the scan is brought to.

        Parameters
        ----------
        xy : (k, 2) float
            Places on the site. [m]

        Returns
        -------
        (k,) float
            With 4 unknowns that of the mean of the common points, the tilt taken as true; with 6
            that of a plane through them. [m]
        """
        xy = np.asarray(xy, float).reshape(-1, 2)
        count = len(self.common.site)
        if self.unknowns == 4:
            return np.full(len(xy), self.sd_z / math.sqrt(count))
        middle = self.common.site[:, :2].mean(axis=0)
        rows = np.column_stack((np.ones(count), self.common.site[:, :2] - middle))
        asked = np.column_stack((np.ones(len(xy)), xy - middle))
        inverse = np.linalg.pinv(rows.T @ rows)
        sd: Floats = self.sd_z * np.sqrt(np.einsum("ij,jk,ik->i", asked, inverse, asked))
        return sd

    def xy_sd(self, xy: Floats) -> Floats:
        """Return the standard deviation of the place along either axis (k,) at (k, 2). [m]"""
        local = self.common.site[:, :2] - self.common.site[:, :2].mean(axis=0)
        away = np.asarray(xy, float).reshape(-1, 2) - self.common.site[:, :2].mean(axis=0)
        share = 1 / len(local) + (away**2).sum(axis=1) / (2 * (local**2).sum())
        sd: Floats = self.sd_xy * np.sqrt(share)
        return sd

    def far(self, corners: Floats) -> tuple[Floats, float]:
        """Return which of corners (k, 2) is farthest from the common points, and how far. [m]"""
        away = np.hypot(*(corners - self.common.site[:, :2].mean(axis=0)).T)
        return corners[int(away.argmax())], float(away.max())


def register(common: Common, paving: Floats, unit: Unit, shown: str) -> Registration:
    """Return how a scan lies on the site.

    Parameters
    ----------
    common : Common
    paving : (k, 2) float
        Corners of what is planned; none where nothing is. [m]
    unit : "ft" or "m"
        That of messages.
    shown : str
        The file of the common points in messages.

    Raises
    ------
    SiteError
        They are fewer than LEAST, too near each other, or do not agree.

    Notes
    -----
    Four unknowns: a turn about the vertical and a shift, the best in the sense of least squares
    in closed form; the tilt stays that of gravity, as the scanner felt it. Points along a wall
    fix the tilt so poorly that a corner out in the yard would be off by decimetres. It is
    estimated too (Kabsch 1976) where the common points surround the paving.
    """
    _check_spread(common, unit, shown)
    unknowns = 6 if _surrounded(common, paving) else 4
    turn, shift = _fit(common.scan, common.site, unknowns)
    residuals = common.scan @ turn.T + shift - common.site
    if np.hypot.reduce(residuals, axis=1).max() > AGREE:
        raise SiteError([_disagreement(common, residuals, unit, shown)])
    count = len(common.site)
    alone = np.full(count, math.nan)
    if count > LEAST:
        alone = np.array([_alone(common, place, unknowns) for place in range(count)])
    squares = (residuals**2).sum(axis=0)
    tilts = unknowns - 4
    return Registration(
        common, turn, shift, unknowns, residuals, alone,
        sd_z=_sd(float(squares[2]), count - 1 - tilts),
        sd_xy=_sd(float(squares[:2].sum()), 2 * count - 3),
    )  # fmt: skip


def _sd(squares: float, free: int) -> float:
    """Return a standard deviation from few residuals, with what is usual as so many more."""
    return math.sqrt((squares + USUAL_WORTH * USUAL**2) / (max(free, 0) + USUAL_WORTH))


def _fit(scan: Floats, site: Floats, unknowns: int) -> tuple[Floats, Floats]:
    """Return turn (3, 3) and shift (3,) of the least squares."""
    middle, onto = scan.mean(axis=0), site.mean(axis=0)
    from_, to = scan - middle, site - onto
    if unknowns == 4:
        along = float((from_[:, :2] * to[:, :2]).sum())
        across = float((from_[:, 0] * to[:, 1] - from_[:, 1] * to[:, 0]).sum())
        yaw = math.atan2(across, along)
        cosine, sine = math.cos(yaw), math.sin(yaw)
        turn = np.array([[cosine, -sine, 0.0], [sine, cosine, 0.0], [0.0, 0.0, 1.0]])
    else:
        left, _, right = np.linalg.svd(from_.T @ to)
        mirror = np.diag([1.0, 1.0, np.sign(np.linalg.det(left @ right))])
        turn = right.T @ mirror @ left.T
    return turn, onto - turn @ middle


def _surrounded(common: Common, paving: Floats) -> bool:
    """Return whether the paving lies within the common points, a step beside them allowed."""
    if len(common.site) <= LEAST or not len(paving):
        return False
    hull = shapely.MultiPoint(common.site[:, :2]).convex_hull
    return bool(hull.buffer(LEAST_APART).covers(shapely.MultiPoint(paving)))


def _alone(common: Common, place: int, unknowns: int) -> float:
    """Return how far a common point lies from where the others put it. [m]"""
    rest = np.arange(len(common.site)) != place
    if rest.sum() <= LEAST:
        unknowns = 4
    turn, shift = _fit(common.scan[rest], common.site[rest], unknowns)
    return float(np.linalg.norm(turn @ common.scan[place] + shift - common.site[place]))


def _worst(common: Common, scan: Floats, rest: Sequence[int]) -> float:
    """Return how far the worst of some common points is off when these alone are fitted. [m]"""
    which = list(rest)
    turn, shift = _fit(scan[which], common.site[which], 4)
    off = scan[which] @ turn.T + shift - common.site[which]
    return float(np.linalg.norm(off, axis=1).max())


def _check_spread(common: Common, unit: Unit, shown: str) -> None:
    count = len(common.site)
    if count < LEAST:
        found = f"{count} common point{'s' if count != 1 else ''}"
        mend = "Shoot another mark that is seen in the scan."
        raise SiteError([Problem(shown, found, f"at least {LEAST}", mend)])
    for which, xyz in (("on the site", common.site), ("in the scan", common.scan)):
        apart = xyz[:, None, :2] - xyz[None, :, :2]
        widest = float(np.hypot(apart[..., 0], apart[..., 1]).max())
        if widest < LEAST_APART:
            found = f"common points within {length(widest, unit)} of each other {which}"
            mend = "Take points at the ends of the house and out in the yard."
            expected = f"at least {length(LEAST_APART, unit)} from the first to the last"
            raise SiteError([Problem(shown, found, expected, mend)])


def _disagreement(common: Common, residuals: Floats, unit: Unit, shown: str) -> Problem:
    """Return the sentence on common points that are not the same points."""
    names = [f'"{name}"' for name in common.names]
    every = range(len(names))
    off = np.linalg.norm(residuals, axis=1)
    found = f"common points that disagree by up to {length(float(off.max()), unit)}"
    expected = f"points that agree within {length(AGREE, unit)}"
    if (factor := _scale(common)) is not None:
        mend = (
            f"Distances on the site are {factor:.4g} times those in the scan: look at the units "
            "of the scan, and give --units."
        )
        return Problem(shown, found, expected, mend)
    turned = np.column_stack((common.scan[:, 0], -common.scan[:, 2], common.scan[:, 1]))
    if _worst(common, turned, every) <= AGREE:
        mend = "They agree where y points up in the scan: give --up y."
        return Problem(shown, found, expected, mend)
    swaps = []
    for one, other in combinations(every, 2):
        swapped = common.scan.copy()
        swapped[[one, other]] = swapped[[other, one]]
        if _worst(common, swapped, every) <= AGREE:
            swaps.append(f"{names[one]} and {names[other]}")
    if len(names) > LEAST and len(swaps) == 1:
        mend = f"They agree with {swaps[0]} exchanged: pair them anew."
        return Problem(shown, found, expected, mend)
    left = [
        place
        for place in every
        if len(names) > LEAST
        and _worst(common, common.scan, [other for other in every if other != place]) <= AGREE / 2
    ]
    if len(left) == 1:
        away = length(_alone(common, left[0], 4), unit)
        mend = f"{names[left[0]]} lies {away} from where the others put it: pair it anew."
    elif left:
        mend = f"One of {', '.join(names[place] for place in left)} is paired wrongly."
    elif len(names) == LEAST:
        mend = f"One of {', '.join(names)} is paired wrongly; a fourth point would tell which."
    else:
        mend = "More than one is paired wrongly: pair them anew, one at a time."
    return Problem(shown, found, expected, mend)


def _scale(common: Common) -> float | None:
    """Return how many times the distances of the scan those of the site are, where that is feet
    read as metres, or the other way round; else None."""
    spans = [
        np.linalg.norm(xyz - xyz.mean(axis=0), axis=1).sum() for xyz in (common.site, common.scan)
    ]
    factor = float(spans[0] / spans[1])
    return factor if min(abs(factor / FOOT - 1), abs(factor * FOOT - 1)) < 0.05 else None
