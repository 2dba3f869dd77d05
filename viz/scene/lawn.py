"""The ground as it is left when the work is done: lawn regraded to paving, and what is hard.

A drive, a walk or a slab that the paving meets is there already, and is no lawn.
"""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
import shapely

from grading.dig.lawn import Level
from grading.geometry.arrays import Floats, Region
from grading.geometry.grids import cells_in
from grading.geometry.tolerances import TOUCH
from grading.ground.model import Ground
from grading.pipeline import Plan
from grading.structures.lawn_regraded import lawn_beside
from grading.units import FOOT, INCH
from viz.scene.collect import Collected
from viz.scene.shell import Shape, Solid, about, between, polygons, triangulate
from viz.scene.solids import Draped
from viz.scene.surroundings import drape_over

_EVERY = 0.25
"""How far apart regraded lawn is read. [m]"""

REACH = 10 * FOOT
"""Hard ground is drawn so far beyond the line that is met, if as much was surveyed: nobody
says how wide it is. [m]"""

_THICK = 4 * INCH  # of what is drawn of it: nobody says that either
HARD = "hard ground"
"""What the bodies of hard ground are called."""

_HARD = ("driveway", "walk", "slab")


def lawns_of(plan: Plan) -> Iterator[tuple[Region, Level]]:
    """Yield where lawn beside each area is regraded on the bases chosen, and its level there."""
    for area in plan.areas:
        found = lawn_beside(plan, area, area.chosen_dig)
        if found is not None:
            yield found


def left_over(plan: Plan, ground: Ground, region: Region, origin: Floats) -> tuple[Draped, Shape]:
    """Return the ground draped over a region as it is left, and where its lawn is regraded.

    Parameters
    ----------
    plan : Plan
    ground : Ground
        As it lies today.
    region : shapely polygon or multipolygon
        [m]
    origin : (3,) float
        [m]
    """
    draped = drape_over(ground, region, origin)
    lawns = [(polygons(shape.intersection(region)), level) for shape, level in lawns_of(plan)]
    lawns = [(shape, level) for shape, level in lawns if not shape.is_empty]
    lawn = shapely.union_all([shape for shape, _ in lawns])
    if lawn.is_empty:
        return draped, lawn
    rings = shapely.get_coordinates(shapely.segmentize(lawn.boundary, _EVERY))
    inner, _ = cells_in(polygons(lawn), _EVERY)
    sheet, _ = triangulate(
        about(region, origin),
        np.concatenate([draped.sheet.xy, rings - origin[:2], inner - origin[:2]]),
    )
    xy = sheet.xy + origin[:2]
    z, organics = ground.elevation(xy), ground.organics_at(xy)
    for shape, level in lawns:
        inside = shapely.intersects_xy(shapely.buffer(shape, TOUCH), xy)
        z[inside] = level(xy[inside])
    # A point on the edge of what was measured may lie beyond it by a rounding.
    for k in np.flatnonzero(~np.isfinite(z)):
        near = int(np.argmin(np.hypot(*(draped.sheet.xy - sheet.xy[k]).T)))
        z[k], organics[k] = draped.ground[near] + origin[2], draped.organics[near]
    return Draped(sheet, z - origin[2], organics), lawn


def hard_in(plan: Plan, region: Shape) -> shapely.MultiPolygon:
    """Return what lies hard within a region, clear of all that is paved or dug for. [m]

    It begins at the line that the paving meets, as far as a breakline goes on along it.
    """
    taken = shapely.union_all([area.outline for area in plan.areas])
    shapes = []
    for meet in plan.site.meets:
        line = shapely.LineString(meet.at) if len(meet.at) > 1 else shapely.Point(meet.at[0])
        if meet.kind not in _HARD or line.length < TOUCH:
            continue
        lines = () if plan.ground.measured is None else plan.ground.measured.lines
        creases = (shapely.LineString(each) for each in lines if len(each) > 1)
        along = next((each for each in creases if each.buffer(TOUCH).covers(line)), line)
        sides = [along.buffer(side * REACH, single_sided=True) for side in (1.0, -1.0)]
        shapes.append(min(sides, key=lambda side: float(side.intersection(taken).area)))
    dug = shapely.union_all([taken, *(area.chosen_dig.polygon for area in plan.areas)])
    return polygons(shapely.union_all(shapes).intersection(region).difference(dug))


def add_hard(
    found: Collected, plan: Plan, ground: Ground, region: Shape, bottom: float,
    shown: tuple[str, ...],
) -> shapely.MultiPolygon:  # fmt: skip
    """Add what lies hard within a region, and return where: what is left of it is lawn. [m]

    Parameters
    ----------
    found : Collected
    plan : Plan
    ground : Ground
        As it is drawn.
    region : shapely polygon or multipolygon
        [m]
    bottom : float
        The underside of the soil below it, about the origin. [m]
    shown : tuple of str
        The views it is shown in.
    """
    hard = hard_in(plan, region)
    if not hard.is_empty:
        top, soil = hard_and_soil(drape_over(ground, hard, found.origin), bottom)
        found.add_solid(HARD, "concrete", top, shown)
        found.add_solid(HARD, "subsoil", soil, shown)
    return hard


def hard_and_soil(draped: Draped, bottom: float) -> tuple[Solid, Solid]:
    """Return hard ground as it lies, and the soil under it down to a level about the origin [m]."""
    sheet, top = draped.sheet, draped.ground
    under = top - _THICK
    return between(sheet, top, under), between(sheet, under, np.full_like(top, bottom))
