"""Where the points of a scan lie, strays left aside, and the cells laid over them."""

from __future__ import annotations

import math

import numpy as np
from msgspec import Struct
from numpy.typing import NDArray

from grading.errors import Problem, SiteError
from grading.geometry.arrays import Floats
from grading.survey.sources.scans.spool import Points
from grading.units import Unit, length

CELL = 0.05
"""Side of a cell in which the lowest point is looked for. [m]"""
IN_NODE = 5
"""Cells along the side of what one node stands for: 25 cm."""
MOST_CELLS = 10_000_000
"""Cells at the most: 25,000 m2, and some 300 MB while they are filtered."""

_TILE = 4.0
_TILES = 1024
FARTHEST_STRAY = _TILE * _TILES / 2
"""What lies farther from the first points is no yard. [m]"""

# A tile with fewer points than this share of the usual tile has strays: leaves, birds, dust.
_STRAY_SHARE = 0.02
_FEWEST = 8


class Census:
    """How many points lie in each tile, counted as they stream by.

    What lies farther out than half of the 4 km that the tiles cover is with the strays.
    """

    def __init__(self) -> None:
        self.counts = np.zeros(_TILES * _TILES, np.int64)

    def add(self, points: Points) -> None:
        """Count a chunk (n, 3)."""
        place = np.clip(np.floor(points[:, :2] / _TILE) + _TILES // 2, 0, _TILES - 1)
        flat = place[:, 0].astype(np.int32) * _TILES + place[:, 1].astype(np.int32)
        self.counts += np.bincount(flat, minlength=_TILES * _TILES)

    def box(self) -> tuple[float, float, float, float] | None:
        """Return what the tiles with more than strays span: x, y and x, y; None where none do."""
        counts = self.counts.reshape(_TILES, _TILES).copy()
        counts[[0, -1], :] = counts[:, [0, -1]] = 0
        some = counts[counts > 0]
        if not len(some):
            return None
        # The usual tile is that of the usual point: strays make many tiles of one point each.
        ordered = np.sort(some)
        usual = ordered[np.searchsorted(np.cumsum(ordered), ordered.sum() / 2)]
        least = min(max(_FEWEST, _STRAY_SHARE * usual), usual)
        x, y = np.nonzero(counts >= least)
        low, high = (x.min(), y.min()), (x.max() + 1, y.max() + 1)
        corners = (_TILE * (value - _TILES // 2) for value in (*low, *high))
        left, bottom, right, top = map(float, corners)
        return left, bottom, right, top


class Cells(Struct, frozen=True):
    """Cells of CELL over a rectangle, whole nodes along each side.

    x0, y0 : its lower left corner about the origin of the points. [m]
    across, up : nodes along x and along y.
    """

    x0: float
    y0: float
    across: int
    up: int

    @property
    def shape(self) -> tuple[int, int]:
        """Rows of cells along y, and cells along x in each."""
        return self.up * IN_NODE, self.across * IN_NODE

    @property
    def count(self) -> int:
        """How many cells there are."""
        return self.across * self.up * IN_NODE**2

    def index(self, points: Points) -> tuple[NDArray[np.intp], NDArray[np.bool_]]:
        """Return the cell of each of points (n, 3), and whether it lies in one at all."""
        rows, columns = self.shape
        x = ((points[:, 0] - np.float32(self.x0)) * np.float32(1 / CELL)).astype(np.int32)
        y = ((points[:, 1] - np.float32(self.y0)) * np.float32(1 / CELL)).astype(np.int32)
        inside = (points[:, 0] >= self.x0) & (points[:, 1] >= self.y0) & (x < columns) & (y < rows)
        return y.astype(np.intp) * columns + x, inside

    def nodes(self) -> NDArray[np.int32]:
        """Return the node that each cell belongs to, row by row."""
        rows, columns = (np.arange(side, dtype=np.int32) // IN_NODE for side in self.shape)
        return (rows[:, None] * np.int32(self.across) + columns).reshape(-1)

    def node_places(self) -> Floats:
        """Return the middles of the nodes (up * across, 2), along x first. [m]"""
        side = CELL * IN_NODE
        x = self.x0 + side * (np.arange(self.across) + 0.5)
        y = self.y0 + side * (np.arange(self.up) + 0.5)
        return np.column_stack([np.tile(x, self.up), np.repeat(y, self.across)])


def cells_over(
    box: tuple[float, float, float, float], origin: Floats, unit: Unit, shown: str
) -> Cells:
    """Return the cells over a box, so laid that nodes are at whole steps of the site's axes.

    Parameters
    ----------
    box : x, y and x, y about the origin. [m]
    origin : (3,) float
        Of the points, on the site. [m]
    unit : "ft" or "m"
        That of messages.
    shown : str
        The scan in messages.

    Raises
    ------
    SiteError
        There would be more than MOST_CELLS.
    """
    side = CELL * IN_NODE
    first = [math.floor((box[k] + origin[k]) / side) for k in (0, 1)]
    last = [math.ceil((box[k + 2] + origin[k]) / side) for k in (0, 1)]
    across, up = (max(end - start, 1) for start, end in zip(first, last, strict=True))
    if across * up * IN_NODE**2 > MOST_CELLS:
        found = f"a scan of {length(across * side, unit)} by {length(up * side, unit)}"
        expected = f"at most {length(math.sqrt(MOST_CELLS) * CELL, unit)} squared"
        mend = "Cut it to the yard, or draw the areas in site.toml: it is cut to what lies by them."
        raise SiteError([Problem(shown, found, expected, mend)])
    x0, y0 = (side * start - origin[k] for k, start in enumerate(first))
    return Cells(float(x0), float(y0), across, up)
