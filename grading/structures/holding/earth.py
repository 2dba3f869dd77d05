"""What is dug for what holds an edge beyond the hole of the paving: a union, never a sum."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import shapely

from grading.design.area import AreaPlan
from grading.design.model import Design
from grading.design.underfoot import level_at, overlap
from grading.dig.hole import Dig
from grading.finish.cutting import clip
from grading.finish.earthwork import positive_and_negative
from grading.finish.wishes.of_site import NEARBY
from grading.geometry.tolerances import REACH, SLIVER
from grading.structures.model import Dug

Trench = tuple[shapely.Geometry, float]
"""Where it is dug in plan, and the level of its bottom. [m]"""


def dug_for(plan: Design, area: AreaPlan, dig: Dig, trenches: Sequence[Trench]) -> Dug:
    """Return what trenches take beyond the hole of the paving, the lower of all where they meet.

    Parameters
    ----------
    plan : Design
    area : AreaPlan
    dig : Dig
        One of the area's.
    trenches : sequence of Trench
    """
    bank = topsoil = 0.0
    taken: shapely.Geometry = _never_dug(plan, area)
    for where, bottom in sorted(trenches, key=lambda each: each[1]):
        left = shapely.difference(where, taken)
        taken = shapely.union(taken, where)
        inside = areal(shapely.intersection(left, dig.polygon))
        outside = areal(shapely.difference(left, dig.polygon))
        ground = plan.ground.under(area.name)
        if not inside.is_empty:
            piece = clip(ground, inside)
            formation = level_at(area, piece.xy.reshape(-1, 2)).reshape(-1, 3) - dig.build_up
            stripped = piece.ground - piece.organics
            bank += overlap(formation - bottom, stripped - bottom, piece.areas)
        if not outside.is_empty:
            reached = ground.reaching(outside, ground.beyond_survey(outside)[0] + REACH)
            piece = clip(reached, outside)
            depth = piece.ground - bottom
            bank += positive_and_negative(depth, piece.areas).cut
            topsoil += overlap(depth, np.asarray(piece.organics), piece.areas)
    return Dug(bank, topsoil)


def _never_dug(plan: Design, area: AreaPlan) -> shapely.Geometry:
    """Return where nothing is dug for an area: the house, and the paving of the others. [m]"""
    house = plan.site.house
    bodies: list[shapely.Geometry] = [
        other.outline for other in plan.areas if other.name != area.name
    ]
    if house is not None:
        bodies.append(house.polygon(NEARBY))
    return shapely.union_all(bodies)


def areal(shape: shapely.Geometry) -> shapely.MultiPolygon:
    """Return the faces of a shape, slivers left out. [m]"""
    parts = [each for each in shapely.get_parts(shape) if isinstance(each, shapely.Polygon)]
    return shapely.MultiPolygon([each for each in parts if each.area > SLIVER])
