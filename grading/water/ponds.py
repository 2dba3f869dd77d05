"""Where water stands, in plan: the outline of each low spot on the grid it was found on."""

from __future__ import annotations

import numpy as np
import shapely
import shapely.affinity
from shapely.geometry.base import BaseGeometry

from grading.geometry.tolerances import ROUNDING
from grading.water.course import LowSpot
from grading.water.model import Water


def pond_of(water: Water, spot: LowSpot) -> BaseGeometry:
    """Return the outline of a low spot's water, its cells' corners rounded off. [m]

    Parameters
    ----------
    water : Water
    spot : LowSpot
        One of its low spots.
    """
    from scipy import ndimage

    grid = water.relief
    wet = np.nan_to_num(grid.z, nan=np.inf) < spot.level - ROUNDING
    label, _ = ndimage.label(wet, structure=np.ones((3, 3)))
    cell = int(grid.cells(spot.at[None])[0])
    own = label == label.ravel()[cell] if cell >= 0 and label.ravel()[cell] else wet & False
    rows, columns = np.nonzero(own)
    if not len(rows):
        return shapely.Point(spot.at).buffer(grid.spacing)
    # One rectangle for each unbroken run of cells in a row.
    starts = np.flatnonzero(np.append(True, (np.diff(rows) != 0) | (np.diff(columns) != 1)))
    ends = np.append(starts[1:], len(rows)) - 1
    boxes = shapely.box(
        columns[starts] - 0.5, rows[starts] - 0.5, columns[ends] + 0.5, rows[ends] + 0.5
    )
    a, b, c, d, e, f = grid.affine
    on_site = shapely.affinity.affine_transform(shapely.union_all(boxes), [a, b, d, e, c, f])
    soft = grid.spacing
    rounded = on_site.buffer(soft).buffer(-1.5 * soft).buffer(0.5 * soft)
    # Of a pond no wider than a cell the rounding leaves nothing: it is drawn in its cells.
    return on_site if rounded.is_empty else rounded
