"""The plan of levels: existing, finish and subgrade at each corner, in a table beside the plan."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from grading.design.area import AreaPlan
from grading.design.folds import Fold, fold_ends, folds_of, panes_of, warped
from grading.design.levels import either_way, levels_at
from grading.design.points import FOLD_ENDS, circles_of, letters, named_points
from grading.geometry.arrays import Floats
from grading.pipeline import Plan
from grading.units import Unit, size, slope
from viz.drawings.placing import end_plan, plan_sheet
from viz.drawings.plan.folds import draw_fall, draw_folds
from viz.drawings.plan.site_marks import draw_site_marks
from viz.drawings.plan.view import (
    HOUSE,
    draw_house,
    draw_outlines,
    draw_shared_edges,
    plan_window,
    side_dimensions,
    turn_of,
)
from viz.paper.compose import Sheet, View
from viz.paper.drawing import FINE, OUTLINE
from viz.paper.furniture import heading
from viz.paper.lettering import extent
from viz.paper.page import Box, Page
from viz.words.figures import DIRT, level, run, small, stretch

SIDE = 78.0  # mm: the table
WALL_ROW = 4.4
ROW, KNOWN_ROW = 6.6, 8.9  # without and with a plus-or-minus of the ground


def levels_sheet(plan: Plan, area: AreaPlan, page: Page) -> Sheet:
    """Return the plan of levels of one area under its chosen base system."""
    unit, dig = plan.site.unit, area.chosen_dig
    turn, title = turn_of(area), heading(area.area.name, "plan of levels")
    window = plan_window(plan, area, dig, turn)
    sheet, view, box = plan_sheet(page, "levels", title, window, SIDE, 3, unit, turn)
    view.drawing.area(area.outline, fill="#f1eee9", layer="paving")
    draw_house(view, plan, window)
    draw_outlines(view, plan, area, dig, window)
    draw_shared_edges(view, plan, area)
    draw_site_marks(view, plan, area, window)
    folds = folds_of(area)
    many = warped(panes_of(area))
    ends = _ends_of(area, folds)
    points = named_points(area)
    aside = dict(enumerate((away for _, away, _ in ends), start=points.corners))
    corners = [
        (at, aside.get(k, away))
        for k, (at, away) in enumerate(zip(points.xy, points.away, strict=True))
    ]
    kinds = [""] * points.corners + ["" if many else kind for _, _, kind in ends]
    kinds += ["arc"] * points.middles
    draw_folds(view, folds, unit, many=many)
    _points(view, corners)
    _wall_names(view, plan, area, window)
    side_dimensions(view, area, unit, body_of(plan))
    draw_fall(view, area, unit)
    draw_curves(view, area, window, unit)
    foot = _table(sheet, box, plan, area, corners, kinds, unit)
    _walls(sheet, Box(box.x0, box.y0, box.x1, foot - 3), area, unit)
    return end_plan(
        sheet, plan, [area],
        f"Subgrade is the underside of the {dig.system.called}, "
        f"{small(dig.build_up, unit)} below finish. Sections are marked on the grading plan.",
    )  # fmt: skip


def _ends_of(area: AreaPlan, folds: Sequence[Fold]) -> list[tuple[Floats, Floats, str]]:
    """Return the ends of folds (2,) [m], a unit vector to the side of each, and its kind."""
    found = []
    for at in fold_ends(area, folds)[:FOLD_ENDS]:
        fold = min(folds, key=lambda each: float(np.hypot(*(each.line - at).T).min()))
        far = fold.line[int(np.argmax(np.hypot(*(fold.line - at).T)))]
        out = (at - far) / np.hypot(*(at - far))
        aside = out + np.array([-out[1], out[0]])
        found.append((at, aside / np.hypot(*aside), fold.kind))
    return found


_LETTERS = 2.1  # mm, of a radius


def draw_curves(view: View, area: AreaPlan, window: BaseGeometry, unit: Unit) -> None:
    """Give each round edge its radius, and mark the centre where the plan shows it.

    Parameters
    ----------
    view : View
    area : AreaPlan
    window : shapely geometry
        What is shown. [m]
    unit : "ft" or "m"
    """
    for curve in circles_of(area):
        middle, centre = np.array(curve.middle), np.array(curve.centre)
        shown = window.contains(shapely.Point(centre))
        draw = view.drawing
        if shown:
            draw.symbol("spot", centre, size=2.8, layer="centre of an arc")
        start = centre if shown else middle + (centre - middle) * min(
            1.0, view.scale.metres(12.0) / curve.radius
        )  # fmt: skip
        draw.arrow(start, middle, pen=FINE, head=1.8, layer="radius")
        at = start + (middle - start) * 0.5
        words = f"radius {run(curve.radius, unit)}"
        half = extent(words, _LETTERS)[0] / 2 + 1.2
        draw.text(at, words, size=_LETTERS, ground=True, shift=(half, 0.0), leads=True,
                  others=((-half, 0.0), (half, 3.0), (-half, 3.0), (half, -3.0), (-half, -3.0),
                          (half, 6.0), (-half, 6.0), (half, -6.0), (-half, -6.0)),
                  layer="radius")  # fmt: skip


def _wall_names(view: View, plan: Plan, area: AreaPlan, window: BaseGeometry) -> None:
    """Name the house walls that the table beside the plan speaks of."""
    doors = [shapely.Point(door.at) for door in plan.site.doors]
    for fall in area.walls:
        shown = shapely.LineString([fall.wall.start, fall.wall.end]).intersection(window)
        if shown.length < view.scale.metres(12.0):
            continue
        shares = (0.5, 0.3, 0.7, 0.15, 0.85)
        places = [shown.interpolate(share, normalized=True) for share in shares]
        clear = [min((door.distance(p) for door in doors), default=9.0) for p in places]
        at = places[int(np.argmax(clear))].coords[0]
        back = view.way(-np.asarray(fall.wall.outward))
        turn = 90.0 if abs(float(back[0])) > 0.7 else 0.0
        x, y = (back * 3.0).tolist()
        along = (abs(float(back[1])) * 16.0, abs(float(back[0])) * 12.0)
        view.drawing.text(
            at, fall.wall.name, size=2.3, shift=(x, y), rotation=turn, ground=True,
            layer="wall name",
            others=((x + along[0], y + along[1]), (x - along[0], y - along[1])),
        )  # fmt: skip


def body_of(plan: Plan) -> BaseGeometry | None:
    """Return the house in plan, or None."""
    return None if plan.site.house is None else plan.site.house.polygon(HOUSE)


def _points(view: View, corners: list[tuple[Floats, Floats]]) -> None:
    for (at, away), name in zip(corners, letters(len(corners)), strict=True):
        view.drawing.symbol("corner", at, size=1.6, layer="corner")
        away = view.way(away)
        shift = tuple((away * -3.6).tolist())
        view.drawing.text(at, name, size=3.0, bold=True, shift=shift, ground=True,
                          others=(tuple((away * 3.6).tolist()),), layer="corner")  # fmt: skip


def _table(
    sheet: Sheet, box: Box, plan: Plan, area: AreaPlan, corners: list[tuple[Floats, Floats]],
    kinds: list[str], unit: Unit,
) -> float:  # fmt: skip
    """Draw the table of levels and return where its foot is. [mm]"""
    draw = sheet.paper
    shares = (7, 18, 18, 18, 15)
    columns, top = box.columns(shares), box.y1
    heads = ("", "existing", "finish", "subgrade", "dig")
    for cell, words in zip(columns, heads, strict=True):
        draw.text((cell.x1 - 1, top - 2.2), words, size=2.3, across="right", bold=True)
    y = top - 4.6
    xy = np.array([at for at, _ in corners])
    row = ROW if plan.uncertainty is None else KNOWN_ROW
    below = 10.0 + WALL_ROW * (len(area.walls) + 1)
    row = min(row, (top - 4.6 - box.y0 - below) / len(xy))
    second_line = min(3.6, 0.4 * row)
    levels, reach = levels_at(plan, area, xy), either_way(plan, xy)
    for k, name in enumerate(letters(len(corners))):
        draw.line([(box.x0, y), (box.x1, y)], FINE, "table")
        cells = [
            level(levels.existing[k], unit, DIRT),
            level(levels.finish[k], unit),
            level(levels.subgrade[k], unit),
            small(levels.depth[k], unit, DIRT),
        ]
        middle = y - (row / 2 if not kinds[k] else 2.2)
        draw.text((columns[0].x0 + 1.5, middle), name, size=2.8, across="left", bold=True)
        draw.paragraph((columns[0].x0 + 0.5, y - 4.0), kinds[k], size=1.8, colour="#5a5a5a")
        for cell, (first, second) in zip(columns[1:], map(_both, cells), strict=True):
            draw.text((cell.x1 - 1, y - 0.7), first, size=2.2, across="right", up="top")
            if not second:
                continue
            draw.text((cell.x1 - 1, y - second_line), second, size=1.95, across="right", up="top",
                      colour="#5a5a5a")  # fmt: skip
        if np.isfinite(reach[k]):
            told = f"\N{PLUS-MINUS SIGN}{size(reach[k], unit, DIRT)}"
            draw.text((columns[1].x1 - 1, y - 0.7 * row), told, size=1.95, across="right", up="top")
        y -= row
    draw.line([(box.x0, y), (box.x1, y)], OUTLINE, "table")
    return y


def _both(words: str) -> tuple[str, str]:
    """Part a figure from the same in the other unit, where that stands in brackets after it."""
    first, _, second = words.rstrip(")").partition(" (")
    return first, second


def _walls(sheet: Sheet, box: Box, area: AreaPlan, unit: Unit) -> None:
    """List how the finish falls away from each house wall in reach."""
    if not area.walls:
        return
    y = box.y1 - 2
    sheet.paper.paragraph((box.x0 + 1, y), "Fall away from the house", size=2.4, bold=True)
    for wall in area.walls:
        y -= WALL_ROW
        if y < box.y0 + 3:
            break
        words = (
            f"{wall.wall.name}: {slope(wall.fall_away, unit)}, over {stretch(wall.distance, unit)}"
        )
        sheet.paper.paragraph((box.x0 + 1, y), words, size=2.3)
