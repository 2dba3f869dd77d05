"""Exact elevation, gradient, section and contours of a surface made of triangles."""

from __future__ import annotations

from collections.abc import Sequence
from functools import cached_property
from itertools import pairwise
from typing import NamedTuple

import numpy as np
import shapely

from grading.geometry.arrays import Bools, Floats, Ints
from grading.geometry.cells import EDGE, Cells
from grading.geometry.triangulation import cross, sides, touching

# Queries are answered in parts of this many so that memory stays small.
_PART = 200_000

_FEW = 2_000  # own: points times triangles

_MANY = 50_000  # own: triangles; of more a grid is made only where questions are asked
_COARSE = 512  # own: squares along a side of a surface, by which it is known what was asked


class _Window(NamedTuple):
    """A grid over the part of a surface that answers the questions of some squares.

    answered : (_COARSE, _COARSE) bool, or None where it is all of the surface; triangles : those
    in the grid.
    """

    answered: Bools | None
    cells: Cells
    triangles: Ints


class _Straight(NamedTuple):
    """A straight line: where it starts (2,), the unit vector along it, and its length. [m]"""

    start: Floats
    ahead: Floats
    long: float


def _wider(marked: Bools) -> Bools:
    """Return the squares that are marked or have a neighbour that is."""
    for axis in (0, 1):
        marked = np.moveaxis(marked, axis, 0)
        wide = marked.copy()
        wide[1:] |= marked[:-1]
        wide[:-1] |= marked[1:]
        marked = np.moveaxis(wide, 0, axis)
    return marked


def _joined(parts: Sequence[tuple[float, Sequence[Floats]]]) -> Floats:
    """Return the stretches of straight parts, by their lengths, as one profile (j, 2)."""
    pieces: list[Floats] = []
    run = 0.0
    for long, stretches in parts:
        for stretch in stretches:
            stretch[:, 0] += run
            if pieces and pieces[-1][-1, 0] == stretch[0, 0]:
                stretch = stretch[1:]
            elif pieces:
                pieces.append(np.array([[pieces[-1][-1, 0], np.nan]]))
            pieces.append(stretch)
        run += long
    return np.concatenate(pieces) if pieces else np.zeros((0, 2))


class Tin:
    """A surface z(x, y), linear on each triangle.

    Parameters
    ----------
    points : (n, 3) float
        x, y, z. [m]
    corners : (m, 3) int
        Triangles, counter-clockwise, that do not overlap.
    """

    def __init__(self, points: Floats, corners: Ints) -> None:
        self.origin = points[:, :2].mean(axis=0)
        # Each column in one piece, which is read several times faster.
        self.xy = np.ascontiguousarray(points.T[:2] - self.origin[:, None]).T
        self.z = points[:, 2]
        self.corners = corners
        self._known: _Window | None = None

    @cached_property
    def edges(self) -> Ints:
        """Every side once, (e, 2), lower point first."""
        return sides(self.corners)

    @cached_property
    def slopes(self) -> Floats:
        """Gradient (dz/dx, dz/dy) of every triangle, (m, 2). [ratio]"""
        a, b, c = (self.corners[:, i] for i in range(3))
        ab, ac = self.xy[b] - self.xy[a], self.xy[c] - self.xy[a]
        dz_ab, dz_ac = self.z[b] - self.z[a], self.z[c] - self.z[a]
        double_area = cross(ab, ac)
        dzdx = (dz_ab * ac[:, 1] - dz_ac * ab[:, 1]) / double_area
        dzdy = (dz_ac * ab[:, 0] - dz_ab * ac[:, 0]) / double_area
        return np.column_stack((dzdx, dzdy))

    @cached_property
    def _box(self) -> tuple[Floats, Floats]:
        return self.xy.min(axis=0), self.xy.max(axis=0)

    @cached_property
    def _columns(self) -> tuple[Floats, Floats]:
        return np.ascontiguousarray(self.xy[:, 0]), np.ascontiguousarray(self.xy[:, 1])

    def _window(self, xy: Floats) -> _Window | None:
        """Return a grid that finds every triangle at points (k, 2); None where there is none.

        A survey from a scan has millions of triangles and is asked about some corners of a yard.
        """
        known = self._known
        if len(self.corners) <= _MANY:
            if known is None:
                every = np.arange(len(self.corners))
                known = self._known = _Window(None, Cells(self.xy, self.corners), every)
            return known
        at = self._square(xy)
        if known is None:
            answered = np.zeros((_COARSE, _COARSE), bool)
        elif known.answered is None or known.answered.ravel()[at].all():
            return known
        else:
            answered = known.answered.copy()
        answered.ravel()[at] = True
        answered = _wider(_wider(answered))  # so that the next ones find it made
        triangles = self._in_squares(answered)
        if not len(triangles):
            return known
        # Not read back: another thread may have put its own there, which answers other squares.
        made = self._known = _Window(answered, Cells(self.xy, self.corners[triangles]), triangles)
        return made

    def _square(self, xy: Floats) -> Ints:
        """Return the number of the square of each of some points (k, 2) on the surface."""
        low, high = self._box
        on = xy[((xy >= low - EDGE) & (xy <= high + EDGE)).all(axis=1)]
        place = ((on - low) / ((high - low) / _COARSE)).astype(np.int64)
        column, row = np.clip(place, 0, _COARSE - 1).T
        return np.asarray(column * _COARSE + row)

    @cached_property
    def _squares(self) -> tuple[Ints, Ints]:
        """The square of every point (n,), and the triangles that are larger than a square."""
        low, high = self._box
        size = 0.99 * (high - low) / _COARSE  # what counts as on it may lie a little off it
        large = []
        for start in range(0, len(self.corners), _PART):
            corners = self.corners[start : start + _PART].T
            over = np.zeros(corners.shape[1], bool)
            for axis, most in zip(self._columns, size, strict=True):
                one, two, three = axis.take(corners)
                least = np.minimum(np.minimum(one, two), three)
                over |= np.maximum(np.maximum(one, two), three) - least > most
            large.append(start + np.flatnonzero(over))
        return self._square(self.xy), np.concatenate(large)

    def _in_squares(self, answered: Bools) -> Ints:
        """Return the triangles that may reach into some squares, in their order.

        One that is no larger than a square has its corners in those squares or beside them.
        """
        square, large = self._squares
        near = _wider(answered).ravel().take(square)
        may = near.take(self.corners[:, 0])
        for corner in (1, 2):
            may |= near.take(self.corners[:, corner])
        may[large] = True
        return np.flatnonzero(may)

    def locate(self, xy: Floats) -> tuple[Ints, Floats]:
        """Return for points (k, 2) their triangle (k,), -1 outside, and weights (k, 3)."""
        xy = np.asarray(xy, float).reshape(-1, 2) - self.origin
        triangle = np.full(len(xy), -1)
        weight = np.full((len(xy), 3), np.nan)
        for start in range(0, len(xy), _PART):
            part = slice(start, start + _PART)
            triangle[part], weight[part] = self._locate(xy[part])
        return triangle, weight

    def _locate(self, xy: Floats) -> tuple[Ints, Floats]:
        triangle = np.full(len(xy), -1)
        weight = np.full((len(xy), 3), np.nan)
        query, count, candidate = self._candidates(xy)
        if not len(query):
            return triangle, weight
        owner = np.repeat(query, count)
        x, y = self._columns
        corner = self.corners.take(candidate, axis=0).T
        ax, bx, cx = x.take(corner) - xy[:, 0].take(owner)
        ay, by, cy = y.take(corner) - xy[:, 1].take(owner)
        part = np.stack((bx * cy - by * cx, cx * ay - cy * ax, ax * by - ay * bx))
        # least distance inside a side, in metres: the same measure for large and small triangles
        long = np.sqrt(
            np.stack(
                (
                    (cx - bx) ** 2 + (cy - by) ** 2,
                    (ax - cx) ** 2 + (ay - cy) ** 2,
                    (bx - ax) ** 2 + (by - ay) ** 2,
                )
            )
        )
        depth = (part / long).min(axis=0)
        start = np.cumsum(count) - count
        deepest = np.maximum.reduceat(depth, start)
        best = np.flatnonzero(depth == np.repeat(deepest, count))
        best = best[depth[best] >= -EDGE]
        triangle[owner[best]] = candidate[best]
        share = np.maximum(part[:, best], 0.0)
        total = share.sum(axis=0)
        # In a triangle as thin as the tolerance a point beside it has no share of any corner.
        weight[owner[best]] = np.divide(
            share, total, out=np.full_like(share, 1 / 3), where=total > 0
        ).T
        # of equally deep triangles the last one written to both arrays is meant
        return triangle, weight

    def _candidates(self, xy: Floats) -> tuple[Ints, Ints, Ints]:
        """Return points (k, 2), how many triangles each may lie in, and these one by one."""
        if self._known or len(xy) * len(self.corners) > _FEW:
            window = self._window(xy)
            if window is None:
                return (np.zeros(0, np.int64),) * 3
            point, held, triangle = window.cells.candidates(xy)
            return point, held, window.triangles[triangle]
        # A few points of a small surface are looked for in all of it before a grid of it is made.
        count, every = len(xy), len(self.corners)
        return np.arange(count), np.full(count, every), np.tile(np.arange(every), count)

    def elevation(self, xy: Floats) -> Floats:
        """Return z (k,) at points (k, 2), NaN outside. [m]"""
        return self.interpolate(self.z, xy)

    def interpolate(self, value: Floats, xy: Floats) -> Floats:
        """Return a value given at the vertices (n,), at points (k, 2), NaN outside."""
        triangle, weight = self.locate(xy)
        found: Floats = (value[self.corners[triangle]] * weight).sum(axis=1)
        return found

    def gradient(self, xy: Floats) -> Floats:
        """Return (dz/dx, dz/dy) (k, 2) of the triangle under each point, NaN outside. [ratio]"""
        triangle, _ = self.locate(xy)
        return np.where(triangle[:, None] >= 0, self.slopes[triangle], np.nan)

    def section(self, line: Floats) -> Floats:
        """Return distance and z (j, 2) along a line (k, 2): see `Ground.section`."""
        return self.sections([line])[0]

    def sections(self, lines: Sequence[Floats]) -> list[Floats]:
        """Return distance and z (j, 2) along each of several lines: see `Ground.section`.

        All of them are looked up at once, which takes a fraction of the time of one by one.
        """
        straight: list[_Straight] = []
        counts = []
        for line in lines:
            corners = np.asarray(line, float).reshape(-1, 2) - self.origin
            before = len(straight)
            for start, end in pairwise(corners):
                long = float(np.hypot(*(end - start)))
                if long != 0.0:
                    straight.append(_Straight(start, (end - start) / long, long))
            counts.append(len(straight) - before)
        stretches = iter(self._stretches(straight))
        longs = iter(straight)
        return [_joined([(next(longs).long, next(stretches)) for _ in range(n)]) for n in counts]

    def _stretches(self, lines: Sequence[_Straight]) -> list[list[Floats]]:
        """Return the parts of each straight line that lie on the ground, each (j, 2)."""
        if not lines:
            return []
        ends = np.array([[each.start, each.start + each.long * each.ahead] for each in lines])
        levels = self.elevation(ends.reshape(-1, 2) + self.origin).reshape(-1, 2)
        rows = [self._met(each, z) for each, z in zip(lines, levels, strict=True)]
        middles = [
            each.start + ((row[:-1, :1] + row[1:, :1]) / 2) * each.ahead
            for each, row in zip(lines, rows, strict=True)
        ]
        counts = [len(middle) for middle in middles]
        on_ground = self.locate(np.concatenate(middles) + self.origin)[0] >= 0
        found = []
        for row, on in zip(rows, np.split(on_ground, np.cumsum(counts)[:-1]), strict=True):
            cuts = np.flatnonzero(~on) + 1
            found.append([part for part in np.split(row, cuts) if len(part) > 1])
        return found

    def _met(self, line: _Straight, levels: Floats) -> Floats:
        """Return distance and z (j, 2) wherever a straight line meets a side, and at its ends."""
        start, ahead, long = line
        left = np.array([-ahead[1], ahead[0]])
        edges, points = self._near_line(start, start + long * ahead)
        away = np.zeros(len(self.xy))
        away[points] = (self.xy[points] - start) @ left
        a, b = edges[:, 0], edges[:, 1]
        crossed = np.flatnonzero(away[a] * away[b] < 0)
        a, b = a[crossed], b[crossed]
        share = away[a] / (away[a] - away[b])
        # distance is taken from the point on the side, so that it and z belong together
        met = self.xy[a] + share[:, None] * (self.xy[b] - self.xy[a])
        touched = points[away[points] == 0]
        distance = np.concatenate(
            ((met - start) @ ahead, (self.xy[touched] - start) @ ahead, [0.0, long])
        )
        z = np.concatenate((self.z[a] + share * (self.z[b] - self.z[a]), self.z[touched], levels))
        # several sides meet the line at one vertex, at distances that differ by rounding
        same = 16 * np.finfo(float).eps * (long + self._farthest)
        distance[np.abs(distance) <= same] = 0.0
        distance[np.abs(distance - long) <= same] = long
        kept = (distance >= 0) & (distance <= long) & np.isfinite(z)
        distance, first = np.unique(distance[kept], return_index=True)
        apart = np.append(True, (np.diff(distance) > same) | (distance[1:] == long))
        # where the line meets no ground there is nothing, and no first point either
        apart = apart[: len(distance)]
        return np.column_stack((distance[apart], z[kept][first][apart]))

    def _near_line(self, start: Floats, end: Floats) -> tuple[Ints, Ints]:
        """Return the sides (e, 2) that a straight line may meet, and the points (p,) at them."""
        if len(self.corners) <= _MANY:
            return self.edges, np.arange(len(self.xy))
        low, high = np.minimum(start, end) - EDGE, np.maximum(start, end) + EDGE
        corners = self.corners[touching(self.xy, self.corners, (*low, *high))]
        return sides(corners), np.unique(corners)

    @cached_property
    def _farthest(self) -> float:
        return float(np.abs(self.xy).max())

    def contours(self, levels: Floats) -> list[list[Floats]]:
        """Return for each level its lines, each (k, 2): see `Ground.contours`."""
        start, end = self.corners, self.corners[:, [1, 2, 0]]
        lines: list[list[Floats]] = []
        for level in np.asarray(levels, float).reshape(-1):
            above = self.z >= level
            count = above[self.corners[:, 0]].astype(np.int8)
            count += above[self.corners[:, 1]]
            count += above[self.corners[:, 2]]
            cut = np.flatnonzero((count == 1) | (count == 2))
            # each cut triangle has two sides that are cut; from lower to higher number, so that
            # both triangles at a side find the same point to the last bit
            low = np.minimum(start[cut], end[cut])
            high = np.maximum(start[cut], end[cut])
            crossed = above[low] != above[high]
            a, b = low[crossed], high[crossed]
            share = (level - self.z[a]) / (self.z[b] - self.z[a])
            met = self.xy[a] + share[:, None] * (self.xy[b] - self.xy[a])
            met[share == 1.0] = self.xy[b[share == 1.0]]
            segments = met.reshape(-1, 2, 2)
            segments = segments[(segments[:, 0] != segments[:, 1]).any(axis=1)]
            merged = shapely.line_merge(shapely.multilinestrings(shapely.linestrings(segments)))
            lines.append(
                [shapely.get_coordinates(g) + self.origin for g in shapely.get_parts(merged)]
            )
        return lines
