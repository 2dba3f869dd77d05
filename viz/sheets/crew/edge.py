"""The edge of each area where it stands highest, cut square to it at true scale, with lifts."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import numpy as np
import shapely

from grading.design.area import AreaPlan
from grading.dig.beds import Bed
from grading.order.quantities import lift_count
from grading.section.built import Built
from grading.section.cut import Cut
from grading.section.edge import HOLDER
from grading.section.square import HighEdgeCut, high_edge_cut
from grading.units import Unit, size
from viz.drawings.placing import FRAME, broken, label_column
from viz.drawings.section.body import draw_body, edge_tip
from viz.drawings.section.built import (
    AT_EDGE,
    built_labels,
    built_of,
    clear_of,
    shown_in,
    strip_of,
)
from viz.drawings.section.led import Named, beds_named, named, untangled
from viz.paper.compose import Sheet, View
from viz.paper.drawing import HIDDEN, Drawing
from viz.paper.page import Page, Scale, scales
from viz.sheets.blocks import MARGIN
from viz.sheets.head import Job, area_title
from viz.words.figures import DIRT
from viz.words.paving.edging import RAISED, restraint_words
from viz.words.paving.structures import structures_in

FILL = "stone fill"
"""What the hole is filled with up to the base."""

INSIDE, BEYOND = 0.42, 0.36
"""So much of the paving and of the ground beyond the hole is shown. [m]"""

_PAST = 0.12  # m shown beyond what is built
_LABELS, _SIDE = 58.0, 16.0  # mm: words to the right, dimensions to the left
_TALLEST = 74.0  # mm
_EARTH = 7.0  # mm of soil under the hole
_RATIO = {"ft": 12.0, "m": 10.0}  # 1 in = 1 ft, or 1:10
_STATIONS = (0.75, 0.9, 0.6, 0.45)  # of the paving shown: where leaders to layers start
_SIZE, _FIGURE = 2.6, 2.3  # mm: of names, and of dimensions


def edge_sheets(job: Job) -> Iterator[tuple[Sheet, str, str]]:
    """Yield a drawing for each kind of free edge: the drawing, its title, its scale."""
    built = structures_in(job.order)
    areas = [(area, high_edge_cut(job.plan.sections, area, built)) for area in job.plan.areas]
    highest: dict[object, tuple[AreaPlan, HighEdgeCut]] = {}
    for area, cut in areas:
        if cut is None:
            continue
        # Edges built alike are drawn once, where they stand highest.
        kind = (area.chosen, cut.cut.raised_at(cut.at), len(built_of(job.order, cut.cut)))
        other = highest.get(kind)
        if other is None or cut.height > other[1].height:
            highest[kind] = area, cut
    found = list(highest.values())
    tallest = _TALLEST if len(found) < 2 else 50.0
    for area, cut in found:
        made, scale = _edge_sheet(job, area, cut, tallest)
        several = len(job.plan.areas) > 1
        name = f"{area_title(area)}: edge" if several else "The edge"
        where = "highest clear of steps and drains" if cut.aside else "highest"
        title = f"{name} where it stands {where}, {size(cut.height, job.unit)} over the lawn"
        aside = f"{scale.words.partition(' (')[0]}; dashes: ground today"
        yield made, title, aside


def _edge_sheet(job: Job, area: AreaPlan, edge: HighEdgeCut, tallest: float) -> tuple[Sheet, Scale]:
    cut, at = edge.cut, edge.at
    unit = job.unit
    face = cut.face_of(at, 1.0)
    beyond = face + BEYOND + (HOLDER if cut.raised_at(at) else 0.0)
    low = max(at - INSIDE, cut.ends[0])
    built = shown_in(built_of(job.order, cut), strip_of(low, at + AT_EDGE))
    cut = clear_of(cut, built)
    shapes = shapely.GeometryCollection([each.shape for each in built])
    if built:
        beyond = max(beyond, shapes.bounds[2] + _PAST)
    high = min(beyond, cut.ends[1])
    roof = max(edge.top, float(cut.ground_at(high)), edge.ground) + 0.05
    deep = cut.deepest_in(low, at, face)
    if built:
        deep = min(deep, float(shapes.bounds[1]))
    scale = next(
        each for each in scales(unit)
        if each.ratio >= _RATIO[unit] and each.mm(roof - deep) + _EARTH + 4.0 <= tallest
    )  # fmt: skip
    floor = deep - scale.metres(_EARTH)
    wide = job.page.width - 2 * MARGIN
    tall = scale.mm(roof - floor) + 5.0
    sheet = Sheet(Page("figure", wide, tall, margin=0.5, title=0.0), "edge", "Edge")
    origin = (_SIDE + 4.0 - scale.mm(low), 2.0 - scale.mm(floor))
    view = View(Drawing("edge"), scale, origin)
    sheet.views.append(view)
    window = shapely.box(low, floor, high, roof)
    draw_body(view.drawing, cut, window, _EARTH, built)
    view.drawing.lines(window, FRAME, "frame")
    _lifts(view, job, area, cut, low, at)
    _thick(view, job, cut, low)
    column = view.paper((high, 0.0))[0] + 5.0
    room = min(_LABELS, wide - column - 2.0)
    said = [
        Named(broken(each.words, _SIZE, room), each.places)
        for each in _labels(cut, built, at, low, unit)
    ]
    ends = 2.0, tall - 2.0
    labels = untangled(view, said, column, ends, _SIZE, 1.6)
    label_column(view, labels, column, ends, _SIZE, 1.6)
    return sheet, scale


def _labels(cut: Cut, built: Sequence[Built], at: float, low: float, unit: Unit) -> Iterator[Named]:
    """Yield what lies under the finish near the edge, then what holds the edge."""

    def words(bed: Bed) -> str:
        name = FILL if bed.role == "refill" else bed.name
        return f"{name} {size(bed.thickness, unit, DIRT if bed.role == 'refill' else 16)}"

    yield from beds_named(cut, [low + (at - low) * share for share in _STATIONS], words, built)
    if built:
        yield from map(named, built_labels(built, unit))
    elif cut.raised_at(at):
        face = cut.face_of(at, 1.0)
        held = f"{RAISED}: a wall or slope holds it"
        yield named((face + HOLDER / 2, float(cut.finish_at(at)) - 0.04, held))
    elif tip := edge_tip(cut, at, 1.0):
        yield named((*tip, restraint_words(cut.system)))


def _lifts(view: View, job: Job, area: AreaPlan, cut: Cut, low: float, at: float) -> None:
    """Part the base and the refill into the lifts that they are compacted in."""
    crew = job.plan.crew
    takeoff = job.order.of(area).takeoffs[area.chosen]
    end = at - 0.02
    for bed in cut.beds_at(low + 0.01):
        if bed.role == "base":
            count = lift_count(bed.thickness, bed.material, crew)
        elif bed.role == "refill":
            count = lift_count(bed.thickness, takeoff.stone, crew)
        else:
            continue
        for number in range(1, count):
            ends = []
            for s in (low, end):
                here = next((each for each in cut.beds_at(s) if each.name == bed.name), None)
                if here is None:
                    break
                z = float(cut.finish_at(s)) - here.bottom + here.thickness * number / count
                ends.append((s, z))
            if len(ends) == 2:
                view.drawing.line(ends, HIDDEN, "lift")
                view.drawing.text(
                    ends[0], f"lift {number + 1}", size=2.1, across="left", shift=(2.0, 1.5),
                    ground=True, optional=True, layer="lift",
                )  # fmt: skip


def _thick(view: View, job: Job, cut: Cut, low: float) -> None:
    """Dimension layers at the left of what is shown, where there is room for their figures.

    All of them stand beside the names at the right.
    """
    top, last = float(cut.finish_at(low)), -np.inf
    for bed in cut.beds_at(low + 1e-3):
        middle = view.scale.mm((bed.top + bed.bottom) / 2)
        if middle - last < _FIGURE * 1.2:
            continue
        last = middle
        told = size(bed.thickness, job.unit, DIRT if bed.role == "refill" else 16)
        view.drawing.dimension((low, top - bed.bottom), (low, top - bed.top), told, offset=5.0,
                               size=_FIGURE)  # fmt: skip
