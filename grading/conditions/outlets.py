"""Drains that are built with the paving, and where a pipe can be led to: places that lie lower.

An outlet, a swale, a street, a drain, a dry well or a lower lawn will do, where a pipe from the
lowest place of what is drained reaches it at the least slope of a pipe.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import NamedTuple

import numpy as np
import shapely

from grading.conditions.underdrain import underdrain_of
from grading.design.area import AreaPlan
from grading.design.model import Design
from grading.design.underfoot import level_at
from grading.geometry.arrays import Floats
from grading.site.tables import FOLLOWED, Floor
from grading.site.water_tables import AT_PAVING, LED_TO, Outfall
from grading.units import FOOT

WELL_COVER = FOOT
"""Soil over the stone of a dry well; common practice, no source. [m]"""

_EVERY = 0.5  # m: how often a line is looked at


class LowPlace(NamedTuple):
    """A place that a pipe may be led to.

    Attributes
    ----------
    name, kind : str
    at : (k, 2) float
        Points of it. [m]
    z : (k,) float
        The level that a pipe comes out at there; not a number where no survey tells. [m]
    """

    name: str
    kind: str
    at: Floats
    z: Floats


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
    begin, lowest = _begin(plan, area, base)
    found = (
        place.name for place in low_places(plan, area.name) if _reached(begin, place, lowest, slope)
    )
    return tuple(dict.fromkeys(found))


def _begin(plan: Design, area: AreaPlan, base: str) -> tuple[shapely.Geometry, float]:
    """Return where a pipe begins, and its level there: the low end of the underdrain. [m]"""
    asked = underdrain_of(plan, area, area.digs[base])
    if asked is None:
        return area.outline, _lowest_subgrade(area, base)
    ends = asked.line[[0, -1]] if asked.level else asked.line[-1:]
    return shapely.MultiPoint(ends), asked.invert


def _lowest_subgrade(area: AreaPlan, base: str) -> float:
    """Return the level of the lowest place of the subgrade under the paving. [m]"""
    corners = area.chosen_dig.paved.xy.reshape(-1, 2)
    return float(level_at(area, corners).min()) - area.digs[base].build_up


def low_places(
    plan: Design, area: str | None = None, named: str | None = None
) -> Iterator[LowPlace]:
    """Give every place of a site that a pipe may be led to, low or not.

    Parameters
    ----------
    plan : Design
    area : str, optional
        Name of the area that it is led from: a floor may be of another one alone.
    named : str, optional
        What it is to be led to by its name: a drain that is built with the paving only so, for it
        is led out itself.
    """
    for floor in plan.site.floors:
        # A lawn that bounds the finish lies along its edge, and no water is led to it.
        if floor.kind in FOLLOWED and floor.area in (None, area):
            yield _floor(plan, floor)
    for outfall in plan.site.outfalls:
        if outfall.kind in LED_TO and (outfall.name == named or not built_at(plan, outfall)):
            yield _outfall(plan, outfall)


def _floor(plan: Design, floor: Floor) -> LowPlace:
    at = np.array(floor.at)
    z = plan.ground.elevation(at) if floor.z is None else np.array(floor.z)
    return LowPlace(floor.name, floor.kind, at, z)


def _outfall(plan: Design, outfall: Outfall) -> LowPlace:
    if outfall.kind == "dry well":
        at = shapely.get_coordinates(shapely.centroid(outfall.geometry))
        return LowPlace(outfall.name, outfall.kind, at, np.array([well_top(plan, outfall)]))
    at = shapely.get_coordinates(shapely.segmentize(outfall.geometry, _EVERY))
    # Where the ground was not surveyed it is not known to be low. A piece of ground is not as low
    # all over as it is said to be: a pipe comes out above what was surveyed.
    z = ground = plan.ground.elevation(at)
    if outfall.z is not None:
        z = np.full(len(at), outfall.z)
        z = np.fmax(z, ground) if outfall.closed else z
    return LowPlace(outfall.name, outfall.kind, at, z)


def well_top(plan: Design, well: Outfall) -> float:
    """Return the level that a pipe comes into a dry well at: the top of its stone. [m]

    Parameters
    ----------
    plan : Design
    well : Outfall
        Its `z` where it gives one; else so far below the ground over it.
    """
    if well.z is not None:
        return well.z
    middle = shapely.get_coordinates(shapely.centroid(well.geometry))
    return float(plan.ground.elevation(middle)[0]) - WELL_COVER


def _reached(begin: shapely.Geometry, place: LowPlace, lowest: float, slope: float) -> bool:
    away = shapely.distance(begin, shapely.points(place.at))
    return bool(np.any(place.z + slope * away <= lowest))


def built_at(plan: Design, outfall: Outfall) -> str | None:
    """Return the name of the area that a drain is built with; None where none is built.

    Parameters
    ----------
    plan : Design
    outfall : Outfall
    """
    if outfall.kind != "drain" or outfall.existing:
        return None
    away = {area.name: float(area.outline.distance(outfall.geometry)) for area in plan.areas}
    nearest = min(away, key=lambda name: away[name], default=None)
    if nearest is None or away[nearest] <= AT_PAVING:
        return nearest
    surveyed = outfall.z is not None or np.isfinite(plan.ground.elevation(points_of(outfall))).all()
    return nearest if outfall.outlet is not None and surveyed else None


def points_of(outfall: Outfall) -> Floats:
    """Return the points of an outfall, (k, 2). [m]"""
    return np.array(outfall.at, dtype=float)
