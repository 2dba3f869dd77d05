"""The surface that water sees, on a grid: finished paving, the ground around it, the house."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from functools import cached_property

import numpy as np
import shapely
from msgspec import Struct
from msgspec.structs import replace
from numpy.typing import NDArray

from grading.geometry.arrays import Bools, Floats, Ints
from grading.geometry.tolerances import ROUNDING
from grading.ground.model import Ground
from grading.water.grid.descent import STEPS
from grading.water.grid.raster import inside, tin_levels

Level = Callable[[Floats], Floats]
"""Levels (k,) at points (k, 2). [m]"""

GROUND, HOUSE, OFF_THE_MAP = -1, -2, -3

FINEST = 0.05  # m: side of a cell; finer than a paver tells no more about where water goes
MOST_CELLS = 500  # along a side of the grid
_MARGIN = 2  # cells beyond all ground, so that a wall on its edge still holds water off


class Relief(Struct, frozen=True, eq=False, dict=True):
    """A grid of square cells over the site, with its level and what lies there.

    Attributes
    ----------
    z : (rows, columns) float
        Level at the centre of each cell, NaN in the house and off the map. [m]
    kind : (rows, columns) int
        The number of the finished surface, or `GROUND`, `HOUSE`, `OFF_THE_MAP`.
    spacing : float
        Side of a cell. [m]
    origin : (2,) float
        Centre of the first cell. [m]
    along : (2,) float
        Unit vector in which the columns count up; the rows count up to its left.
    """

    z: Floats
    kind: NDArray[np.int16]
    spacing: float
    origin: Floats
    along: Floats

    @property
    def shape(self) -> tuple[int, int]:
        """Rows and columns."""
        return self.z.shape[0], self.z.shape[1]

    @property
    def _axes(self) -> Floats:
        """Steps of a column and of a row as columns of a matrix, (2, 2). [m]"""
        (x, y) = self.along
        return self.spacing * np.array([[x, -y], [y, x]])

    @property
    def affine(self) -> tuple[float, float, float, float, float, float]:
        """Coefficients a, b, c, d, e, f of x = a column + b row + c, y = d column + e row + f."""
        (a, b), (d, e) = self._axes.tolist()
        return a, b, float(self.origin[0]), d, e, float(self.origin[1])

    def centres(self, cells: Ints) -> Floats:
        """Return the centres (k, 2) of cells (k,) of the flat grid. [m]"""
        row, column = np.divmod(np.asarray(cells), self.z.shape[1])
        return np.asarray(np.stack([column, row], axis=-1) @ self._axes.T + self.origin)

    def cells(self, xy: Floats) -> Ints:
        """Return the cells (k,) of the flat grid that hold points (k, 2), -1 beyond the grid."""
        steps = np.rint((np.asarray(xy) - self.origin) @ self._axes / self.spacing**2)
        column, row = steps.astype(np.int64).reshape(-1, 2).T
        rows, columns = self.shape
        within = (row >= 0) & (row < rows) & (column >= 0) & (column < columns)
        return np.where(within, row * columns + column, -1)

    @cached_property
    def ground(self) -> Bools:
        """Whether a cell holds ground or paving, (rows, columns)."""
        return np.isfinite(self.z)

    @cached_property
    def edge(self) -> Bools:
        """Whether a cell of ground is beside what lies off the map, (rows, columns)."""
        return self._beside(OFF_THE_MAP)

    @cached_property
    def beside_house(self) -> Bools:
        """Whether a cell of ground is beside the house, (rows, columns)."""
        return self._beside(HOUSE)

    def regraded(self, shape: shapely.Geometry, level: Level) -> Relief:
        """Return the grid with the open ground inside a shape at other levels."""
        cells = np.flatnonzero((self.inside(shape) & (self.kind == GROUND)).ravel())
        if not len(cells):
            return self
        levels = level(self.centres(cells))
        z = self.z.copy()
        z.ravel()[cells] = np.where(np.isfinite(levels), levels, z.ravel()[cells])
        return replace(self, z=z)

    def without(self, shape: shapely.Geometry) -> Relief:
        """Return the grid with the open ground inside a shape off the map."""
        hidden = self.inside(shape) & (self.kind == GROUND)
        kind = np.where(hidden, np.int16(OFF_THE_MAP), self.kind)
        return replace(self, kind=kind, z=np.where(hidden, np.nan, self.z))

    def _beside(self, kind: int) -> Bools:
        near = np.zeros(self.z.shape, dtype=bool)
        there = np.pad(self.kind == kind, 1)
        rows, columns = self.z.shape
        for row, column in STEPS:
            near |= there[1 + row : 1 + row + rows, 1 + column : 1 + column + columns]
        return near & self.ground

    def inside(self, polygon: shapely.Geometry) -> Bools:
        """Return the cells whose centre is inside a polygon, (rows, columns)."""
        return inside(self.on_grid(polygon), self.shape)

    def on_grid(self, geometry: shapely.Geometry) -> shapely.Geometry:
        """Return a geometry in columns and rows."""
        return shapely.transform(geometry, self.steps)

    def steps(self, xy: Floats) -> Floats:
        """Return points (k, 2) [m] as column and row (k, 2), whole at a cell's centre."""
        return np.asarray((xy - self.origin) @ self._axes / self.spacing**2)


def relief(
    ground: Ground,
    surfaces: Sequence[tuple[shapely.Geometry, Level]],
    house: shapely.Geometry | None = None,
    *,
    spacing: float | None = None,
    along: Floats | None = None,
    through: Floats | None = None,
) -> Relief:
    """Return the composite surface of a site: paving where it is finished, else the ground.

    Parameters
    ----------
    ground : Ground
        Existing ground; what was not surveyed is off the map.
    surfaces : sequence of (polygon, level)
        Finished surfaces, and a function that gives their levels (k,) at points (k, 2). Where
        two overlap the later one counts. [m]
    house : shapely geometry, optional
        Its body in plan, which no water enters. [m]
    spacing : float, optional
        Side of a cell; 50 mm, or what makes 500 cells of the longer side of the site. [m]
    along : (2,) float, optional
        Unit vector that the columns follow, the longest wall's best; +x without it.
    through : (2,) float, optional
        A point on the edge of cells, such as a corner of the house. [m]
    """
    ahead = np.array([1.0, 0.0]) if along is None else np.asarray(along, dtype=float)
    left = np.array([-ahead[1], ahead[0]])
    turn = np.stack([ahead, left])
    surveyed = ground.triangles[~ground.beyond]
    corners = [ground.points[np.unique(surveyed), :2]]
    corners += [shapely.get_coordinates(polygon) for polygon, _ in surfaces]
    spread = np.concatenate(corners) @ turn.T
    low, high = spread.min(axis=0), spread.max(axis=0)
    most = MOST_CELLS - 2 * _MARGIN - 1
    side = spacing or max(FINEST, float((high - low).max()) / most)
    anchor = low if through is None else turn @ np.asarray(through, dtype=float)
    first = anchor + side * (np.floor((low - anchor) / side + ROUNDING) - _MARGIN + 0.5)
    columns, rows = (np.ceil((high - first) / side).astype(int) + _MARGIN).tolist()
    origin = first @ turn
    z = np.full((rows, columns), np.nan)
    kind = np.full((rows, columns), OFF_THE_MAP, dtype=np.int16)
    made = Relief(z, kind, side, origin, ahead)
    levels = tin_levels(made.steps(ground.points[:, :2]), ground.points[:, 2], surveyed, z.shape)
    kind[np.isfinite(levels)] = GROUND
    z[...] = levels
    for number, (polygon, level) in enumerate(surfaces):
        paved = np.flatnonzero(made.inside(polygon))
        kind.ravel()[paved] = number
        z.ravel()[paved] = level(made.centres(paved))
    if house is not None and not shapely.is_empty(house):
        within = made.inside(house)
        kind[within], z[within] = HOUSE, np.nan
    return made
