"""Base systems side by side: the same section under each, at one scale, with what it digs."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
import shapely

from grading.design.area import AreaPlan
from grading.dig.hole import LEAST_REFILL, Dig
from grading.pipeline import Plan
from grading.section.built import Built, built_in
from grading.section.cut import Cut
from grading.units import Unit
from viz.drawings.placing import (
    FRAME,
    chosen_tag,
    chosen_width,
    end_sheet,
    label_column,
    sheets_of_groups,
)
from viz.drawings.section.body import draw_body
from viz.drawings.section.built import AT_EDGE, clear_of, shown_in, strip_of
from viz.drawings.section.led import beds_named, untangled
from viz.paper.compose import Sheet, View
from viz.paper.drawing import FINE, THIN, Drawing, Pen
from viz.paper.furniture import heading, scale_bar
from viz.paper.lettering import fitting_size
from viz.paper.page import Box, Page, Scale, fitting_scale
from viz.words.figures import DIRT, earth, earth_between, small

_LETTER = 2.25
FIGURES = 57.0  # mm: room for the figures and bars under the sections
INSIDE = 0.18  # m of paving shown
OUTSIDE = 0.06  # m of ground shown beyond the widest dig
EARTH = Pen(0.2, "#543005")
LEFT, RIGHT = 16.0, 7.0  # mm beside a section, for its height and for the numbers of its layers
LIST_ROW = 3.9
MOST = 4  # columns on a sheet
_HEAD = 9.0  # mm over a section
_MARGIN = 0.02  # m: no leader starts nearer to the end of what is shown
_STATION = 0.06  # m inside the edge: where the layers are told


def compare_sheets(plan: Plan, area: AreaPlan, page: Page) -> Iterator[Sheet]:
    """Yield the base systems side by side, four to a sheet, the chosen one on every sheet."""
    names = list(area.digs)
    others = [name for name in names if name != area.chosen]
    groups = (
        [names]
        if len(names) <= MOST
        else [
            [name for name in names if name == area.chosen or name in others[k : k + MOST - 1]]
            for k in range(0, len(others), MOST - 1)
        ]
    )
    title = heading(area.area.name, "base systems side by side")
    for sheet, group in sheets_of_groups(page, "base-systems", title, groups):
        yield _fill(sheet, plan, area, group)


def _fill(sheet: Sheet, plan: Plan, area: AreaPlan, names: list[str]) -> Sheet:
    unit, body = plan.site.unit, sheet.page.body
    takeoffs = plan.order.of(area).takeoffs
    cuts, built = {}, {}
    for name in names:
        cut = plan.sections.of(area, "down", name)
        at, out = cut.layers_at
        beside = strip_of(*sorted((at - out * INSIDE, at + out * AT_EDGE)))
        built[name] = shown_in(built_in(takeoffs[name].structures, cut), beside)
        cuts[name] = clear_of(cut, built[name])
    shapes = [each.shape for several in built.values() for each in several]
    low, floor, high, roof = _window(list(cuts.values()), shapes)
    columns = body.columns([1] * len(names), 4)
    lists = LIST_ROW * max(len(cut.beds_at(_station(cut))) for cut in cuts.values()) + 3.0
    room = (columns[0].width - LEFT - RIGHT, body.height - FIGURES - _HEAD - lists)
    scale = fitting_scale(unit, high - low, roof - floor, room, at_most=4)
    # What the scale leaves free is given back to the paving and to the soil below.
    more = max(0.0, scale.metres(room[0]) - (high - low))
    deeper = min(max(0.0, scale.metres(room[1] - 4.0) - (roof - floor)), 0.12)
    out = cuts[area.chosen].layers_at[1]
    low, high = (low - more, high) if out > 0 else (low, high + more)
    window = shapely.box(low, floor - deeper, high, roof)
    for box, name in zip(columns, names, strict=True):
        _column(sheet, box, cuts[name], built[name], window, scale, unit, name == area.chosen)
    _table(sheet, columns, area, names, unit, body.y0 + FIGURES - 14.0)
    y = body.y1 - _HEAD - scale.mm(roof - floor + deeper) - lists - 5.0
    scale_bar(sheet, (body.x0 + 1, y), scale, unit, 44)
    words = (
        f"All at {scale.words}, true scale, at the same place: the edge of the paving on "
        "section A-A."
    )
    sheet.paper.text((body.x0 + 54, y + 0.7), words, size=2.4, across="left")
    note = "Cut is the whole dig: over-dig and organics included. Bars to one scale."
    return end_sheet(sheet, plan, [area], scale.words, note)


def _window(cuts: list[Cut], built: list[shapely.Polygon]) -> tuple[float, float, float, float]:
    """Return what holds the edge under every system: left, floor, right, roof. [m]"""
    at, out = cuts[0].layers_at
    far = at
    floors, roofs = [], []
    for cut in cuts:
        far = max([far * out, *(e * out for span in cut.dug for e in span)]) * out
        floors += [float(cut.dug_at(at)), float(cut.formation_at(at)), float(cut.organics_at(far))]
        roofs += [float(cut.finish_at(at - out * INSIDE)), float(cut.ground_at(at)),
                  float(cut.ground_at(far))]  # fmt: skip
    for each in built:
        far = max(far * out, each.bounds[0] * out, each.bounds[2] * out) * out
        floors.append(each.bounds[1])
    low, high = sorted((at - out * INSIDE, far + out * OUTSIDE))
    return low, min(floors) - 0.07, high, max(roofs) + 0.06


def _station(cut: Cut) -> float:
    at, out = cut.layers_at
    return at - out * _STATION


def _column(
    sheet: Sheet, box: Box, cut: Cut, built: tuple[Built, ...], window: shapely.Polygon,
    scale: Scale, unit: Unit, chosen: bool,
) -> None:  # fmt: skip
    low, floor, _, roof = window.bounds
    draw, title = sheet.paper, cut.system.title
    size = fitting_size(title, 3.2, box.width * 0.62, 0.0)
    draw.text((box.x0 + 1, box.y1 - 3.0), title, size=size, across="left", bold=True)
    if chosen:
        left = box.x1 - chosen_width(2.6, 4)
        chosen_tag(draw, (left, box.y1 - 2.9), 2.6, 4.6, 4)
    x, y = box.x0 + LEFT, box.y1 - _HEAD - scale.mm(roof - floor)
    view = View(Drawing(title), scale, (x - scale.mm(low), y - scale.mm(floor)))
    sheet.views.append(view)
    draw_body(view.drawing, cut, window, 10.0, built)
    view.drawing.lines(window, FRAME, "frame")
    at, out = cut.layers_at
    start = max(low, cut.dug[0][0]) if out > 0 else at - out * 0.02
    finish, base = float(cut.finish_at(start)), float(cut.formation_at(start))
    view.drawing.dimension(
        (start, base), (start, finish), small(cut.system.build_up, unit),
        offset=scale.mm(start - low) + 3.2, size=_LETTER,
    )  # fmt: skip
    _layers(view, cut, built, window, unit, box)


def _layers(
    view: View, cut: Cut, built: tuple[Built, ...], window: shapely.Polygon, unit: Unit, box: Box
) -> None:
    """Number the layers beside the section, and list them by number under it."""
    low, floor, high, roof = window.bounds
    beds, out = cut.beds_at(_station(cut)), cut.layers_at[1]
    inside = low + _MARGIN if out > 0 else high - _MARGIN
    stations = np.linspace(_station(cut), inside, 6).tolist()
    number = {bed.name: str(k) for k, bed in enumerate(beds, 1)}
    said = beds_named(cut, stations, lambda bed: number.get(bed.name, ""), built)
    ends = view.paper((0.0, floor))[1], view.paper((0.0, roof))[1]
    column = view.paper((high, 0.0))[0] + 4.0
    labels = untangled(view, said, column, ends, 2.6, 1.2)
    label_column(view, labels, column, ends, 2.6, 1.2, bold=True)
    home, left = (low, floor), view.paper((low, floor))[0]
    for k, bed in enumerate(beds, 1):
        y = -3.0 - LIST_ROW * (k - 1)
        thick = small(bed.thickness, unit, DIRT if bed.role == "refill" else 16)
        view.drawing.text(home, f"{k}  {bed.name}", size=2.4, across="left",
                          shift=(box.x0 + 1 - left, y))  # fmt: skip
        view.drawing.text(home, thick, size=2.4, across="right", bold=True,
                          shift=(box.x1 - 0.5 - left, y))  # fmt: skip


def _table(
    sheet: Sheet, columns: list[Box], area: AreaPlan, names: list[str], unit: Unit, top: float
) -> None:
    """Draw under each section what it digs, with a bar, and the difference to the chosen one."""
    draw = sheet.paper
    digs = [area.digs[name] for name in names]
    most = max(dig.cut for dig in digs)
    draw.line([(columns[0].x0, top + 1.5), (columns[-1].x1, top + 1.5)], THIN, "table")
    for box, dig in zip(columns, digs, strict=True):
        left = {"across": "left", "up": "top"}
        long = (box.width - 4) * dig.cut / most if most > 0 else 0.0
        draw.text((box.x0 + 1, top - 0.6), "to dig", size=2.3, colour="#444444", **left)
        draw.text((box.x0 + 11, top), earth(dig.cut, unit), size=3.4, bold=True, **left)
        y = top - 5.2
        bar = shapely.box(box.x0 + 1, y - 4.2, box.x0 + 1 + max(long, 0.2), y)
        draw.area(bar, "soil", layer="bar")
        draw.lines(bar, EARTH, "bar")
        y -= 6.0
        draw.text((box.x0 + 1, y), _difference(dig, area.chosen_dig, unit), size=2.5, bold=True,
                  **left)  # fmt: skip
        y -= 5.0
        rows = [
            ("build-up, finish to subgrade", small(dig.build_up, unit)),
            ("deepest dig below ground", small(dig.max_dig, unit, DIRT)),
            ("average dig below ground", small(dig.mean_dig, unit, DIRT)),
            ("leaves the hole, loose", earth(dig.spoil_loose, unit)),
            ("refill, compacted", earth(dig.fill, unit) if dig.fill > LEAST_REFILL else "none"),
        ]
        for label, words in rows:
            draw.line([(box.x0, y + 0.9), (box.x1, y + 0.9)], FINE, "table")
            draw.text((box.x0 + 1, y), label, size=2.1, colour="#444444", **left)
            draw.text((box.x1 - 0.5, y), words, size=2.2, across="right", up="top")
            y -= 4.1


def _difference(dig: Dig, chosen: Dig, unit: Unit) -> str:
    if dig is chosen:
        return "the base system chosen"
    return f"{earth_between(dig.cut, chosen.cut, unit)} than the one chosen"
