"""The plan that the crew sets out from: corners lettered, grid numbered, to a stated scale."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import shapely

from grading.design.area import AreaPlan
from grading.design.folds import folds_of, panes_of, warped
from grading.design.levels import Grid
from grading.design.points import Points
from grading.pipeline import Plan
from viz.drawings.placing import place_plan
from viz.drawings.plan.folds import draw_fall, draw_folds
from viz.drawings.plan.levels import body_of, draw_curves
from viz.drawings.plan.site_marks import draw_features
from viz.drawings.plan.view import (
    draw_house,
    draw_outlines,
    draw_shared_edges,
    plan_window,
    side_dimensions,
)
from viz.paper.compose import Sheet, View
from viz.paper.drawing import Pen
from viz.paper.furniture import caption, plan_axes, scale_bar
from viz.paper.page import Box, Page
from viz.words.figures import run

TALLEST = 172.0  # mm
_FOOT = 13.0  # mm: scale bar and caption
_SIDE = 4.0  # mm
_GRID = Pen(0.13, "#5a5a5a", (3.0, 1.2))
_LETTER = 3.6
_NUMBER = 3.2
_RADIUS = 2.3


def grid_plan(
    plan: Plan, area: AreaPlan, grid: Grid, points: Points, width: float,
    centres: Sequence[str] = (),
) -> Sheet:  # fmt: skip
    """Return the plan of an area with the points that its table of levels tells.

    Parameters
    ----------
    plan : Plan
    area : AreaPlan
    grid : Grid
    points : Points
        The corners, those of holes among them.
    width : float
        Of the drawing. [mm]
    centres : sequence of str
        Names of the centres of `circles_of` the area.
    """
    unit, dig = plan.site.unit, area.chosen_dig
    window = plan_window(plan, area, dig)
    room = Box(_SIDE, _FOOT, width - _SIDE, TALLEST)
    scale = place_plan(window, room, unit, "Plan").scale
    _, low, _, high = window.bounds
    tall = min(scale.mm(high - low) + _FOOT + 3.0, TALLEST)
    sheet = Sheet(Page("figure", width, tall, margin=1.0, title=0.0), "grid", "Plan")
    view = place_plan(window, Box(_SIDE, _FOOT, width - _SIDE, tall), unit, "Plan")
    sheet.views.append(view)
    draw = view.drawing
    draw_house(view, plan, window)
    draw_outlines(view, plan, area, dig, window)
    draw_shared_edges(view, plan, area)
    _lines(view, area, grid)
    draw_features(view, plan, window)
    draw_folds(view, folds_of(area), unit, many=warped(panes_of(area)))
    for name, at, away in zip(points.names, points.xy, points.away, strict=True):
        draw.symbol("corner", at, size=2.0, layer="corner")
        shift = tuple((away * -4.2).tolist())
        draw.text(at, name, size=_LETTER, bold=True, shift=shift, ground=True,
                  others=(tuple((away * 4.2).tolist()),), layer="corner")  # fmt: skip
    for number, at in zip(grid.names, grid.xy, strict=True):
        draw.symbol("spot", at, size=2.0, layer="grid point")
        draw.text(at, number, size=_NUMBER, bold=True, shift=(3.2, 2.6), ground=True,
                  others=((-3.2, 2.6), (3.2, -2.6), (-3.2, -2.6)), layer="grid point")  # fmt: skip
    side_dimensions(view, area, unit, body_of(plan))
    draw_curves(view, area, window, unit, centres, _RADIUS)
    draw_fall(view, area, unit)
    wide = caption(sheet, (_SIDE + 14, 3.0), "Plan", view.scale.words, 3.4)
    scale_bar(sheet, (_SIDE + 14 + wide + 8, 4.6), view.scale, unit, 38.0)
    words = f"grid {run(grid.spacing, unit)}"
    sheet.paper.text((width - _SIDE, 5.0), words, size=3.0, bold=True, across="right")
    plan_axes(sheet, (_SIDE, 2.4))
    return sheet


def _lines(view: View, area: AreaPlan, grid: Grid) -> None:
    """Record the grid's lines over the paving, and a little past it."""
    steps = grid.steps
    if not len(steps):
        return
    past = view.scale.metres(3.0)
    far = 1e3
    for axis in (0, 1):
        for step in np.unique(steps[:, axis]):
            ends = np.full((2, 2), step * grid.spacing, float)
            ends[:, 1 - axis] = (-far, far)
            line = shapely.LineString(grid.place(ends))
            view.drawing.lines(line.intersection(area.outline.buffer(past)), _GRID, "grid line")
