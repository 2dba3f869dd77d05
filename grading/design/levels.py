"""Levels for the crew on site: existing, finish, subgrade and dig at points and along a grid."""

from __future__ import annotations

import numpy as np
import shapely
from msgspec import Struct

from grading.design.area import AreaPlan
from grading.design.model import Design
from grading.geometry.arrays import Floats
from grading.geometry.tolerances import TOGETHER
from grading.units import FOOT, Unit

SPACING = {"ft": 5 * FOOT, "m": 1.5}
"""How far grid lines are apart: common practice, no source: checked every 4 to 6 ft. [m]"""

MOST_POINTS = 70
"""A grid with more points is spaced twice as far: nobody shoots them all."""

_NEAR = 0.1  # of the spacing: a grid point this near to a corner is that corner
_CLOSE = 0.2  # of the spacing: no point of the outer edge is told so near to another


class Levels(Struct, frozen=True, eq=False):
    """Levels at points. [m]

    Attributes
    ----------
    xy : (n, 2) float
        Where in plan.
    existing, finish, subgrade, dug : (n,) float
        Existing ground; top of the paving; what the lowest layer sits on; and how deep the hole
        is dug, below the subgrade where organics go deeper.
    """

    xy: Floats
    existing: Floats
    finish: Floats
    subgrade: Floats
    dug: Floats

    @property
    def depth(self) -> Floats:
        """Depth dug below the existing ground, (n,), 0 where it is filled. [m]"""
        return np.maximum(self.existing - self.dug, 0.0)

    @property
    def refill(self) -> Floats:
        """Thickness of the compacted refill between dug surface and subgrade, (n,). [m]"""
        return self.subgrade - self.dug


class Grid(Struct, frozen=True, eq=False):
    """Points on lines across the paving, along a wall and out from it, and along its outer edge.

    Attributes
    ----------
    spacing : float
        Between lines. [m]
    origin, along, out : (2,) float
        Where both lines begin [m], and the unit vectors of both directions.
    steps : (n, 2) float
        How many spacings each point lies along and out: whole ones where two lines cross, and a
        part of one where a line leaves the paving at its outer edge.
    """

    spacing: float
    origin: Floats
    along: Floats
    out: Floats
    steps: Floats

    @property
    def names(self) -> tuple[str, ...]:
        """What the points are called, wherever they are drawn or told: 1, 2, ..."""
        return tuple(str(number) for number in range(1, len(self.steps) + 1))

    @property
    def xy(self) -> Floats:
        """The points in plan, (n, 2). [m]"""
        return self.place(np.asarray(self.steps * self.spacing, np.float64))

    def place(self, measured: Floats) -> Floats:
        """Return points in plan (n, 2) from what is measured along and out (n, 2). [m]"""
        return np.asarray(self.origin + measured @ np.array([self.along, self.out]))

    def measured(self, xy: Floats) -> Floats:
        """Return how far points (n, 2) lie along and out, (n, 2). [m]"""
        return np.asarray((xy - self.origin) @ np.array([self.along, self.out]).T)


def levels_at(plan: Design, area: AreaPlan, xy: Floats, base: str | None = None) -> Levels:
    """Return the levels of an area at points.

    Parameters
    ----------
    plan : Design
    area : AreaPlan
        One of its areas.
    xy : (n, 2) float
        [m]
    base : str, optional
        Name of one of its base systems; the one chosen when left out.
    """
    dig = area.digs[base or area.chosen]
    existing = np.asarray(plan.ground.elevation(xy), float)
    organics = np.asarray(plan.ground.under(area.name).organics_at(xy), float)
    subgrade = np.asarray(dig.formation.at(xy), float)
    finish = np.asarray(area.finish.surface.at(xy), float)
    return Levels(xy, existing, finish, subgrade, np.minimum(subgrade, existing - organics))


def either_way(plan: Design, xy: Floats) -> Floats:
    """Return the plus-or-minus of the existing ground at points, (k,), NaN where it is not known.

    Parameters
    ----------
    plan : Design
    xy : (k, 2) float
        [m]
    """
    known = plan.uncertainty
    return np.full(len(xy), np.nan) if known is None else known.level(xy)


def grid_of(
    area: AreaPlan, unit: Unit, corners: Floats | None = None, wished: float | None = None
) -> Grid:
    """Return a grid over the paving, along the wall it lies at, or along its longest edge.

    Parameters
    ----------
    area : AreaPlan
    unit : "ft" or "m"
    corners : (k, 2) float, optional
        Points that are told anyway: the grid leaves them out. [m]
    wished : float, optional
        Its spacing, whatever number of points that takes. [m]
    """
    outline, out = area.outline, out_of(area)
    along = np.array([out[1], -out[0]])
    if along @ (1.0, 0.5) < 0:
        along = -along
    ring = np.asarray(outline.exterior.coords)
    local = ring @ np.array([along, out]).T
    origin = local.min(axis=0) @ np.array([along, out])
    size = np.ptp(local, axis=0)
    spacing = SPACING[unit] if wished is None else wished
    while True:
        count = np.floor((size + TOGETHER) / spacing).astype(int) + 1
        crossings = np.stack(np.meshgrid(*map(np.arange, count), indexing="xy"), axis=-1)
        steps = crossings.reshape(-1, 2).astype(float)
        grid = Grid(spacing, origin, along, out, steps)
        xy = grid.xy
        kept = shapely.intersects_xy(outline.buffer(TOGETHER), xy[:, 0], xy[:, 1])
        told = np.empty((0, 2)) if corners is None else np.asarray(corners, float).reshape(-1, 2)
        kept &= _apart(xy, told) > _NEAR * spacing
        inner = Grid(spacing, origin, along, out, steps[kept])
        edge = _outer_edge(outline, inner, int(count[0]), np.vstack([told, inner.xy]))
        if len(inner.steps) + len(edge) <= MOST_POINTS or wished is not None:
            return Grid(spacing, origin, along, out, np.vstack([inner.steps, edge]))
        spacing *= 2


def _apart(xy: Floats, others: Floats) -> Floats:
    """Return how far points (n, 2) are from the nearest of others (k, 2). [m]"""
    if not len(others):
        return np.full(len(xy), np.inf)
    return np.asarray(np.hypot(*(xy[:, None] - others[None]).transpose(2, 0, 1)).min(axis=1))


def _outer_edge(outline: shapely.Polygon, grid: Grid, lines: int, told: Floats) -> Floats:
    """Return the steps (k, 2) at which lines out from the wall leave the paving for good.

    A walk as wide as a line is far from the next would have no point along its outer edge.
    """
    found: list[tuple[float, float]] = []
    far = float(np.ptp(np.asarray(outline.exterior.coords), axis=0).sum()) + grid.spacing
    for number in range(lines):
        ends = grid.place(np.array([[number * grid.spacing, out] for out in (-far, far)]))
        met = shapely.get_coordinates(shapely.intersection(shapely.LineString(ends), outline))
        if not len(met):
            continue
        out = float(grid.measured(met)[:, 1].max())
        at = grid.place(np.array([[number * grid.spacing, out]]))
        if _apart(at, told)[0] > _CLOSE * grid.spacing:
            found.append((float(number), out / grid.spacing))
    return np.array(found).reshape(-1, 2)


def out_of(area: AreaPlan) -> Floats:
    """Return the unit vector away from the wall with most paving at it, or across the paving."""
    if area.walls:
        wall = max(area.walls, key=lambda each: float(each.wall.front.area)).wall
        return np.asarray(wall.outward, float)
    ring = np.asarray(area.outline.exterior.coords)
    edges = np.diff(ring, axis=0)
    long = edges[int(np.argmax(np.hypot(*edges.T)))]
    long = long / np.hypot(*long)
    out = np.array([-long[1], long[0]])
    return out if out @ np.asarray(area.finish.plane.downhill, float) >= 0 else -out
