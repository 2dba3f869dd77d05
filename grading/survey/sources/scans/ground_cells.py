"""Which cells of a scan show the ground, and which a bush, a car or a stray point below it."""

from __future__ import annotations

import numpy as np
from msgspec import Struct
from numpy.typing import NDArray

from grading.geometry.arrays import Floats
from grading.geometry.tolerances import ROUNDING
from grading.survey.sources.scans.extent import CELL, Cells
from grading.survey.sources.scans.spool import Points

TOO_LOW = 0.06
"""A cell that lies so far under the median of those around it has a stray point. [m] Measured on
invented yards, as what follows."""
AROUND = 7
"""Cells along the side of what is looked at around one."""
STEEPEST = 0.3
"""What rises more steeply than this stands on the ground and is not of it. [ratio]"""
LEAST_RISE = 0.04
"""What rises by less is never taken off. [m]"""
MOST_RISE = 0.3
"""What rises by more, over a width of up to SMALL, always is. [m]"""
SMALL = 3.3
"""How wide bushes, cars and tables are at the most. [m]"""
HIGH = 1.5
"""What is wider is taken off where it is higher than this: a roof, and no terrace. [m]"""
WIDEST = 16.0
"""How wide a house is at the most that is taken off. [m]"""
_BLOCK = 20  # cells along the side of what one low point is taken from for the tilt of the yard
_AT_MOST = 500_000  # cells that the tilt is found from
_ROWS = 256  # rows of cells that are filled together
_AT_ONCE = 20_000  # cells whose surroundings are looked at together
_BLUR = 3.0  # cells; a node is 5 wide


class GroundCells(Struct, frozen=True, eq=False):
    """A level for each cell, near enough to the ground to measure it from there.

    Attributes
    ----------
    tilt : (3,) float
        z = tilt[0] + tilt[1] x + tilt[2] y, taken off first. [m, ratio]
    level : (rows, columns) float32
        What is added to it, a centimetre or so below the ground; NaN where none is known. [m]
    shown : (rows, columns) bool
        The cell has points of the ground.
    low, off : int
        Cells with a stray point below the ground; cells where something stands on it.
    """

    tilt: Floats
    level: NDArray[np.float32]
    shown: NDArray[np.bool_]
    low: int
    off: int


class Minima:
    """The lowest point of each cell, found as the points stream by."""

    def __init__(self, cells: Cells) -> None:
        self.cells = cells
        self.lowest = np.full(cells.count, np.inf, np.float32)
        self.outside = 0

    def add(self, points: Points) -> None:
        """Take a chunk (n, 3)."""
        cell, inside = self.cells.index(points)
        if not inside.all():
            self.outside += int(len(inside) - inside.sum())
            cell, points = cell[inside], points[inside]
        np.minimum.at(self.lowest, cell, points[:, 2])


def ground_cells(minima: Minima) -> GroundCells | None:
    """Return the ground under the lowest points of cells; None where there is none to see.

    Notes
    -----
    Cells 6 cm below the median of the 7 by 7 around them are set aside. Then the progressive
    morphological filter (Zhang et al., IEEE Trans. Geoscience and Remote Sensing 41, 2003): the
    surface is opened with wider and wider windows, and what an opening takes off by more than
    the ground could rise in it stands on the ground. The tilt of the yard is taken off before,
    so that openings do not eat into its edges.
    """
    from scipy import ndimage

    shape = minima.cells.shape
    lowest = minima.lowest.reshape(shape)
    seen = np.isfinite(lowest)
    if not seen.any():
        return None
    tilt = _tilt(lowest, seen)
    flat = lowest - _plane(tilt, shape)
    filled = _filled(flat, seen)
    low = _under_the_median(filled, seen)
    ground = seen & ~low
    standing = np.zeros(shape, bool)
    window, before, surface = 1, 0.0, filled
    while (width := (2 * window + 1) * CELL) <= WIDEST:
        size = (2 * window + 1,) * 2
        opened = ndimage.grey_opening(surface, size=size, mode="nearest")
        small = min(LEAST_RISE + STEEPEST * (width - before), MOST_RISE)
        standing |= surface - opened > (small if width <= SMALL else HIGH)
        # From one width to the next: so a mound is taken off by little at a time, and stays.
        surface = opened
        window, before = 2 * window, width
    ground &= ~standing
    if not ground.any():
        return None
    return GroundCells(
        tilt, _level(flat, ground), ground, int(low.sum()), int((seen & standing).sum())
    )


def _under_the_median(filled: NDArray[np.float32], seen: NDArray[np.bool_]) -> NDArray[np.bool_]:
    """Return the cells that lie TOO_LOW under the median around them, and put them on it.

    It is worked out only where a cell lies under the highest around it by so much, as one under
    the median must: a tenth of the time of all cells.
    """
    from scipy import ndimage

    highest = ndimage.maximum_filter(filled, size=AROUND, mode="nearest")
    around = np.arange(AROUND) - AROUND // 2
    low = np.zeros(filled.shape, bool)
    medians = []
    for start in range(0, len(filled), _ROWS):
        part = slice(start, start + _ROWS)
        cells = np.flatnonzero(seen[part] & (filled[part] < highest[part] - TOO_LOW))
        for first in range(0, len(cells), _AT_ONCE):
            rows, columns = np.divmod(cells[first : first + _AT_ONCE], filled.shape[1])
            rows += start
            up = np.clip(rows[:, None] + around, 0, filled.shape[0] - 1)
            across = np.clip(columns[:, None] + around, 0, filled.shape[1] - 1)
            values = filled[up[:, :, None], across[:, None, :]].reshape(len(up), -1)
            values.partition(values.shape[1] // 2, axis=1)
            median = values[:, values.shape[1] // 2]
            under = filled[rows, columns] < median - TOO_LOW
            low[rows[under], columns[under]] = True
            medians.append(median[under])
    if medians:
        filled[low] = np.concatenate(medians)
    return low


def _plane(tilt: Floats, shape: tuple[int, int]) -> NDArray[np.float32]:
    """Return the tilt at the middle of each cell, x and y counted in cells. [m]"""
    rows, columns = np.arange(shape[0]) + 0.5, np.arange(shape[1]) + 0.5
    plane = tilt[0] + tilt[1] * columns + (tilt[2] * rows)[:, None]
    return np.asarray(plane, np.float32)


def _tilt(lowest: NDArray[np.float32], seen: NDArray[np.bool_]) -> Floats:
    """Return the plane that most of the low points of blocks lie near, per cell."""
    cell = np.flatnonzero(seen)
    cell = cell[:: max(len(cell) // _AT_MOST, 1)]  # so many tell it as well as all
    rows, columns = np.divmod(cell, seen.shape[1])
    z = lowest[rows, columns]
    block = (rows // _BLOCK) * (seen.shape[1] // _BLOCK + 1) + columns // _BLOCK
    # The median of a block is no stray point, and a bush only where bushes are the most of it.
    order = np.lexsort((z, block))
    starts = np.flatnonzero(np.r_[True, np.diff(block[order]) != 0])
    ends = np.r_[starts[1:], len(order)]
    middle = order[(starts + ends) // 2]
    at = np.column_stack([np.ones(len(middle)), columns[middle] + 0.5, rows[middle] + 0.5])
    height = z[middle].astype(float)
    if len(middle) < 4:
        return np.array([float(np.median(height)), 0.0, 0.0])
    weight = np.ones(len(middle))
    fitted = np.zeros(3)
    for _ in range(20):
        fitted = np.linalg.lstsq(at * weight[:, None], height * weight, rcond=None)[0]
        off = height - at @ fitted
        spread = max(1.4826 * float(np.median(np.abs(off))), 1e-3)
        weight = np.sqrt(np.minimum(1.0, 1.345 * spread / np.maximum(np.abs(off), ROUNDING)))
    return fitted


def _filled(flat: NDArray[np.float32], seen: NDArray[np.bool_]) -> NDArray[np.float32]:
    """Return levels with those of the nearest cell seen where none was."""
    from scipy import ndimage

    if seen.all():
        return flat.copy()
    nearest = ndimage.distance_transform_edt(~seen, return_distances=False, return_indices=True)
    filled = np.empty_like(flat)
    for start in range(0, len(flat), _ROWS):
        part = slice(start, start + _ROWS)
        filled[part] = flat[nearest[0][part], nearest[1][part]]
    return filled


def _level(flat: NDArray[np.float32], ground: NDArray[np.bool_]) -> NDArray[np.float32]:
    """Return a smooth level through the cells of the ground, NaN far from them."""
    from scipy import ndimage

    weight = ndimage.gaussian_filter(ground.astype(np.float32), _BLUR, truncate=3)
    level = ndimage.gaussian_filter(np.where(ground, flat, np.float32(0)), _BLUR, truncate=3)
    with np.errstate(invalid="ignore", divide="ignore"):
        return np.where(weight > 0.02, level / weight, np.float32(np.nan)).astype(np.float32)
