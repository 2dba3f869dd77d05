"""Details cut through the paving: at a door, at a step between areas, at an edge over the lawn."""

from __future__ import annotations

import re
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Any

import numpy as np
import shapely

from grading.design.door_steps import DoorStep
from grading.units import Unit, percent
from viz.drawings.plan.edge_marks import extremes
from viz.drawings.section.body import draw_body
from viz.drawings.section.cut import Cut, cut_through
from viz.drawings.section.edge import HOLDER, holder
from viz.paper.compose import Sheet, View
from viz.paper.drawing import FINE, OUTLINE, THIN, Drawing, Pen
from viz.paper.furniture import caption, scale_bar
from viz.paper.lettering import block, extent, fold, spread
from viz.paper.page import Box, scales
from viz.words.beds import REFILL
from viz.words.edges import TREAD, SharedEdge
from viz.words.edging import HELD
from viz.words.figures import DIRT, level, small

LABELS = 41.0  # mm: column of words
BAR = 42.0  # mm: the scale bar, beside a caption
CAPTION_ROW = 4.0
SIDE = 19.0  # mm: dimensions on the other side
_SIZE = 2.2
_FRAME = Pen(0.2, "#5a5a5a", (3.0, 0.8, 0.6, 0.8))
_LAWN = Pen(0.35, "#4d6b2f", (3.0, 1.0))
INSIDE = 0.32  # m of paving shown
BEYOND = 0.15  # m of it shown beyond the lowest riser of a step
BACK = 0.16  # m of the house shown
STRAIGHT = 0.98  # cosine of a turn that is no corner
THINNEST = 1e-3  # m of refill that is named
BESIDE = 0.3  # m of ground shown beyond the dig

Label = tuple[float, float, str]  # distance and elevation [m], and what is there


@dataclass(frozen=True)
class Detail:
    """One detail of a cut.

    Attributes
    ----------
    name : str
    cut : Cut
    window : (low, floor, high, roof)
        What is shown of it. [m]
    labels : tuple of Label
    dimensions : callable
        Records what is measured into the view.
    """

    name: str
    cut: Cut
    window: tuple[float, float, float, float]
    labels: tuple[Label, ...]
    dimensions: Callable[[View], None]


def draw_cut_detail(sheet: Sheet, box: Box, detail: Detail, unit: str) -> View:
    """Draw a detail into its box and return its view."""
    low, floor, high, roof = detail.window
    about = max((f"{scale.words}, true scale" for scale in scales(unit)), key=len)
    foot = 12.0 if caption_rows(box, detail.name, about)[2] else 12.0 + CAPTION_ROW
    room = box.width - LABELS - SIDE, box.height - foot - 2.0
    scale = scales(unit)[-1]
    for scale in scales(unit):
        fits = scale.mm(high - low) <= room[0] and scale.mm(roof - floor) <= room[1]
        if fits and scale.ratio >= 4:
            break
    x = box.x0 + SIDE
    y = box.y0 + foot + (room[1] - scale.mm(roof - floor)) / 2
    view = View(Drawing(detail.name), scale, (x - scale.mm(low), y - scale.mm(floor)))
    sheet.views.append(view)
    window = shapely.box(low, floor, high, roof)
    draw_body(view.drawing, detail.cut, window, 10.0)
    view.drawing.lines(window, _FRAME, "frame")
    detail.dimensions(view)
    _labels(view, detail.labels, box, high)
    captioned(sheet, box, view, y - foot + 2.5, detail.name, unit)
    return view


def captioned(sheet: Sheet, box: Box, view: View, y: float, name: str, unit: str) -> None:
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


def _labels(view: View, labels: Sequence[Label], box: Box, high: float) -> None:
    said = sorted(labels, key=lambda item: -item[1])
    column = view.paper((high, 0.0))[0] + 4.0
    rows = [_broken(words, box.x1 - column - 1.0) for _, _, words in said]
    need = [block(row, _SIZE)[1] + 1.3 for row in rows]
    wanted = [view.paper((0.0, z))[1] for _, z, _ in said]
    heights = spread(wanted, need, box.y0 + 8.0, box.y1)
    for (s, z, _), row, y, want in zip(said, rows, heights, wanted, strict=True):
        reach = column - view.paper((s, 0.0))[0]
        view.drawing.leader((s, z), row, (reach, y - want), size=_SIZE)


def _broken(words: str, room: float) -> str:
    """Break a label that is too wide before its figures, so that these stay together."""
    figures = re.search(r" (?=[0-9])", words)
    if figures is None or extent(words, _SIZE)[0] <= room:
        return fold(words, _SIZE, room)
    name, told = words[: figures.start()], words[figures.end() :]
    return f"{fold(name, _SIZE, room)}\n{fold(told, _SIZE, room)}"


def _layer_labels(cut: Cut, dig: Any, s: float, floor: float, unit: str) -> list[Label]:
    """Return what lies under a place of the cut: every layer, then the refill there."""
    found, z = [], float(cut.finish_at(s))
    for layer in dig.system.layers:
        middle = z - layer.thickness / 2
        if middle > floor:
            found.append((s, middle, f"{layer.name} {small(layer.thickness, unit)}"))
        z -= layer.thickness
    refill = z - float(cut.dug_at(s))
    if refill > THINNEST and z - refill / 2 > floor:
        found.append((s, z - refill / 2, f"{REFILL} {small(refill, unit, DIRT)}"))
    return found


def height(view: View, s: float, low: float, high: float, words: str, side: float) -> None:
    """Record a height with arrows, its words beside it: left of it where `side` is -1."""
    draw = view.drawing
    if high - low < 1e-9:
        return
    if view.scale.mm(high - low) > 4.5:
        draw.arrow((s, (low + high) / 2), (s, high), pen=THIN, head=1.7, layer="height")
        draw.arrow((s, (low + high) / 2), (s, low), pen=THIN, head=1.7, layer="height")
    else:
        far = view.scale.metres(4.0)
        draw.arrow((s, high + far), (s, high), pen=THIN, head=1.7, layer="height")
        draw.arrow((s, low - far), (s, low), pen=THIN, head=1.7, layer="height")
    across = "right" if side < 0 else "left"
    draw.text((s, (low + high) / 2), words, size=2.4, bold=True, across=across,
              shift=(1.4 * side, 0.0), ground=True, layer="height")  # fmt: skip


def door_detail(plan: Any, area: Any, step: DoorStep, unit: str) -> Detail | None:
    """Return the step at a door: sill, finish, what is under it. None where no wall is near."""
    if plan.site.house is None:
        return None
    wall_there = plan.site.house.wall_of(np.asarray(step.door.at, float))
    at, outward = wall_there.foot, np.asarray(wall_there.outward, float)
    reach = shapely.LineString([at, at + outward * 3.0]).intersection(area.outline)
    if reach.is_empty or reach.length < 0.05:
        return None
    near = shapely.get_coordinates(reach)
    through = near[int(np.argmin((near - at) @ outward))] + outward * 0.02
    dig = area.chosen_dig
    cut = cut_through(plan, area, dig, through, outward, "", "")
    wall = next((one for one in cut.walls if one.side < 0 and one.sill is not None), None)
    if wall is None:
        return None
    sill, first = float(step.door.sill), cut.paving[0]
    finish = float(cut.finish_at(first))
    over = [z for _, z in step.ceilings if abs(z - sill) < 0.6]
    high = min(max(first, wall.at) + INSIDE, cut.paving[1])
    floor = min(float(cut.formation_at(first)), float(cut.dug_at(high))) - 0.06
    roof = max([sill, *over]) + 0.14
    window = (wall.at - BACK, floor, high, roof)
    s = high - 0.05
    labels: list[Label] = [
        (wall.at + 0.02, sill, f"sill {level(sill, unit)}"),
        (high - 0.02, float(cut.finish_at(high - 0.02)), f"finish here {level(finish, unit)}"),
        *_layer_labels(cut, dig, s, floor, unit),
    ]
    labels += [(wall.at, z, f"{ceiling.name or ceiling.kind} {level(z, unit)}")
               for ceiling, z in step.ceilings if z in over]  # fmt: skip

    def dimensions(view: View) -> None:
        at = wall.at - BACK - view.scale.metres(2.4)
        for z in (finish, sill):
            view.drawing.line([(at - view.scale.metres(0.8), z), (wall.at, z)], FINE, "extension")
        down = step.words(lambda metres: small(metres, unit)).replace(" (", "\n(")
        height(view, at, finish, sill, down, -1.0)
        for ceiling, z in step.ceilings:
            if z in over:
                view.drawing.line([(wall.at, z), (wall.at + 0.05, z)], OUTLINE, ceiling.kind)

    name = f"Step at the {step.door.name or 'door'}"
    return Detail(name, cut, window, tuple(labels), dimensions)


def riser_detail(plan: Any, edge: SharedEdge, unit: Unit) -> Detail | None:
    """Return the step between two areas where it is greatest, cut square to their edge."""
    areas = {one.area.name: one for one in plan.areas}
    upper, lower = areas[edge.upper], areas[edge.lower]
    start, end = max(
        (pair for line in edge.lines for pair in pairwise(np.asarray(line))),
        key=lambda pair: float(np.hypot(*(pair[1] - pair[0]))),
    )
    long = float(np.hypot(*(end - start)))
    drops = upper.finish.surface.at(np.array([start, end])) - lower.finish.surface.at(
        np.array([start, end])
    )
    if drops[1] > drops[0]:
        start, end = end, start
    along = (end - start) / long
    inside = start + along * min(0.1, long / 2)
    normal = np.array([-along[1], along[0]])
    if upper.outline.distance(shapely.Point(inside - normal * 0.05)) > 1e-3:
        normal = -normal
    if not upper.outline.buffer(1e-6).contains(shapely.Point(inside - normal * 0.02)):
        return None
    cut = cut_through(plan, upper, upper.chosen_dig, inside - normal * 0.02, normal, "", "")
    ends = [b for a, b in cut.paved if a - 1e-6 <= float((inside - cut.start) @ normal) - 0.02 <= b]
    if not ends:
        return None
    at = ends[0]
    top = float(cut.finish_at(at))

    def lower_finish(s: float) -> Any:
        return lower.finish.surface.at(np.array([cut.plan_point(s)]))[0]

    foot = float(lower_finish(at))
    far = at + max(INSIDE, (edge.risers - 1) * TREAD + BEYOND)
    low, high = max(at - INSIDE * 0.75, cut.ends[0]), min(far, cut.ends[1])
    holes = [hole for hole in cut.holes if hole.start < high and hole.end > low]
    dug = min(float(cut.floor_of(hole, np.clip([low, at, high], hole.start, hole.end)).min())
              for hole in holes)  # fmt: skip
    window = (low, dug - 0.06, high, top + 0.1)
    beside = min(at + (edge.risers - 1) * TREAD + 0.12, high - 0.02)
    labels: list[Label] = [
        (at - 0.1, float(cut.finish_at(at - 0.1)), f"{edge.upper} {level(top, unit)}"),
        (beside, float(lower_finish(beside)), f"{edge.lower} {level(foot, unit)}"),
        *_step_labels(edge, at, (foot, top), unit),
    ]

    def dimensions(view: View) -> None:
        s = window[0] - view.scale.metres(2.4)
        for z in (top, foot):
            view.drawing.line([(s - view.scale.metres(0.8), z), (at, z)], FINE, "extension")
        height(view, s, foot, top, small(top - foot, unit).replace(" (", "\n("), -1.0)
        _step_marks(view, edge, at, (foot, top))

    name = f"Step from {edge.upper} to {edge.lower}: {edge.words(unit)}"
    return Detail(name, cut, window, tuple(labels), dimensions)


def _step_faces(edge: SharedEdge, at: float, ends: tuple[float, float]) -> list[tuple[Any, ...]]:
    """Return where each riser stands and from which level to which it goes, lowest first. [m]"""
    levels = np.linspace(*ends, edge.risers + 1)
    return [
        (at + (edge.risers - number) * TREAD, float(low), float(high))
        for number, (low, high) in enumerate(pairwise(levels), start=1)
    ]


def _step_labels(
    edge: SharedEdge, at: float, ends: tuple[float, float], unit: Unit
) -> list[Label]:  # fmt: skip
    """Say how high each riser is, and how deep a tread goes."""
    faces = _step_faces(edge, at, ends)
    if len(faces) < 2:
        return []
    found = [(s, low + (high - low) * 0.4, f"riser {small(high - low, unit)}")
             for s, low, high in faces]  # fmt: skip
    s, _, high = faces[0]
    found.append((s - TREAD / 3, high, f"tread, going {small(TREAD, unit)}"))
    return found


def _step_marks(view: View, edge: SharedEdge, at: float, ends: tuple[float, float]) -> None:
    """Draw a dimension line beside each riser and over each tread."""
    faces = _step_faces(edge, at, ends)
    if len(faces) < 2:
        return
    draw, aside = view.drawing, view.scale.metres(1.6)
    for s, low, high in faces:
        middle = (low + high) / 2
        for z in (low, high):
            draw.arrow(
                (s + aside, middle), (s + aside, z), pen=THIN, head=1.4, layer="riser height"
            )
    for (s, _, high), (back, _, _) in pairwise(faces):
        middle = (s + back) / 2
        for end in (s, back):
            draw.arrow((middle, high + aside), (end, high + aside), pen=THIN, head=1.4,
                       layer="tread going")  # fmt: skip


def _square_to(points: Any, k: int) -> tuple[Any, Any]:
    """Return where to cut near a point of an edge, and the unit vector along the edge there.

    A corner shows two edges at once: a little along the edge it is one again.
    """
    ways = [points[j + 1] - points[j] for j in (k - 1, k) if 0 <= j < len(points) - 1]
    ways = [way / float(np.hypot(*way)) for way in ways]
    if len(ways) == 2 and float(ways[0] @ ways[1]) > STRAIGHT:
        along = ways[0] + ways[1]
        return points[k], along / float(np.hypot(*along))
    if k + 1 < len(points):
        long = float(np.hypot(*(points[k + 1] - points[k])))
        return points[k] + ways[-1] * min(0.05, long / 2), ways[-1]
    long = float(np.hypot(*(points[k] - points[k - 1])))
    return points[k] - ways[0] * min(0.05, long / 2), ways[0]


def edge_detail(plan: Any, area: Any, unit: str) -> Detail | None:
    """Return the free edge where it stands highest over the ground; None where it nowhere does."""
    found = extremes(area)
    if found is None:
        return None
    run, k = found[1]
    if run.height[k] <= 1e-3:
        return None
    at, ahead = _square_to(run.points, k)
    outward = np.array([ahead[1], -ahead[0]])
    dig = area.chosen_dig
    through = at - outward * 0.02
    if not area.outline.contains(shapely.Point(through)):
        return None
    cut = cut_through(plan, area, dig, through, outward, "", "")
    here = float((at - cut.start) @ outward)
    ends = [b for a, b in cut.paved if a <= here - 0.01 <= b + 1e-6]
    dug = [b for a, b in cut.dug if a <= here - 0.01 <= b + 1e-6]
    if not ends or not dug:
        return None
    edge, top = ends[0], float(cut.finish_at(ends[0]))
    ground = float(cut.ground_at(edge))
    high = min(max(edge + BESIDE, dug[0] + 0.15), cut.ends[1])
    low = max(edge - INSIDE, cut.ends[0])
    s = np.linspace(low, high, 25)
    inside = s[s <= dug[0]]
    floor = min(float(cut.ground_at(s).min()), float(cut.dug_at(inside).min())) - 0.08
    window = (low, floor, high, max(top, float(cut.ground_at(s).max())) + 0.1)
    labels: list[Label] = [
        (high - 0.03, float(cut.ground_at(high - 0.03)), "ground as it is"),
        (edge - 0.04, float(cut.finish_at(edge - 0.04)), f"finish {level(top, unit)}"),
        *_layer_labels(cut, dig, edge - 0.12, floor, unit),
    ]
    if cut.raised_at(edge):
        high = max(high, min(dug[0] + HOLDER + 0.1, cut.ends[1]))
        window = (low, floor, high, window[3])
        middle = holder(cut, edge, 1.0).centroid
        labels.append((middle.x, middle.y, HELD))
    elif any(solid.role in ("base", "panel") for solid in cut.solids) and dug[0] > edge + 0.02:
        labels.append((edge + 0.003, top - 0.02, cut.edging.words))
    if dug[0] > edge + 0.05:
        labels.append((dug[0] - 0.03, float(cut.finish_at(dug[0] - 0.03)) - 0.01, "soil put back"))
    tie = area.tie_in
    lawn = None
    if tie is not None and tie.edge != "stepped":
        lip, way = area.area.lawn.lip, 1.0 if top - area.area.lawn.lip >= ground else -1.0
        start = top - lip
        lawn = [(edge, start), (high, start - way * tie.slope * (high - edge))]
        words = f"lawn brought to {small(lip, unit)} below it, leaving at {percent(tie.slope, 0)}"
        labels.append((edge + 0.1, start - way * tie.slope * 0.1, words))

    def dimensions(view: View) -> None:
        s = low - view.scale.metres(2.4)
        view.drawing.line([(s - view.scale.metres(0.8), top), (low, top)], FINE, "extension")
        view.drawing.line([(s - view.scale.metres(0.8), ground), (edge, ground)], FINE, "extension")
        words = small(top - ground, unit).replace(" (", "\n(")
        height(view, s, ground, top, words, -1.0)
        if lawn is not None:
            view.drawing.line(lawn, _LAWN, "lawn tied in")

    name = "Edge, highest above the ground"
    return Detail(name, cut, window, tuple(labels), dimensions)
