"""The strip of lawn beside the paving that is regraded until it meets the ground.

From the free edge of the paving the lawn leaves at a slope, down where the ground lies lower
and up where it lies higher, until it meets the ground: the daylight line. Each ray straight out
from the edge is followed on the exact ground; the strip's volume is the sum over rays.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Literal

import numpy as np
import shapely
from msgspec import Struct

from grading.geometry.arrays import Floats
from grading.geometry.facets import Surface
from grading.geometry.tolerances import FLAT, TOUCH
from grading.ground.model import Ground
from grading.units import FOOT, INCH

Edge = Literal["flush", "bevelled", "stepped"]

SPACING = 0.1
"""Rays along the edge. [m]"""

FARTHEST = 10 * FOOT
"""How far the lawn is regraded at the most; beyond that the slope never meets the ground. [m]"""

# Common practice, no source: lawn is mowed at 3:1 at the steepest, and falls 5 % off paving.
SLOPES: dict[Edge, float] = {"flush": 0.05, "bevelled": 1 / 3, "stepped": 0.0}
_TURN = np.radians(10)


class TieIn(Struct, frozen=True):
    """The lawn regraded along the free edges of an area.

    Attributes
    ----------
    edge : str
    slope : float
        At which the lawn leaves the paving. [ratio]
    cut, fill : float
        Of the strip, each positive. [m3]
    area : float
        Plan area regraded. [m2]
    widest : float
        From the paving to where it meets the ground. [m]
    open : float
        Length of edge from which the slope does not meet the ground within reach. [m]
    reveal : (float, float)
        Least and greatest height of the paving above the lawn as it lies, at the edge. [m]
    outline : shapely geometry
        The strip in plan. [m]
    """

    edge: Edge
    slope: float
    cut: float
    fill: float
    area: float
    widest: float
    open: float
    reveal: tuple[float, float]
    outline: shapely.Geometry


class _Ray(Struct, frozen=True):
    """A ray out from the edge, and the width of edge or angle of fan that it stands for."""

    start: Floats
    way: Floats
    width: float
    turn: float


def _rays(paving: shapely.Polygon, kept: shapely.Geometry) -> list[_Ray]:
    """Return rays out from the edges of paving, but not into what is kept out."""
    rays = []
    ring = shapely.get_coordinates(shapely.geometry.polygon.orient(paving).exterior)
    edges = np.diff(ring, axis=0)
    lengths = np.hypot(*edges.T)
    along = edges / lengths[:, None]
    normals = np.column_stack([along[:, 1], -along[:, 0]])
    for start, way, length, normal in zip(ring[:-1], along, lengths, normals, strict=True):
        count = max(1, int(np.ceil(length / SPACING)))
        for share in (np.arange(count) + 0.5) / count:
            rays.append(_Ray(start + share * length * way, normal, length / count, 0.0))
    for number in range(len(normals)):
        before, after = normals[number - 1], normals[number]
        turn = float(np.arctan2(before[0] * after[1] - before[1] * after[0], before @ after))
        if turn <= FLAT:
            continue
        count = max(1, int(np.ceil(turn / _TURN)))
        first = np.arctan2(before[1], before[0])
        for share in (np.arange(count) + 0.5) / count:
            angle = first + share * turn
            way = np.array([np.cos(angle), np.sin(angle)])
            rays.append(_Ray(ring[number], way, 0.0, turn / count))
    probes = shapely.points([ray.start + 0.02 * ray.way for ray in rays])
    free = np.atleast_1d(~shapely.intersects(kept, probes))
    return [ray for ray, clear in zip(rays, free, strict=True) if clear]


def tie_in(
    paving: shapely.Polygon, finish: Surface, ground: Ground, kept_out: shapely.Geometry,
    edge: Edge = "flush", lip: float = INCH / 2, slope: float | None = None,
) -> TieIn:  # fmt: skip
    """Return the lawn regraded along the free edges of paving.

    Parameters
    ----------
    paving : shapely polygon
        [m]
    finish : Surface
    ground : Ground
        Existing.
    kept_out : shapely geometry
        The house and other paving: no lawn there. [m]
    edge : "flush", "bevelled" or "stepped"
        Stepped lawn stays as it lies.
    lip : float
        How far below the finish the lawn begins. [m]
    slope : float, optional
        At which it leaves; that of its kind of edge by default. [ratio]
    """
    leaves = SLOPES[edge] if slope is None else slope
    rays = _rays(paving, kept_out)
    starts = np.array([ray.start for ray in rays]).reshape(-1, 2)
    levels, lawn = finish.at(starts), ground.elevation(starts)
    heights = (levels - lawn)[np.isfinite(lawn)]
    reveal = (float(heights.min()), float(heights.max())) if len(heights) else (0.0, 0.0)
    if edge == "stepped":
        return TieIn(edge, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, reveal, shapely.Polygon())
    cut = fill = area = widest = left_open = 0.0
    strips = []
    profiles = ground.sections(
        [np.array([ray.start, ray.start + FARTHEST * ray.way]) for ray in rays]
    )
    for ray, level, here, profile in zip(rays, levels - lip, lawn, profiles, strict=True):
        if not np.isfinite(here):
            left_open += ray.width
            continue
        reach, above, below, closed = _along(profile, level, here, leaves, ray)
        cut, fill = cut + above, fill + below
        area += float(ray.width * reach + ray.turn * reach**2 / 2)
        widest = max(widest, reach)
        left_open += 0.0 if closed else ray.width
        strips.append(shapely.LineString([ray.start, ray.start + max(reach, TOUCH) * ray.way]))
    outline = shapely.union_all(
        [strip.buffer(SPACING, cap_style="flat") for strip in strips]
    ).difference(paving)
    return TieIn(edge, leaves, cut, fill, area, widest, left_open, reveal, outline)


def _along(
    profile: Floats, level: float, lawn: float, slope: float, ray: _Ray
) -> tuple[float, float, float, bool]:
    """Return how far a ray goes to daylight, its cut and fill [m3], and whether it got there.

    On each stretch of the profile the depth is linear along the ray, and in a fan the width
    grows with it, so Simpson's rule is exact.
    """
    down = level >= lawn
    way = -1.0 if down else 1.0
    distance, z = profile[np.isfinite(profile[:, 1])].T
    depth = z - (level + way * slope * distance)
    crossed = np.flatnonzero((depth >= 0) if down else (depth <= 0))
    closed = len(crossed) > 0
    if closed:
        last = int(crossed[0])
        if last == 0:
            return 0.0, 0.0, 0.0, True
        share = depth[last - 1] / (depth[last - 1] - depth[last])
        end = distance[last - 1] + share * (distance[last] - distance[last - 1])
        distance, depth = np.append(distance[:last], end), np.append(depth[:last], 0.0)
    middle = (distance[:-1] + distance[1:]) / 2
    mean = (depth[:-1] + depth[1:]) / 2

    def wide(at: Floats) -> Floats:
        return ray.width + ray.turn * at

    parts = (
        np.diff(distance)
        / 6
        * (
            depth[:-1] * wide(distance[:-1])
            + 4 * mean * wide(middle)
            + depth[1:] * wide(distance[1:])
        )
    )
    volume = float(parts.sum())
    return float(distance[-1]), max(volume, 0.0), max(-volume, 0.0), closed


Level = Callable[[Floats], Floats]
"""Of points (k, 2) the levels (k,). [m]"""


def lawn_level(
    tie: TieIn, paving: shapely.Polygon, finish: Surface, ground: Ground, lip: float
) -> Level:
    """Return the level of the regraded lawn at points (k, 2), the ground's where it is not. [m]

    Parameters
    ----------
    tie : TieIn
    paving : shapely polygon
    finish : Surface
    ground : Ground
    lip : float
        How far below the finish the lawn begins. [m]
    """

    def level(xy: Floats) -> Floats:
        points = shapely.points(xy)
        nearest = shapely.get_coordinates(shapely.shortest_line(paving, points))[::2]
        edge, lawn = finish.at(nearest) - lip, ground.elevation(nearest)
        away = tie.slope * np.asarray(shapely.distance(paving, points))
        here = ground.elevation(xy)
        down = edge >= lawn
        return np.where(down, np.fmax(edge - away, here), np.fmin(edge + away, here))

    return level
