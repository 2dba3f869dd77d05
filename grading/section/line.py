"""A line across a site in plan: where sections are cut, and what it lies within."""

from __future__ import annotations

import numpy as np
import shapely
from msgspec import Struct

from grading.design.area import AreaPlan
from grading.design.model import Design
from grading.geometry.arrays import Floats
from grading.geometry.tolerances import FLAT, ROUNDING, TOUCH

Interval = tuple[float, float]

_BESIDE = 1.5  # m: a door this near to paving is one that a section of it may go through
_LONG, _FILLED = 2.0, 0.7  # times as long as wide; share of the rectangle round it


class Line(Struct, frozen=True, eq=False):
    """Where a section is cut: a point in plan that it passes [m] and its unit vector, (2,) each."""

    through: Floats
    along: Floats


def down_and_across(plan: Design, area: AreaPlan) -> tuple[Line, Line]:
    """Return the lines of the section down the fall and of the one across.

    The first passes through the middle of the paving, or through a door where one stands in
    line with its middle half; on level paving it runs straight out from the house. A long area is
    cut square to its longer side and along it, whichever way it falls: askew, a section would leave
    through the long side, and show no width that is there.
    """
    outline = area.outline
    middle = np.asarray(outline.centroid.coords[0])
    if not outline.contains(outline.centroid):
        middle = np.asarray(outline.representative_point().coords[0])
    down = np.asarray(area.finish.plane.downhill, float)
    if area.finish.plane.fall < FLAT:
        down = _outward(plan, outline)
    along = long_side(outline)
    if along is not None:
        square = np.array([-along[1], along[0]])
        nearest = max((along, square), key=lambda way: abs(float(way @ down)))
        down = nearest if nearest @ down > 0 else -nearest
    across = np.array([down[1], -down[0]])
    if across[0] < -ROUNDING or (abs(across[0]) <= ROUNDING and across[1] < 0):
        across = -across
    offsets = (np.asarray(outline.exterior.coords) - middle) @ across
    half = (offsets.max() - offsets.min()) / 4
    doors = [
        float((np.asarray(door.at, float) - middle) @ across)
        for door in plan.site.doors
        if outline.distance(shapely.Point(door.at)) < _BESIDE
    ]
    near = [off for off in doors if abs(off) <= half]
    through = middle
    if near:
        moved = middle + across * min(near, key=abs)
        if outline.contains(shapely.Point(moved)):
            through = moved
    return Line(through, down), Line(middle, across)


def long_side(outline: shapely.Polygon) -> Floats | None:
    """Return the unit vector (2,) of the longer side of an area that is long; else None.

    Parameters
    ----------
    outline : shapely.Polygon

    Notes
    -----
    Long is what fills most of a rectangle of `_LONG` times its width or more: a walk, no patio.
    """
    box = shapely.oriented_envelope(outline)
    if not isinstance(box, shapely.Polygon) or outline.area < _FILLED * box.area:
        return None
    corners = np.asarray(box.exterior.coords)
    sides = np.diff(corners[:3], axis=0)
    lengths = np.hypot(*sides.T)
    if lengths.max() < _LONG * lengths.min():
        return None
    way = sides[int(np.argmax(lengths))]
    return np.asarray(way / np.hypot(*way), float)


def _outward(plan: Design, outline: shapely.Polygon) -> Floats:
    """Return the way out from the wall nearest to paving; down the sheet without a house."""
    if plan.site.house is None:
        return np.array([0.0, -1.0])
    walls = [
        (shapely.LineString([p, q]).distance(outline), np.asarray(outward, float))
        for p, q, outward in plan.site.house.segments()
    ]
    return min(walls, key=lambda pair: pair[0])[1]


def intervals(line: shapely.LineString, region: shapely.Geometry) -> tuple[Interval, ...]:
    """Return where a line from distance 0 lies within a region, as pairs of distances. [m]"""
    start = np.asarray(line.coords[0])
    out: list[Interval] = []
    for part in shapely.get_parts(shapely.intersection(line, region)):
        if part.geom_type == "LineString" and part.length > TOUCH:
            near, far = sorted(
                float(np.hypot(*(np.asarray(p) - start))) for p in (part.coords[0], part.coords[-1])
            )
            if out and near - out[-1][1] < TOUCH:
                near = out.pop()[0]
            out.append((near, far))
    return tuple(sorted(out))


def within(spans: tuple[Interval, ...], ends: Interval) -> tuple[Interval, ...]:
    """Return what of some stretches lies between two distances. [m]"""
    kept = ((max(a, ends[0]), min(b, ends[1])) for a, b in spans)
    return tuple((a, b) for a, b in kept if b - a > TOUCH)
