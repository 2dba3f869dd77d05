"""The way of the water over a finished site, and the place where that of each cell ends."""

from __future__ import annotations

from collections.abc import Sequence
from functools import cached_property

import numpy as np
import shapely
from msgspec import Struct

from grading.catalogue.rules import Limits
from grading.dig.pockets import Pocket
from grading.geometry.arrays import Bools, Floats, Ints
from grading.geometry.tolerances import NOTHING
from grading.ground.model import Ground
from grading.water.destinations import Destination, cells_of, finished_levels
from grading.water.grid.flow import Downhill, falling
from grading.water.grid.pools import Pool, filled, pools
from grading.water.grid.relief import GROUND, OFF_THE_MAP, Level, Relief
from grading.water.runoff import puddle

FOUNDATION, POOL, EDGE = "foundation", "low spot", "edge of the survey"
"""Where water ends that reaches no named place; also the kinds of these ends."""

_UPHILL = 1e-3  # ratio: a rise away from the wall that is more than the ground's own roughness


class Paved(Struct, frozen=True, eq=False):
    """One finished surface of an area; an area of several planes has one for each."""

    area: str
    polygon: shapely.Geometry
    level: Level


class LowSpot(Struct, frozen=True, eq=False):
    """Standing water in or beside paving, near the house, or where paving drains to.

    at, spill : where it is deepest, and where it spills over, (2,). [m]
    depth, level [m]; volume [m3]; plan area [m2].
    touching : names of the areas that it stands on or beside.
    from_house : from its nearest water to the house, None without one. [m]
    on_paving : its greatest depth on paving, 0 where none is under water. [m]
    """

    at: Floats
    spill: Floats
    depth: float
    level: float
    volume: float
    area: float
    touching: tuple[str, ...]
    from_house: float | None
    on_paving: float


class Course(Struct, frozen=True, eq=False, dict=True):
    """The way of the water over the grid.

    areas : the area of each finished surface.
    pocket : (n,) int, the number, from 1, of the planting pocket that a cell is in, or 0.
    pools : those that keep their water.
    downhill : the way of the water on the flat grid.
    ended : (n,) bool, water ends here and not at the edge of the map.
    label : (n,) int, into `places`, where the water of each cell ends.
    places : name and kind of each.
    """

    grid: Relief
    areas: tuple[str, ...]
    pocket: Ints
    pools: tuple[Pool, ...]
    downhill: Downhill
    ended: Bools
    label: Ints
    places: tuple[tuple[str, str], ...]

    @cached_property
    def kind(self) -> Ints:
        """What lies in each cell of the flat grid, (n,): see `Relief`."""
        return self.grid.kind.ravel().astype(np.int64)

    def own(self, area: str) -> Bools:
        """Return whether each cell belongs to an area, (n,)."""
        numbers = [number for number, name in enumerate(self.areas) if name == area]
        return np.asarray(np.isin(self.kind, numbers))

    def low_spots(self, house: shapely.Geometry, reach: float) -> tuple[LowSpot, ...]:
        """Return the low spots that matter to the paving or the house, the deepest first.

        Parameters
        ----------
        house : shapely geometry
            Its body in plan, empty without one. [m]
        reach : float
            From the house within which any low spot matters. [m]
        """
        fed = np.zeros(len(self.label), dtype=bool)
        fed[self.downhill.end[self.kind >= 0]] = True
        found = []
        for pool in self.pools:
            spot = self._low_spot(pool, house)
            near = spot.from_house is not None and spot.from_house <= reach
            if spot.touching or near or fed[pool.cells].any():
                found.append(spot)
        return tuple(found)

    def _low_spot(self, pool: Pool, house: shapely.Geometry) -> LowSpot:
        kind, columns = self.kind, self.grid.shape[1]
        around = (np.array([-1, 0, 1])[:, None] * columns + np.array([-1, 0, 1])).ravel()
        beside = np.zeros(len(self.areas), dtype=bool)
        for step in around:
            near = kind.take(pool.cells + step)
            beside[near[near >= 0]] = True
        paved = pool.cells[kind[pool.cells] >= 0]
        return LowSpot(
            at=self.grid.centres(np.array([pool.deepest]))[0],
            spill=self.grid.centres(np.array([pool.spill]))[0],
            depth=pool.depth,
            level=pool.level,
            volume=pool.volume,
            area=pool.area,
            touching=tuple(dict.fromkeys(self.areas[number] for number in np.flatnonzero(beside))),
            from_house=None if shapely.is_empty(house) else self._apart(pool, house),
            on_paving=float((pool.level - self.grid.z.ravel()[paved]).max(initial=0.0)),
        )

    def _apart(self, pool: Pool, house: shapely.Geometry) -> float:
        """Return how far the water nearest to the house is from it. [m]

        Only the rim is asked: no house stands in the middle of a pool.
        """
        wet = np.zeros(self.grid.z.size, dtype=bool)
        wet[pool.cells] = True
        columns = self.grid.shape[1]
        inner = np.logical_and.reduce(
            [wet[pool.cells + step] for step in (-columns, -1, 1, columns)]
        )
        rim = self.grid.centres(pool.cells[~inner])
        return float(shapely.distance(shapely.points(rim), house).min())


def course_of(
    grid: Relief,
    ground: Ground,
    paving: Sequence[Paved],
    house: shapely.Geometry,
    destinations: Sequence[Destination],
    limits: Limits,
    pockets: Sequence[Pocket] = (),
) -> Course:
    """Return the way of the water over a grid, to the places that a site names for it.

    Parameters
    ----------
    grid : Relief
        Of the same ground, paving and house.
    ground, paving, house, destinations, limits
        As `grading.water.model.water_of` takes them.

    Notes
    -----
    A low spot deeper than its limit keeps its water. A shallower one fills and spills, and so does
    one that holds no more than a puddle, or that is in the soil of a planting pocket, which takes
    up what stands in it. Water
    beside the house ends there where the surface rises away from it. Elsewhere it runs to the
    edge of the map; the last named lawn, swale, street or lot line that it passes is where it
    went.
    """
    takes = cells_of(grid, destinations, True)
    outlets = grid.edge | (takes > 0).reshape(grid.shape)
    stands = filled(grid.z, outlets)
    off = grid.kind == OFF_THE_MAP
    falls = falling(stands, outlets, outside=off, kind=grid.kind)
    standing = pools(grid.z, stands, falls.to(), grid.spacing)
    pocket = _pocket_cells(grid, pockets)
    kept = tuple(
        pool
        for pool in standing
        if pool.depth > _most(pool, grid, limits)
        and pool.volume >= puddle().value
        and not pocket[pool.cells].all()
    )
    wall = _against_house(grid, ground, paving, house)
    in_pool = np.zeros(grid.z.size, dtype=bool)
    for pool in kept:
        in_pool[pool.cells] = True
    ended = (takes > 0) | wall | in_pool
    downhill = Downhill(falls.to(ended.reshape(grid.shape)))
    end = downhill.end
    named = [(one.name, one.kind) for one in destinations]
    label = downhill.marked(cells_of(grid, destinations, False))
    # Ground walled off from every outlet keeps its water as a low spot does.
    enclosed = (downhill.receiver == np.arange(end.size)) & ~(outlets.ravel() | ended)
    label = np.where((in_pool | enclosed)[end], len(named) + 2, label)
    label = np.where(wall[end], len(named) + 1, label)
    label = np.where(takes[end] > 0, takes[end], label)
    return Course(
        grid=grid,
        areas=tuple(piece.area for piece in paving),
        pocket=pocket,
        pools=kept,
        downhill=downhill,
        ended=ended | enclosed,
        label=label,
        places=((EDGE, EDGE), *named, (FOUNDATION, FOUNDATION), (POOL, POOL)),
    )


def _pocket_cells(grid: Relief, pockets: Sequence[Pocket]) -> Ints:
    """Return the number, from 1, of the pocket that each cell of open ground is in, or 0."""
    number = np.zeros(grid.z.size, dtype=np.int64)
    for place, pocket in enumerate(pockets, start=1):
        number[(grid.inside(pocket.polygon) & (grid.kind == GROUND)).ravel()] = place
    return number


def _most(pool: Pool, grid: Relief, limits: Limits) -> float:
    """Return how deep a pool may be before it keeps its water. [m]"""
    paved = bool((grid.kind.ravel()[pool.cells] >= 0).any())
    return limits["low-spot-paving" if paved else "low-spot-ground"]


def _against_house(
    grid: Relief, ground: Ground, paving: Sequence[Paved], house: shapely.Geometry
) -> Bools:
    """Return the cells beside the house from which the surface rises into the yard, (n,)."""
    against = np.zeros(grid.z.size, dtype=bool)
    cells = np.flatnonzero(grid.beside_house)
    if not len(cells):
        return against
    centres = grid.centres(cells)
    nearest = shapely.shortest_line(house, shapely.points(centres))
    away = np.diff(shapely.get_coordinates(nearest).reshape(-1, 2, 2), axis=1)[:, 0]
    step = 2 * grid.spacing
    further = centres + step * away / np.maximum(np.hypot(*away.T), NOTHING)[:, None]
    surfaces = [(piece.polygon, piece.level) for piece in paving]
    # Exact levels, because the grid's own are a cell's width off to the side.
    rise = finished_levels(further, surfaces, ground) - finished_levels(centres, surfaces, ground)
    against[cells[rise > _UPHILL * step]] = True
    return against
