"""The free edge of paving: the stretches that nothing lies along.

There is one definition, for what is ordered, checked and drawn. An edge is held where a wall,
other paving or what is met runs along it; a side that runs away from the end of a wall is free
from its corner on.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from itertools import pairwise

import numpy as np
import shapely

from grading.geometry.arrays import Floats, distances_along
from grading.geometry.outline import joined
from grading.geometry.tolerances import NOTHING, TOUCH
from grading.units import INCH

BESIDE = 2 * INCH
"""What runs along an edge nearer than this holds it: common practice, no source. [m]"""

SHORTEST_RUN = 6 * INCH
"""What is left between two corners takes no edge restraint: common practice, no source. [m]"""

_ASKEW = math.sin(math.radians(15.0))  # lines that part by more than this do not run together


def free_edges(
    paving: shapely.Polygon,
    lines: Iterable[shapely.Geometry],
    bodies: Sequence[shapely.Geometry] = (),
) -> tuple[shapely.LineString, ...]:
    """Return the edges of paving that nothing holds.

    Parameters
    ----------
    paving : shapely polygon
        [m]
    lines : iterable of shapely geometry
        Lines that hold what they run along: walls, edges of other paving, of what is met. [m]
    bodies : sequence of shapely polygon
        What holds an edge that lies in it: the house, other paving. [m]

    Returns
    -------
    tuple of shapely line
        Each at least `SHORTEST_RUN` long, counter-clockwise about the paving, its left; round a
        hole clockwise. One that closes on itself is a whole ring. [m]
    """
    held = _segments(lines)
    body = shapely.union_all(list(bodies))
    turned = shapely.geometry.polygon.orient(paving)
    found: list[shapely.LineString] = []
    for ring in (turned.exterior, *turned.interiors):
        points = shapely.get_coordinates(ring)
        stretches = joined([*_along(points, held), *_inside(points, body)])
        found += _free(points, [one for one in stretches if one[1] - one[0] > BESIDE])
    return tuple(found)


def _segments(lines: Iterable[shapely.Geometry]) -> Floats:
    """Return the straight parts of lines, (m, 2, 2). [m]"""
    chains = [shapely.get_coordinates(part) for part in shapely.get_parts(list(lines))]
    pairs = [np.stack([chain[:-1], chain[1:]], axis=1) for chain in chains if len(chain) > 1]
    return np.concatenate(pairs) if pairs else np.zeros((0, 2, 2))


def _measured(points: Floats) -> tuple[Floats, Floats, Floats]:
    """Return the directions (n, 2), lengths (n,) and starts (n,) of a ring's sides. [m]"""
    sides = np.diff(points, axis=0)
    long = np.hypot(*sides.T)
    return sides / np.maximum(long, NOTHING)[:, None], long, np.append(0.0, long.cumsum())[:-1]


def _along(points: Floats, held: Floats) -> list[tuple[float, float]]:
    """Return the stretches [m, m] of a ring that segments (m, 2, 2) run along, where they do."""
    if not len(held):
        return []
    ahead, long, start = _measured(points)
    to = held[None] - points[:-1, None, None]  # (n, m, 2, 2)
    t = np.einsum("nmkx,nx->nmk", to, ahead)
    h = to[..., 1] * ahead[:, None, None, 0] - to[..., 0] * ahead[:, None, None, 1]
    over = np.hypot(*(held[:, 1] - held[:, 0]).T)
    rise, run = h[..., 1] - h[..., 0], t[..., 1] - t[..., 0]
    together = np.abs(rise) <= _ASKEW * over
    low = np.maximum(t.min(axis=2), 0.0)
    high = np.minimum(t.max(axis=2), long[:, None])
    # Where the other line is no farther aside than it may be: linear along the side.
    with np.errstate(divide="ignore", invalid="ignore"):
        ends = t[..., :1] + (np.array([-BESIDE, BESIDE]) - h[..., :1]) * (run / rise)[..., None]
    sloped = np.abs(rise) > TOUCH
    near = np.abs(h[..., 0]) <= BESIDE
    low = np.where(sloped, np.fmax(low, ends.min(axis=2)), low)
    high = np.where(sloped, np.fmin(high, ends.max(axis=2)), high)
    side, other = np.nonzero(together & (sloped | near) & (high - low > TOUCH))
    begin = start[side]
    return list(
        zip((begin + low[side, other]).tolist(), (begin + high[side, other]).tolist(), strict=True)
    )


def _inside(points: Floats, body: shapely.Geometry) -> list[tuple[float, float]]:
    """Return the stretches [m, m] of a ring that lie in a body."""
    if shapely.is_empty(body):
        return []
    ahead, _, start = _measured(points)
    sides = shapely.linestrings(np.stack([points[:-1], points[1:]], axis=1))
    parts, owner = shapely.get_parts(shapely.intersection(sides, body), return_index=True)
    found = []
    for part, k in zip(parts, owner.tolist(), strict=True):
        if shapely.length(part) > TOUCH:
            t = (shapely.get_coordinates(part) - points[k]) @ ahead[k]
            found.append((float(start[k] + t.min()), float(start[k] + t.max())))
    return found


def _free(points: Floats, held: Sequence[tuple[float, float]]) -> list[shapely.LineString]:
    """Return what a ring has between the stretches that are held, over its start and end too."""
    line = shapely.LineString(points)
    if not held:
        return [line]
    gaps = [(a[1], b[0]) for a, b in pairwise(held)]
    gaps.append((held[-1][1], held[0][0] + line.length))
    return [stretch(points, low, high) for low, high in gaps if high - low >= SHORTEST_RUN - TOUCH]


def stretch(points: Floats, low: float, high: float) -> shapely.LineString:
    """Return a stretch of a line, over its end to its start again where it is a ring.

    Parameters
    ----------
    points : (k, 2) float
        [m]
    low, high : float
        Distances from its start; beyond its length they go round again. [m]
    """
    line = shapely.LineString(points)
    along = distances_along(points)
    twice = np.concatenate([along, along[1:] + along[-1]])
    corners = np.concatenate([points, points[1:]])
    inner = corners[(twice > low + TOUCH) & (twice < high - TOUCH)]
    whole = line.length
    ends = [
        shapely.get_coordinates(line.interpolate(at - whole if at > whole + TOUCH else at))
        for at in (low, high)
    ]
    return shapely.LineString(np.vstack([ends[0], inner, ends[1]]))
