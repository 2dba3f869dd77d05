"""What clean stone by a foundation asks for: an underdrain on its low side, a waterproofed wall.

Permeable interlocking pavement construction tolerances guide of the paver industry: 10 ft from
foundations unless they are waterproofed and the stone is underdrained. The limit is
`open-by-foundation`; that is also what the advice makes a condition.
"""

from __future__ import annotations

import numpy as np
import shapely
from msgspec import Struct

from grading.design.area import AreaPlan
from grading.design.model import Design
from grading.dig.hole import Dig
from grading.geometry.arrays import Floats, Region
from grading.geometry.tolerances import FLAT, LEVEL, TOGETHER
from grading.units import FOOT

BESIDE_EDGE = FOOT / 2
"""How far inside the edge of the hole an underdrain lies: half of the stone round it. [m]"""

_WALL = 2.0  # m: more than any hole goes on beyond paving, or a wall stands out from it


class Underdrain(Struct, frozen=True, eq=False):
    """What clean stone by a foundation asks for: an underdrain, and a membrane.

    Attributes
    ----------
    line : (k, 2) float
        The pipe along the low side of the stone, its lower end last. [m]
    level : bool
        Whether both of its ends are as low, so that it may run either way.
    invert : float
        The lowest level of the subgrade along it: its lower end lies there. [m]
    wall : float
        Length of foundation wall that the stone lies before. [m]
    stone : float
        Thickness of the clean stone. [m]
    near : shapely geometry
        The stone that lies nearer to the foundation than the limit. [m]
    walls : shapely geometry
        The stretches of wall that it lies before. [m]
    """

    line: Floats
    level: bool
    invert: float
    wall: float
    stone: float
    near: shapely.Geometry
    walls: shapely.Geometry

    @property
    def along(self) -> float:
        """Length of pipe along the low side. [m]"""
        return float(np.hypot(*np.diff(self.line, axis=0).T).sum())


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
    stone = sum(
        layer.thickness for layer in dig.system.layers if layer.material in ("open-graded", "chips")
    )
    clean = any(layer.material == "open-graded" for layer in dig.system.layers)
    near = site.in_force["open-by-foundation"]
    if site.house is None or not clean or dig.system.over:
        return None
    foundation = shapely.LineString(site.house.walls)
    if area.outline.distance(foundation) >= near:
        return None
    line = _low_side(dig, _beyond_raised(plan, area))
    levels = dig.formation.at(line)
    if levels[0] < levels[-1]:
        line, levels = line[::-1], levels[::-1]
    stretches = [
        stretch
        for start, end, outward in site.house.segments()
        if (stretch := _before(start, end, outward, dig, near)) is not None
    ]
    return Underdrain(
        line=line,
        level=bool(levels[0] - levels[-1] < LEVEL),
        invert=float(levels.min()),
        wall=sum(float(each.length) for each in stretches),
        stone=stone,
        near=shapely.intersection(dig.polygon, shapely.buffer(foundation, near)),
        walls=shapely.MultiLineString(stretches),
    )


def _beyond_raised(plan: Design, area: AreaPlan) -> shapely.Geometry:
    """Return what lies beyond the edges that are raised: a wall stands there, and no stone."""
    runs = [run for run in area.edge_runs if run.above(plan.limits["raised-edge"])]
    lines = [shapely.LineString(run.points) for run in runs]
    beyond = shapely.buffer(shapely.MultiLineString(lines), _WALL)
    return shapely.difference(beyond, area.outline)


def _low_side(dig: Dig, taken: shapely.Geometry | None = None) -> Floats:
    """Return the line along the low side of a hole, (k, 2), half a trench inside its edge. [m]

    Of its edge drawn in, where it is not taken, the part between the places that lie farthest out
    to either side of its fall, on the low side.
    """
    stone = dig.polygon if taken is None else shapely.difference(dig.polygon, taken)
    hole = _largest(shapely.buffer(stone, -BESIDE_EDGE, join_style="mitre"))
    ring = shapely.get_coordinates((hole or _largest(dig.polygon) or shapely.Polygon()).exterior)[
        :-1
    ]
    # A ring repeats the corner that it was drawn from: each counts once, wherever that is.
    corners = np.unique(shapely.get_coordinates(dig.polygon), axis=0)
    levels = dig.formation.at(corners)
    spread, *_ = np.linalg.lstsq(
        np.column_stack([corners - corners.mean(axis=0), np.ones(len(corners))]), levels, rcond=None
    )
    steep = float(np.hypot(*spread[:2]))
    if steep < FLAT:
        box = shapely.get_coordinates(shapely.oriented_envelope(shapely.Polygon(ring)))
        long = int(np.argmax(np.hypot(*np.diff(box, axis=0).T)))
        return box[[long, long + 1]]
    down = -spread[:2] / steep
    across = ring @ np.array([-down[1], down[0]])
    ends = [_lowest(ring, down, across - across.min()), _lowest(ring, down, across.max() - across)]
    chains = [_chain(ring, *ends), _chain(ring, *reversed(ends))[::-1]]
    return max(chains, key=lambda chain: float(np.asarray(_middle(chain)) @ down))


def _largest(shape: Region | shapely.Geometry) -> shapely.Polygon | None:
    parts = [one for one in shapely.get_parts(shape) if isinstance(one, shapely.Polygon)]
    return max(parts, key=lambda part: float(part.area), default=None)


def _lowest(ring: Floats, down: Floats, off: Floats) -> int:
    """Return the lowest corner of those that lie as far out as any."""
    return int(np.argmax(np.where(off < TOGETHER, ring @ down, -np.inf)))


def _chain(ring: Floats, first: int, last: int) -> Floats:
    """Return the corners of a ring from one to another, in its order."""
    count = (last - first) % len(ring)
    return ring[(first + np.arange(count + 1)) % len(ring)]


def _middle(chain: Floats) -> tuple[float, float]:
    at = shapely.MultiPoint(chain) if len(chain) < 2 else shapely.LineString(chain)
    return at.centroid.x, at.centroid.y


def _before(
    start: Floats, end: Floats, outward: Floats, dig: Dig, near: float
) -> shapely.LineString | None:
    """Return the stretch of a wall that a hole lies before, within reach of it. [m]"""
    strip = shapely.Polygon([start, end, end + near * outward, start + near * outward])
    shared = shapely.intersection(strip, dig.polygon)
    if shapely.area(shared) <= 0:
        return None
    way = (end - start) / np.hypot(*(end - start))
    along = (shapely.get_coordinates(shared) - start) @ way
    return shapely.LineString([start + along.min() * way, start + along.max() * way])
