"""Where an underdrain can be led to: named places that lie lower than what is dug.

An outlet, a swale, a street, a drain, a dry well or a lower lawn will do, where a pipe from the
lowest place of the subgrade reaches it at the least slope of a pipe.
"""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
import shapely

from grading.design.area import AreaPlan
from grading.design.model import Design
from grading.design.underfoot import level_at
from grading.geometry.arrays import Floats

LED_TO = ("outlet", "swale", "street", "drain", "dry well", "lawn")
"""Kinds of floor and outfall that water may be led to; never a neighbour's lot."""

_EVERY = 0.5  # m: how often a line is looked at


def outlets_of(plan: Design, area: AreaPlan, base: str) -> tuple[str, ...]:
    """Return the names of the places that an underdrain of an area can be led to.

    Parameters
    ----------
    plan : Design
    area : AreaPlan
    base : str
        The base system under it.
    """
    slope = plan.limits["drain-slope"]
    lowest = _lowest_subgrade(area, base)
    found = [
        name for name, at, z in _places(plan, area) if _reached(plan, area, at, z, lowest, slope)
    ]
    return tuple(dict.fromkeys(found))


def _lowest_subgrade(area: AreaPlan, base: str) -> float:
    """Return the level of the lowest place of the subgrade under the paving. [m]"""
    corners = area.chosen_dig.paved.xy.reshape(-1, 2)
    return float(level_at(area, corners).min()) - area.digs[base].build_up


def _places(plan: Design, area: AreaPlan) -> Iterator[tuple[str, Floats, Floats | None]]:
    """Give the name, the points (k, 2) [m] and the levels (k,) [m] of each; None on the ground."""
    for floor in plan.site.floors:
        # A lawn that bounds the finish lies along its edge, and no water is led to it.
        if floor.kind in ("outlet", "swale") and floor.area in (None, area.name):
            z = None if floor.z is None else np.array(floor.z)
            yield floor.name, np.array(floor.at), z
    for outfall in plan.site.outfalls:
        if outfall.kind in LED_TO:
            line = shapely.segmentize(outfall.geometry, _EVERY)
            at = shapely.get_coordinates(line)
            z = None if outfall.z is None else np.full(len(at), outfall.z)
            yield outfall.name, at, z


def _reached(
    plan: Design, area: AreaPlan, at: Floats, z: Floats | None, lowest: float, slope: float
) -> bool:
    levels = plan.ground.elevation(at) if z is None else z
    away = shapely.distance(area.outline, shapely.points(at))
    # Where the ground was not surveyed it is not known to be low.
    return bool(np.any(levels + slope * away <= lowest))
