"""Details cut through the paving: at a door, at a step between areas, at an edge over the lawn."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from itertools import pairwise

import numpy as np
import shapely
from msgspec import Struct

from grading.design.area import AreaPlan
from grading.design.door_steps import DoorStep
from grading.design.steps import SharedEdge
from grading.dig.beds import Bed
from grading.geometry.tolerances import ROUNDING
from grading.pipeline import Plan
from grading.section.built import Built
from grading.section.cut import Cut
from grading.section.edge import HOLDER, concrete_of
from grading.section.square import StepCut, door_cut, high_edge_cut, lawn_beside, step_cut
from grading.units import Unit, percent
from viz.drawings.placing import FRAME, Label, arrows_between, broken, label_column
from viz.drawings.section.body import draw_body
from viz.drawings.section.built import (
    AT_EDGE,
    built_labels,
    built_of,
    clear_of,
    edge_label,
    shown_in,
    strip_of,
)
from viz.drawings.section.led import Named, beds_named, named, places_in, untangled
from viz.paper.compose import Sheet, View
from viz.paper.drawing import FINE, OUTLINE, THIN, Drawing, Pen
from viz.paper.furniture import caption, scale_bar
from viz.paper.lettering import extent, fold
from viz.paper.page import Box, fitting_scale, scales
from viz.words.figures import DIRT, level, small
from viz.words.paving.edges import step_words
from viz.words.paving.structures import structures_in

LABELS = 41.0  # mm: column of words
BAR = 42.0  # mm: the scale bar, beside a caption
CAPTION_ROW = 4.0
SIDE = 19.0  # mm: dimensions on the other side
_SIZE = 2.2
LAWN = Pen(0.35, "#4d6b2f", (3.0, 1.0))
INSIDE = 0.32  # m of paving shown
BEYOND = 0.3  # m of paving shown beyond the lowest riser of a step and its pad
BACK = 0.16  # m of the house shown
BESIDE = 0.3  # m of ground shown beyond the dig
_CEILING = 0.6  # m: a ceiling this far from the sill is shown with it


class Detail(Struct, frozen=True):
    """One detail of a cut.

    Attributes
    ----------
    name : str
    cut : Cut
    window : (low, floor, high, roof)
        What is shown of it. [m]
    labels : tuple of Named
    dimensions : callable
        Records what is measured into the view.
    built : tuple of Built
        What the cut meets of what is built beside the paving.
    """

    name: str
    cut: Cut
    window: tuple[float, float, float, float]
    labels: tuple[Named, ...]
    dimensions: Callable[[View], None]
    built: tuple[Built, ...] = ()


def draw_cut_detail(sheet: Sheet, box: Box, detail: Detail, unit: Unit) -> View:
    """Draw a detail into its box and return its view."""
    low, floor, high, roof = detail.window
    about = max((f"{scale.words}, true scale" for scale in scales(unit)), key=len)
    foot = 12.0 if caption_rows(box, detail.name, about)[2] else 12.0 + CAPTION_ROW
    room = box.width - LABELS - SIDE, box.height - foot - 2.0
    scale = fitting_scale(unit, high - low, roof - floor, room, at_most=4)
    x = box.x0 + SIDE
    y = box.y0 + foot + (room[1] - scale.mm(roof - floor)) / 2
    view = View(Drawing(detail.name), scale, (x - scale.mm(low), y - scale.mm(floor)))
    sheet.views.append(view)
    window = shapely.box(low, floor, high, roof)
    draw_body(view.drawing, detail.cut, window, 10.0, detail.built)
    view.drawing.lines(window, FRAME, "frame")
    detail.dimensions(view)
    column = view.paper((high, 0.0))[0] + 4.0
    said = [Named(broken(each.words, _SIZE, box.x1 - column - 1.0), each.places)
            for each in detail.labels]  # fmt: skip
    ends = box.y0 + 8.0, box.y1
    labels = untangled(view, said, column, ends, _SIZE, 1.3)
    label_column(view, labels, column, ends, _SIZE, 1.3)
    captioned(sheet, box, view, y - foot + 2.5, detail.name, unit)
    return view


def captioned(sheet: Sheet, box: Box, view: View, y: float, name: str, unit: Unit) -> None:
    """Write under a detail its name and scale, beside a scale bar; a long name takes two rows."""
    about = f"{view.scale.words}, true scale"
    rows, size, single = caption_rows(box, name, about)
    wide = box.width - BAR
    if single:
        wide = caption(sheet, (box.x0, y), rows, about, size)
    else:
        sheet.paper.text((box.x0, y), about, size=2.4, across="left", up="baseline")
        caption(sheet, (box.x0, y + CAPTION_ROW), rows, "", size)
    longest = min(box.width - wide - 12.0, 30.0)
    scale_bar(sheet, (box.x1 - longest - 6.0, y + 0.8), view.scale, unit, longest)


def caption_rows(box: Box, name: str, about: str) -> tuple[str, float, bool]:
    """Return a name in at most two rows, its size [mm], and whether its scale stands beside it."""
    room, size = box.width - BAR, 2.7
    if extent(name, size, True)[0] + 3.0 + extent(about, 2.4)[0] <= room:
        return name, size, True
    while len(fold(name, size, room, True).split("\n")) > 2 and size > 1.7:
        size -= 0.05
    return fold(name, size, room, True), size, False


def _bed_words(bed: Bed, unit: Unit) -> str:
    return f"{bed.name} {small(bed.thickness, unit, DIRT if bed.role == 'refill' else 16)}"


def height(view: View, s: float, low: float, high: float, words: str, side: float) -> None:
    """Record a height with arrows, its words beside it: left of it where `side` is -1."""
    if high - low < ROUNDING:
        return
    arrows_between(view, s, low, high, 4.5, far=4.0, head=1.7, layer="height")
    view.drawing.text((s, (low + high) / 2), words, size=2.4, bold=True, ground=True,
                      across="right" if side < 0 else "left", shift=(1.4 * side, 0.0),
                      layer="height")  # fmt: skip


def _aside(
    view: View, edge: float, low: float, high: float, words: str, *led: tuple[float, float]
) -> None:
    """Record a height left of a view, its ends led out from where they are: level and distance."""
    s = edge - view.scale.metres(2.4)
    for z, to in led:
        view.drawing.line([(s - view.scale.metres(0.8), z), (to, z)], FINE, "extension")
    height(view, s, low, high, words.replace(" (", "\n("), -1.0)


def door_detail(plan: Plan, area: AreaPlan, step: DoorStep, unit: Unit) -> Detail | None:
    """Return the step at a door: sill, finish, what is under it. None where no wall is near."""
    found = door_cut(plan.sections, area, step)
    if found is None:
        return None
    cut, wall = found
    sill, first = float(step.door.sill), cut.paving[0]
    finish = float(cut.finish_at(first))
    over = [(each, z) for each, z in step.ceilings if abs(z - sill) < _CEILING]
    high = min(max(first, wall.at) + INSIDE, cut.paving[1])
    floor = min(float(cut.formation_at(first)), float(cut.dug_at(high))) - 0.06
    roof = max([sill, *(z for _, z in over)]) + 0.14
    beyond: list[Label] = [
        (wall.at + 0.02, sill, f"sill {level(sill, unit)}"),
        (high - 0.02, float(cut.finish_at(high - 0.02)), f"finish here {level(finish, unit)}"),
        *((wall.at, z, f"{each.name or each.kind} {level(z, unit)}") for each, z in over),
    ]
    stations = [s for s in high - np.array([0.05, 0.1, 0.15]) if s > first]
    beds = beds_named(cut, stations, lambda bed: _bed_words(bed, unit))
    labels = [*map(named, beyond), *(each for each in beds if each.places[0][1] > floor)]

    def dimensions(view: View) -> None:
        down = step.words(lambda metres: small(metres, unit))
        _aside(view, wall.at - BACK, finish, sill, down, (finish, wall.at), (sill, wall.at))
        for ceiling, z in over:
            view.drawing.line([(wall.at, z), (wall.at + 0.05, z)], OUTLINE, ceiling.kind)

    name = f"Step at the {step.door.name or 'door'}"
    return Detail(name, cut, (wall.at - BACK, floor, high, roof), tuple(labels), dimensions)


def riser_detail(plan: Plan, edge: SharedEdge, unit: Unit) -> Detail | None:
    """Return the step between two areas where it is greatest, cut square to their edge."""
    made = step_cut(plan.sections, edge)
    if made is None:
        return None
    cut, at, top, foot = made.cut, made.at, made.top, made.foot
    going = made.going
    low = max(at - INSIDE * 0.75, cut.ends[0])
    high = min(at + max(INSIDE, going + BEYOND), cut.ends[1])
    dug = cut.deepest_in(low, at, high)
    beside = min(at + going + 0.12, high - 0.02)
    labels: list[Label] = [
        (at - 0.1, float(cut.finish_at(at - 0.1)), f"{edge.upper} {level(top, unit)}"),
        (beside, made.lower.finish(cut, beside), f"{edge.lower} {level(foot, unit)}"),
        *_step_labels(made, unit),
    ]

    def dimensions(view: View) -> None:
        _aside(view, low, foot, top, small(top - foot, unit), (top, at), (foot, at))
        _step_marks(view, made)

    name = f"Step from {edge.upper} to {edge.lower}: {step_words(edge, unit, plan)}"
    built = shown_in(built_of(plan.order, cut), strip_of(low, high))
    dug = min([dug, *(each.shape.bounds[1] for each in built)])
    window = (low, dug - 0.06, high, top + 0.1)
    said = tuple(map(named, labels))
    return Detail(name, clear_of(cut, built), window, said, dimensions, built)


def _step_labels(made: StepCut, unit: Unit) -> Iterator[Label]:
    """Say how high each riser is, and how deep a tread goes."""
    if len(made.faces) < 2:
        return
    for s, low, high in made.faces:
        yield s, low + (high - low) * 0.4, f"riser {small(high - low, unit)}"
    s, _, high = made.faces[0]
    tread = made.flight.tread
    yield s - tread / 3, high, f"tread, going {small(tread, unit)}"


def _step_marks(view: View, made: StepCut) -> None:
    """Draw a dimension line beside each riser and over each tread."""
    if len(made.faces) < 2:
        return
    draw, aside = view.drawing, view.scale.metres(1.6)
    for s, low, high in made.faces:
        for z in (low, high):
            draw.arrow((s + aside, (low + high) / 2), (s + aside, z), pen=THIN, head=1.4,
                       layer="riser height")  # fmt: skip
    for (s, _, high), (back, _, _) in pairwise(made.faces):
        for end in (s, back):
            draw.arrow(((s + back) / 2, high + aside), (end, high + aside), pen=THIN, head=1.4,
                       layer="tread going")  # fmt: skip


def edge_detail(plan: Plan, area: AreaPlan, unit: Unit) -> Detail | None:
    """Return the free edge where it stands highest over the ground; None where it nowhere does."""
    made = high_edge_cut(plan.sections, area, structures_in(plan.order))
    if made is None:
        return None
    cut, edge, top, ground = made.cut, made.at, made.top, made.ground
    face = cut.face_of(edge, 1.0)
    high = min(max(edge + BESIDE, face + 0.15), cut.ends[1])
    low = max(edge - INSIDE, cut.ends[0])
    s = np.linspace(low, high, 25)
    floor = min(float(cut.ground_at(s).min()), float(cut.dug_at(s[s <= face]).min())) - 0.08
    roof = max(top, float(cut.ground_at(s).max())) + 0.1
    labels: list[Label] = [
        (high - 0.03, float(cut.ground_at(high - 0.03)), "ground as it is"),
        (edge - 0.04, float(cut.finish_at(edge - 0.04)), f"finish {level(top, unit)}"),
    ]
    built = shown_in(built_of(plan.order, cut), strip_of(low, edge + AT_EDGE))
    cut = clear_of(cut, built)
    if built:
        shapes = shapely.GeometryCollection([each.shape for each in built])
        high = max(high, min(shapes.bounds[2] + 0.1, cut.ends[1]))
        floor = min(floor, shapes.bounds[1] - 0.05)
        labels += built_labels(built, unit)
    else:
        if cut.raised_at(edge):
            high = max(high, min(face + HOLDER + 0.1, cut.ends[1]))
        if label := edge_label(cut, edge, 1.0):
            labels.append(label)
    stations = [s for s in edge - np.array([0.12, 0.06, 0.2, 0.27]) if s > low]
    beds = beds_named(cut, stations, lambda bed: _bed_words(bed, unit), built)
    said = [*map(named, labels), *(each for each in beds if each.places[0][1] > floor)]
    back = shapely.union_all([each.shape for each in cut.solids if each.role == "backfill"])
    back = back.difference(shapely.union_all(concrete_of(cut, edge, 1.0)))
    if put_back := places_in(back.intersection(strip_of(edge + 0.02, face))):
        said.append(Named("soil put back", put_back))
    lawn = lawn_beside(made, area)
    if lawn is not None:
        words = f"lawn brought to {small(lawn.lip, unit)} below it, leaving at "
        said.append(named((edge + 0.1, lawn.at(0.1), f"{words}{percent(lawn.slope, 0)}")))

    def dimensions(view: View) -> None:
        words = small(made.height, unit)
        _aside(view, low, ground, top, words, (top, low), (ground, edge))
        if lawn is not None:
            ends = [(edge, lawn.at(0.0)), (high, lawn.at(high - edge))]
            view.drawing.line(ends, LAWN, "lawn tied in")

    name = "Edge, highest above the ground"
    if made.aside:
        name += " clear of steps and drains"
    return Detail(name, cut, (low, floor, high, roof), tuple(said), dimensions, built)
