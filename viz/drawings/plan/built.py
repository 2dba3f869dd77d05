"""What is built beside the paving, seen from above: walls, steps, slopes, drains."""

from __future__ import annotations

from collections.abc import Iterator

import shapely
from shapely.geometry.base import BaseGeometry

from grading.design.area import AreaPlan
from grading.pipeline import Plan
from grading.structures.model import Structure
from viz.drawings.section.body import GRASS
from viz.paper.compose import View
from viz.paper.drawing import OUTLINE

_FILL = "#e6e3dc"
_MOSTLY = 0.2  # share of what is built that stands beside the paving


def built_beside(plan: Plan, area: AreaPlan) -> Iterator[tuple[Structure, BaseGeometry]]:
    """Yield what is built with an area, each with the ground that it takes in plan. [m]

    Parameters
    ----------
    plan : Plan
    area : AreaPlan
    """
    paved = shapely.union_all([each.outline for each in plan.areas])
    for each in plan.order.of(area).takeoffs[area.chosen].structures:
        if not each.solids:
            continue
        shape = shapely.union_all([solid.footprint for solid in each.solids])
        beside = shape.difference(paved)
        # What lies under the paving is not set out from above; a drain lies in it.
        yield each, beside if beside.area > _MOSTLY * shape.area else shape


def is_grown(structure: Structure) -> bool:
    """Say whether it is lawn that is made, and nothing that is laid."""
    return any(solid.material == "turf" for solid in structure.solids)


def draw_built(
    view: View, plan: Plan, area: AreaPlan, letters: float, window: BaseGeometry,
    named: bool = False,
) -> None:  # fmt: skip
    """Draw where structures of an area stand, each with what it is, or with its name.

    Parameters
    ----------
    view : View
    plan : Plan
    area : AreaPlan
    letters : float
        Height of words. [mm]
    window : shapely geometry
        What the view shows. [m]
    named : bool
    """
    paved = shapely.union_all([each.outline for each in plan.areas])
    for each, taken in built_beside(plan, area):
        edge, shape = taken.boundary.intersection(window), taken.intersection(window)
        if shape.is_empty:
            continue
        view.drawing.area(shape, fill=GRASS if is_grown(each) else _FILL, layer="structure")
        view.drawing.lines(edge, OUTLINE, "structure")
        # Tread by tread and course by course as they are seen from above.
        caps = [solid.footprint.difference(paved) for solid in each.solids
                if solid.material == "cap"]  # fmt: skip
        for cap in caps:
            view.drawing.lines(cap.boundary.intersection(window), OUTLINE, "structure cap")
        at = shape.representative_point().coords[0]
        words = each.name if named else each.kind
        view.drawing.text(at, words, size=letters, ground=True, optional=True,
                          shift=(0.0, -4.0), layer="structure name",
                          others=((0.0, 4.0), (16.0, 0.0), (-16.0, 0.0), (0.0, -7.0)))  # fmt: skip
