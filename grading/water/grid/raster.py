"""Polygons and triangles on a grid of cells, row by row, without a question for each cell.

Everything here is in columns and rows: the centre of cell (row, column) is at (column, row).
A centre on the very edge of a shape belongs to one of its two sides, never to both.
"""

from __future__ import annotations

import numpy as np
import shapely

from grading.geometry.arrays import Bools, Floats, Ints
from grading.geometry.cells import spread


def _crossings(start: Floats, end: Floats, rows: int) -> tuple[Ints, Ints, Ints]:
    """Return the sides that cross the rows, on which row, and the first column beyond."""
    # Both shapes that share a side must find the same column, so it is taken from below.
    up = start[:, 1] <= end[:, 1]
    low, high = np.where(up[:, None], start, end), np.where(up[:, None], end, start)
    first = np.clip(np.ceil(low[:, 1]), 0, rows).astype(np.int64)
    past = np.clip(np.ceil(high[:, 1]), 0, rows).astype(np.int64)
    side, row = spread(first, past - first)
    rise = (high - low)[side]
    column = low[side, 0] + (row - low[side, 1]) * (rise[:, 0] / rise[:, 1])
    return side, row, np.ceil(column).astype(np.int64)


def inside(polygon: shapely.Geometry, shape: tuple[int, int]) -> Bools:
    """Return the cells whose centre is inside a polygon, holes left out, (rows, columns)."""
    rows, columns = shape
    rings = shapely.get_rings(shapely.get_parts(polygon))
    if not len(rings):
        return np.zeros(shape, dtype=bool)
    xy, ring = shapely.get_coordinates(rings, return_index=True)
    same = ring[1:] == ring[:-1]
    _, row, column = _crossings(xy[:-1][same], xy[1:][same], rows)
    column = np.clip(column, 0, columns)
    found = np.zeros(shape, dtype=bool)
    if len(row):  # no cell is inside beyond the rows and columns that its sides cross
        top, bottom, left, right = row.min(), row.max() + 1, column.min(), column.max() + 1
        place = (row - top) * (right - left) + column - left
        turns = np.bincount(place, minlength=(bottom - top) * (right - left))
        odd = np.cumsum(turns.reshape(bottom - top, right - left), axis=1)[:, :-1] % 2 == 1
        found[top:bottom, left : right - 1] = odd
    return found


def tin_levels(xy: Floats, z: Floats, triangles: Ints, shape: tuple[int, int]) -> Floats:
    """Return the level of a surface of triangles at the centre of each cell.

    Parameters
    ----------
    xy : (n, 2) float
        Points as column and row.
    z : (n,) float
        Their levels. [m]
    triangles : (m, 3) int
    shape : (rows, columns)

    Returns
    -------
    (rows, columns) float
        NaN where there is no triangle. [m]
    """
    rows, columns = shape
    levels = np.full(rows * columns, np.nan)
    corners = triangles[:, [0, 1, 1, 2, 2, 0]].reshape(-1, 2)
    side, row, column = _crossings(xy[corners[:, 0]], xy[corners[:, 1]], rows)
    # A row that crosses a triangle crosses two of its sides.
    key = (side // 3) * rows + row
    order = np.lexsort((column, key))
    left, right = np.clip(column[order].reshape(-1, 2), 0, columns).T
    triangle, row = side[order[::2]] // 3, row[order[::2]]
    a, b, c = (triangles[:, corner] for corner in range(3))
    ab, ac = xy[b] - xy[a], xy[c] - xy[a]
    double = ab[:, 0] * ac[:, 1] - ab[:, 1] * ac[:, 0]
    high_b, high_c = z[b] - z[a], z[c] - z[a]
    per_column = (high_b * ac[:, 1] - high_c * ab[:, 1]) / double
    per_row = (high_c * ab[:, 0] - high_b * ac[:, 0]) / double
    from_column, from_row = xy[a[triangle]].T
    # Along a row of a triangle nothing but the column changes: all else is the same for its cells.
    many = right - left
    _, place = spread(left, many)
    levels[np.repeat(row * columns, many) + place] = (
        np.repeat(z[a[triangle]], many)
        + np.repeat(per_column[triangle], many) * (place - np.repeat(from_column, many))
        + np.repeat(per_row[triangle] * (row - from_row), many)
    )
    return levels.reshape(shape)
