"""The gap under a straightedge, as far as shots can tell it, and where to lay the board."""

from __future__ import annotations

import numpy as np
import shapely
from msgspec import Struct
from numpy.typing import NDArray

from grading.asbuilt.layers import Status
from grading.geometry.arrays import Floats
from grading.geometry.tin import Tin
from grading.geometry.tolerances import ROUNDING, TOUCH
from grading.geometry.triangulation import triangulate
from grading.units import FOOT, Unit

BOARD: dict[Unit, float] = {"ft": 10 * FOOT, "m": 3.0}
"""How long the straightedge of a crew is. [m]"""

CLOSE = 2 * FOOT
"""Shots no farther apart than this show a dip as wide as a pace: of dips of 1/2 in and 2 ft radius
97 of 100 were seen with shots so close, 45 with shots 3 ft apart. [m]"""

PLACES = 3
"""Where the board is to be laid, at the most."""

_LINES = 0.4  # m between the profiles that are looked along
_TURNS = np.radians([0.0, 45.0, 90.0, 135.0])
_SAME_PLACE = 6  # decimals of a metre: shots nearer to each other are of one place
_GAP_SD = 1.5**0.5  # of a gap, over that of one shot: the middle less the mean of two ends
_APART = 1.0  # m: places to lay the board are no nearer than this


class Straightedge(Struct, frozen=True, eq=False):
    """What shots tell of flatness.

    Attributes
    ----------
    gap : float or None
        The largest gap under the straightedge that they show; None with fewer than three. [m]
    at : (2,) float or None
        Where it is. [m]
    limit, sd : float
        The gap that is allowed, and the standard deviation of the one found. [m]
    apart : float
        How far shots lie apart, where that is most: the side of a square of them with as large
        an empty middle. [m]
    verdict : "pass", "fail" or "unknown"
    places : tuple of (2,) float
        Where the board is to be laid, the worst first; none where the shots tell enough. [m]
    long : float
        Of the board. [m]
    """

    gap: float | None
    at: Floats | None
    limit: float
    sd: float
    apart: float
    verdict: Status
    places: tuple[Floats, ...]
    long: float


def straightedge(
    off: Floats, outline: shapely.Polygon, limit: float, sd: float, long: float = BOARD["ft"]
) -> Straightedge:
    """Return what shots tell of the gap under a straightedge.

    Parameters
    ----------
    off : (n, 3) float
        Place of each shot, and how far it is above the design there: along a fold of the design
        a board is not laid. [m]
    outline : shapely polygon
        Of the paving. [m]
    limit, sd : float
        The gap allowed, and the standard deviation of one shot. [m]
    long : float
        Of the straightedge. [m]
    """
    spread = sd * _GAP_SD
    off = _once(off)
    if len(off) < 3 or _flat(off[:, :2]):
        middle = np.asarray(outline.representative_point().coords[0])
        return Straightedge(None, None, limit, spread, np.inf, "unknown", (middle,), long)
    corners = triangulate(off[:, :2]).corners
    tin = Tin(off, corners)
    gap, at = 0.0, None
    for line in _profiles(outline):
        found, where = _gap_along(tin.section(line), line, long)
        if found > gap:
            gap, at = found, where
    apart, hollow = _emptiest(off[:, :2], corners, outline)
    verdict: Status = "unknown"
    if gap > limit + 2 * spread:
        verdict = "fail"
    elif apart <= CLOSE and gap <= limit:
        verdict = "pass"
    places: list[Floats] = []
    if verdict != "pass":
        for place in ([] if at is None else [at]) + hollow:
            if all(np.hypot(*(place - other)) >= _APART for other in places):
                places.append(place)
    return Straightedge(gap, at, limit, spread, apart, verdict, tuple(places[:PLACES]), long)


def _once(off: Floats) -> Floats:
    """Return shots with those at one place as one, in the middle of what they read."""
    rounded = np.round(off[:, :2], _SAME_PLACE)
    _, first, member = np.unique(rounded, axis=0, return_index=True, return_inverse=True)
    if len(first) == len(off):
        return off
    middle = np.bincount(member.ravel(), off[:, 2]) / np.bincount(member.ravel())
    return np.column_stack([off[first, :2], middle])


def _flat(xy: Floats) -> bool:
    """Whether points lie all but on one line."""
    return bool(np.linalg.svd(xy - xy.mean(axis=0), compute_uv=False)[-1] < 0.05)


def _profiles(outline: shapely.Polygon) -> list[Floats]:
    """Return the lines across the paving that a straightedge is laid along, four ways."""
    found = []
    middle = np.asarray(outline.centroid.coords[0])
    reach = float(np.hypot(*(np.array(outline.bounds[2:]) - outline.bounds[:2]))) / 2 + _LINES
    for turn in _TURNS:
        way = np.array([np.cos(turn), np.sin(turn)])
        aside = np.array([-way[1], way[0]])
        for step in np.arange(-np.floor(reach / _LINES), reach / _LINES + 1):
            start = middle + aside * step * _LINES
            line = shapely.LineString([start - way * reach, start + way * reach])
            for part in shapely.get_parts(shapely.intersection(line, outline)):
                if part.length > _LINES:
                    found.append(np.asarray(part.coords))
    return found


def _gap_along(profile: Floats, line: Floats, long: float) -> tuple[float, Floats | None]:
    """Return the largest gap under the straightedge on one profile, and where it is."""
    known = profile[np.isfinite(profile).all(axis=1)]
    if len(known) < 3:
        return 0.0, None
    best, at = 0.0, None
    way = (line[1] - line[0]) / np.hypot(*(line[1] - line[0]))
    for first in range(len(known) - 2):
        last = int(np.searchsorted(known[:, 0], known[first, 0] + long + ROUNDING))
        part = known[first:last]
        # A straightedge that ends between two vertices rests on the line between them.
        if last < len(known) and len(part):
            end = part[0, 0] + long
            z = np.interp(end, known[:, 0], known[:, 1])
            part = np.vstack([part, (end, z)])
        if len(part) < 3:
            continue
        gaps = _hull(part) - part[:, 1]
        worst = int(gaps.argmax())
        if gaps[worst] > best:
            best, at = float(gaps[worst]), line[0] + way * part[worst, 0]
    return best, at


def _hull(profile: Floats) -> Floats:
    """Return the upper hull of a profile (n, 2) at its own places, (n,)."""
    kept: list[int] = []
    for k, (s, z) in enumerate(profile):
        while len(kept) > 1:
            (s0, z0), (s1, z1) = profile[kept[-2]], profile[kept[-1]]
            if (z1 - z0) * (s - s0) > (z - z0) * (s1 - s0):
                break
            kept.pop()
        kept.append(k)
    return np.asarray(np.interp(profile[:, 0], *profile[kept].T))


def _emptiest(
    xy: Floats, corners: NDArray[np.int64], outline: shapely.Polygon
) -> tuple[float, list[Floats]]:
    """Return how far apart shots lie at the most, and the middles of the largest empty circles.

    A place of the paving that is farthest from every shot is the centre of a triangle's circle,
    or a corner of the outline.
    """
    a, b, c = (xy[corners[:, k]] for k in range(3))
    ab, ac = b - a, c - a
    twice = 2 * (ab[:, 0] * ac[:, 1] - ab[:, 1] * ac[:, 0])
    lb, lc = (ab**2).sum(axis=1), (ac**2).sum(axis=1)
    with np.errstate(divide="ignore", invalid="ignore"):
        ux = (ac[:, 1] * lb - ab[:, 1] * lc) / twice
        uy = (ab[:, 0] * lc - ac[:, 0] * lb) / twice
    centres = np.vstack([a + np.column_stack([ux, uy]), np.asarray(outline.exterior.coords)[:-1]])
    inside = np.isfinite(centres).all(axis=1)
    centres = centres[inside]
    centres = centres[shapely.distance(outline, shapely.points(centres)) < TOUCH]
    # Shots are held to a rim where the outermost of them stand: a corner has one beside it.
    away = np.hypot(*(centres[:, None] - xy[None]).transpose(2, 0, 1)).min(axis=1)
    order = np.argsort(-away, kind="stable")
    # The middle of a square of four shots is its side over the root of two from each.
    return 2**0.5 * float(away.max(initial=0.0)), [centres[k] for k in order]
