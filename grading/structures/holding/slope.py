"""A slope of soil and grass along a raised edge: where its toe comes out, and what fills it."""

from __future__ import annotations

from collections.abc import Iterator
from functools import cached_property, lru_cache

import numpy as np
import shapely
from msgspec import Struct

from grading.dig.edge_runs import EdgeRun
from grading.geometry.arrays import Floats, Region, polygons
from grading.geometry.grids import cells_in
from grading.geometry.tolerances import SLIVER, TOUCH
from grading.ground.model import Ground
from grading.units import FOOT

REACH = 20 * FOOT
"""A slope that comes out no nearer than this does not come out. [m]"""

_EVERY = 0.05  # m: how often the ground is looked at on the way out
_CELL = 0.04  # m: of the grid that the fill is reckoned on
_FAN = np.radians(15.0)  # round a corner its ways out part by no more


class Slope(Struct, frozen=True, eq=False, dict=True):
    """A slope along a raised edge.

    Attributes
    ----------
    line : shapely line
        The edge, its paving on the left. [m]
    starts, toes : (k, 2) float
        Where it was followed out from, and where it comes out of the ground; NaN where it does
        not within `REACH`. [m]
    levels, ends : (k,) float
        Of the slope there. [m]
    shoulder, steep : float
        How wide it is level, and how steep it falls beyond. [m, ratio]
    lip : float
        How far below the finish it begins. [m]
    run : EdgeRun
        The edge that it is a stretch of.
    existing : Ground
    """

    line: shapely.LineString
    starts: Floats
    toes: Floats
    levels: Floats
    ends: Floats
    shoulder: float
    steep: float
    lip: float
    run: EdgeRun
    existing: Ground

    @cached_property
    def fill(self) -> float:
        """What stands over the ground as it lies, on the hole of the paving too. [m3]"""
        return self.earth(self.region, self.existing, 0.0).filled

    def earth(self, where: shapely.Geometry, ground: Ground, turf: float) -> SlopeEarth:
        """Return what is stripped for it and placed in it within a region, on a grid.

        Parameters
        ----------
        where : shapely geometry
            Of the slope's own. [m]
        ground : Ground
            Existing; what is stripped of it is its topsoil, and none where it was given none.
        turf : float
            How deep topsoil lies under its grass. [m]
        """
        cells, cell = cells_in(where, _CELL)
        high = np.nan_to_num(self.level(cells) - ground.elevation(cells))
        organics = np.nan_to_num(ground.organics_at(cells)) if turf else np.zeros(len(cells))
        high, organics = high[high > 0], organics[high > 0]
        filled = high + organics
        return SlopeEarth(
            *(float(each.sum()) * cell for each in (organics, filled, np.minimum(filled, turf)))
        )

    @property
    def comes_out(self) -> bool:
        """Whether it comes out of the ground everywhere."""
        return bool(np.isfinite(self.toes).all())

    @property
    def widest(self) -> float:
        """How far out its toe lies at the most. [m]"""
        gone = np.hypot(*(self.toes - self.starts).T)
        return float(np.nanmax(gone)) if np.isfinite(gone).any() else 0.0

    @cached_property
    def region(self) -> Region:
        """What it covers, in plan. [m]"""
        known = np.isfinite(self.toes).all(axis=1)
        a, b, toes = self.starts[known], self.starts[known], self.toes[known]
        quads = [
            shapely.MultiPoint(np.vstack([a[k], b[k + 1], toes[k + 1], toes[k]])).convex_hull
            for k in range(len(a) - 1)
        ]
        shape = shapely.union_all([each for each in quads if each.area > SLIVER])
        return polygons(shape, 0.0)

    def level(self, points: Floats) -> Floats:
        """Return its surface at points (k, 2), carried on beyond its toe. [m]"""
        at = shapely.points(points)
        away = shapely.distance(self.line, at)
        near = shapely.line_locate_point(shapely.LineString(self.run.points), at)
        finish = np.interp(near, self.run.along, self.run.finish)
        down = self.steep * np.maximum(away - self.shoulder, 0.0)
        return np.asarray(finish - self.lip - down, float)

    @property
    def grass(self) -> float:
        """Area of grass on it: along the slope, not in plan. [m2]"""
        return float(self.region.area) * float(np.hypot(1.0, self.steep))


class SlopeEarth(Struct, frozen=True):
    """Earth moved for a slope: topsoil stripped under it, soil placed in it, topsoil on top. [m3]

    `filled` is all that is placed, `turfed` of it the topsoil under its grass.
    """

    stripped: float
    filled: float
    turfed: float


@lru_cache(maxsize=64)
def slope_along(
    run: EdgeRun, low: float, high: float, ground: Ground, allowed: tuple[float, float], lip: float
) -> Slope:
    """Return the slope along a stretch of edge.

    Parameters
    ----------
    run : EdgeRun
        Its paving on the left.
    low, high : float
        The stretch. [m]
    ground : Ground
        Existing.
    allowed : (float, float)
        How steep it may be [ratio], and how wide its shoulder is [m].
    lip : float
        How far below the finish it begins. [m]
    """
    steep, shoulder = allowed
    line = run.part(low, high)
    starts, ways, finish = _ways(run, line, low)
    far = np.arange(0.0, REACH + _EVERY, _EVERY)
    points = starts[:, None] + far[None, :, None] * ways[:, None]
    there = ground.elevation(points.reshape(-1, 2)).reshape(len(starts), len(far))
    level = (finish - lip)[:, None] - steep * np.maximum(far - shoulder, 0.0)[None]
    below = level - there  # how high the slope stands over the ground
    gone = np.full(len(starts), np.nan)
    for k, row in enumerate(below):
        under = np.flatnonzero(~(row > 0))
        if len(under) and np.isfinite(row[under[0]]):
            n = int(under[0])
            share = 0.0 if n == 0 else row[n - 1] / (row[n - 1] - row[n])
            gone[k] = far[n] - (1 - share) * _EVERY if n else 0.0
    toes = starts + gone[:, None] * ways
    ends = finish - lip - steep * np.maximum(gone - shoulder, 0.0)
    return Slope(line, starts, toes, finish - lip, ends, shoulder, steep, lip, run, ground)


def _ways(run: EdgeRun, line: shapely.LineString, low: float) -> tuple[Floats, Floats, Floats]:
    """Return starts (k, 2) [m], unit ways out (k, 2), and the finish there (k,) [m]."""
    points = shapely.get_coordinates(shapely.segmentize(line, FOOT / 2))
    sides = np.diff(points, axis=0)
    long = np.hypot(*sides.T)
    kept = long > TOUCH
    points, sides, long = np.vstack([points[:-1][kept], points[-1]]), sides[kept], long[kept]
    ahead = sides / long[:, None]
    out = np.column_stack([ahead[:, 1], -ahead[:, 0]])
    turns = np.arctan2(out[:, 1], out[:, 0])
    along = np.append(0.0, long.cumsum())
    starts: list[Floats] = []
    angles: list[float] = []
    at: list[float] = []
    for k in range(len(points)):
        before, after = turns[max(k - 1, 0)], turns[min(k, len(turns) - 1)]
        bend = float((after - before + np.pi) % (2 * np.pi) - np.pi)
        count = max(int(np.ceil(abs(bend) / _FAN)), 1) if bend > 0 else 0
        for n in range(count + 1):
            starts.append(points[k])
            angles.append(before + (bend * n / count if count else bend / 2))
            at.append(float(along[k]))
            if not count:
                break
    there = low + np.array(at)
    there = np.where(there > run.length + TOUCH, there - run.length, there)
    finish = np.interp(there, run.along, run.finish)
    return np.array(starts), np.column_stack([np.cos(angles), np.sin(angles)]), finish


def bodies(slope: Slope) -> Iterator[tuple[shapely.Polygon, Floats]]:
    """Yield each strip of a slope between two ways out, and corners (3, 3) that lie on it. [m]

    First its level shoulder, then what falls beyond. A plane through them is its top.
    """
    starts, toes = slope.starts, slope.toes
    out = np.hypot(*(toes - starts).T)
    share = np.minimum(slope.shoulder / np.maximum(out, TOUCH), 1.0)[:, None]
    bends = starts + share * (toes - starts)
    for k in range(len(starts) - 1):
        if not np.isfinite(toes[k : k + 2]).all():
            continue
        for inner, outer, high, low in (
            (starts, bends, slope.levels, slope.levels),
            (bends, toes, slope.levels, slope.ends),
        ):
            corners = np.vstack([inner[k], inner[k + 1], outer[k + 1], outer[k]])
            strip = shapely.MultiPoint(corners).convex_hull
            if not isinstance(strip, shapely.Polygon) or strip.area <= SLIVER:
                continue
            tops = np.array([high[k], high[k + 1], low[k]])
            places = np.vstack([inner[k], inner[k + 1], outer[k]])
            if np.hypot(*(inner[k + 1] - inner[k])) < TOUCH:
                places[1], tops[1] = outer[k + 1], low[k + 1]
            yield strip, np.column_stack([places, tops])
