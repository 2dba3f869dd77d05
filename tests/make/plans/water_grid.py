"""Grids of levels for the tests of water, and a plain priority flood to hold them to."""

from __future__ import annotations

import heapq

import numpy as np
import shapely
from numpy.typing import NDArray

from grading.ground.model import Ground, surface

Floats = NDArray[np.float64]


def border(grid: Floats) -> NDArray[np.bool_]:
    """Return the outermost cells of a grid: those that water leaves from."""
    edge = np.ones(grid.shape, dtype=bool)
    edge[1:-1, 1:-1] = False
    return edge


def flooded(grid: Floats, outlets: NDArray[np.bool_]) -> Floats:
    """Return the level to which water stands, by priority flood: Barnes and others 2014."""
    level = np.where(np.isfinite(grid), np.inf, np.nan)
    heap = [(grid[cell], cell) for cell in zip(*np.nonzero(outlets), strict=True)]
    for z, cell in heap:
        level[cell] = z
    heapq.heapify(heap)
    while heap:
        z, (row, column) = heapq.heappop(heap)
        for r in range(max(row - 1, 0), min(row + 2, grid.shape[0])):
            for c in range(max(column - 1, 0), min(column + 2, grid.shape[1])):
                if level[r, c] == np.inf:
                    level[r, c] = max(z, grid[r, c])
                    heapq.heappush(heap, (level[r, c], (r, c)))
    return level


def gathered_one_by_one(receiver: NDArray[np.int64], weight: Floats) -> Floats:
    """Return what comes to each cell, each drop followed by itself."""
    total = np.zeros(len(receiver))
    for cell in range(len(receiver)):
        at = cell
        total[at] += weight[cell]
        while receiver[at] != at:
            at = receiver[at]
            total[at] += weight[cell]
    return total


def yard(height, size: tuple[float, float] = (12.0, 10.0), spacing: float = 1.0) -> Ground:
    """Return a ground over (0, 0) to the size with spots on a grid. [m]"""
    x, y = np.meshgrid(
        np.linspace(0, size[0], round(size[0] / spacing) + 1),
        np.linspace(0, size[1], round(size[1] / spacing) + 1),
    )
    x, y = x.ravel(), y.ravel()
    return surface(np.column_stack([x, y, height(x, y) + np.zeros(len(x))]), warn=False)


def box(left: float, bottom: float, right: float, top: float) -> shapely.Polygon:
    """Return a rectangle as a polygon. [m]"""
    return shapely.box(left, bottom, right, top)
