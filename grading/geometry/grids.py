"""Regions looked at cell by cell, where what is asked of them is no plane."""

from __future__ import annotations

import numpy as np
import shapely

from grading.geometry.arrays import Floats


def cells_in(region: shapely.Geometry, cell: float) -> Floats:
    """Return the middles of the cells of a square grid that lie in a region, (k, 2). [m]

    Parameters
    ----------
    region : shapely geometry
        [m]
    cell : float
        Side of a cell. [m]
    """
    if shapely.is_empty(region):
        return np.zeros((0, 2))
    x0, y0, x1, y1 = shapely.bounds(region)
    x, y = np.meshgrid(np.arange(x0 + cell / 2, x1, cell), np.arange(y0 + cell / 2, y1, cell))
    cells = np.column_stack([x.ravel(), y.ravel()])
    return np.asarray(cells[shapely.intersects_xy(region, cells)], float)
