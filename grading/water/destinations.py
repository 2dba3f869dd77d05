"""The places that a site names for its water, and where they lie on the grid."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import shapely
from msgspec import Struct

from grading.design.places import Places
from grading.errors import Problem
from grading.geometry.arrays import Floats, Ints
from grading.ground.model import Ground
from grading.site.tables import Floor
from grading.site.water_tables import Outfall
from grading.units import FOOT, INCH, length
from grading.water.grid.relief import Level, Relief

TAKES = ("drain", "dry well", "outlet")
"""Kinds in which water ends; over the others it runs on."""

_MEANT = ("outlet", "swale")  # kinds of a floor that are there for water; a lawn has a level

DRAIN_REACH = 3 * INCH
"""Water that comes this near to a drain goes down it: half the width of a small grate. [m]"""

PLACE_REACH = 3 * FOOT
"""Water that comes this near to a point named as lawn, swale or street has reached it. [m]"""


class Destination(Struct, frozen=True, eq=False):
    """A named place that water may reach.

    kind : that of an outfall, or of a floor: "outlet", "other".
    shape : point, line or polygon in plan. [m]
    z : its level, None where nothing tells it. [m]
    meant : whether the site means water to end there, or only gives a level to stay above.
    given : whether the site gives its level: a grate without one is set below the paving round it.
    """

    name: str
    kind: str
    shape: shapely.Geometry
    z: float | None
    meant: bool = True
    given: bool = True

    @property
    def takes(self) -> bool:
        """Whether water ends in it."""
        return self.kind in TAKES

    def reached(self, spacing: float) -> shapely.Geometry:
        """Return where water has reached it, on cells of a size. [m]"""
        # No way of eight directions steps over a band this wide.
        least = spacing if shapely.area(self.shape) == 0 else 0.0
        if self.takes:
            least = max(least, DRAIN_REACH)
        elif shapely.get_dimensions(self.shape) == 0:
            least = PLACE_REACH
        return shapely.buffer(self.shape, least)


def destinations_of(
    outfalls: Sequence[Outfall],
    floors: Sequence[Floor],
    surfaces: Sequence[tuple[shapely.Geometry, Level]],
    ground: Ground,
) -> tuple[Destination, ...]:
    """Return every place that a site names for its water.

    Parameters
    ----------
    outfalls, floors : sequences of Outfall and Floor
        As the site has them; a floor is what the finish stays above so that water gets away.
    surfaces, ground
        The finished surfaces and the ground: the level of a place that has none of its own.
    """
    found = []
    for outfall in outfalls:
        z = outfall.z
        if z is None:
            z = _level_of(outfall.at, surfaces, ground)
        given = outfall.z is not None
        found.append(Destination(outfall.name, outfall.kind, outfall.geometry, z, given=given))
    for floor in floors:
        one = len(floor.at) == 1
        shape = shapely.Point(floor.at[0]) if one else shapely.LineString(floor.at)
        z = min(floor.z) if floor.z else _level_of(floor.at, (), ground)
        found.append(Destination(floor.name, floor.kind, shape, z, floor.kind in _MEANT))
    return tuple(found)


def _level_of(
    at: Sequence[tuple[float, float]],
    surfaces: Sequence[tuple[shapely.Geometry, Level]],
    ground: Ground,
) -> float | None:
    """Return the lowest level at the points of a place, None where there is no ground."""
    levels = finished_levels(np.array(at, dtype=float), surfaces, ground)
    return float(np.nanmin(levels)) if np.isfinite(levels).any() else None


def finished_levels(
    xy: Floats, surfaces: Sequence[tuple[shapely.Geometry, Level]], ground: Ground
) -> Floats:
    """Return the level (k,) of paving, and of the ground beside it, at points (k, 2). [m]"""
    levels = ground.elevation(xy)
    for polygon, level in surfaces:
        on = shapely.intersects_xy(polygon, xy)
        levels[on] = level(xy[on])
    return levels


def cells_of(relief: Relief, destinations: Sequence[Destination], takes: bool) -> Ints:
    """Return the number, from 1, of the destination that each cell of the flat grid is in, or 0.

    Parameters
    ----------
    relief : Relief
    destinations : sequence of Destination
        Where two overlap the later one counts.
    takes : bool
        Of those in which water ends, or of those that it runs over.
    """
    mark: Ints = np.zeros(relief.z.size, dtype=np.int64)
    for number, destination in enumerate(destinations, start=1):
        if destination.takes == takes:
            within = relief.inside(destination.reached(relief.spacing)) & relief.ground
            mark[within.ravel()] = number
    return mark


def grate_too_high(
    outfall: Outfall,
    surfaces: Sequence[tuple[shapely.Geometry, Level]],
    ground: Ground,
    places: Places,
) -> Problem | None:
    """Say where a drain's grate stands above the finished surface, None where it does not.

    Parameters
    ----------
    outfall : Outfall
    surfaces, ground
        The finished surfaces, and the ground where there is none. [m]
    places : Places
        Says where it is, in the unit that the sentence is written in.
    """
    if outfall.kind != "drain" or outfall.z is None:
        return None
    levels = finished_levels(np.array(outfall.at, dtype=float), surfaces, ground)
    if not np.isfinite(levels).any() or outfall.z <= float(np.nanmin(levels)):
        return None
    lowest = int(np.nanargmin(levels))
    unit = places.unit
    return Problem(
        f'site.toml, outfall "{outfall.name}", key z',
        f"a grate at {length(outfall.z, unit)}",
        f"one below the finished surface, which is at {length(float(levels[lowest]), unit)}, "
        f"{places.at(np.array(outfall.at[lowest], dtype=float))}",
        "Lower the grate, or move the drain to where the surface is higher.",
    )
