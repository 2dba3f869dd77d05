"""Where the pipe behind a wall can come out: a named place that lies low enough."""

from __future__ import annotations

import numpy as np
import shapely
from msgspec import Struct

from grading.design.area import AreaPlan
from grading.design.model import Design
from grading.geometry.arrays import Floats
from grading.geometry.tolerances import SAME
from grading.site.water_tables import LED_TO
from grading.structures.holding.block_wall import BlockWall

_EVERY = 0.5  # m: how often a line is looked at


class Outlet(Struct, frozen=True):
    """Where the pipe behind a wall is led to.

    Attributes
    ----------
    far : float or None
        From the wall; None where no place is known that lies low enough. [m]
    name : str
        What that place is called.
    level : float
        Of the bottom of the pipe at its lowest: on the pad, or as far above it as it takes to get
        out, and no higher than the ground in front. [m]
    """

    far: float | None
    name: str
    level: float


def outlet_for(plan: Design, area: AreaPlan, wall: BlockWall) -> Outlet:
    """Return the nearest named place that the pipe behind a wall reaches at its least slope.

    Parameters
    ----------
    plan : Design
    area : AreaPlan
    wall : BlockWall
        Its pipe lies on its pad; each segment is led out by itself, or into one that lies lower.

    Notes
    -----
    Water that stands in the ground on both sides of a wall does not thrust: where nothing is low
    enough for a pipe on the pad it may lie higher, up to the ground in front.
    """
    low = min(each.pad_top for each in wall.segments)
    most = min(each.ground[0] for each in wall.segments)
    return outlet_from(plan, area, wall.line, low, most)


def outlet_from(
    plan: Design, area: AreaPlan, line: shapely.LineString, low: float, most: float
) -> Outlet:
    """Return the nearest named place that a pipe along a line reaches at its least slope.

    Parameters
    ----------
    plan : Design
    area : AreaPlan
    line : shapely line
        [m]
    low, most : float
        Where it would lie best, on the pad, and the highest that it may. [m]
    """
    slope = plan.limits["drain-slope"]
    found = []
    for name, at, z in _places(plan, area):
        levels = plan.ground.elevation(at) if z is None else np.full(len(at), z)
        away = np.asarray(shapely.distance(line, shapely.points(at)))
        needed = np.maximum(levels + slope * away, low)
        for level, far in zip(needed.tolist(), away.tolist(), strict=True):
            if level <= most + SAME:
                found.append((level, far, name))
    if not found:
        return Outlet(None, "", low)
    level, far, name = min(found)
    return Outlet(far, name, level)


def _places(plan: Design, area: AreaPlan) -> list[tuple[str, Floats, float | None]]:
    found: list[tuple[str, Floats, float | None]] = []
    for floor in plan.site.floors:
        if floor.kind in ("outlet", "swale") and floor.area in (None, area.name):
            for place, point in enumerate(floor.at):
                z = None if floor.z is None else floor.z[place]
                found.append((floor.name, np.array([point], dtype=float), z))
    for outfall in plan.site.outfalls:
        if outfall.kind in LED_TO:
            at = shapely.get_coordinates(shapely.segmentize(outfall.geometry, _EVERY))
            found.append((outfall.name, at, outfall.z))
    return found
