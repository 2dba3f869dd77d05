"""Exact elevation, gradient, section and contours of a surface made of triangles."""

from __future__ import annotations

from functools import cached_property
from itertools import pairwise

import numpy as np
import shapely

from grading.triangulation import NEEDLE, Floats, Ints, cross, sides

# A point this near to the edge of the ground counts as on it. [m]
EDGE = NEEDLE
# Queries are answered in parts of this many so that memory stays small.
_PART = 200_000


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
        self.xy = points[:, :2] - self.origin
        self.z = points[:, 2]
        self.corners = corners

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
    def _cells(self) -> Cells:
        return Cells(self.xy, self.corners)

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
        query, count, candidate = self._cells.candidates(xy)
        if not len(query):
            return triangle, weight
        owner = np.repeat(query, count)
        (ax, ay), (bx, by), (cx, cy) = (
            (self.xy[corner] - xy[owner]).T for corner in self.corners[candidate].T
        )
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
        weight[owner[best]] = (share / share.sum(axis=0)).T
        # of equally deep triangles the last one written to both arrays is meant
        return triangle, weight

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
        line = np.asarray(line, float).reshape(-1, 2) - self.origin
        pieces: list[Floats] = []
        run = 0.0
        for start, end in pairwise(line):
            long = float(np.hypot(*(end - start)))
            if long == 0.0:
                continue
            for stretch in self._stretches(start, (end - start) / long, long):
                stretch[:, 0] += run
                if pieces and pieces[-1][-1, 0] == stretch[0, 0]:
                    stretch = stretch[1:]
                elif pieces:
                    pieces.append(np.array([[pieces[-1][-1, 0], np.nan]]))
                pieces.append(stretch)
            run += long
        return np.concatenate(pieces) if pieces else np.zeros((0, 2))

    def _stretches(self, start: Floats, ahead: Floats, long: float) -> list[Floats]:
        """Return the parts of one straight line that lie on the ground, each (j, 2)."""
        left = np.array([-ahead[1], ahead[0]])
        away = (self.xy - start) @ left
        a, b = self.edges[:, 0], self.edges[:, 1]
        crossed = np.flatnonzero(away[a] * away[b] < 0)
        a, b = a[crossed], b[crossed]
        share = away[a] / (away[a] - away[b])
        # distance is taken from the point on the side, so that it and z belong together
        met = self.xy[a] + share[:, None] * (self.xy[b] - self.xy[a])
        touched = np.flatnonzero(away == 0)
        ends = np.array([start, start + long * ahead])
        distance = np.concatenate(
            ((met - start) @ ahead, (self.xy[touched] - start) @ ahead, [0.0, long])
        )
        z = np.concatenate(
            (
                self.z[a] + share * (self.z[b] - self.z[a]),
                self.z[touched],
                self.elevation(ends + self.origin),
            )
        )
        # several sides meet the line at one vertex, at distances that differ by rounding
        same = 16 * np.finfo(float).eps * (long + float(np.abs(self.xy).max()))
        distance[np.abs(distance) <= same] = 0.0
        distance[np.abs(distance - long) <= same] = long
        kept = (distance >= 0) & (distance <= long) & np.isfinite(z)
        distance, first = np.unique(distance[kept], return_index=True)
        if len(distance) < 2:
            return []
        apart = np.append(True, (np.diff(distance) > same) | (distance[1:] == long))
        distance, z = distance[apart], z[kept][first][apart]
        middle = start + ((distance[:-1] + distance[1:]) / 2)[:, None] * ahead
        on_ground = self.locate(middle + self.origin)[0] >= 0
        rows = np.column_stack((distance, z))
        cuts = np.flatnonzero(~on_ground) + 1
        return [part for part in np.split(rows, cuts) if len(part) > 1]

    def contours(self, levels: Floats) -> list[list[Floats]]:
        """Return for each level its lines, each (k, 2): see `Ground.contours`."""
        triangle_edges = self._triangle_edges
        low, high = self.edges[:, 0], self.edges[:, 1]
        lines: list[list[Floats]] = []
        for level in np.asarray(levels, float).reshape(-1):
            above = self.z >= level
            crossed = above[low] != above[high]
            place = np.full(len(self.edges), -1)
            place[crossed] = np.arange(np.count_nonzero(crossed))
            a, b = low[crossed], high[crossed]
            share = (level - self.z[a]) / (self.z[b] - self.z[a])
            met = self.xy[a] + share[:, None] * (self.xy[b] - self.xy[a])
            met[share == 1.0] = self.xy[b[share == 1.0]]
            ends = place[triangle_edges]
            ends = ends[(ends >= 0).any(axis=1)]
            pair = np.sort(ends, axis=1)[:, 1:]  # two of the three sides are crossed
            segments = met[pair]
            segments = segments[(segments[:, 0] != segments[:, 1]).any(axis=1)]
            merged = shapely.line_merge(shapely.multilinestrings(shapely.linestrings(segments)))
            lines.append(
                [shapely.get_coordinates(g) + self.origin for g in shapely.get_parts(merged)]
            )
        return lines

    @cached_property
    def _triangle_edges(self) -> Ints:
        """Number of each side of each triangle in `edges`, (m, 3)."""
        pairs = self.corners[:, [0, 1, 1, 2, 2, 0]].reshape(-1, 2)
        span = len(self.xy)
        key = pairs.min(axis=1) * span + pairs.max(axis=1)
        known = self.edges[:, 0] * span + self.edges[:, 1]
        place: Ints = np.searchsorted(known, key).reshape(-1, 3)
        return place


class Cells:
    """A grid of square cells, each with the triangles that touch it."""

    def __init__(self, xy: Floats, corners: Ints) -> None:
        x, y = np.ascontiguousarray(xy.T)[:, corners]
        left, right = _least(x) - EDGE, _most(x) + EDGE
        bottom, top = _least(y) - EDGE, _most(y) + EDGE
        self.low = np.array([left.min(), bottom.min()])
        span = np.array([right.max(), top.max()]) - self.low
        self.size = max(np.sqrt(2.0 * span.prod() / len(corners)), span.max() / 30_000)
        self.shape = np.floor(span / self.size).astype(np.int64) + 1
        column, last_column = self._cell(left, 0), self._cell(right, 0)
        row, last_row = self._cell(bottom, 1), self._cell(top, 1)
        width, height = last_column - column + 1, last_row - row + 1
        # A large or slanting triangle is taken row by row, so that a needle across the site
        # enters the cells along it and not its whole bounding box.
        large = np.flatnonzero(width * height > 16)
        small = np.flatnonzero(width * height <= 16)
        owner, at_row = _spread(row[large], height[large])
        owner = np.append(small, large[owner])
        start = np.append(row[small], at_row)
        tall = np.append(height[small], np.ones_like(at_row))
        first, count = column[owner], width[owner]
        first[len(small) :], count[len(small) :] = self._row_span(
            np.stack((x[owner[len(small) :]], y[owner[len(small) :]]), axis=-1), at_row
        )
        entry, at_row = _spread(start, tall)
        in_entry, at_column = _spread(first[entry], count[entry])
        cell = at_row[in_entry] * self.shape[0] + at_column
        # cell and triangle in one number sort much faster than through an index
        packed = np.sort((cell << 32) | owner[entry][in_entry])
        self.triangles = packed & 0xFFFFFFFF
        self.start = np.zeros(self.shape.prod() + 1, np.int64)
        np.cumsum(np.bincount(cell, minlength=len(self.start) - 1), out=self.start[1:])

    def _cell(self, coordinate: Floats, axis: int) -> Ints:
        cell = ((coordinate - self.low[axis]) / self.size).astype(np.int64)
        inside: Ints = np.clip(cell, 0, self.shape[axis] - 1)
        return inside

    def _row_span(self, shape: Floats, row: Ints) -> tuple[Ints, Ints]:
        """Return the first column and the number of columns that triangles touch in a row."""
        bottom = (self.low[1] + row * self.size - EDGE)[:, None]
        top = bottom + self.size + 2 * EDGE
        x, y = shape[..., 0], shape[..., 1]
        following = [1, 2, 0]
        run, rise = x[:, following] - x, y[:, following] - y
        rise = np.where(rise == 0, np.inf, rise)
        with np.errstate(over="ignore"):
            share = np.concatenate(((bottom - y) / rise, (top - y) / rise), axis=1)
        met = np.concatenate((x, x), axis=1) + np.clip(share, 0, 1) * np.concatenate(
            (run, run), axis=1
        )
        crossed = (share >= 0) & (share <= 1)
        inside = (y >= bottom) & (y <= top)
        seen = np.concatenate((np.where(inside, x, np.nan), np.where(crossed, met, np.nan)), axis=1)
        left = np.floor((np.nanmin(seen, axis=1) - EDGE - self.low[0]) / self.size)
        right = np.floor((np.nanmax(seen, axis=1) + EDGE - self.low[0]) / self.size)
        first = np.clip(left, 0, self.shape[0] - 1).astype(np.int64)
        last = np.clip(right, 0, self.shape[0] - 1).astype(np.int64)
        return first, last - first + 1

    def candidates(self, xy: Floats) -> tuple[Ints, Ints, Ints]:
        """Return the points (k, 2) whose cell has triangles, how many, and these one by one."""
        high = self.low + self.shape * self.size
        with np.errstate(invalid="ignore"):
            near = ((xy >= self.low) & (xy <= high)).all(axis=1)
        query = np.flatnonzero(near)
        column, row = self._cell(xy[query, 0], 0), self._cell(xy[query, 1], 1)
        cell = row * self.shape[0] + column
        start = self.start[cell]
        count = self.start[cell + 1] - start
        held = np.flatnonzero(count)
        _, place = _spread(start[held], count[held])
        return query[held], count[held], self.triangles[place]


def _least(value: Floats) -> Floats:
    return np.minimum(np.minimum(value[:, 0], value[:, 1]), value[:, 2])


def _most(value: Floats) -> Floats:
    return np.maximum(np.maximum(value[:, 0], value[:, 1]), value[:, 2])


def _spread(first: Ints, count: Ints) -> tuple[Ints, Ints]:
    """Return the owner and the value of every number in first .. first + count - 1."""
    owner = np.repeat(np.arange(len(count)), count)
    offset = np.arange(len(owner)) - np.repeat(np.cumsum(count) - count, count)
    return owner, first[owner] + offset
