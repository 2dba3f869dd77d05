"""A plan for the homeowner, where no picture in three dimensions can be drawn."""

from __future__ import annotations

import numpy as np

from grading.design.area import AreaPlan
from grading.design.folds import folds_of, panes_of, warped
from grading.pipeline import Plan
from viz.drawings.placing import place_plan
from viz.drawings.plan.folds import draw_fall, draw_folds
from viz.drawings.plan.levels import body_of
from viz.drawings.plan.view import draw_house, draw_outlines, plan_window, side_dimensions
from viz.paper.compose import Sheet, compose, words_of
from viz.paper.furniture import plan_axes, scale_bar
from viz.paper.page import Box, Page

WIDE, HIGH = 182.0, 74.0  # mm
MARGINS = (0.0, 4.0, 8.0, 12.0, 16.0, 20.0, 24.0)  # mm for what stands outside the plan


def plain_plan(plan: Plan, area: AreaPlan) -> Sheet:
    """Return an area seen from above, beside the house, with its fall.

    Dimensions stand outside the paving: the scale is the largest at which none is cut off.
    """
    sheet = _drawn(plan, area, MARGINS[0])
    for margin in MARGINS[1:]:
        if _whole(sheet):
            break
        sheet = _drawn(plan, area, margin)
    return sheet


def _whole(sheet: Sheet) -> bool:
    """Return whether no words leave the page."""
    corners = np.array([words.corners for words in words_of(compose(sheet))])
    page = (sheet.page.width, sheet.page.height)
    return bool(np.all(corners >= 0) and np.all(corners <= page))


def _drawn(plan: Plan, area: AreaPlan, margin: float) -> Sheet:
    unit = plan.site.unit
    sheet = Sheet(Page("figure", WIDE, HIGH, margin=1.0, title=0.0), "plan", "Plan")
    dig = area.chosen_dig
    window = plan_window(plan, area, dig)
    room = Box(40.0 + margin, 1.0 + margin, WIDE - 2 - margin, HIGH - 1 - margin)
    view = place_plan(window, room, unit, "Plan")
    sheet.views.append(view)
    view.drawing.area(area.outline, fill="#f1eee9", layer="paving")
    draw_house(view, plan, window, sills=False)
    draw_outlines(view, plan, area, dig, window)
    draw_folds(view, folds_of(area), unit, many=warped(panes_of(area)))
    side_dimensions(view, area, unit, body_of(plan))
    draw_fall(view, area, unit)
    plan_axes(sheet, (2.0, 14.0))
    scale_bar(sheet, (2.0, 7.0), view.scale, unit, 28.0)
    sheet.paper.text((2.0, 1.0), view.scale.words, size=2.3, across="left", up="bottom")
    return sheet
