"""The map of what was built: every shot with how far it lies from the design, and the board."""

from __future__ import annotations

import numpy as np
import shapely

from grading.asbuilt.model import AsBuilt
from grading.asbuilt.words import CALLED, off_words
from grading.design.points import named_points
from grading.pipeline import Plan
from viz.drawings.placing import place_plan
from viz.drawings.plan.view import draw_house, draw_outlines, plan_window
from viz.paper.compose import Sheet, View
from viz.paper.drawing import OUTLINE, Pen
from viz.paper.furniture import caption, plan_axes, scale_bar
from viz.paper.page import Box, Page

WIDE, TALLEST = 182.0, 150.0  # mm
_FOOT, _SIDE = 13.0, 4.0  # mm
_SIZE = 2.5
_ARM = 1.7  # mm: half a mark
_BEYOND = Pen(0.5, "#1a1a1a")
_BOARD = Pen(0.7, "#1a1a1a", (2.0, 1.0))
_LONG = 1.5  # m: half a board, as it is drawn


def built_map(plan: Plan, found: AsBuilt) -> Sheet:
    """Return the plan of an area with its shots: high ones point up, low ones down.

    Parameters
    ----------
    plan : Plan
    found : AsBuilt
        Of one of its areas.
    """
    unit, area = plan.site.unit, found.area
    dig = area.chosen_dig
    window = plan_window(plan, area, dig)
    room = Box(_SIDE, _FOOT, WIDE - _SIDE, TALLEST)
    scale = place_plan(window, room, unit, "Plan").scale
    _, low, _, high = window.bounds
    tall = min(scale.mm(high - low) + _FOOT + 3.0, TALLEST)
    sheet = Sheet(Page("figure", WIDE, tall, margin=1.0, title=0.0), "built", "As built")
    view = place_plan(window, Box(_SIDE, _FOOT, WIDE - _SIDE, tall), unit, "Plan")
    sheet.views.append(view)
    draw_house(view, plan, window, sills=False)
    draw_outlines(view, plan, area, dig, window)
    points = named_points(area)
    for name, at, away in zip(points.names, points.xy, points.away, strict=True):
        view.drawing.text(at, name, size=3.0, bold=True, shift=tuple((away * 4.2).tolist()),
                          ground=True, layer="corner")  # fmt: skip
    for shot in found.shots:
        _mark(view, shot.at, shot.off, shot.status == "fail", off_words(shot, unit))
    board = found.straightedge
    for number, place in enumerate(() if board is None else board.places, start=1):
        half = np.array([_LONG / 2, 0.0])
        line = shapely.LineString([place - half, place + half])
        view.drawing.lines(line, _BOARD, "board")
        view.drawing.text(place, f"board {number}", size=_SIZE, bold=True, shift=(0.0, -2.6),
                          others=((0.0, 2.6), (9.0, -2.6)), ground=True, layer="board")  # fmt: skip
    wide = caption(
        sheet, (_SIDE + 14, 3.0), f"{CALLED[found.layer]} as built", view.scale.words, 3.4
    )
    scale_bar(sheet, (_SIDE + 14 + wide + 8, 4.6), view.scale, unit, 38.0)
    plan_axes(sheet, (_SIDE, 2.4))
    return sheet


def _mark(view: View, at: tuple[float, float], off: float, beyond: bool, words: str) -> None:
    """Record one shot: a triangle that points the way it is off, filled where that is too far."""
    arm = view.scale.metres(_ARM)
    x, y = at
    if words == "as designed":
        view.drawing.symbol("dot", at, size=1.6, layer="shot")
        return
    tip = arm if off > 0 else -arm
    shape = shapely.Polygon([(x - arm, y - tip), (x + arm, y - tip), (x, y + tip)])
    view.drawing.area(shape, fill="#1a1a1a" if beyond else "#ffffff", pen=_BEYOND if beyond
                      else OUTLINE, layer="shot")  # fmt: skip
    view.drawing.text(at, words, size=_SIZE, bold=beyond, shift=(0.0, -3.4), ground=True,
                      others=((0.0, 3.4), (9.5, 0.0), (-9.5, 0.0)), leads=True,
                      layer="shot")  # fmt: skip
