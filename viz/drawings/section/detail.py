"""Enlarged ends of a section: the build-up layer by layer, at a true scale of its own."""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import Any

import numpy as np
import shapely

from grading.catalogue.edge_kinds import SHOULDER
from viz.drawings.section.body import draw_body
from viz.drawings.section.cut import Cut, WallCut
from viz.drawings.section.edge import HOLDER, concrete_of, holder
from viz.paper.compose import Sheet, View
from viz.paper.drawing import FINE, HIDDEN, THIN, Drawing, Pen
from viz.paper.furniture import caption, scale_bar
from viz.paper.lettering import block, extent, fold, spread
from viz.paper.page import Box, scales
from viz.words.edging import HELD
from viz.words.figures import small

LABELS = 41.0  # mm: column of words beside the detail
SIDE = 17.0  # mm: dimensions on the other side
OVER_DIG = 9.0  # mm over the paving for the dimension of the over-dig
_LETTER = 2.35


@dataclass(frozen=True)
class End:
    """One end of the paving to enlarge: which edge, and the wall it stands at, if any."""

    name: str
    at: float
    out: float  # -1: the first edge, +1: the last
    wall: WallCut | None


def ends_to_show(cut: Cut) -> list[End]:
    """Return both ends of the paving, as at the house or as an outer edge."""
    out = []
    for at, side in ((cut.paving[0], -1.0), (cut.paving[1], 1.0)):
        walls = [w for w in cut.walls if w.side == side and abs(w.at - at) < 0.3]
        name = "at the house" if walls else "at the edge"
        out.append(End(name, at, side, walls[0] if walls else None))
    return out


def _extent(cut: Cut, end: End) -> tuple[float, float, float, float]:
    """Return how far a detail reaches outward, inward, down and up. [m]; heights are levels"""
    outward = 0.14 + abs(end.wall.at - end.at) if end.wall else 0.09
    edge = [e for span in cut.dug for e in span]
    reach = min((abs(e - end.at) for e in edge), default=0.0)
    if not end.wall:
        outward += reach + (HOLDER if cut.raised_at(end.at) else 0.0)
    inward = 0.3 if end.wall else 0.2
    s = np.linspace(end.at - end.out * inward, end.at, 9)
    floor = float(min(cut.dug_at(s).min(), cut.formation_at(s).min()))
    roof = float(max(cut.finish_at(s).max(), cut.ground_at(s).max()))
    if not end.wall:
        beyond = np.linspace(end.at, end.at + end.out * outward, 9)
        beyond = beyond[(beyond >= cut.ends[0]) & (beyond <= cut.ends[1])]
        if len(beyond):
            roof = max(roof, float(cut.ground_at(beyond).max()))
            floor = min(floor, float(cut.organics_at(beyond).min()))
    if end.wall and end.wall.sill is not None:
        roof = max(roof, end.wall.sill)
    return outward, inward, floor - 0.09, roof + 0.09


def draw_detail(
    sheet: Sheet,
    main: View,
    shown: Any,
    cut: Cut,
    area: Any,
    dig: Any,
    end: End,
    box: Box,
    unit: str,
) -> View:
    """Draw one enlarged end into a box of the sheet and return its view."""
    outward, inward, floor, roof = _extent(cut, end)
    room = (box.width - LABELS - SIDE, box.height - 8.5)
    scale = scales(unit)[-1]
    for scale in scales(unit):
        above = 0.0 if end.wall else scale.metres(OVER_DIG)
        if scale.mm(outward + inward) <= room[0] and scale.mm(roof + above - floor) <= room[1]:
            break
    roof += 0.0 if end.wall else scale.metres(OVER_DIG)
    # What the scale leaves free is given back to the subject.
    inward += max(0.0, scale.metres(room[0]) - outward - inward)
    spare = max(0.0, scale.metres(room[1]) - (roof - floor))
    floor, roof = floor - min(spare * 0.5, 0.12), roof + min(spare * 0.5, 0.06)
    low, high = sorted((end.at + end.out * outward, end.at - end.out * inward))
    window = shapely.box(low, floor, high, roof)
    tall = scale.mm(roof - floor)
    x = box.x0 + SIDE
    y = box.y1 - tall
    view = View(Drawing(f"detail {end.name}"), scale, (x - scale.mm(low), y - scale.mm(floor)))
    sheet.views.append(view)
    draw_body(view.drawing, cut, window, 10.0)
    view.drawing.lines(window, Pen(0.2, "#5a5a5a", (3.0, 0.8, 0.6, 0.8)), "frame")
    number = "1" if end.out < 0 else "2"
    _mark(main, shown, window, number)
    _dimensions(view, cut, area, dig, end, window, unit)
    _labels(view, cut, dig, end, window, unit)
    words = f"{scale.words}, true scale"
    name = f"Detail {number} {end.name}"
    wide = caption(sheet, (box.x0, box.y0 + 1.6), name, words)
    longest = box.width - wide - 12
    if longest > 24:
        longest = min(longest, 34)
        scale_bar(sheet, (box.x1 - longest - 4, box.y0 + 2.4), scale, unit, longest)
    return view


def _mark(main: View, shown: Any, window: Any, number: str) -> None:
    """Show on the true-scale section what is enlarged."""
    draw = main.drawing
    low, floor, high, roof = window.bounds
    floor = max(floor, shown.bounds[1] + main.scale.metres(0.5))
    roof = min(roof, shown.bounds[3] - main.scale.metres(0.5))
    draw.lines(shapely.box(low, floor, high, roof), HIDDEN, "detail mark")
    at = (high if number == "1" else low, roof)
    side = "right" if number == "1" else "left"
    draw.text(at, number, size=3.0, bold=True, across=side, up="bottom", shift=(0.0, 0.8),
              others=((0.0, 4.0),), layer="detail mark")  # fmt: skip


def _dimensions(
    view: View, cut: Cut, area: Any, dig: Any, end: End, window: Any, unit: str
) -> None:
    """Total build-up, over-dig, and the step from finish to sill."""
    draw = view.drawing
    low = window.bounds[0]
    inner = end.at - end.out * 0.02
    left = low if end.wall is None or end.out > 0 else end.wall.at
    s = max(left, cut.dug[0][0]) if end.out < 0 else max(low, cut.dug[0][0])
    station = inner if end.out < 0 else s
    finish, base = float(cut.finish_at(station)), float(cut.formation_at(station))
    pull = view.scale.mm(station - low) + 4.0
    draw.dimension((station, base), (station, finish), small(dig.build_up, unit), offset=pull)
    if end.wall is not None and end.wall.sill is not None:
        at = end.at - end.out * 0.10
        step = end.wall.sill - float(cut.finish_at(end.at))
        risers = end.wall.risers
        words = "step here " + small(step, unit)
        if risers > 1:
            each = small(step / risers, unit)
            words = f"{risers} steps of {each} here\n{small(step, unit)} in all"
        _upright(view, at, float(cut.finish_at(at)), end.wall.sill, words, end.out)
        draw.line([(end.wall.at, end.wall.sill), (at - end.out * 0.02, end.wall.sill)], FINE)
    edges = [e for span in cut.dug for e in span if (e - end.at) * end.out > 1e-3]
    if end.wall is None and edges:
        edge = min(edges, key=lambda e: abs(e - end.at))
        level = max(float(cut.finish_at(end.at)), float(cut.ground_at(edge)))
        a, b = sorted((end.at, edge))
        slanting = b - a - area.outline.distance(shapely.Point(cut.plan_point(edge))) > 3e-3
        words = f"over-dig{', cut at a slant' if slanting else ''}\n{small(b - a, unit)}"
        draw.dimension(
            (a, level),
            (b, level),
            words,
            offset=8.0,
            along=(1.0, 0.0),
            beside="start" if end.out > 0 else "end",
        )


def _upright(view: View, s: float, low: float, high: float, words: str, out: float) -> None:
    """A height with its words beside it, for heights shorter than their words."""
    draw = view.drawing
    draw.arrow((s, (low + high) / 2), (s, high), pen=THIN, head=1.6, layer="step")
    draw.arrow((s, (low + high) / 2), (s, low), pen=THIN, head=1.6, layer="step")
    draw.text((s, (low + high) / 2), words, size=_LETTER,
              across="left" if out < 0 else "right", shift=(-1.4 * out, 0.0),
              ground=True, layer="step")  # fmt: skip


def _said(cut: Cut, dig: Any, end: End, s: float, unit: str) -> list[tuple[float, str]]:
    """Return height and words of every label at a station, highest first."""
    said = []
    top = float(cut.finish_at(s))
    for layer in dig.system.layers:
        words = f"{layer.name} {small(layer.thickness, unit)}"
        said.append((top - layer.thickness / 2, words))
        top -= layer.thickness
    base, dug = float(cut.formation_at(s)), float(cut.dug_at(s))
    if base - dug > 1e-3:
        said.append(((base + dug) / 2, "compacted refill"))
    said.append((dug - 0.035, "undisturbed soil, trimmed and compacted"))
    return said


def _labels(view: View, cut: Cut, dig: Any, end: End, window: Any, unit: str) -> None:
    """A column of words to the right, each with a line to its layer."""
    _, floor, high, roof = window.bounds
    column = view.paper((high, 0.0))[0] + 4.5
    s = high - view.scale.metres(3.0) if end.out < 0 else end.at - 0.06
    said = (
        []
        if end.out > 0 and end.wall is None
        else [(s, z, words) for z, words in _said(cut, dig, end, s, unit)]
    )
    said += _beside(cut, end, window, view.scale.metres(5.5))
    said = [item for item in said if floor < item[1] < roof]
    said.sort(key=lambda item: -item[1])
    rows = [_broken(words) for _, _, words in said]
    need = [block(row, _LETTER)[1] + 1.6 for row in rows]
    wanted = [view.paper((0.0, z))[1] for _, z, _ in said]
    bottom, top = view.paper((0.0, floor))[1], view.paper((0.0, roof))[1]
    heights = spread(wanted, need, bottom - 3.0, top + 2.0)
    for (at, z, _), row, y, want in zip(said, rows, heights, wanted, strict=True):
        x = view.paper((at, 0.0))[0]
        view.drawing.leader((at, z), row, (column - x, y - want), size=_LETTER)


def _broken(words: str) -> str:
    """Break a label that is too wide, before its figures where it has some."""
    if extent(words, _LETTER)[0] <= LABELS - 6:
        return words
    figures = re.search(r" (?=[0-9]+[ /])", words)
    if figures:
        return words[: figures.start()] + "\n" + words[figures.end() :]
    return fold(words, _LETTER, LABELS - 6)


def _beside(cut: Cut, end: End, window: Any, view_room: float) -> list[tuple[float, float, str]]:
    """Labels of what lies beside the paving or above it: edge, backfill, ground, organics."""
    low, floor, high, roof = window.bounds
    out = []
    if end.out < 0 or end.wall is not None:
        s = high - view_room if end.out < 0 else low + view_room
        ground = float(cut.ground_at(s))
        if abs(ground - float(cut.finish_at(s))) > 8e-3:
            out.append((s, ground, "existing ground"))
    if end.out > 0 and end.wall is None:
        beyond = [e for span in cut.dug for e in span if e > end.at + 1e-3]
        edge = beyond[0] if beyond else end.at
        far = min(high - 0.02, cut.ends[1])
        other = cut.other_at(far, 0.0)
        if other is not None:
            out.append((far, float(other.finish.at(far)) - 0.03, f"{other.name}: paving goes on"))
        elif far > edge:
            ground, peat = float(cut.ground_at(far)), float(cut.organics_at(far))
            out.append((far, ground, "existing ground"))
            if ground - peat > 5e-3:
                out.append((far, (ground + peat) / 2, "topsoil and organics"))
        for solid in cut.solids:
            if solid.role == "backfill" and beyond:
                part = solid.shape.intersection(shapely.box(end.at + 0.05, floor, edge, roof))
                part = part.difference(shapely.union_all(concrete_of(cut, end.at, end.out)))
                if part.area > 1e-4:
                    point = part.representative_point()
                    out.append((point.x, point.y, "soil put back"))
        if cut.raised_at(end.at):
            middle = holder(cut, end.at, end.out).intersection(window).centroid
            out.append((middle.x, middle.y, HELD))
        elif cut.other_at(end.at + 0.02) is None:
            tip = float(cut.finish_at(end.at)) - 0.03
            out.append((end.at + 0.003, tip, cut.edging.words))
        for solid in cut.solids:
            if solid.role in ("base", "panel") and beyond:
                part = solid.shape.intersection(shapely.box(end.at + 0.08, floor, edge, roof))
                if part.area > 1e-4:
                    point = part.representative_point()
                    out.append((point.x, point.y, _carried(cut, solid)))
    return out


def _carried(cut: Cut, solid: Any) -> str:
    """Say what a layer is beside the paving."""
    if cut.edging.name == SHOULDER and solid.role == "base":
        return "shoulder of dense-graded base"
    return f"{solid.name}, carried past the paving"
