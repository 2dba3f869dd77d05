"""A grid of cells that finds the triangles near a point."""

from __future__ import annotations

import numpy as np

from grading.geometry.arrays import Floats, Ints
from grading.geometry.triangulation import NEEDLE

# A point this near to the edge of the ground counts as on it. [m]
EDGE = NEEDLE


class Cells:
    """A grid of square cells, each with the triangles that touch it."""

    def __init__(self, xy: Floats, corners: Ints) -> None:
        x, y = np.ascontiguousarray(xy.T)[:, corners]
        left, right = _least(x) - EDGE, _most(x) + EDGE
        bottom, top = _least(y) - EDGE, _most(y) + EDGE
        self.low = np.array([left.min(), bottom.min()])
        span = np.array([right.max(), top.max()]) - self.low
        # small cells find a triangle sooner, large ones are filled sooner
        share = 0.5 if len(corners) < 100_000 else 2.0
        self.size = max(np.sqrt(share * span.prod() / len(corners)), span.max() / 30_000)
        self.shape = np.floor(span / self.size).astype(np.int64) + 1
        column, last_column = self._cell(left, 0), self._cell(right, 0)
        row, last_row = self._cell(bottom, 1), self._cell(top, 1)
        width, height = last_column - column + 1, last_row - row + 1
        # A large or slanting triangle is taken row by row, so that a needle across the site
        # enters the cells along it and not its whole bounding box.
        large = np.flatnonzero(width * height > 16)
        small = np.flatnonzero(width * height <= 16)
        owner, at_row = spread(row[large], height[large])
        owner = np.append(small, large[owner])
        start = np.append(row[small], at_row)
        tall = np.append(height[small], np.ones_like(at_row))
        first, count = column[owner], width[owner]
        first[len(small) :], count[len(small) :] = self._row_span(
            np.stack((x[owner[len(small) :]], y[owner[len(small) :]]), axis=-1), at_row
        )
        entry, at_row = spread(start, tall)
        in_entry, at_column = spread(first[entry], count[entry])
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
        _, place = spread(start[held], count[held])
        return query[held], count[held], self.triangles[place]


def _least(value: Floats) -> Floats:
    return np.minimum(np.minimum(value[:, 0], value[:, 1]), value[:, 2])


def _most(value: Floats) -> Floats:
    return np.maximum(np.maximum(value[:, 0], value[:, 1]), value[:, 2])


def spread(first: Ints, count: Ints) -> tuple[Ints, Ints]:
    """Return the owner and the value of every number in first .. first + count - 1."""
    owner = np.repeat(np.arange(len(count)), count)
    return owner, np.arange(len(owner)) + np.repeat(first - (np.cumsum(count) - count), count)
