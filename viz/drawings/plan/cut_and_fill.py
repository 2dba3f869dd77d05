"""The cut-and-fill plan: ground less subgrade, in bands cut from the exact triangles."""

from __future__ import annotations

import math
from itertools import pairwise

import numpy as np
import shapely

from grading.design.area import AreaPlan
from grading.design.contours import levels_within
from grading.design.folds import folds_of, panes_of, warped
from grading.design.levels import levels_at
from grading.design.points import area_corners
from grading.dig.hole import LEAST_REFILL, Dig
from grading.geometry.arrays import Floats
from grading.geometry.bands import band, level_lines
from grading.geometry.tolerances import ROUNDING
from grading.pipeline import Plan
from grading.section.line import Interval
from grading.units import Unit, inches, millimetres
from viz.drawings.placing import end_plan, plan_sheet
from viz.drawings.plan.folds import draw_fall, draw_folds
from viz.drawings.plan.site_marks import draw_site_marks
from viz.drawings.plan.view import (
    draw_house,
    draw_outlines,
    draw_section_marks,
    draw_spots,
    hatch_lines,
    plan_window,
    turn_of,
)
from viz.paper.compose import Sheet, View
from viz.paper.drawing import FINE, OUTLINE, Pen
from viz.paper.furniture import heading
from viz.paper.lettering import extent, fold
from viz.paper.page import Box, Page
from viz.words.figures import DIRT, earth, ground_area, small

# ColorBrewer BrBG, 11 classes (C. Brewer, colorbrewer2.org), brown for what is dug out.
_FILL = ("#f5f5f5", "#c7eae5", "#80cdc1", "#35978f", "#01665e")
_CUT = ("#f5f5f5", "#f6e8c3", "#dfc27d", "#bf812d", "#8c510a")
SIDE = 58.0  # mm: column of key and figures
DEEPER = Pen(0.12, "#4a2c12", (0.4, 1.0))
ZERO = Pen(0.5, "#1a1a1a", (3.0, 0.7, 0.5, 0.7, 0.5, 0.7))  # solid and heavy is the paving's edge


def shade(value: float, most: float) -> str:
    """Return the colour of a depth: brown above zero, blue-green below, neutral at zero."""
    steps = _CUT if value >= 0 else _FILL
    place = min(abs(value) / most, 1.0) * (len(steps) - 1) if most > 0 else 0.0
    k = min(int(place), len(steps) - 2)
    one, two = (np.array([int(steps[i][j : j + 2], 16) for j in (1, 3, 5)]) for i in (k, k + 1))
    mixed = np.round(one + (two - one) * (place - k)).astype(int)
    return "#" + "".join(f"{channel:02x}" for channel in mixed)


def cutfill_sheet(plan: Plan, area: AreaPlan, page: Page) -> Sheet:
    """Return the cut-and-fill plan of one area under its chosen base system."""
    unit, dig = plan.site.unit, area.chosen_dig
    turn, title = turn_of(area), heading(area.area.name, "cut and fill")
    window = plan_window(plan, area, dig, turn)
    sheet, view, side = plan_sheet(page, "cut-and-fill", title, window, SIDE, 4, unit, turn)
    value, xy = dig.above_formation, dig.clip.xy
    limits = levels_within(float(value.min()), float(value.max()), unit)
    most = max(abs(limits[0]), abs(limits[-1]))
    _bands(view, xy, value, limits, most)
    # Where organics go deeper than the subgrade the hole is refilled.
    spots = hatch_lines(dig.stripped_deeper, view.scale.metres(3.4), rising=True)
    view.drawing.lines(spots, DEEPER, "organics deeper")
    draw_house(view, plan, window)
    draw_outlines(view, plan, area, dig, window)
    draw_site_marks(view, plan, area, window, named=False)
    draw_section_marks(view, plan, area, dig)
    draw_folds(view, folds_of(area), unit, many=warped(panes_of(area)), named=False)
    draw_fall(view, area, unit)
    _contours(view, xy, value, limits, unit)
    _depths(view, plan, area, unit, (page.body.x0, side.x0 - 4))
    draw_spots(view, plan, window)
    _side(sheet, side, dig, limits, most, unit)
    return end_plan(
        sheet, plan, [area],
        f"Existing ground less subgrade (underside of the {dig.system.called}). "
        "Plan axes as drawn at the foot.", 42.0, 10.0,
    )  # fmt: skip


def _bands(view: View, xy: Floats, value: Floats, limits: list[float], most: float) -> None:
    for low, high in pairwise(limits):
        shape = band(xy, value, low, high)
        view.drawing.area(shape, fill=shade((low + high) / 2, most), layer="band")
        if high <= ROUNDING:
            # Built-up ground is told by lines as well as by colour.
            lines = hatch_lines(shape, view.scale.metres(1.7), rising=False)
            view.drawing.lines(lines, Pen(0.1, "#0b4a45"), "built up")


def _contours(view: View, xy: Floats, value: Floats, limits: list[float], unit: Unit) -> None:
    draw = view.drawing
    for level in limits:
        zero = abs(level) < ROUNDING
        lines = [line for line in level_lines(xy, value, level) if view.scale.mm(line.length) > 4]
        for line in lines:
            draw.lines(line, ZERO if zero else Pen(0.15), "zero line" if zero else "contour")
        for line in lines[:2]:
            if view.scale.mm(line.length) < 18:
                continue
            shares = (0.5, 0.3, 0.7, 0.15, 0.85, 0.4, 0.6, 0.22, 0.78)
            at = [line.interpolate(share, normalized=True).coords[0] for share in shares]
            home = view.paper(at[0])
            others = [
                (x - home[0], y - home[1]) for x, y in (view.paper(point) for point in at[1:])
            ]
            words = "no cut, no fill" if zero else _one(level, unit)
            draw.text(
                at[0], words, size=2.0, ground=True, bold=zero, others=tuple(others),
                layer="contour label",
            )  # fmt: skip


def _one(depth: float, unit: Unit) -> str:
    words = inches(abs(depth), DIRT) if unit == "ft" else millimetres(abs(depth))
    return f"fill {words}" if depth < 0 else f"cut {words}"


def _depths(view: View, plan: Plan, area: AreaPlan, unit: Unit, ends: Interval) -> None:
    """Record the depth at each corner of the outline, its words between two edges. [mm]"""
    corners = area_corners(area)
    levels = levels_at(plan, area, np.array([at for at, _ in corners]))
    depths = (levels.existing - levels.subgrade).tolist()
    for (at, away), depth in zip(corners, depths, strict=True):
        if not math.isfinite(depth):
            continue
        words = f"{'fill' if depth < 0 else 'cut'} {small(abs(depth), unit, DIRT)}"
        x, y = view.way(away) * (16.0, 3.6)
        view.drawing.symbol("dot", at, size=1.1, layer="corner")
        home, half = view.paper(at)[0], extent(words, 2.2, True)[0] / 2
        least, most = ends[0] + half - home, ends[1] - half - home
        first, *others = (
            (min(max(float(over), least), most), float(up))
            for over, up in ((x, y), (x, 2 * y), (-x, y), (1.3 * x, y))
        )
        view.drawing.text(at, words, size=2.2, bold=True, shift=first, ground=True, leads=True,
                          layer="depth", others=tuple(others))  # fmt: skip


def _side(sheet: Sheet, box: Box, dig: Dig, limits: list[float], most: float, unit: Unit) -> None:
    draw = sheet.paper
    y = box.y1 - 1
    draw.paragraph((box.x0 + 1, y), "Existing ground less subgrade", size=2.6, bold=True)
    y -= 6.0
    y = _colour_bar(sheet, Box(box.x0 + 3, y - min(7.5 * (len(limits) - 1), 62), box.x0 + 11, y),
                    limits, most, unit) - 5.0  # fmt: skip
    facts = [
        ("Cut, the whole dig", earth(dig.cut, unit)),
        ("  of it organics", earth(dig.organics_volume, unit)),
        ("Refill, compacted", earth(dig.fill, unit) if dig.fill > LEAST_REFILL else "none"),
        ("Plan area of the dig", ground_area(dig.dig_area, unit)),
        ("Deepest dig", small(dig.max_dig, unit, DIRT)),
        ("Build-up", small(dig.build_up, unit)),
    ]
    for name, words in facts:
        draw.paragraph((box.x0 + 1, y), name, size=2.2, colour="#444444")
        draw.paragraph((box.x0 + 1, y - 2.9), words, size=2.5, bold=True)
        y -= 7.4
    _key(sheet, box, y - 1.0, dig)


def _colour_bar(sheet: Sheet, box: Box, limits: list[float], most: float, unit: Unit) -> float:
    draw = sheet.paper
    count = len(limits) - 1
    step = box.height / count
    for k, (low, high) in enumerate(pairwise(limits)):
        a, b = box.y0 + k * step, box.y0 + (k + 1) * step
        cell = shapely.box(box.x0, a, box.x1, b)
        draw.area(cell, fill=shade((low + high) / 2, most), pen=FINE, layer="colour bar")
        if high <= ROUNDING:
            draw.lines(hatch_lines(cell, 1.7, rising=False), Pen(0.1, "#0b4a45"), "built up")
    for k, value in enumerate(limits):
        y = box.y0 + k * step
        zero = abs(value) < ROUNDING
        draw.line([(box.x1, y), (box.x1 + 1.6, y)], OUTLINE if zero else FINE)
        side = "" if zero else "cut " if value > 0 else "fill "
        words = "0, ground is at subgrade" if zero else side + small(abs(value), unit, DIRT)
        draw.text((box.x1 + 2.4, y), words, size=2.2, across="left", bold=zero)
    return box.y0 - 2.0


def _key(sheet: Sheet, box: Box, y: float, dig: Dig) -> None:
    draw = sheet.paper
    rows: list[tuple[Pen, str]] = [
        (Pen(0.6), "edge of the paving"),
        (Pen(0.2, "#1a1a1a", (1.2, 0.8)), "edge of the dig (over-dig)"),
        (Pen(0.15), "line of equal depth"),
    ]
    if dig.above_formation.min() < 0 < dig.above_formation.max():
        rows.append((ZERO, "no cut, no fill"))
    for pen, words in rows:
        draw.line([(box.x0 + 1, y - 1.2), (box.x0 + 10, y - 1.2)], pen, "key")
        draw.paragraph((box.x0 + 12, y), words, size=2.2)
        y -= 4.2
    draw.symbol("spot", (box.x0 + 5.5, y - 1.2), size=1.6)
    words = "spot surveyed, with its elevation"
    draw.paragraph((box.x0 + 12, y), words, size=2.2)
    y -= 4.2
    if not dig.stripped_deeper.is_empty:
        cell = shapely.box(box.x0 + 1, y - 3, box.x0 + 10, y + 0.4)
        draw.lines(hatch_lines(cell, 2.0), DEEPER, "key")
        words = fold("dotted: organics go below subgrade; dig them out and refill", 2.2, 44)
        draw.paragraph((box.x0 + 12, y + 0.4), words, size=2.2)
