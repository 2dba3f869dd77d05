"""Regions looked at cell by cell, where what is asked of them is no plane."""

from __future__ import annotations

import numpy as np
import shapely

from grading.geometry.arrays import Floats

_ACROSS = 24  # cells over a region that is narrow, as far as they are not too many
_FINEST = 1 / 8  # of the cell that is asked for


def grid_over(region: shapely.Geometry, step: float) -> Floats:
    """Return the middles (k, 2) of the cells of a square grid over the bounds of a region. [m]"""
    x0, y0, x1, y1 = shapely.bounds(region)
    x, y = np.meshgrid(np.arange(x0 + step / 2, x1, step), np.arange(y0 + step / 2, y1, step))
    return np.column_stack([x.ravel(), y.ravel()])


def grid_in(region: shapely.Geometry, step: float) -> Floats:
    """Return those of `grid_over` that lie inside the region."""
    grid = grid_over(region, step)
    return np.asarray(grid[shapely.contains_xy(region, grid)])


def cells_in(region: shapely.Geometry, cell: float) -> tuple[Floats, float]:
    """Return the middles of the cells of a square grid in a region (k, 2) [m], and their area [m2].

    Parameters
    ----------
    region : shapely geometry
        [m]
    cell : float
        Side of a cell; smaller ones are taken over a narrow region. [m]

    Notes
    -----
    All cells together have the area of the region: it is no wider for how they fall.
    """
    covered = float(shapely.area(region))
    if not covered:
        return np.zeros((0, 2)), 0.0
    narrow = 2 * covered / float(shapely.length(region))
    side = max(min(cell, narrow / _ACROSS), cell * _FINEST)
    cells = grid_over(region, side)
    cells = cells[shapely.intersects_xy(region, cells)]
    return np.asarray(cells, float), covered / max(len(cells), 1)
