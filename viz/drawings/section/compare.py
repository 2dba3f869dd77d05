"""Base systems side by side: the same section under each, at one scale, with what it digs."""

from __future__ import annotations

from typing import Any

import shapely

from viz.drawings.section.body import draw_body
from viz.drawings.section.cut import Cut
from viz.drawings.section.sheet import section_cut
from viz.paper.compose import Sheet, View
from viz.paper.drawing import FINE, OUTLINE, THIN, Drawing, Pen
from viz.paper.furniture import heading, scale_bar, title_block
from viz.paper.lettering import block, spread
from viz.paper.page import Box, Page, Scale, scales
from viz.words.figures import DIRT, earth, earth_between, small

_LETTER = 2.25
FIGURES = 57.0  # mm: room for the figures and bars under the sections
INSIDE = 0.18  # m of paving shown
OUTSIDE = 0.06  # m of ground shown beyond the widest dig
EARTH = Pen(0.2, "#543005")
LEFT, RIGHT = 16.0, 7.0  # mm beside a section, for its height and for the numbers of its layers
LIST_ROW = 3.9
MOST = 4  # columns on a sheet


def compare_sheets(plan: Any, area: Any, page: Page) -> list[Sheet]:
    """Return the base systems side by side, four to a sheet, the chosen one on every sheet."""
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
    sheets = [_sheet(plan, area, page, group) for group in groups]
    if len(sheets) > 1:
        for k, sheet in enumerate(sheets, start=1):
            sheet.name += f"-{k}"
            sheet.title += f" ({k} of {len(sheets)})"
    return sheets


def _edge(cut: Cut) -> tuple[float, float]:
    """Return the edge of the paving to show and which way is out: a free edge before a wall."""
    walled = {wall.side for wall in cut.walls}
    if 1.0 in walled and -1.0 not in walled:
        return cut.paving[0], -1.0
    return cut.paving[1], 1.0


def _sheet(plan: Any, area: Any, page: Page, names: list[str]) -> Sheet:
    unit = plan.site.unit
    title = heading(area.area.name, "base systems side by side")
    sheet = Sheet(page, "base-systems", title)
    body = page.body
    cuts = {name: section_cut(plan, area, area.digs[name], "down") for name in names}
    windows, station = _windows(list(cuts.values()))
    low, floor, high, roof = windows.bounds
    columns = body.columns([1] * len(names), 4)
    head = 9.0
    lists = LIST_ROW * max(len(_items(cuts[n], area.digs[n], station, unit)) for n in names) + 3.0
    room = (columns[0].width - LEFT - RIGHT, body.height - FIGURES - head - lists)
    scale = _scale(unit, high - low, roof - floor, room)
    # What the scale leaves free is given back to the paving and to the soil below.
    more = max(0.0, scale.metres(room[0]) - (high - low))
    deeper = min(max(0.0, scale.metres(room[1] - 4.0) - (roof - floor)), 0.12)
    out = _edge(cuts[area.chosen])[1]
    low, high = (low - more, high) if out > 0 else (low, high + more)
    windows = shapely.box(low, floor - deeper, high, roof)
    for box, name in zip(columns, names, strict=True):
        _column(sheet, box, plan, area, name, cuts[name], windows, station, scale, head)
    _table(sheet, columns, area, names, unit, body.y0 + FIGURES - 14.0)
    y = body.y1 - head - scale.mm(windows.bounds[3] - windows.bounds[1]) - lists - 5.0
    scale_bar(sheet, (body.x0 + 1, y), scale, unit, 44)
    words = (
        f"All at {scale.words}, true scale, at the same place: the edge of the paving on "
        "section A-A."
    )
    sheet.paper.text((body.x0 + 54, y + 0.7), words, size=2.4, across="left")
    title_block(
        sheet, plan.site.name, area.area.name, unit, scale.words,
        note="Cut is the whole dig: over-dig and organics included. Bars to one scale.",
    )  # fmt: skip
    return sheet


def _scale(unit: str, wide: float, tall: float, room: tuple[float, float]) -> Scale:
    best = scales(unit)[-1]
    for scale in scales(unit):
        if scale.ratio >= 4 and scale.mm(wide) <= room[0] and scale.mm(tall) <= room[1]:
            return scale
    return best


def _windows(cuts: list[Cut]) -> tuple[Any, float]:
    """Return one window that holds the edge under every system, and the station told of."""
    at, out = _edge(cuts[0])
    far = at
    floors, roofs = [], []
    for cut in cuts:
        edges = [e for span in cut.dug for e in span if (e - at) * out > 0]
        far = max([far * out, *(e * out for e in edges)]) * out
        floors += [float(cut.dug_at(at)), float(cut.formation_at(at)), float(cut.organics_at(far))]
        roofs += [float(cut.finish_at(at - out * INSIDE)), float(cut.ground_at(at)),
                  float(cut.ground_at(far))]  # fmt: skip
    end = far + out * OUTSIDE
    low, high = sorted((at - out * INSIDE, end))
    return shapely.box(low, min(floors) - 0.07, high, max(roofs) + 0.06), at - out * 0.02


def _column(
    sheet: Sheet, box: Box, plan: Any, area: Any, name: str, cut: Cut, window: Any,
    station: float, scale: Scale, head: float,
) -> None:  # fmt: skip
    unit, dig = plan.site.unit, area.digs[name]
    low, floor, _, roof = window.bounds
    draw = sheet.paper
    chosen = name == area.chosen
    size = 3.2
    while block(dig.system.title, size, True)[0] > box.width * 0.62:
        size -= 0.1
    draw.text((box.x0 + 1, box.y1 - 3.0), dig.system.title, size=size, across="left", bold=True)
    if chosen:
        tag = block("chosen", 2.6, True)[0] + 4
        ring = shapely.box(box.x1 - tag, box.y1 - 5.2, box.x1, box.y1 - 0.6)
        draw.area(ring, fill="#ffffff", pen=OUTLINE, layer="chosen")
        draw.text((box.x1 - tag / 2, box.y1 - 2.9), "chosen", size=2.6, bold=True)
    x = box.x0 + LEFT
    y = box.y1 - head - scale.mm(roof - floor)
    view = View(Drawing(dig.system.title), scale, (x - scale.mm(low), y - scale.mm(floor)))
    sheet.views.append(view)
    draw_body(view.drawing, cut, window, 10.0)
    view.drawing.lines(window, Pen(0.2, "#5a5a5a", (3.0, 0.8, 0.6, 0.8)), "frame")
    out = _edge(cut)[1]
    start = max(low, cut.dug[0][0]) if out > 0 else station
    finish, base = float(cut.finish_at(start)), float(cut.formation_at(start))
    view.drawing.dimension(
        (start, base), (start, finish), small(dig.build_up, unit),
        offset=scale.mm(start - low) + 3.2, size=_LETTER,
    )  # fmt: skip
    _layers(view, cut, dig, window, station, unit, box)


def _layers(
    view: View, cut: Cut, dig: Any, window: Any, station: float, unit: str, box: Box
) -> None:
    """Number the layers beside the section, and list them by number under it."""
    low, floor, high, roof = window.bounds
    out = _edge(cut)[1]
    s = station - out * 0.04
    items = _items(cut, dig, station, unit)
    column = view.paper((high, 0.0))[0] + 4.0
    wanted = [view.paper((0.0, z))[1] for z, _, _ in items]
    bottom, ceiling = view.paper((0.0, floor))[1], view.paper((0.0, roof))[1]
    heights = spread(wanted, [3.8] * len(items), bottom, ceiling)
    x = view.paper((s, 0.0))[0]
    listed = view.drawing
    y_list = -3.0
    for k, ((z, name, thick), y, want) in enumerate(zip(items, heights, wanted, strict=True), 1):
        view.drawing.leader((s, z), str(k), (column - x, y - want), size=2.6, bold=True)
        home, foot = (low, floor), (box.x0 + 1 - view.paper((low, floor))[0], y_list)
        listed.text(home, f"{k}  {name}", size=2.4, across="left", shift=foot)
        end = (box.x1 - 0.5 - view.paper((low, floor))[0], y_list)
        listed.text(home, thick, size=2.4, across="right", shift=end, bold=True)
        y_list -= LIST_ROW


def _items(cut: Cut, dig: Any, station: float, unit: str) -> list[tuple[float, str, str]]:
    """Return height, name and thickness of what lies under the finish, from the top down."""
    s = station - _edge(cut)[1] * 0.04
    items = []
    top = float(cut.finish_at(s))
    for layer in dig.system.layers:
        items.append((top - layer.thickness / 2, layer.name, small(layer.thickness, unit)))
        top -= layer.thickness
    base, dug = float(cut.formation_at(s)), float(cut.dug_at(s))
    if base - dug > 1e-3:
        items.append(((base + dug) / 2, "compacted refill", small(base - dug, unit, DIRT)))
    return items


def _table(
    sheet: Sheet, columns: list[Box], area: Any, names: list[str], unit: str, top: float
) -> None:
    """Draw under each section what it digs, with a bar, and the difference to the chosen one."""
    draw = sheet.paper
    digs = [area.digs[name] for name in names]
    most = max(dig.cut for dig in digs)
    chosen = area.digs[area.chosen]
    draw.line([(columns[0].x0, top + 1.5), (columns[-1].x1, top + 1.5)], THIN, "table")
    for box, name, dig in zip(columns, names, digs, strict=True):
        y = top
        long = (box.width - 4) * dig.cut / most if most > 0 else 0.0
        draw.text((box.x0 + 1, y - 0.6), "to dig", size=2.3, across="left", up="top",
                  colour="#444444")  # fmt: skip
        draw.text((box.x0 + 11, y), earth(dig.cut, unit), size=3.4, across="left", up="top",
                  bold=True)  # fmt: skip
        y -= 5.2
        bar = shapely.box(box.x0 + 1, y - 4.2, box.x0 + 1 + max(long, 0.2), y)
        draw.area(bar, "soil", layer="bar")
        draw.lines(bar, EARTH, "bar")
        y -= 6.0
        draw.text((box.x0 + 1, y), _difference(dig, chosen, name == area.chosen, unit), size=2.5,
                  across="left", up="top", bold=True)  # fmt: skip
        y -= 5.0
        rows = [
            ("build-up, finish to subgrade", small(dig.build_up, unit)),
            ("deepest dig below ground", small(dig.max_dig, unit, DIRT)),
            ("average dig below ground", small(dig.mean_dig, unit, DIRT)),
            ("leaves the hole, loose", earth(dig.spoil_loose, unit)),
            ("refill, compacted", earth(dig.fill, unit) if dig.fill > 5e-3 else "none"),
        ]
        for label, words in rows:
            draw.line([(box.x0, y + 0.9), (box.x1, y + 0.9)], FINE, "table")
            draw.text((box.x0 + 1, y), label, size=2.1, across="left", up="top",
                      colour="#444444")  # fmt: skip
            draw.text((box.x1 - 0.5, y), words, size=2.2, across="right", up="top")
            y -= 4.1


def _difference(dig: Any, chosen: Any, is_chosen: bool, unit: str) -> str:
    if is_chosen:
        return "the base system chosen"
    return f"{earth_between(dig.cut, chosen.cut, unit)} than the one chosen"
