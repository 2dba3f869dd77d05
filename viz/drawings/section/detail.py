"""Enlarged ends of a section: the build-up layer by layer, at a true scale of its own."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import numpy as np
import shapely
from msgspec import Struct
from shapely.geometry.base import BaseGeometry

from grading.catalogue.edge_kinds import SHOULDER
from grading.design.area import AreaPlan
from grading.dig.beds import Bed
from grading.section.built import Built
from grading.section.cut import Cut, WallCut
from grading.section.edge import HOLDER, concrete_of
from grading.section.standing import Solid
from grading.units import Unit
from viz.drawings.placing import FRAME, Label, arrows_between, broken, label_column
from viz.drawings.section.body import draw_body
from viz.drawings.section.built import built_labels, edge_label, shown_in
from viz.drawings.section.led import (
    SHARES,
    Named,
    bed_places,
    beds_named,
    named,
    places_in,
    untangled,
)
from viz.paper.compose import Sheet, View
from viz.paper.drawing import FINE, HIDDEN, Drawing
from viz.paper.furniture import caption, scale_bar
from viz.paper.lettering import extent
from viz.paper.page import Box, scales
from viz.words.figures import small
from viz.words.plain import table

LABELS = 41.0  # mm: column of words beside the detail
SIDE = 17.0  # mm: dimensions on the other side
OVER_DIG = 9.0  # mm over the paving for the dimension of the over-dig
_ROW = 3.0  # mm more for a row more of its words
_LETTER = 2.35
_BIT = 1e-4  # own: m2: a part of a solid that is named


class End(Struct, frozen=True):
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
    wall = end.wall
    inward, outward = (0.2, 0.09) if wall is None else (0.3, 0.14 + abs(wall.at - end.at))
    if wall is None:
        reach = min(abs(e - end.at) for span in cut.dug for e in span)
        outward += reach + (HOLDER if cut.raised_at(end.at) else 0.0)
    s = np.linspace(end.at - end.out * inward, end.at, 9)
    floor = float(min(cut.dug_at(s).min(), cut.formation_at(s).min()))
    roof = float(max(cut.finish_at(s).max(), cut.ground_at(s).max()))
    if wall is None:
        beyond = np.linspace(end.at, end.at + end.out * outward, 9)
        beyond = beyond[(beyond >= cut.ends[0]) & (beyond <= cut.ends[1])]
        if len(beyond):
            roof = max(roof, float(cut.ground_at(beyond).max()))
            floor = min(floor, float(cut.organics_at(beyond).min()))
    elif wall.sill is not None:
        roof = max(roof, wall.sill)
    return outward, inward, floor - 0.09, roof + 0.09


def draw_detail(
    sheet: Sheet, main: View, shown: shapely.Polygon, cut: Cut, built: Sequence[Built],
    area: AreaPlan, end: End, box: Box, unit: Unit,
) -> View:  # fmt: skip
    """Draw one enlarged end into a box of the sheet and return its view."""
    outward, inward, floor, roof = _extent(cut, end)
    room = (box.width - LABELS - SIDE, box.height - 8.5)
    over = 0.0 if end.wall is not None else OVER_DIG + _ROW * _slanting(cut, area, end)
    for scale in scales(unit):
        tall = scale.mm(roof + scale.metres(over) - floor)
        if scale.mm(outward + inward) <= room[0] and tall <= room[1]:
            break
    roof += scale.metres(over)
    # What the scale leaves free is given back to the subject.
    inward += max(0.0, scale.metres(room[0]) - outward - inward)
    spare = max(0.0, scale.metres(room[1]) - (roof - floor))
    floor, roof = floor - min(spare * 0.5, 0.12), roof + min(spare * 0.5, 0.06)
    low, high = sorted((end.at + end.out * outward, end.at - end.out * inward))
    window = shapely.box(low, floor, high, roof)
    x, y = box.x0 + SIDE, box.y1 - scale.mm(roof - floor)
    view = View(Drawing(f"detail {end.name}"), scale, (x - scale.mm(low), y - scale.mm(floor)))
    sheet.views.append(view)
    draw_body(view.drawing, cut, window, 10.0, built)
    view.drawing.lines(window, FRAME, "frame")
    number = "1" if end.out < 0 else "2"
    _mark(main, shown, window, number)
    _dimensions(view, cut, area, end, low, unit)
    _labels(view, cut, built, end, window, unit)
    about = f"{scale.words}, true scale"
    wide = caption(sheet, (box.x0, box.y0 + 1.6), f"Detail {number} {end.name}", about)
    longest = box.width - wide - 12
    if longest > 24:
        longest = min(longest, 34)
        scale_bar(sheet, (box.x1 - longest - 4, box.y0 + 2.4), scale, unit, longest)
    return view


def _mark(main: View, shown: shapely.Polygon, window: shapely.Polygon, number: str) -> None:
    """Show on the true-scale section what is enlarged."""
    draw = main.drawing
    low, floor, high, roof = window.bounds
    floor = max(floor, shown.bounds[1] + main.scale.metres(0.5))
    roof = min(roof, shown.bounds[3] - main.scale.metres(0.5))
    draw.lines(shapely.box(low, floor, high, roof), HIDDEN, "detail mark")
    at, side = ((high, roof), "right") if number == "1" else ((low, roof), "left")
    draw.text(at, number, size=3.0, bold=True, across=side, up="bottom", shift=(0.0, 0.8),
              others=((0.0, 4.0),), layer="detail mark")  # fmt: skip


def _slanting(cut: Cut, area: AreaPlan, end: End) -> bool:
    """Return whether a cut crosses what is dug beyond an end of the paving at a slant."""
    face = cut.face_of(end.at, end.out)
    square = area.outline.distance(shapely.Point(cut.plan_point(face)))
    return bool(abs(face - end.at) - square > 3e-3)


def _dimensions(view: View, cut: Cut, area: AreaPlan, end: End, low: float, unit: Unit) -> None:
    """Total build-up, over-dig, and the step from finish to sill."""
    draw = view.drawing
    station = end.at - end.out * 0.02 if end.out < 0 else max(low, cut.dug[0][0])
    finish, base = float(cut.finish_at(station)), float(cut.formation_at(station))
    pull = view.scale.mm(station - low) + 4.0
    draw.dimension((station, base), (station, finish), small(cut.system.build_up, unit),
                   offset=pull)  # fmt: skip
    if end.wall is not None and end.wall.sill is not None:
        at = end.at - end.out * 0.10
        step = end.wall.sill - float(cut.finish_at(end.at))
        risers = end.wall.risers
        words = "step here " + small(step, unit)
        if risers > 1:
            words = f"{risers} steps of {small(end.wall.riser, unit)}\n"
            words += f"the sill {small(step, unit)} up here"
        _upright(view, at, float(cut.finish_at(at)), end.wall.sill, words, end.out)
        draw.line([(end.wall.at, end.wall.sill), (at - end.out * 0.02, end.wall.sill)], FINE)
    face = cut.face_of(end.at, end.out)
    if end.wall is None and abs(face - end.at) > 1e-3:
        level = max(float(cut.finish_at(end.at)), float(cut.ground_at(face)))
        a, b = sorted((end.at, face))
        said = ["over-dig,", "cut at a slant"] if _slanting(cut, area, end) else ["over-dig"]
        # In one line where that is no wider than what it measures.
        wide = extent(" ".join(said), _LETTER)[0] + 2.0
        name = (" " if wide < view.scale.mm(b - a) else "\n").join(said)
        words = f"{name}\n{small(b - a, unit)}"
        draw.dimension((a, level), (b, level), words, offset=8.0, along=(1.0, 0.0),
                       beside="start" if end.out > 0 else "end")  # fmt: skip


def _upright(view: View, s: float, low: float, high: float, words: str, out: float) -> None:
    """A height with its words beside it, for heights shorter than their words."""
    arrows_between(view, s, low, high, head=1.6, layer="step")
    view.drawing.text((s, (low + high) / 2), words, size=_LETTER, shift=(-1.4 * out, 0.0),
                      across="left" if out < 0 else "right", ground=True, layer="step")  # fmt: skip


def layer_labels(cut: Cut, s: float, unit: Unit) -> Iterator[Label]:
    """Yield the labels of what lies under the finish at a station, from the top down."""
    for bed in cut.beds_at(s):
        yield *next(bed_places(cut, s, bed)), _bed_words(bed, unit)
    yield s, float(cut.dug_at(s)) - 0.035, "undisturbed soil, trimmed and compacted"


def _bed_words(bed: Bed, unit: Unit) -> str:
    return bed.name if bed.role == "refill" else f"{bed.name} {small(bed.thickness, unit)}"


def plain_labels(cut: Cut, s: float, unit: Unit) -> Iterator[Label]:
    """Yield the same labels in the words of who lives there."""
    names = table("layer-name")
    beds = cut.beds_at(s)
    *layers, (at, below, _) = layer_labels(cut, s, unit)
    for bed, (x, z, _) in zip(beds, layers, strict=True):
        thick = "" if bed.role == "refill" else f" {small(bed.thickness, unit)}"
        material = "refill" if bed.role == "refill" else bed.material
        yield x, z, f"{names.get(material, bed.name)}{thick}"
    yield at, below, names["soil"]


def _labels(
    view: View, cut: Cut, built: Sequence[Built], end: End, window: shapely.Polygon, unit: Unit
) -> None:
    """A column of words to the right, each with a line to its layer."""
    low, floor, high, roof = window.bounds
    s = high - view.scale.metres(3.0) if end.out < 0 else end.at - 0.06
    said: list[Named] = []
    if end.out < 0 or end.wall is not None:
        within = [s, *(s - view.scale.metres(back) for back in (4.0, 8.0, 12.0))]
        stations = [each for each in within if each > max(low, cut.paving[0])]
        said += beds_named(cut, stations, lambda bed: _bed_words(bed, unit), built)
        *_, soil = layer_labels(cut, s, unit)
        said.append(named(soil))
    said += _beside(cut, built, end, window, view.scale.metres(5.5), unit)
    shown = [
        Named(broken(each.words, _LETTER, LABELS - 6), each.places)
        for each in said if floor < each.places[0][1] < roof
    ]  # fmt: skip
    column = view.paper((high, 0.0))[0] + 4.5
    ends = view.paper((0.0, floor))[1] - 3.0, view.paper((0.0, roof))[1] + 2.0
    labels = untangled(view, shown, column, ends, _LETTER, 1.6)
    label_column(view, labels, column, ends, _LETTER, 1.6)


def _beside(
    cut: Cut, built: Sequence[Built], end: End, window: shapely.Polygon, room: float, unit: Unit
) -> Iterator[Named]:
    """Labels of what lies beside the paving or above it: edge, backfill, ground, organics."""
    low, floor, high, roof = window.bounds
    if end.out < 0 or end.wall is not None:
        s = high - room if end.out < 0 else low + room
        ground = float(cut.ground_at(s))
        if abs(ground - float(cut.finish_at(s))) > 8e-3:
            yield named((s, ground, "existing ground"))
        if end.wall is None:
            yield from map(named, built_labels(shown_in(built, window), unit))
        return
    beyond = [e for span in cut.dug for e in span if e > end.at + 1e-3]
    edge = beyond[0] if beyond else end.at
    far = min(high - 0.02, cut.ends[1])
    other = cut.other_at(far, 0.0)
    if other is not None:
        z = float(other.finish_at(far)) - 0.03
        yield named((far, z, f"{other.name}: paving goes on"))
    elif far > edge:
        at = [far, 0.75 * far + 0.25 * edge, (far + edge) / 2]
        over, under = cut.ground_at(at), cut.organics_at(at)
        yield Named("existing ground", tuple(zip(at, over.tolist(), strict=True)))
        if over[0] - under[0] > 5e-3:
            levels = [(over - (over - under) * share).tolist() for share in SHARES]
            places = (place for each in levels for place in zip(at, each, strict=True))
            yield Named("topsoil and organics", tuple(places))
    strip = shapely.box(end.at + 0.05, floor, edge, roof) if beyond else shapely.Polygon()
    concrete = shapely.union_all(concrete_of(cut, end.at, end.out))
    yield from _parts(cut, ("backfill",), strip.difference(concrete))
    here = shown_in(built, window)
    if here:
        yield from map(named, built_labels(here, unit))
    elif cut.other_at(end.at + 0.02) is None and (label := edge_label(cut, end.at, end.out)):
        yield named(label)
    strip = shapely.box(end.at + 0.08, floor, edge, roof) if beyond else shapely.Polygon()
    yield from _parts(cut, ("base", "panel"), strip)


def _parts(cut: Cut, roles: tuple[str, ...], strip: BaseGeometry) -> Iterator[Named]:
    """Yield labels of the solids of some roles within a strip beside the paving."""
    for solid in cut.solids:
        part = solid.shape.intersection(strip)
        if solid.role in roles and part.area > _BIT and (places := places_in(part)):
            yield Named(_carried(cut, solid), places)


def _carried(cut: Cut, solid: Solid) -> str:
    """Say what a solid is beside the paving."""
    if solid.role == "backfill":
        return "soil put back"
    if cut.edging.name == SHOULDER and solid.role == "base":
        return "shoulder of dense-graded base"
    return f"{solid.name}, carried past the paving"
