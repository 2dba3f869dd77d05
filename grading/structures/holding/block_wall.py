"""A wall of blocks along a raised edge: where it steps, how deep it is buried, how many courses.

Its caps are level, and never above the paving beside them, so that water leaves over them: where
the paving falls along the wall they step by a whole course, and what is left up to the finish is a
wedge of cut units. Its pad is dead level and steps by a whole course too.
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import cached_property, lru_cache

import numpy as np
import shapely
from msgspec import Struct

from grading.dig.edge_runs import EdgeRun
from grading.geometry.arrays import Floats, Region, distances_along, polygons
from grading.geometry.free_edges import stretch
from grading.geometry.tolerances import SAME, TOUCH, whole_down
from grading.structures.holding.wall_unit import WallUnit

_EVERY = 0.05  # m: how often the levels beside a wall are looked at
_TURN = np.radians(25.0)  # from here on a bend is a corner, and no curve
_PIECES = 2  # a pad that is shorter than so many units is no step of its own


class WallSegment(Struct, frozen=True, eq=False):
    """A stretch of wall with one pad and one level of caps.

    Attributes
    ----------
    low, high : float
        Where it begins and ends along the wall. [m]
    line : shapely line
        The edge of the paving that it holds, which is on its left. [m]
    cap, pad_top : float
        Levels of the top of its caps, and of its pad. [m]
    courses : int
        Under the caps.
    ground, finish : (least, greatest)
        Levels before its face and of the paving, along it. [m]
    shown : float
        How far the paving stands above the ground in front at the most. [m]
    """

    low: float
    high: float
    line: shapely.LineString
    cap: float
    pad_top: float
    courses: int
    ground: tuple[float, float]
    finish: tuple[float, float]
    shown: float

    @property
    def length(self) -> float:
        """[m]"""
        return self.high - self.low

    @property
    def bury(self) -> float:
        """How deep it stands in the ground in front at the least. [m]"""
        return self.ground[0] - self.pad_top

    @property
    def wedge(self) -> float:
        """How far the paving stands above the caps at the most, held by a wedge. [m]"""
        return self.finish[1] - self.cap


class BlockWall(Struct, frozen=True, eq=False, dict=True):
    """A wall of blocks that holds a raised edge.

    Attributes
    ----------
    name : str
    area : str
    line : shapely line
        The edge of the paving that it holds, which is on its left; distances along it are those
        of its segments. [m]
    closed : bool
        Whether it ends where it begins.
    unit : WallUnit
    segments : tuple of WallSegment
        From its left end on, as one stands on the paving.
    along : (k,) float
        Where its levels were looked at. [m]
    finish, ground : (k,) float
        There: of the paving, and before its face. [m]
    """

    name: str
    area: str
    line: shapely.LineString
    closed: bool
    unit: WallUnit
    segments: tuple[WallSegment, ...]
    along: Floats
    finish: Floats
    ground: Floats

    @property
    def length(self) -> float:
        """[m]"""
        return float(self.line.length)

    @property
    def shown(self) -> tuple[float, float]:
        """The least and the greatest height of the paving over the ground in front. [m]"""
        height = self.finish - self.ground
        return float(height.min()), float(height.max())

    @property
    def tallest(self) -> WallSegment:
        """The segment that shows most."""
        return max(self.segments, key=lambda each: each.shown)

    @property
    def total(self) -> float:
        """Its greatest height from the bottom of the pad to the finish. [m]"""
        return max(each.finish[1] - each.pad_top for each in self.segments) + self.unit.pad

    @property
    def ends(self) -> int:
        """How many free ends it has."""
        return 0 if self.closed else 2

    @cached_property
    def corners(self) -> tuple[tuple[float, int], ...]:
        """Where along it [m] it turns a corner, and whether outward (1) or inward (-1)."""
        return corners_of(self.line, self.closed)

    def at(self, along: float) -> WallSegment:
        """Return the segment at a distance along it [m]."""
        for each in self.segments:
            if along < each.high:
                return each
        return self.segments[-1]

    def outward(self, along: float) -> Floats:
        """Return the way its face looks at a distance along it, a unit vector (2,)."""
        a, b = (
            shapely.get_coordinates(self.line.interpolate(min(max(at, 0.0), self.length)))[0]
            for at in (along - _EVERY / 2, along + _EVERY / 2)
        )
        ahead = (b - a) / np.hypot(*(b - a))
        return np.array([ahead[1], -ahead[0]])

    def courses_of(self, segment: WallSegment) -> tuple[tuple[float, float, float], ...]:
        """Return each course of a segment from the lowest up: bottom, top, how far out. [m]

        How far the back of it stands outside the edge of the paving.
        """
        h, n = self.unit.height, segment.courses
        return tuple(
            (
                segment.pad_top + k * h,
                segment.pad_top + (k + 1) * h,
                (n - 1 - k) * self.unit.setback,
            )
            for k in range(n)
        )

    def strip(self, segment: WallSegment, inner: float, outer: float) -> Region:
        """Return what lies along a segment between two distances outside the paving's edge.

        Parameters
        ----------
        segment : WallSegment
        inner, outer : float
            Negative under the paving. [m]

        Returns
        -------
        shapely polygon or multipolygon
            [m]
        """
        return strip_along(segment.line, inner, outer)


@lru_cache(maxsize=512)  # the same walls are built, counted and drawn on every base
def strip_along(line: shapely.LineString, inner: float, outer: float) -> Region:
    """Return what lies right of a line between two distances; negative is on its left. [m]"""
    outer_side = _side(line, outer)
    if inner >= 0:
        shape = shapely.difference(outer_side, _side(line, inner))
    elif outer <= 0:
        shape = shapely.difference(_side(line, inner), outer_side)
    else:
        shape = shapely.union(outer_side, _side(line, inner))
    found = polygons(shape, TOUCH)
    return found.geoms[0] if len(found.geoms) == 1 else found


def _side(line: shapely.LineString, wide: float) -> shapely.Geometry:
    """Return the strip beside a line: on its right for a width above 0, else on its left. [m]"""
    if abs(wide) < TOUCH:
        return shapely.Polygon()
    if line.is_ring:
        body = shapely.Polygon(line)
        out = wide if shapely.is_ccw(line) else -wide
        return shapely.symmetric_difference(
            body, body.buffer(out, join_style="mitre", mitre_limit=3.0)
        )
    return line.buffer(-wide, single_sided=True, join_style="mitre", mitre_limit=3.0)


def corners_of(line: shapely.LineString, closed: bool) -> tuple[tuple[float, int], ...]:
    """Return where along an edge, its paving on the left, it turns a corner: 1 outward, -1 in."""
    points = shapely.get_coordinates(line)
    long, turn = _sides(np.vstack([points, points[1]]) if closed else points)
    at = long.cumsum()[:-1]
    whole = float(line.length)
    return tuple(
        (float(place) % whole, 1 if each > 0 else -1)
        for place, each in zip(at, turn, strict=True)
        if abs(each) > _TURN
    )


def curved(line: shapely.LineString, radius: float) -> tuple[tuple[float, float], ...]:
    """Return the stretches of an edge that bend round less than a radius, corners left out. [m]

    An edge is straight between its points: what is near one of them bends as much as it does there.
    """
    long, turn = _sides(shapely.get_coordinates(line))
    at = long.cumsum()
    found = []
    for k, bend in enumerate(np.abs(turn).tolist()):
        # Where a straight side begins the curve is as long as its own chords are.
        chord = min(long[k], long[k + 1])
        if SAME < bend <= _TURN and chord / bend < radius:
            found.append((float(at[k] - chord / 2), float(at[k] + chord / 2)))
    return tuple(found)


def _sides(points: Floats) -> tuple[Floats, Floats]:
    """Return how long the sides of a line are [m], and how it turns between two, left above 0."""
    sides = np.diff(points, axis=0)
    long = np.hypot(*sides.T)
    kept = long > TOUCH
    sides, long = sides[kept], long[kept]
    cross = sides[:-1, 0] * sides[1:, 1] - sides[:-1, 1] * sides[1:, 0]
    return long, np.arctan2(cross, (sides[:-1] * sides[1:]).sum(axis=1))


def block_wall(
    name: str, area: str, run: EdgeRun, low: float, high: float, unit: WallUnit
) -> BlockWall:
    """Return the wall of blocks along a stretch of edge.

    Parameters
    ----------
    name, area : str
    run : EdgeRun
        Counter-clockwise about the paving, which is on its left; its ground is known along the
        stretch.
    low, high : float
        Where the stretch begins and ends along the run. [m]
    unit : WallUnit
    """
    closed = run.closed and high - low >= run.length - TOUCH
    if closed:
        # It begins in the middle of a side, where no corner is.
        sides = np.hypot(*np.diff(run.points, axis=0).T)
        longest = int(np.argmax(sides))
        low = float(run.along[longest] + sides[longest] / 2)
        high = low + run.length
    line = run.part(low, high)
    along = _stations(line)
    there = low + along
    there = np.where(there > run.length + TOUCH, there - run.length, there)
    finish, ground = (np.interp(there, run.along, level) for level in (run.finish, run.ground))
    corners = [place for place, _ in corners_of(line, closed)]
    low_finish, low_ground = (np.minimum(z[:-1], z[1:]) for z in (finish, ground))
    base = float(finish.min())
    step = unit.height
    caps = np.array([whole_down((z - base) / step, SAME) for z in low_finish])
    least = _PIECES * unit.length
    caps = _kept_round(_flattened(caps, along, least), along, corners, unit.length)
    shown = base + caps * step - low_ground
    pads = caps - np.array([unit.courses(float(each)) for each in shown])
    pads = _kept_round(_flattened(pads, along, least), along, corners, unit.length)
    points = shapely.get_coordinates(line)
    segments = []
    breaks = np.flatnonzero((np.diff(caps) != 0) | (np.diff(pads) != 0)) + 1
    for part in np.split(np.arange(len(caps)), breaks):
        first, last = int(part[0]), int(part[-1]) + 1
        own = slice(first, last + 1)
        cap = base + float(caps[first]) * step
        count = int(caps[first] - pads[first])
        segments.append(
            WallSegment(
                low=float(along[first]),
                high=float(along[last]),
                line=stretch(points, float(along[first]), float(along[last])),
                cap=cap,
                pad_top=cap - unit.cap_height - count * step,
                courses=count,
                ground=(float(ground[own].min()), float(ground[own].max())),
                finish=(float(finish[own].min()), float(finish[own].max())),
                shown=float((finish[own] - ground[own]).max()),
            )
        )
    return BlockWall(name, area, line, closed, unit, tuple(segments), along, finish, ground)


def _stations(line: shapely.LineString) -> Floats:
    """Return distances along a line at which its levels are looked at, its corners among them."""
    points = shapely.get_coordinates(shapely.segmentize(line, _EVERY))
    along = distances_along(points)
    kept = np.concatenate([[True], np.diff(along) > TOUCH])
    return np.asarray(along[kept])


def _flattened(levels: Floats, along: Floats, least: float) -> Floats:
    """Lower steps (k,) between stations (k+1,) that are shorter than what is built for itself."""
    levels = levels.copy()
    while True:
        breaks = np.flatnonzero(np.diff(levels) != 0) + 1
        parts = np.split(np.arange(len(levels)), breaks)
        short = []
        for k, part in enumerate(parts):
            beside = [
                levels[parts[n][0]]
                for n in (k - 1, k + 1)
                if 0 <= n < len(parts) and levels[parts[n][0]] < levels[part[0]]
            ]
            long = along[part[-1] + 1] - along[part[0]]
            if beside and long < least - SAME:
                short.append((float(long), k, max(beside)))
        if not short:
            return levels
        _, k, lower = min(short)
        levels[parts[k]] = lower


def _kept_round(levels: Floats, along: Floats, corners: Sequence[float], reach: float) -> Floats:
    """Carry a step no nearer to a corner than a reach [m]: round it goes the lower of both."""
    levels = levels.copy()
    middle = (along[:-1] + along[1:]) / 2
    for corner in corners:
        near = np.abs(middle - corner) < reach
        if near.any():
            levels[near] = levels[near].min()
    return levels
