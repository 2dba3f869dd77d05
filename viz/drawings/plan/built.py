"""What is built beside the paving, seen from above: walls, steps, slopes, drains."""

from __future__ import annotations

import shapely
from shapely.geometry.base import BaseGeometry

from grading.design.area import AreaPlan
from grading.pipeline import Plan
from viz.drawings.section.body import GRASS
from viz.paper.compose import View
from viz.paper.drawing import OUTLINE

_FILL = "#e6e3dc"
_MOSTLY = 0.2  # share of what is built that stands beside the paving


def draw_built(
    view: View, plan: Plan, area: AreaPlan, letters: float, window: BaseGeometry
) -> None:
    """Draw where structures of an area stand, each with what it is.

    Parameters
    ----------
    view : View
    plan : Plan
    area : AreaPlan
    letters : float
        Height of words. [mm]
    window : shapely geometry
        What the view shows. [m]
    """
    paved = shapely.union_all([each.outline for each in plan.areas])
    for each in plan.order.of(area).takeoffs[area.chosen].structures:
        if not each.solids:
            continue
        shape = shapely.union_all([solid.footprint for solid in each.solids])
        beside = shape.difference(paved)
        # What lies under the paving is not set out from above; a drain lies in it.
        shape = beside if beside.area > _MOSTLY * shape.area else shape
        edge = shape.boundary.intersection(window)
        shape = shape.intersection(window)
        if shape.is_empty:
            continue
        grown = any(solid.material == "turf" for solid in each.solids)
        view.drawing.area(shape, fill=GRASS if grown else _FILL, layer="structure")
        view.drawing.lines(edge, OUTLINE, "structure")
        # Tread by tread and course by course as they are seen from above.
        caps = [solid.footprint.difference(paved) for solid in each.solids
                if solid.material == "cap"]  # fmt: skip
        for cap in caps:
            view.drawing.lines(cap.boundary.intersection(window), OUTLINE, "structure cap")
        at = shape.representative_point().coords[0]
        view.drawing.text(at, each.kind, size=letters, ground=True, optional=True,
                          shift=(0.0, -4.0), layer="structure name",
                          others=((0.0, 4.0), (16.0, 0.0), (-16.0, 0.0), (0.0, -7.0)))  # fmt: skip
