"""The grading plan: contours of the ground and of the finish, spot levels, falls and layers."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import shapely

from grading.design.area import AreaPlan
from grading.design.contours import Contour, finish_contours, ground_contours, parted_by_known
from grading.design.folds import folds_of, panes_of, warped
from grading.design.levels import levels_at
from grading.design.points import area_corners, letters
from grading.dig.beds import beds_of
from grading.dig.hole import Dig
from grading.pipeline import Plan
from grading.units import Unit, feet_inches, length
from viz.drawings.placing import end_plan, plan_sheet
from viz.drawings.plan.built import draw_built
from viz.drawings.plan.folds import draw_fall, draw_folds
from viz.drawings.plan.site_marks import draw_site_marks, site_keys
from viz.drawings.plan.view import (
    draw_house,
    draw_outlines,
    draw_section_marks,
    draw_shared_edges,
    plan_window,
    turn_of,
)
from viz.paper.compose import Sheet, View
from viz.paper.drawing import CENTRE, HIDDEN, OUTLINE, THIN, Pen
from viz.paper.furniture import heading
from viz.paper.lettering import extent, fold
from viz.paper.page import Box, Page
from viz.words.figures import DIRT, small
from viz.words.paving.beds import thick_words

SIDE = 60.0  # mm: key and layers
EXISTING = Pen(0.25, "#6b4a26", (1.8, 0.9))
GUESSED = Pen(0.25, "#6b4a26", (0.35, 1.1))  # ground that is poorly known
FINISHED = Pen(0.35, "#1a1a1a")
_CORNERS = 16
_SIZE = 2.1


def grading_sheet(plan: Plan, area: AreaPlan, page: Page) -> Sheet:
    """Return the grading plan of one area under its chosen base system."""
    unit, dig = plan.site.unit, area.chosen_dig
    turn, title = turn_of(area), heading(area.area.name, "grading plan")
    window = plan_window(plan, area, dig, turn)
    sheet, view, side = plan_sheet(page, "grading", title, window, SIDE, 4, unit, turn)
    view.drawing.area(area.outline, fill="#f4f1ec", layer="paving")
    draw_built(view, plan, area, _SIZE, window)
    house = plan.site.house
    yard = window if house is None else window.difference(house.polygon(50.0))
    # What other paving covers shows no ground.
    yard = yard.difference(shapely.union_all([o.outline for o in plan.areas if o is not area]))
    ground_step, ground = ground_contours(plan.ground, area, yard, unit)
    finish_step, finish = finish_contours(area, unit)
    draw_house(view, plan, window)
    known, guessed = parted_by_known(plan, ground)
    _contours(view, known, EXISTING, "existing contour", unit, apart=26.0)
    _contours(view, guessed, GUESSED, "existing contour", unit, apart=26.0)
    draw_site_marks(view, plan, area, window)
    _contours(view, finish, FINISHED, "finish contour", unit, apart=1e9)
    draw_outlines(view, plan, area, dig, window)
    draw_shared_edges(view, plan, area)
    draw_section_marks(view, plan, area, dig)
    draw_folds(view, folds_of(area), unit, many=warped(panes_of(area)), named=False)
    draw_fall(view, area, unit)
    _spot_levels(view, plan, area, unit)
    keys = site_keys(plan, area, window)
    if guessed:
        reach = small(plan.limits["known-ground"], unit, DIRT)
        told = f"ground as it is, known no better than \N{PLUS-MINUS SIGN}{reach}"
        keys = [(GUESSED, told), *keys]
    _side(sheet, side, dig, (finish_step, ground_step), keys, unit)
    return end_plan(
        sheet, plan, [area],
        "Contours of the existing ground and of the finish. Levels in both units stand on the "
        "plan of levels. Plan axes as drawn at the foot.", 42.0, 10.0,
    )  # fmt: skip


def _contours(
    view: View, lines: Sequence[Contour], pen: Pen, layer: str, unit: Unit, apart: float
) -> None:
    """Record contours, each with its level where there is room for it."""
    draw = view.drawing
    for z, line in lines:
        long = view.scale.mm(line.length)
        if long < 1.5:
            continue
        draw.line(line.coords, pen, layer)
        words = _spot(z, unit, DIRT)
        if long < extent(words, 1.9)[0] + 3.0:
            continue
        count = max(1, min(2, int(long / apart)))
        for number in range(count):
            shares = [(number + share) / count for share in (0.5, 0.3, 0.7, 0.4, 0.6, 0.2, 0.8,
                                                             0.12, 0.88, 0.05, 0.95)]  # fmt: skip
            _level(view, line, shares, words, layer, bold=pen is FINISHED)


def _level(
    view: View, line: shapely.LineString, shares: Sequence[float], words: str, layer: str, *,
    bold: bool,
) -> None:  # fmt: skip
    at = [line.interpolate(share, normalized=True).coords[0] for share in shares]
    home = np.array(view.paper(at[0]))
    shifts = [tuple((np.array(view.paper(point)) - home).tolist()) for point in at]
    colour = "#1a1a1a" if bold else EXISTING.colour
    view.drawing.text(at[0], words, size=1.9, bold=bold, ground=True, colour=colour,
                      shift=shifts[0], others=tuple(shifts[1:]), optional=True,
                      layer=f"{layer} level")  # fmt: skip


def _spot_levels(view: View, plan: Plan, area: AreaPlan, unit: Unit) -> None:
    """Record at each corner the level of the finish and that of the existing ground."""
    found = area_corners(area, _CORNERS)
    levels = levels_at(plan, area, np.array([at for at, _ in found]))
    told = zip(letters(len(found)), found, levels.finish, levels.existing, strict=True)
    for name, (at, away), finish, ground in told:
        view.drawing.symbol("finished", at, size=1.9, layer="spot level")
        words = f"{name} \N{BLACK CIRCLE} {_spot(finish, unit, 16)}"
        if np.isfinite(ground):
            words += f"\n\N{MULTIPLICATION SIGN} {_spot(ground, unit, DIRT)}"
            view.drawing.symbol("existing", at, size=3.6, layer="spot level")
        wide = extent(words.split("\n")[0], _SIZE, True)[0]
        x, y = (view.way(away) * (wide / 2 + 2.5, 4.4)).tolist()
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
    y = box.y1 - 1.0
    words = [f"{small(step, unit)} {what}" for step, what in
             zip(steps, ("on the finish", "on the ground as it is"), strict=True)]  # fmt: skip
    draw.paragraph((box.x0 + 1, y), "\n".join(["Contours every", *words]), size=2.5, bold=True,
                   layer="interval")  # fmt: skip
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
        draw.paragraph((box.x0 + 12, y), text, size=2.2)
        y -= 7.0 if "\n" in text else 4.3
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
    draw.paragraph((box.x0 + 1, y), title, size=2.7, bold=True)
    y -= 5.6 + 3.5 * title.count("\n")
    for bed in beds_of(dig):
        cell = shapely.box(box.x0 + 1, y - 4.2, box.x0 + 11, y)
        draw.area(cell, bed.material, layer="swatch")
        draw.lines(cell.boundary, THIN, "swatch")
        words = f"{bed.name}\n{thick_words(dig, bed, unit)}"
        draw.paragraph((box.x0 + 13, y + 0.2), words, size=2.1, layer="layer")
        y -= 6.2
    draw.paragraph((box.x0 + 1, y - 0.5), f"{small(dig.build_up, unit)} from finish to subgrade",
                   size=2.2, bold=True, layer="layer")  # fmt: skip
