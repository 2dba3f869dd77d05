"""From the door to the lawn, cut through: the step, the fall, what lies under it, the edge."""

from __future__ import annotations

import numpy as np
import shapely
from msgspec import Struct
from shapely.geometry.base import BaseGeometry

from grading.design.area import AreaPlan
from grading.design.door_steps import DoorStep, door_steps
from grading.geometry.tolerances import TOUCH
from grading.pipeline import Plan
from grading.section.built import Built
from grading.section.cut import Cut, WallCut
from grading.section.square import door_cut
from grading.section.through import between
from grading.units import Unit, size
from viz.drawings.placing import arrows_between
from viz.drawings.section.body import draw_grass
from viz.drawings.section.built import AT_EDGE, built_of, clear_of
from viz.paper.compose import Sheet, View
from viz.paper.drawing import CUT, FINE, OUTLINE, THIN, Drawing, Pen
from viz.paper.lettering import extent
from viz.paper.page import Page, Scale
from viz.words.figures import DIRT
from viz.words.plain import table

WIDE = 184.0
"""Width of the drawing. [mm]"""

_TALLEST, _LEAST = 58.0, 26.0  # mm: its height
_HOUSE, _LAWN = 0.62, 1.15  # m shown of the house behind the door, and of the lawn
_OVER, _UNDER = 0.16, 0.14  # m shown over the sill and under the dig
_LARGEST = 12.0  # ratio: nothing is drawn larger
_WORDS = 12.5  # mm over the paving
_LAWN_WORDS = 7.5  # mm over the lawn
_SIZE = 2.7
_BOLD = 2.9
_SAID = 4.2  # mm: a layer thinner on paper is not named inside
_TEAL = Pen(0.8, "#0f5f66")
_WALL_THICK = 0.25  # m: drawn thickness of a foundation wall, which no survey gives
_PUT_BACK = "backfill"
_LIP = 0.013  # m: the sod beside paving lies so far below it; common practice, no source
_JOINED = 0.1  # m: paving so near beyond steps goes on from them
_LEVEL = 0.003  # m: an edge nearer to the ground is level with it
_GREEN = "#8aa65c"
_TURF = 0.035  # m: thickness of the sod that is drawn


class DoorToLawn(Struct, frozen=True, eq=False):
    """The cut with what is said under it.

    Attributes
    ----------
    sheet : Sheet
    about : str
        What is cut, for a reader who cannot see it.
    """

    sheet: Sheet
    about: str


def door_to_lawn(plan: Plan) -> DoorToLawn:
    """Return the cut from the door that leads to the most paving out to the lawn.

    Without a door it is the cut down the fall of the largest area.

    Parameters
    ----------
    plan : Plan
    """
    areas = sorted(plan.areas, key=lambda area: -float(area.outline.area))
    for area in areas:
        for step in sorted(door_steps(area), key=lambda one: -one.step):
            found = door_cut(plan.sections, area, step)
            if found is not None:
                return _drawn(plan, area, found[0], found[1], step)
    cut = plan.sections.of(areas[0], "down")
    wall = next((each for each in cut.walls if each.side < 0), None)
    return _drawn(plan, areas[0], cut, wall, None)


def _drawn(
    plan: Plan, area: AreaPlan, cut: Cut, wall: WallCut | None, step: DoorStep | None
) -> DoorToLawn:
    unit = plan.site.unit
    start = wall.at if wall is not None else cut.paving[0]
    first = _own_span(cut, start)
    edge = first[1]
    low = start - _HOUSE if wall is not None else max(first[0] - _LAWN, cut.ends[0])
    built = _built_at(plan, area, cut, edge)
    cut = clear_of(cut, built)
    out = _paved_on(cut, max([edge, *(each.shape.bounds[2] for each in built)]))
    high = min(out + _LAWN, cut.ends[1])
    top = max(
        cut.highest if wall is None else -np.inf,
        step.door.sill if step is not None else float(cut.finish_at(first[0])) + 0.3,
    )
    last = _paved_on(cut, edge)
    deep = [cut.deepest_in(first[0], last), *(each.shape.bounds[1] for each in built)]
    bottom = min(deep) - _UNDER
    tall = top + _OVER - bottom
    scale = _scale(high - low, tall)
    # Words stand over the paving: they have their room whatever the scale.
    room = scale.metres(_WORDS) + float(cut.finish_at(first[0]))
    # So have those over a lawn that lies higher.
    lawn = float(cut.ground_at(np.linspace(edge, high, 9)).max()) + scale.metres(_LAWN_WORDS)
    top = max(top, room - _OVER, lawn - _OVER)
    height = max(scale.mm(top + _OVER - bottom), _LEAST)
    page = Page("homeowner", WIDE, height, margin=0.0, title=0.0)
    sheet = Sheet(page, "door-to-lawn", "From the door to the lawn, cut through")
    x = (WIDE - scale.mm(high - low)) / 2
    view = View(Drawing("cut"), scale, (x - scale.mm(low), -scale.mm(bottom)))
    sheet.views.append(view)
    window = shapely.box(low, bottom, high, top + _OVER)
    _earth(view.drawing, cut, window, edge)
    _layers(view.drawing, cut, window)
    for each in built:
        if each.material == "turf":
            draw_grass(view.drawing, each.shape, window)
        else:
            shape = each.shape.intersection(window)
            view.drawing.area(shape, each.material, pen=OUTLINE, layer="structure")
    _lawn(view.drawing, cut, window, max(edge, start), built)
    if wall is not None:
        _house(view.drawing, wall, window, bottom)
    _today(view.drawing, cut, first, window)
    t = cut.along_finish(*first)
    view.drawing.line(np.column_stack([t, cut.finish_at(t)]), CUT, "finish")
    for other in cut.others:
        for span in other.paved:
            t = other.along_finish(*span)
            line = shapely.LineString(np.column_stack([t, other.finish_at(t)]))
            view.drawing.lines(line.intersection(window), CUT, "other finish")
    _named(view, cut, first, window, unit)
    _figures(view, cut, first, wall, step, (low, high), built, unit)
    about = "From the house to the lawn, cut through: the step, the fall, the layers and the edge"
    return DoorToLawn(sheet, about)


def _own_span(cut: Cut, near: float) -> tuple[float, float]:
    """Return the stretch of paving that begins nearest to a place. [m]"""
    return min(cut.paved, key=lambda span: abs(span[0] - near))


def _scale(wide: float, tall: float) -> Scale:
    ratio = max(wide * 1000 / WIDE, tall * 1000 / _TALLEST, _LARGEST)
    return Scale(ratio, "true scale")


def _built_at(plan: Plan, area: AreaPlan, cut: Cut, edge: float) -> list[Built]:
    """Return what the line meets of what is built with the area, or by its edge with another."""
    own = {id(each) for each in plan.order.of(area).takeoffs[area.chosen].structures}
    return [
        each for each in built_of(plan.order, cut)
        if id(each.structure) in own or abs(each.shape.bounds[0] - edge) < AT_EDGE
    ]  # fmt: skip


def _paved_on(cut: Cut, out: float) -> float:
    """Return where other paving that goes on from a place ends; that place if none does. [m]"""
    for low, high in sorted(span for other in cut.others for span in other.paved):
        out = max(out, high) if low <= out + _JOINED else out
    return out


def _earth(draw: Drawing, cut: Cut, window: BaseGeometry, edge: float) -> None:
    """Your soil, from the bottom of the picture up to what is dug, and to the lawn beyond."""
    low, bottom, high, _ = window.bounds
    low = max(low, cut.ends[0])
    for hole in cut.holes:
        a, b = max(hole.start, low), min(hole.end, high)
        if b - a > TOUCH:
            t = cut.stops(a, b)
            shape = between(t, cut.floor_of(hole, t), np.full_like(t, bottom))
            draw.area(shape.intersection(window), "soil", layer="soil")
    for a, b in cut.undug:
        a, b = max(a, low), min(b, high)
        if b - a > TOUCH:
            t = cut.stops(a, b)
            under = between(t, cut.organics_at(t), np.full_like(t, bottom))
            draw.area(under.intersection(window), "soil", layer="soil")
            peat = between(t, cut.ground_at(t), cut.organics_at(t))
            draw.area(peat.intersection(window), "topsoil", layer="topsoil")


def _layers(draw: Drawing, cut: Cut, window: BaseGeometry) -> None:
    for thing in cut.things:
        if thing.material:
            draw.area(thing.base.intersection(window), thing.material, layer="own base")
    for other in cut.others:
        for solid in other.solids:
            draw.area(solid.shape.intersection(window), solid.material, layer=solid.name)
    for solid in cut.solids:
        # Soil put back is drawn with the lawn, which it comes up to.
        if solid.material != _PUT_BACK:
            draw.area(solid.shape.intersection(window), solid.material, layer=solid.name)
    for thing in cut.things:
        draw.area(thing.body.intersection(window), fill="#efe9dc", pen=THIN, layer="thing")
    for tread in cut.treads:
        draw.area(tread.intersection(window), fill="#dcd5c9", pen=OUTLINE, layer="tread")


def _lawn(
    draw: Drawing, cut: Cut, window: BaseGeometry, edge: float,
    built: list[Built],
) -> None:  # fmt: skip
    """The sod beside the paving: from the edge, or what stands there, down to the lawn."""
    high = min(window.bounds[2], cut.ends[1])
    beyond = [end for end in cut.paved if end[0] > edge + 0.1]
    high = min([high, *(span[0] for span in beyond)])
    stand = [each.shape.bounds[2] for each in built if each.shape.bounds[3] > float(
        cut.ground_at(min(each.shape.bounds[2], high))) - 0.02]  # fmt: skip
    start = max([edge, *stand])
    if (last := _paved_on(cut, start)) > start:
        # Beyond other paving the lawn begins where that is dug for.
        stand = [last, *(hole.end for hole in cut.holes if hole.start < last)]
        start = max(stand)
    if high - start < 0.05:
        return
    t = cut.stops(start, high)
    ground = cut.ground_at(t)
    face = cut.face_of(edge, 1.0)
    if not stand and face > edge + TOUCH and not cut.raised_at(edge):
        # Soil put back beside the paving goes down, or up, to the lawn over what was dug there.
        share = np.clip((t - edge) / (face - edge), 0.0, 1.0)
        ground = (1 - share) * (float(cut.finish_at(edge)) - _LIP) + share * ground
    elif not stand and face > edge + TOUCH:
        t = cut.stops(face, high)
        ground = cut.ground_at(t)
    below = between(t, ground, np.full_like(t, window.bounds[1]))
    for solid in cut.solids:
        if solid.material == _PUT_BACK:
            draw.area(solid.shape.intersection(below).intersection(window), _PUT_BACK,
                      layer="put back")  # fmt: skip
    sod = between(t, ground, ground - _TURF).intersection(window)
    draw.area(sod, fill=_GREEN, layer="sod")
    draw.turf(np.column_stack([t, ground]))


def _house(draw: Drawing, wall: WallCut, window: BaseGeometry, bottom: float) -> None:
    top = window.bounds[3]
    face = wall.at
    sill = wall.sill if wall.sill is not None else top
    body = shapely.box(face - _WALL_THICK, bottom, face, sill - 0.05)
    draw.area(body.intersection(window), "concrete", layer="house wall")
    draw.line([(face, bottom), (face, sill - 0.05)], CUT, "house wall")
    if wall.sill is None:
        return
    floor = shapely.box(face - _HOUSE, sill - 0.05, face + 0.03, sill)
    draw.area(floor.intersection(window), fill="#ffffff", pen=OUTLINE, layer="sill")
    leaf = shapely.box(face - 0.17, sill, face - 0.12, top)
    draw.area(leaf.intersection(window), fill="#5b6b78", pen=THIN, layer="door")


def _today(draw: Drawing, cut: Cut, span: tuple[float, float], window: BaseGeometry) -> None:
    """The lawn as it lies today, dashed where it is dug away or built over."""
    face = max(cut.face_of(span[1], 1.0), _paved_on(cut, span[1]))
    t = cut.stops(span[0], max(face, span[1]))
    line = shapely.LineString(np.column_stack([t, cut.ground_at(t)])).intersection(window)
    draw.lines(line, Pen(0.9, "#ffffff"), "today, its ground")
    draw.lines(line, Pen(0.4, "#1a1a1a", (2.4, 1.1)), "today")


def _named(
    view: View, cut: Cut, span: tuple[float, float], window: BaseGeometry, unit: Unit
) -> None:
    """Name inside them what is thick enough, and the soil below."""
    draw, told = view.drawing, set()
    a, b = span
    for solid in cut.solids:
        words = _words_of(solid.material, solid.role)
        best = None
        for share in (0.5, 0.6, 0.4, 0.7, 0.3, 0.85):
            s = a + (b - a) * share
            met = shapely.LineString([(s, -1e4), (s, 1e4)]).intersection(solid.shape)
            if met.is_empty or view.scale.mm(met.length) < _SAID:
                continue
            room = view.scale.mm((b - a) * 0.9)
            if best is None or met.length > best[1]:
                best = (s, met.length, (met.bounds[1] + met.bounds[3]) / 2, room)
        if best is None or words in told or extent(words, _SIZE)[0] > best[3]:
            continue
        told.add(words)
        draw.text((best[0], best[2]), words, size=_SIZE, ground=True, layer="layer name")
    s = a + (b - a) * 0.32
    floor = cut.deepest_in(s - 0.3, s + 0.3)
    middle = (floor + window.bounds[1]) / 2
    if view.scale.mm(floor - window.bounds[1]) > 3.2:
        words = "your soil, all topsoil dug out from under the paving" if cut.has_organics else (
            "your soil, firm")  # fmt: skip
        draw.text((a, middle), words, size=_SIZE, across="left", shift=(2.0, 0.0), ground=True,
                  layer="soil name")  # fmt: skip


def _words_of(material: str, role: str) -> str:
    known = table("cut")
    return str(known.get(material) or known.get(role) or known["base"])


def _figures(
    view: View, cut: Cut, span: tuple[float, float], wall: WallCut | None, step: DoorStep | None,
    ends: tuple[float, float], built: list[Built], unit: Unit,
) -> None:  # fmt: skip
    """The step at the door, the fall along the cut, and how high the edge stands."""
    draw, mm = view.drawing, view.scale.metres
    a, b = span
    high_z, low_z = float(cut.finish_at(a)), float(cut.finish_at(b))
    x = a
    if step is not None and wall is not None:
        x = wall.at + mm(7.0)
        top, bottom = float(step.door.sill), step.finish
        draw.line([(wall.at, top), (x + mm(1.5), top)], FINE, "extension")
        draw.line([(x - mm(1.0), top), (x + mm(1.0), top)], THIN, "tick")
        arrows_between(view, x, bottom, top, head=1.7, layer="step")
        words = f"{step.words(lambda metres: size(metres, unit))}"
        words = f"{words} step" if step.risers == 1 else words
        draw.text((x, (top + bottom) / 2), words, size=_BOLD, bold=True, across="left",
                  shift=(1.8, 0.6), ground=True, layer="step words")  # fmt: skip
        x += mm(5.0 + extent(words, _BOLD, True)[0])
    drop = high_z - low_z
    left = _edge_height(view, cut, b, ends[1], built, unit)
    room = view.scale.mm(min(b, left) - x)
    words = f"falls {size(drop, unit)} from the house to the edge, so water runs off"
    if step is None and wall is None:
        words = f"falls {size(drop, unit)}, so water runs off"
    if extent(words, _BOLD, True)[0] > room - 8.0:
        words = f"falls {size(drop, unit)}, so water runs off"
    if extent(words, _BOLD, True)[0] > room - 4.0:
        words = f"falls {size(drop, unit)}"
    half = extent(words, _BOLD, True)[0] / 2
    if drop > 1e-3 and room > 12.0:
        start = x + mm(4.0)
        end = min(b - mm(4.0), left - mm(3.0), start + mm(max(2 * half, 40.0)))
        tips = [np.array([s, float(cut.finish_at(s)) + mm(2.6)]) for s in (start, end)]
        draw.arrow(*tips, pen=_TEAL, head=2.8, layer="fall")
        at = ((start + end) / 2, tips[0][1])
        draw.text(at, words, size=_BOLD, bold=True, shift=(0.0, 3.6), layer="fall words")


def _edge_height(
    view: View, cut: Cut, edge: float, high: float,
    built: list[Built], unit: Unit,
) -> float:  # fmt: skip
    """Say how high the edge stands over the lawn; return where the words begin. [m]"""
    draw, mm = view.drawing, view.scale.metres
    if not cut.free_at(edge):
        return edge
    out = max([edge, cut.face_of(edge, 1.0), *(each.shape.bounds[2] for each in built)])
    at = min(out + mm(9.0), high - mm(2.0))
    # As high as everywhere else it is told: over the ground at the edge itself.
    top, bottom = float(cut.finish_at(edge)), float(cut.ground_at(edge))
    stands = top - bottom
    words = f"{size(abs(stands), unit, DIRT)}"
    low, up = sorted((top, bottom))
    for z in (top, bottom):
        draw.line([(edge, z), (at + mm(1.2), z)], FINE, "extension")
    if abs(stands) < _LEVEL:
        words = "level with the lawn"
    else:
        words += " above the lawn" if stands > 0 else " below the lawn"
        arrows_between(view, at, low, up, 5.0, far=3.4, head=1.6, layer="edge height")
    wide = mm(extent(words, _BOLD, True)[0])
    end = min(at + wide / 2, high - mm(0.5))
    over = max(top, float(cut.ground_at(np.linspace(edge, end, 9)).max()))
    draw.text((end, over), words, size=_BOLD, bold=True, across="right", shift=(0.0, 4.6),
              ground=True, layer="edge words")  # fmt: skip
    return end - wide
