"""The cross-section sheet: true scale with a table of levels under it, and enlarged ends."""

from __future__ import annotations

from typing import Any

import numpy as np
import shapely

from viz.drawings.section.body import draw_body
from viz.drawings.section.cut import WALL, Cut, cut_through
from viz.drawings.section.detail import draw_detail, ends_to_show
from viz.drawings.section.levels_table import TABLE_HEAD, draw_table
from viz.drawings.section.notes import draw_notes, room_aside, words_height
from viz.paper.compose import Sheet, View
from viz.paper.drawing import Drawing
from viz.paper.furniture import caption, heading, scale_bar, title_block
from viz.paper.page import Box, Page, Scale, scales
from viz.words.folds import folds_of

TALLEST = 52.0  # mm of paper for the true-scale section
SMALLEST_RATIO = 12.0


def section_lines(plan: Any, area: Any) -> tuple[tuple[Any, Any], tuple[Any, Any]]:
    """Return a point and a unit vector for the section down the fall and for the one across.

    The first passes through the middle of the paving, or through a door where one stands in
    line with its middle half; on level paving it runs straight out from the house.
    """
    outline = area.outline
    middle = np.asarray(outline.centroid.coords[0])
    if not outline.contains(outline.centroid):
        middle = np.asarray(outline.representative_point().coords[0])
    down = np.asarray(area.finish.plane.downhill, float)
    if area.finish.plane.fall < 1e-6:
        down = _outward(plan, outline)
    across = np.array([down[1], -down[0]])
    if across[0] < -1e-9 or (abs(across[0]) <= 1e-9 and across[1] < 0):
        across = -across
    offsets = (np.asarray(outline.exterior.coords) - middle) @ across
    half = (offsets.max() - offsets.min()) / 4
    doors = [
        (np.asarray(d.at, float) - middle) @ across
        for d in plan.site.doors
        if outline.distance(shapely.Point(d.at)) < 1.5
    ]
    near = [float(d) for d in doors if abs(d) <= half]
    through = middle
    if near:
        moved = middle + across * min(near, key=abs)
        if outline.contains(shapely.Point(moved)):
            through = moved
    return (through, down), (middle, across)


def _outward(plan: Any, outline: Any) -> Any:
    if plan.site.house is None:
        return np.array([0.0, -1.0])
    walls = [
        (shapely.LineString([p, q]).distance(outline), np.asarray(outward, float))
        for p, q, outward in plan.site.house.segments()
    ]
    return min(walls, key=lambda pair: pair[0])[1]


def section_cut(plan: Any, area: Any, dig: Any, which: str) -> Cut:
    """Return the cut "down" the fall (A-A) or "across" it (B-B) under one base system."""
    down, across = section_lines(plan, area)
    if which == "down":
        return cut_through(plan, area, dig, *down, "A", "down the fall")
    return cut_through(plan, area, dig, *across, "B", "across the fall")


def section_sheet(plan: Any, area: Any, which: str, page: Page) -> Sheet:
    """Return the sheet of the cross-section "down" the fall or "across" it.

    Parameters
    ----------
    plan, area : Plan, AreaPlan.
    which : "down" or "across".
    page : Paper.
    """
    unit = plan.site.unit
    dig = area.digs[area.chosen]
    cut = section_cut(plan, area, dig, which)
    title = heading(area.area.name, f"section {cut.mark}-{cut.mark}, {cut.title}")
    sheet = Sheet(page, f"section-{which}", title)
    body = page.body
    scale, origin, window = _place(cut, body, unit)
    main = View(Drawing(sheet.title), scale, origin)
    sheet.views.append(main)
    earth = scale.metres(6.0)
    draw_body(main.drawing, cut, window, earth)
    draw_notes(main, cut, folds_of(area), unit)
    base = main.paper((0.0, window.bounds[1]))[1] - 1.5
    table_foot = draw_table(sheet, main, cut, unit, base)
    y = table_foot - 5.2
    name = f"Section {cut.mark}-{cut.mark} {cut.title}"
    about = f"{scale.words}, true scale; {dig.system.called}"
    wide = caption(sheet, (body.x0, y), name, about)
    scale_bar(sheet, (max(body.x0 + wide + 8, body.x1 - 50), y + 0.6), scale, unit)
    room = Box(body.x0, body.y0, body.x1, y - 4.5)
    shown = ends_to_show(cut)
    marks = []
    for box, end in zip(room.columns([1] * len(shown), 5), shown, strict=True):
        view = draw_detail(sheet, main, window, cut, area, dig, end, box, unit)
        marks.append(view.scale.words.split(" (")[0])
    scales = f"section {scale.words}"
    if marks:
        scales += f"; details {marks[0]}" + (f" and {marks[-1]}" if marks[-1] != marks[0] else "")
    title_block(sheet, plan.site.name, area.area.name, unit, scales, note=_note(cut, dig))
    return sheet


def _note(cut: Cut, dig: Any) -> str:
    words = ["Layers are compacted thicknesses."]
    if cut.walls:
        words.append("Wall thickness and footing are not surveyed.")
    if cut.has_organics:
        refilled = any(solid.role == "refill" for solid in cut.solids)
        words.append(f"Organics are dug out{' and refilled' if refilled else ''}.")
    if any(cut.raised_at(edge) for edge in cut.paving):
        raised = "" if cut.edging.of_wall else "raised "
        words.append(f"What holds the {raised}edge is outlined, not designed.")
    return " ".join(words)


def _place(cut: Cut, body: Box, unit: str) -> tuple[Scale, tuple[float, float], Any]:
    """Return scale, origin [mm] and window [m] of the true-scale section."""
    wall_room = 0.3
    low, high = cut.ends
    for wall in cut.walls:
        low, high = (low - wall_room, high) if wall.side < 0 else (low, high + wall_room)
    floor = cut.deepest
    roof = roof_of_yard = cut.highest
    sills = [wall.sill for wall in cut.walls if wall.sill is not None]
    roof = max([roof, *(sill + 0.1 for sill in sills)])
    first = cut.paving[0]
    head = TABLE_HEAD + 17.0
    right = 18.0
    for scale in _scales(unit):
        left = max(scale.mm(first - low), head, *_asides(cut, scale, -1.0, unit))
        end = max(scale.mm(high - first), scale.mm(cut.paving[1] - first) + right,
                  *_asides(cut, scale, 1.0, unit))  # fmt: skip
        tall = scale.mm(roof - floor) + 6.0 + 15.0
        if left + end <= body.width and tall <= TALLEST + 12:
            break
    spare = body.width - left - end
    x = body.x0 + left + spare / 2
    window = shapely.box(low, floor - scale.metres(6.0), high, roof + scale.metres(8.5))
    notes = 12.5 + words_height(cut, scale, unit)
    highest = max(scale.mm(window.bounds[3]), scale.mm(roof_of_yard) + notes + 1.5)
    y = body.y1 - 1.0 - highest
    return scale, (x - scale.mm(first), y - scale.mm(0.0)), window


def _asides(cut: Cut, scale: Scale, side: float, unit: str) -> list[float]:
    """Return how far the words about walls on one side reach from the start of the paving. [mm]"""
    first = cut.paving[0]
    return [
        scale.mm(abs(wall.at + side * WALL - first)) + room_aside(cut, wall, unit) + 0.5
        for wall in cut.walls
        if wall.side == side
    ]


def _scales(unit: str) -> list[Scale]:
    return [scale for scale in scales(unit) if scale.ratio >= SMALLEST_RATIO]
