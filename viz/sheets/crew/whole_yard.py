"""The yard from above with all that is built, where some of it lies off the plans of its areas."""

from __future__ import annotations

from collections.abc import Sequence

import shapely

from grading.geometry.tolerances import TOGETHER
from grading.pipeline import Plan
from grading.setout.model import AreaStakes, SetOut
from viz.drawings.placing import place_plan
from viz.drawings.plan.built import built_beside, draw_built, is_grown
from viz.drawings.plan.view import draw_house, draw_outlines, name_area
from viz.paper.compose import Sheet, View
from viz.paper.page import Box, Page, Scale
from viz.sheets.crew.set_out_plan import WIDE, shown_of, turn_to_house

_HIGH = 92.0  # mm: as high as it is drawn at the most, so that its levels stand on the same page
_EDGE = 6.0  # mm kept free around it, for words
_AROUND = 1.0  # m shown around all that is built
_WORDS = 2.5


def off_their_plans(plan: Plan, found: SetOut) -> list[AreaStakes]:
    """Return the areas with something built that their own plan shows in part or not at all."""
    return [
        each for each in found.areas
        if any(
            not is_grown(what) and not shown_of(plan, found, each).buffer(TOGETHER).contains(taken)
            for what, taken in built_beside(plan, each.area)
        )
    ]  # fmt: skip


def whole_yard_plan(plan: Plan, found: SetOut, far: Sequence[AreaStakes]) -> tuple[Sheet, Scale]:
    """Return the plan of all paving, what is built with some of it and the house beside, to scale.

    Parameters
    ----------
    plan : Plan
    found : SetOut
        Of that plan.
    far : sequence of AreaStakes
        The areas that `off_their_plans` names, one at least.
    """
    area = far[0].area
    turn = turn_to_house(plan, area)
    taken = [shape for each in far for what, shape in built_beside(plan, each.area)
             if not is_grown(what)]  # fmt: skip
    paved = [each.outline for each in plan.areas]
    whole = shapely.union_all([*paved, *taken]).buffer(_AROUND)
    box = shapely.box(*shapely.affinity.rotate(whole, turn, origin=(0, 0)).bounds)
    window = shapely.affinity.rotate(box, -turn, origin=(0, 0))
    room = Box(_EDGE, _EDGE, WIDE - _EDGE, _HIGH - _EDGE)
    placed = place_plan(window, room, plan.site.unit, "Whole yard", turn)
    x0, y0, x1, y1 = box.bounds
    high = placed.scale.mm(y1 - y0) + 2 * _EDGE
    origin = (WIDE / 2 - placed.scale.mm((x0 + x1) / 2), high / 2 - placed.scale.mm((y0 + y1) / 2))
    view = View(placed.drawing, placed.scale, origin, turn=turn)
    sheet = Sheet(Page("figure", WIDE, high, margin=0.5, title=0.0), "whole-yard", "Whole yard")
    sheet.views.append(view)
    draw_house(view, plan, window, sills=False)
    draw_outlines(view, plan, area, area.chosen_dig, window)
    name_area(view, area.area.name, area.outline)
    for each in far:
        draw_built(view, plan, each.area, _WORDS, window, named=True)
    return sheet, placed.scale
