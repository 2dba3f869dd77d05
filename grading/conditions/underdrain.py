"""What clean stone by a foundation asks for: an underdrain on its low side, a waterproofed wall.

Permeable interlocking pavement construction tolerances guide of the paver industry: 10 ft from
foundations unless they are waterproofed and the stone is underdrained. The limit is
`open-by-foundation`; that is also what the advice makes a condition.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely

from grading.catalogue.rules import Limits
from grading.conditions.outlets import outlets_of
from grading.design.area import AreaPlan
from grading.design.model import Design
from grading.dig.hole import Dig
from grading.geometry.arrays import Floats
from grading.geometry.tolerances import FLAT


@dataclass(frozen=True)
class Underdrain:
    """An underdrain and the waterproofing of the wall beside it.

    Attributes
    ----------
    along : float
        Length of pipe along the low side of the stone. [m]
    out : float or None
        From its low end to the nearest place that it can be led to; None where the site names none
        that is low enough. [m]
    outlet : str
        What the site calls it.
    wall : float
        Length of foundation wall that the stone lies before. [m]
    depth : float
        Finish to subgrade: how deep the wall is waterproofed at the least. [m]
    """

    along: float
    out: float | None
    outlet: str
    wall: float
    depth: float

    @property
    def pipe(self) -> float:
        """All of the pipe. [m]"""
        return self.along + (self.out or 0.0)

    @property
    def waterproofed(self) -> float:
        """Area of wall. [m2]"""
        return self.wall * self.depth


def underdrain_of(plan: Design, area: AreaPlan, dig: Dig) -> Underdrain | None:
    """Return the underdrain that a dig asks for; None where its stone is not clean, or far off.

    Parameters
    ----------
    plan : Design
    area : AreaPlan
    dig : Dig
        Of this area.
    """
    site = plan.site
    clean = any(layer.material == "open-graded" for layer in dig.system.layers)
    near = Limits(site.limits)["open-by-foundation"]
    if site.house is None or not clean or dig.system.over:
        return None
    if area.outline.distance(shapely.LineString(site.house.walls)) >= near:
        return None
    along, low = _low_side(dig)
    reached = outlets_of(plan, area, dig.system.name)
    places = [
        *((floor.name, _line(floor.at)) for floor in site.floors),
        *((outfall.name, outfall.geometry) for outfall in site.outfalls),
    ]
    ways = [
        (float(shapely.distance(shapely.Point(low), place)), name)
        for name, place in places
        if name in reached
    ]
    out, name = min(ways, default=(None, ""))
    walls = sum(
        _before(start, end, outward, dig, near) for start, end, outward in site.house.segments()
    )
    return Underdrain(along, out, name, walls, dig.build_up)


def _line(points: Sequence[tuple[float, float]]) -> shapely.Geometry:
    return shapely.Point(points[0]) if len(points) < 2 else shapely.LineString(points)


def _low_side(dig: Dig) -> tuple[float, Floats]:
    """Return how wide the hole is across its fall [m], and where its formation is lowest. [m]"""
    # A ring repeats the corner that it was drawn from: each counts once, wherever that is.
    corners = np.unique(shapely.get_coordinates(dig.polygon), axis=0)
    levels = dig.formation.at(corners)
    spread, *_ = np.linalg.lstsq(
        np.column_stack([corners - corners.mean(axis=0), np.ones(len(corners))]), levels, rcond=None
    )
    fall = spread[:2]
    steep = float(np.hypot(*fall))
    if steep < FLAT:
        box = shapely.get_coordinates(shapely.oriented_envelope(dig.polygon))
        sides = np.diff(box, axis=0)
        long = int(np.argmax(np.hypot(*sides.T)))
        return float(np.hypot(*sides[long])), box[long]
    across = corners @ (np.array([-fall[1], fall[0]]) / steep)
    return float(np.ptp(across)), corners[int(np.argmin(levels))]


def _before(start: Floats, end: Floats, outward: Floats, dig: Dig, near: float) -> float:
    """Return the length of a wall that a hole lies before, within reach of it. [m]"""
    strip = shapely.Polygon([start, end, end + near * outward, start + near * outward])
    shared = shapely.intersection(strip, dig.polygon)
    if shapely.area(shared) <= 0:
        return 0.0
    along = (end - start) / np.hypot(*(end - start))
    return float(np.ptp(shapely.get_coordinates(shared) @ along))
