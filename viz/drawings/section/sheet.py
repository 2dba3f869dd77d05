"""The cross-section sheet: true scale with a table of levels under it, and enlarged ends."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import shapely

from grading.design.area import AreaPlan
from grading.design.folds import folds_of
from grading.pipeline import Plan
from grading.section.built import Built
from grading.section.cut import Cut
from grading.section.line import down_and_across, long_side
from grading.section.model import Which
from grading.units import Unit
from viz.drawings.placing import end_sheet
from viz.drawings.section.body import WALL, draw_body
from viz.drawings.section.built import built_of, clear_of
from viz.drawings.section.detail import draw_detail, ends_to_show
from viz.drawings.section.levels_table import TABLE_HEAD, draw_table
from viz.drawings.section.notes import draw_notes, room_aside, words_height
from viz.paper.compose import Sheet, View
from viz.paper.drawing import Drawing
from viz.paper.furniture import caption, heading, scale_bar
from viz.paper.page import Box, Page, Scale, scales

MARKS: dict[Which, tuple[str, str]] = {
    "down": ("A", "down the fall"),
    "across": ("B", "across the fall"),
}
"""The letter of a section on the plans, and how it runs."""

TALLEST = 52.0  # mm of paper for the true-scale section
SMALLEST_RATIO = 12.0
_WITH = 0.999  # cosine between ways that are one
_WALL_ROOM = 0.3  # m shown behind the face of a wall


def section_sheet(plan: Plan, area: AreaPlan, which: Which, page: Page) -> Sheet:
    """Return the sheet of the cross-section "down" the fall or "across" it.

    Parameters
    ----------
    plan : Plan
    area : AreaPlan
    which : "down" or "across"
    page : Page
    """
    unit, mark, title = plan.site.unit, MARKS[which][0], way_of(area, which, plan)
    cut = plan.sections.of(area, which)
    name = heading(area.area.name, f"section {mark}-{mark}, {title}")
    sheet = Sheet(page, f"section-{which}", name)
    body = page.body
    scale, origin, window = _place(cut, body, unit)
    main = View(Drawing(sheet.title), scale, origin)
    sheet.views.append(main)
    built = built_of(plan.order, cut)
    cut = clear_of(cut, built)
    draw_body(main.drawing, cut, window, scale.metres(6.0), built)
    draw_notes(main, cut, folds_of(area), unit)
    base = main.paper((0.0, window.bounds[1]))[1] - 1.5
    y = draw_table(sheet, main, cut, unit, base) - 5.2
    about = f"{scale.words}, true scale; {cut.system.called}"
    wide = caption(sheet, (body.x0, y), f"Section {mark}-{mark} {title}", about)
    scale_bar(sheet, (max(body.x0 + wide + 8, body.x1 - 50), y + 0.6), scale, unit)
    room = Box(body.x0, body.y0, body.x1, y - 4.5)
    shown = ends_to_show(cut)
    details = [
        draw_detail(sheet, main, window, cut, built, area, end, box, unit)
        for box, end in zip(room.columns([1] * len(shown), 5), shown, strict=True)
    ]
    marks = [detail.scale.words.split(" (")[0] for detail in details]
    scales = f"section {scale.words}"
    if marks:
        scales += f"; details {marks[0]}" + (f" and {marks[-1]}" if marks[-1] != marks[0] else "")
    return end_sheet(sheet, plan, [area], scales, _note(cut, built))


def way_of(area: AreaPlan, which: Which, plan: Plan) -> str:
    """Say how a section of an area runs: with the fall, or with the sides of what is long.

    Parameters
    ----------
    area : AreaPlan
    which : "down" or "across"
    plan : Plan
    """
    line = dict(zip(MARKS, down_and_across(plan, area), strict=True))[which]
    axis, fall = long_side(area.outline), np.asarray(area.finish.plane.downhill, float)
    off = abs(float(line.along @ fall))
    with_fall = off > _WITH if which == "down" else off < np.sqrt(1.0 - _WITH**2)
    if axis is None or with_fall:
        return MARKS[which][1]
    along = abs(float(line.along @ axis)) > _WITH
    return "along its longer side" if along else "square to its longer side"


def _note(cut: Cut, built: Sequence[Built]) -> str:
    words = ["Layers are compacted thicknesses."]
    if cut.walls:
        words.append("Wall thickness and footing are not surveyed.")
    if cut.has_organics:
        refilled = any(solid.role == "refill" for solid in cut.solids)
        words.append(f"Organics are dug out{' and refilled' if refilled else ''}.")
    if not built and any(cut.raised_at(edge) for edge in cut.paving):
        raised = "" if cut.edging.of_wall else "raised "
        words.append(f"What holds the {raised}edge is outlined, not designed.")
    return " ".join(words)


def _place(cut: Cut, body: Box, unit: Unit) -> tuple[Scale, tuple[float, float], shapely.Polygon]:
    """Return scale, origin [mm] and window [m] of the true-scale section."""
    low, high = cut.ends
    for wall in cut.walls:
        low, high = (low - _WALL_ROOM, high) if wall.side < 0 else (low, high + _WALL_ROOM)
    floor, ground = cut.deepest, cut.highest
    roof = max([ground, *(wall.sill + 0.1 for wall in cut.walls if wall.sill is not None)])
    first, last = cut.paving
    for scale in [scale for scale in scales(unit) if scale.ratio >= SMALLEST_RATIO]:
        left = max(scale.mm(first - low), TABLE_HEAD + 17.0, *_asides(cut, scale, -1.0, unit))
        right = max(scale.mm(high - first), scale.mm(last - first) + 18.0,
                    *_asides(cut, scale, 1.0, unit))  # fmt: skip
        tall = scale.mm(roof - floor) + 6.0 + 15.0
        if left + right <= body.width and tall <= TALLEST + 12:
            break
    x = body.x0 + left + (body.width - left - right) / 2
    window = shapely.box(low, floor - scale.metres(6.0), high, roof + scale.metres(8.5))
    notes = 12.5 + words_height(cut, scale, unit)
    highest = max(scale.mm(window.bounds[3]), scale.mm(ground) + notes + 1.5)
    return scale, (x - scale.mm(first), body.y1 - 1.0 - highest), window


def _asides(cut: Cut, scale: Scale, side: float, unit: Unit) -> list[float]:
    """Return how far the words about walls on one side reach from the start of the paving. [mm]"""
    return [
        scale.mm(abs(wall.at + side * WALL - cut.paving[0])) + room_aside(cut, wall, unit) + 0.5
        for wall in cut.walls
        if wall.side == side
    ]
