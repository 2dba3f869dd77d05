"""The whole job from above, small: what the price is of, beside the house."""

from __future__ import annotations

import shapely

from grading.pipeline import Plan
from viz.drawings.plan.view import draw_house
from viz.paper.compose import Sheet, View
from viz.paper.drawing import OUTLINE, THIN, Drawing
from viz.paper.page import MM, Page, Scale

WIDE, HIGH = 84.0, 40.0  # mm
_AROUND = 0.6  # m
_LETTER = 2.8  # mm
_BESIDE = (4.5, 9.0)  # mm: where a name stands that finds no room in the middle


def quote_plan(made: Plan) -> Sheet:
    """Return every area of a job, and what is built beside it, with the house.

    Parameters
    ----------
    made : Plan
    """
    sheet = Sheet(Page("figure", WIDE, HIGH, margin=0.5, title=0.0), "plan", "Plan")
    built = [
        solid.footprint
        for order in made.order.areas
        for structure in order.takeoffs[order.area.chosen].structures
        for solid in structure.solids
    ]
    areas = [area.outline for area in made.areas]
    x0, y0, x1, y1 = shapely.union_all([*areas, *built]).bounds
    window = shapely.box(x0 - _AROUND, y0 - _AROUND, x1 + _AROUND, y1 + _AROUND)
    # A picture, from which nothing is measured: as large as there is room for.
    x0, y0, x1, y1 = window.bounds
    scale = Scale(max((x1 - x0) / (WIDE - 1), (y1 - y0) / (HIGH - 1)) * MM, "")
    origin = WIDE / 2 - scale.mm((x0 + x1) / 2), HIGH / 2 - scale.mm((y0 + y1) / 2)
    view = View(Drawing("plan"), scale, origin)
    sheet.views.append(view)
    draw = view.drawing
    draw_house(view, made, window, sills=False)
    for shape in built:
        draw.area(shape, fill="#c9c4bb", layer="built")
        draw.lines(shape.boundary, THIN, "built")
    for area in made.areas:
        draw.area(area.outline, fill="#eae3d8", layer="paving")
        draw.lines(area.outline.boundary, OUTLINE, "outline")
    for area in made.areas:
        at = area.outline.representative_point().coords[0]
        others = tuple((x, y) for far in _BESIDE for x, y in
                       ((0.0, far), (0.0, -far), (far, 0.0), (-far, 0.0)))  # fmt: skip
        draw.text(at, area.area.name, size=_LETTER, ground=True, optional=True, others=others)
    return sheet
