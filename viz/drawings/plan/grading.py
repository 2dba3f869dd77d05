"""The grading plan: contours of the ground and of the finish, spot levels, falls and layers."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Any

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from grading.design.area import AreaPlan
from grading.design.folds import folds_of, panes_of, warped
from grading.design.points import corners_of, letters
from grading.dig.beds import beds_of
from grading.dig.hole import Dig
from grading.geometry.level_lines import level_lines_of
from grading.pipeline import Plan
from grading.units import INCH, Unit, feet_inches, length
from viz.drawings.plan.folds import draw_fall, draw_folds
from viz.drawings.plan.site_marks import draw_site_marks, site_keys
from viz.drawings.plan.view import (
    draw_house,
    draw_outlines,
    draw_section_marks,
    draw_shared_edges,
    place_plan,
    plan_window,
)
from viz.paper.compose import Sheet, View
from viz.paper.drawing import CENTRE, HIDDEN, OUTLINE, THIN, Pen
from viz.paper.furniture import caption, heading, plan_axes, scale_bar, title_block
from viz.paper.lettering import extent, fold
from viz.paper.page import MM, Box, Page
from viz.words.beds import thick_words
from viz.words.figures import DIRT, small

SIDE = 60.0  # mm: key and layers
MOST = 12  # contours from the lowest to the highest level, of the finish or of the ground
EXISTING = Pen(0.25, "#6b4a26", (1.8, 0.9))
FINISHED = Pen(0.35, "#1a1a1a")
_CORNERS = 16
_SIZE = 2.1


def contour_levels(low: float, high: float, unit: Unit) -> tuple[float, list[float]]:
    """Return a round interval and the round levels between two, no more than `MOST`. [m]"""
    inch = [INCH * k for k in (0.25, 0.5, 1, 2, 3, 6, 12, 24, 60, 120)]
    metric = [k / MM for k in (5, 10, 20, 25, 50, 100, 200, 250, 500, 1000, 2000)]
    steps = inch if unit == "ft" else metric
    step = next((one for one in steps if (high - low) / one <= MOST), steps[-1])
    first, last = math.ceil(low / step - 1e-9), math.floor(high / step + 1e-9)
    return step, [k * step for k in range(first, last + 1)]


def grading_sheet(plan: Plan, area: AreaPlan, page: Page) -> Sheet:
    """Return the grading plan of one area under its chosen base system."""
    unit, dig = plan.site.unit, area.digs[area.chosen]
    sheet = Sheet(page, "grading", heading(area.area.name, "grading plan"))
    body = page.body
    room = Box(body.x0, body.y0 + 8.0, body.x1 - SIDE - 4, body.y1)
    window = plan_window(plan, area, dig)
    view = place_plan(window, room, unit, sheet.title)
    sheet.views.append(view)
    view.drawing.area(area.outline, fill="#f4f1ec", layer="paving")
    house = plan.site.house
    yard = window if house is None else window.difference(house.polygon(50.0))
    # What other paving covers shows no ground.
    yard = yard.difference(shapely.union_all([o.outline for o in plan.areas if o is not area]))
    ground_step, ground = ground_contours(plan, area, yard)
    finish_step, finish = finish_contours(area, unit)
    draw_house(view, plan, window)
    _contours(view, ground, EXISTING, "existing contour", unit, apart=26.0)
    draw_site_marks(view, plan, area, window)
    _contours(view, finish, FINISHED, "finish contour", unit, apart=1e9)
    draw_outlines(view, plan, area, dig, window)
    draw_shared_edges(view, plan, area)
    draw_section_marks(view, plan, area, dig)
    draw_folds(view, folds_of(area), unit, many=warped(panes_of(area)), named=False)
    draw_fall(view, area, unit)
    _spot_levels(view, plan, area, unit)
    keys = site_keys(plan, area, window)
    _side(
        sheet,
        Box(body.x1 - SIDE, body.y0, body.x1, body.y1),
        dig,
        (finish_step, ground_step),
        keys,
        unit,
    )
    wide = caption(sheet, (body.x0 + 16, body.y0 + 1.8), "Plan", view.scale.words)
    scale_bar(sheet, (body.x0 + 16 + wide + 10, body.y0 + 2.4), view.scale, unit)
    plan_axes(sheet, (body.x0 + 1.5, body.y0 + 2.0))
    title_block(
        sheet, plan.site.name, area.area.name, unit, view.scale.words, "none: a plan",
        "Contours of the existing ground and of the finish. Levels in both units stand on the "
        "plan of levels. Plan axes: x right, y up.",
    )  # fmt: skip
    return sheet


def ground_contours(
    plan: Plan, area: AreaPlan, yard: BaseGeometry
) -> tuple[float, list[tuple[float, Any]]]:
    """Return the interval of the existing ground's contours in a yard, and each: level, line."""
    xy = plan.ground.points[:, :2]
    inside = shapely.contains_xy(yard, xy[:, 0], xy[:, 1])
    edge = shapely.get_coordinates(shapely.segmentize(area.outline.boundary, 0.25))
    known = np.concatenate([plan.ground.points[inside, 2], plan.ground.elevation(edge)])
    known = known[np.isfinite(known)]
    step, at = contour_levels(float(known.min()), float(known.max()), plan.site.unit)
    found = [
        (z, part)
        for z, lines in zip(at, plan.ground.contours(np.array(at)), strict=True)
        for line in lines
        if len(line) > 1
        for part in shapely.get_parts(shapely.LineString(line).intersection(yard))
        if part.geom_type == "LineString"
    ]
    return step, found


def finish_contours(area: AreaPlan, unit: Unit) -> tuple[float, list[tuple[float, Any]]]:
    """Return the interval of the finish's contours, and each: level, line."""
    corners = np.concatenate([shapely.get_coordinates(area.outline),
                              *(fold.line for fold in folds_of(area))])  # fmt: skip
    levels = area.finish.surface.at(corners)
    step, at = contour_levels(float(levels.min()), float(levels.max()), unit)
    lines = level_lines_of(area.finish.surface, area.outline, np.array(at))
    return step, [
        (z, shapely.LineString(line)) for z, found in zip(at, lines, strict=True) for line in found
    ]


def _one(z: float, unit: Unit) -> str:
    return feet_inches(z, 8) if unit == "ft" else length(z, "m")


def _contours(
    view: View, lines: Sequence[Any], pen: Pen, layer: str, unit: Unit, apart: float
) -> None:
    """Record contours, each with its level where there is room for it."""
    draw = view.drawing
    for z, line in lines:
        long = view.scale.mm(line.length)
        if long < 1.5:
            continue
        draw.line(line.coords, pen, layer)
        words = _one(z, unit)
        if long < extent(words, 1.9)[0] + 3.0:
            continue
        count = max(1, min(2, int(long / apart)))
        for number in range(count):
            shares = [(number + share) / count for share in (0.5, 0.3, 0.7, 0.4, 0.6, 0.2, 0.8,
                                                             0.12, 0.88, 0.05, 0.95)]  # fmt: skip
            _level(view, line, shares, words, layer, bold=pen is FINISHED)


def _level(
    view: View, line: Any, shares: Sequence[float], words: str, layer: str, *, bold: bool
) -> None:
    at = [line.interpolate(share, normalized=True).coords[0] for share in shares]
    home = np.array(view.paper(at[0]))
    shifts = [tuple((np.array(view.paper(point)) - home).tolist()) for point in at]
    colour = "#1a1a1a" if bold else EXISTING.colour
    view.drawing.text(at[0], words, size=1.9, bold=bold, ground=True, colour=colour,
                      shift=shifts[0], others=tuple(shifts[1:]), optional=True,
                      layer=f"{layer} level")  # fmt: skip


def _spot_levels(view: View, plan: Plan, area: AreaPlan, unit: Unit) -> None:
    """Record at each corner the level of the finish and that of the existing ground."""
    found = corners_of(area.outline, _CORNERS)
    for name, (at, away) in zip(letters(len(found)), found, strict=True):
        finish = float(area.finish.surface.at(np.array([at]))[0])
        ground = float(plan.ground.elevation(np.array([at]))[0])
        view.drawing.symbol("finished", at, size=1.9, layer="spot level")
        words = f"{name} \N{BLACK CIRCLE} {_spot(finish, unit, 16)}"
        if np.isfinite(ground):
            words += f"\n\N{MULTIPLICATION SIGN} {_spot(ground, unit, DIRT)}"
            view.drawing.symbol("existing", at, size=3.6, layer="spot level")
        wide = extent(words.split("\n")[0], _SIZE, True)[0]
        x, y = (away * (wide / 2 + 2.5, 4.4)).tolist()
        view.drawing.text(
            at, words, size=_SIZE, bold=True, ground=True, shift=(x, y), leads=True,
            others=((x, -y), (-x, y), (x * 1.3, y * 1.6), (x, y * 2.2), (0.0, y * 1.4),
                    (0.0, -y * 1.4), (-x, -y)), layer="spot level",
        )  # fmt: skip


def _spot(z: float, unit: Unit, parts: int) -> str:
    return feet_inches(z, parts) if unit == "ft" else length(z, "m")


def _side(
    sheet: Sheet, box: Box, dig: Dig, steps: tuple[float, float],
    keys: Sequence[tuple[Pen | str, str]], unit: Unit,
) -> None:  # fmt: skip
    draw = sheet.paper
    draw.line([(box.x0 - 2, box.y0 - 3), (box.x0 - 2, box.y1 + 3)], THIN, "border")
    y = box.y1 - 1.0
    words = [f"{small(step, unit)} {what}" for step, what in
             zip(steps, ("on the finish", "on the ground as it is"), strict=True)]  # fmt: skip
    draw.text((box.x0 + 1, y), "\n".join(["Contours every", *words]), size=2.5, bold=True,
              across="left", up="top", layer="interval")  # fmt: skip
    y -= 12.6
    rows: list[tuple[Pen | str, str]] = [
        (FINISHED, "level line of the finish"),
        (EXISTING, "level line of the ground as it is"),
        ("finished", "\N{BLACK CIRCLE} level of the finish at a corner"),
        ("existing", "\N{MULTIPLICATION SIGN} level of the ground as it is there"),
        ("arrow", "fall of the finish"),
        (Pen(0.6), "edge of the paving"),
        (HIDDEN, "edge of the dig (over-dig)"),
        (CENTRE, "where a section is cut"),
        *keys,
    ]
    for mark, said in rows:
        _key_mark(sheet, box.x0 + 1, y - 1.2, mark)
        text = fold(said, 2.2, box.width - 14)
        draw.text((box.x0 + 12, y), text, size=2.2, across="left", up="top")
        y -= 4.3 * (text.count("\n") + 1) if "\n" not in text else 7.0
    _layers(sheet, Box(box.x0, box.y0, box.x1, y - 3.0), dig, unit)


def _key_mark(sheet: Sheet, x: float, y: float, mark: Pen | str) -> None:
    draw = sheet.paper
    if isinstance(mark, Pen):
        draw.line([(x, y), (x + 9, y)], mark, "key")
    elif mark == "arrow":
        draw.arrow((x, y), (x + 9, y), pen=Pen(0.5), head=3.0, layer="key")
    elif mark == "feature":
        draw.area(shapely.box(x + 2.5, y - 1.4, x + 6.5, y + 1.4), fill="#ffffff", pen=OUTLINE,
                  layer="key")  # fmt: skip
    else:
        size = {"finished": 1.9, "existing": 3.6}.get(mark, 2.6)
        draw.symbol(mark, (x + 4.5, y), size=size, layer="key")


def _layers(sheet: Sheet, box: Box, dig: Dig, unit: Unit) -> None:
    """The build-up as a legend: a swatch, the name and the thickness of each layer and refill."""
    draw, y = sheet.paper, box.y1
    title = fold(f"Layers: {dig.system.called}", 2.7, box.width - 2, True)
    draw.text((box.x0 + 1, y), title, size=2.7, bold=True, across="left", up="top")
    y -= 5.6 + 3.5 * title.count("\n")
    for bed in beds_of(dig):
        cell = shapely.box(box.x0 + 1, y - 4.2, box.x0 + 11, y)
        draw.area(cell, bed.material, layer="swatch")
        draw.lines(cell.boundary, THIN, "swatch")
        words = f"{bed.name}\n{thick_words(dig, bed, unit)}"
        draw.text((box.x0 + 13, y + 0.2), words, size=2.1, across="left", up="top", layer="layer")
        y -= 6.2
    draw.text((box.x0 + 1, y - 0.5), f"{small(dig.build_up, unit)} from finish to subgrade",
              size=2.2, bold=True, across="left", up="top", layer="layer")  # fmt: skip
