"""The plan that the crew sets out from: as one faces the house, with tapes, strings, hubs, chords.

It places what is computed elsewhere: stakes, strings and arcs are those of `grading.setout`.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from itertools import pairwise

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from grading.design.area import AreaPlan
from grading.design.folds import folds_of, panes_of, warped
from grading.design.model import Design
from grading.geometry.arrays import Floats
from grading.geometry.tolerances import READ, TOGETHER
from grading.pipeline import Plan
from grading.setout.curves import Bent
from grading.setout.model import AreaStakes, SetOut
from grading.setout.words import tape_words
from grading.site.model import Door
from grading.site.walls import named_walls
from grading.units import Unit, length, run, size, taped_rate
from viz.drawings.placing import place_plan
from viz.drawings.plan.built import built_beside, draw_built, is_grown
from viz.drawings.plan.folds import draw_fall, draw_folds
from viz.drawings.plan.site_marks import draw_features
from viz.drawings.plan.view import HOUSE, draw_house, draw_outlines, turn_of
from viz.paper.compose import Sheet, View
from viz.paper.drawing import FINE, Pen
from viz.paper.lettering import extent
from viz.paper.page import Box, Page, Scale, scales

WIDE = 190.0
"""Of the drawing, where its tapes are told under it. [mm]"""

_NARROW = {2: 98.0, 3: 72.0}
"""Of a drawing that leaves room for its tapes beside it, by how many tapes place a point. [mm]"""

_FINER = [Scale(float(ratio), f"1:{ratio}") for ratio in (75, 125, 150)]
_SCALES: Mapping[Unit, Sequence[Scale]] = {
    "ft": scales("ft"),
    "m": sorted((*scales("m"), *_FINER), key=lambda scale: scale.ratio),
}
"""Every length is written: a scale between those of a rule shows more of what is small."""

_EDGE, _OVER, _UNDER = 7.0, 7.0, 6.0  # mm kept beside, over and under what is drawn
_ROW = 5.0  # mm more over it, where the name of a door has no room but over the lengths
_BESIDE = (0.0, 5.0, -5.0, 10.0, -10.0, 16.0, -16.0)  # mm along its wall from a door to its name
_TAPE = Pen(0.22, "#0f5f66")
_STRING = Pen(0.13, "#1a1a1a", (4.0, 0.8, 0.8, 0.8))
_CHORD = Pen(0.15, "#1a1a1a", (1.5, 0.8))
_GRID = Pen(0.1, "#7a7a7a", (1.0, 1.0))
_LETTER, _NUMBER, _WORDS = 3.8, 2.9, 2.5
_TAPED = 4  # corners off the walls: of more, the tapes stand in the table alone
_FAR = 0.9  # of the area's own size: what lies farther off is not shown
_ASIDE = 4.6  # mm from an edge, or from the edge of the hole, to a dimension
_ROOM = 6.0  # mm between marks of an arc that each have their figure; the table has all
_BEFORE = 4.0  # mm from a wall to the name of its door, where there is no room behind it
_SHORT = 7.0  # mm: a shorter stretch has no dimension


def set_out_plan(plan: Plan, found: SetOut, each: AreaStakes, scale: Scale) -> Sheet:
    """Return the plan of an area at a stated scale, on paper as high as it takes.

    Parameters
    ----------
    plan : Plan
    found : SetOut
        Of that plan.
    each : AreaStakes
        One of its areas.
    scale : Scale
    """
    area = each.area
    unit, turn = plan.site.unit, turn_to_house(plan, area)
    window = shown_of(plan, found, each)
    wide, high = width_of(plan, found, each, scale), height_of(plan, found, each, scale)
    sheet = Sheet(Page("figure", wide, high, margin=0.5, title=0.0), "set-out", "Set out")
    over = _over(found, each, scale)
    room = Box(_EDGE, _UNDER, wide - _EDGE, high - over)
    placed = place_plan(window, room, unit, "Set out", turn)
    middle = placed.way(np.asarray(window.centroid.coords[0]))
    origin = (
        wide / 2 - scale.mm(float(middle[0])),
        (high + _UNDER - over) / 2 - scale.mm(float(middle[1])),
    )
    view = View(placed.drawing, scale, origin, turn=turn)
    sheet.views.append(view)
    assert scale.mm(_span(plan, found, each)[0]) <= wide
    frame = window.buffer(scale.metres(_EDGE - 1.0), join_style="mitre")
    draw_house(view, plan, frame, sills=False)
    _doors(view, found, frame, over)
    draw_outlines(view, plan, area, area.chosen_dig, frame)
    draw_built(view, plan, area, _WORDS, frame)
    _grid(view, each)
    draw_features(view, plan, frame)
    draw_folds(view, folds_of(area), unit, many=warped(panes_of(area)), named=False)
    _strings(view, each)
    _tapes(view, plan, found, each, unit)
    for bent in each.curves:
        _arc(view, bent, unit)
    _points(view, each, unit)
    _sides(view, plan, area, unit)
    _along_walls(view, plan, found, each, unit)
    things = shapely.union_all([each.polygon for each in plan.site.features])
    draw_fall(view, area, unit, lambda fall: f"falls {taped_rate(fall, unit)}", least=2.5, long=9.0,
              things=things)  # fmt: skip
    return sheet


def shown_of(plan: Plan, found: SetOut, each: AreaStakes) -> shapely.Polygon:
    """Return the rectangle that the plan of an area shows, along the sheet. [m]

    Paving, dig, hubs and what is taped to lie in it, and what is built that lies no farther off.
    """
    turn = turn_to_house(found.design, each.area)
    own = each.area.chosen_dig.polygon.union(each.area.outline)
    points = [shapely.Point(board.at) for string in each.strings
              for board in (string.start, string.end)]  # fmt: skip
    x0, y0, x1, y1 = own.bounds
    far = _FAR * float(np.hypot(x1 - x0, y1 - y0))
    used = {tie.to for stake in each.stakes for tie in stake.tied.ties[:2]}
    points += [
        shapely.Point(held.at) for held in found.references
        if held.name in used and own.distance(shapely.Point(held.at)) <= far
    ]  # fmt: skip
    # Behind each wall stands how far it is along it.
    corners = [shapely.Point(at) for at in each.area.outline.exterior.coords]
    for _, start, end, outward in named_walls(found.design.site.house):
        wall = shapely.LineString([start, end])
        behind = -np.asarray(outward, float) * HOUSE
        points += [shapely.affinity.translate(at, *behind) for at in corners
                   if wall.distance(at) <= TOGETHER]  # fmt: skip
    near = own.buffer(far)
    built = [taken for what, taken in built_beside(plan, each.area)
             if near.contains(taken) and not is_grown(what)]  # fmt: skip
    whole = shapely.union_all([own, *points, *built])
    box = shapely.box(*shapely.affinity.rotate(whole, turn, origin=(0, 0)).bounds)
    return shapely.affinity.rotate(box, -turn, origin=(0, 0))


def span_of(window: shapely.Polygon, turn: float) -> tuple[float, float]:
    """Return how wide and how high a window lies on the sheet. [m]"""
    x0, y0, x1, y1 = shapely.affinity.rotate(window, turn, origin=(0, 0)).bounds
    return x1 - x0, y1 - y0


def turn_to_house(plan: Design, area: AreaPlan) -> float:
    """Return how far the plan of an area is turned, so that the house lies along its top. [degrees]

    Of an area at no wall it is the wall nearest to it.
    """
    if area.walls or plan.site.house is None:
        return turn_of(area)
    outward = min(
        plan.site.house.segments(),
        key=lambda wall: float(shapely.LineString(wall[:2]).distance(area.outline)),
    )[2]
    turn = -90.0 - float(np.degrees(np.arctan2(outward[1], outward[0])))
    return round((turn + 180.0) % 360.0 - 180.0, 9) + 0.0


def stated_scales(plan: Plan, found: SetOut) -> list[Scale]:
    """Return the stated scales at which the plans of all areas are no wider than the page.

    The largest comes first; the smallest there is where none is small enough.
    """
    every = _SCALES[found.design.site.unit]
    wide = max(_span(plan, found, each)[0] for each in found.areas)
    return [scale for scale in every if scale.mm(wide) + 2 * _EDGE <= WIDE] or [every[-1]]


def width_of(plan: Plan, found: SetOut, each: AreaStakes, scale: Scale) -> float:
    """Return how wide the plan of an area is set at a scale: as it takes, if narrow. [mm]"""
    own = scale.mm(_span(plan, found, each)[0]) + 2 * _EDGE
    most = max((len(stake.tied.ties) for stake in each.stakes), default=0)
    # A plan that is low has its words beside it, and gains little by standing beside tables.
    low = height_of(plan, found, each, scale) < own
    return WIDE if low or each.curves or own > _NARROW.get(max(most, 2), 0.0) else own


def height_of(plan: Plan, found: SetOut, each: AreaStakes, scale: Scale) -> float:
    """Return how high the plan of an area is at a scale. [mm]"""
    return scale.mm(_span(plan, found, each)[1]) + _over(found, each, scale) + _UNDER


def _over(found: SetOut, each: AreaStakes, scale: Scale) -> float:
    """Return what is kept free over the plan of an area: more where numbers crowd its door. [mm]"""
    house = found.design.site.house
    if house is None:
        return _OVER
    for door in found.design.site.doors:
        wall = house.wall_of(np.asarray(door.at, float))
        near = [
            scale.mm(float((stake.at - wall.foot) @ wall.along))
            for stake in each.stakes
            if abs(float((stake.at - wall.foot) @ wall.outward)) <= TOGETHER
        ]
        half = extent(_door_words(found, door), _WORDS, True)[0] / 2 + _NUMBER
        if near and all(any(abs(at - off) < half for at in near) for off in _BESIDE):
            return _OVER + _ROW
    return _OVER


def _span(plan: Plan, found: SetOut, each: AreaStakes) -> tuple[float, float]:
    return span_of(shown_of(plan, found, each), turn_to_house(found.design, each.area))


def _door_words(found: SetOut, door: Door) -> str:
    marked = found.instrument is not None and door.name == found.instrument.benchmark
    return f"{door.name}, sill = benchmark" if marked else door.name


def _doors(view: View, found: SetOut, frame: BaseGeometry, over: float) -> None:
    site = found.design.site
    for door in site.doors:
        if site.house is None or not frame.contains(shapely.Point(door.at)):
            continue
        wall = site.house.wall_of(np.asarray(door.at, float))
        words = _door_words(found, door)
        # Along its wall it has room between the house and the lengths that stand behind that; where
        # numbers of points take that, over these lengths.
        away, along = view.way(-np.asarray(wall.outward)), view.way(wall.along)
        behind = view.scale.mm(HOUSE)
        shifts = [
            tuple((away * off + along * beside).tolist())
            for off in (behind + 1.7, -_BEFORE, -2 * _BEFORE, behind + over - 2.8)
            for beside in _BESIDE
        ]
        view.drawing.text(
            wall.foot, words, size=_WORDS, bold=words != door.name, ground=True, layer="door",
            rotation=view.tilt(float(np.degrees(np.arctan2(*wall.along[::-1])))),
            shift=shifts[0], others=tuple(shifts[1:]), leads=True, on_it=True,
        )  # fmt: skip


def _grid(view: View, each: AreaStakes) -> None:
    grid, past = each.grid, view.scale.metres(1.5)
    reach = each.area.outline.buffer(past)
    for axis in (0, 1):
        whole = grid.steps[:, axis][np.mod(grid.steps[:, axis], 1.0) == 0]
        for step in np.unique(whole):
            ends = np.full((2, 2), step * grid.spacing, float)
            ends[:, 1 - axis] = (-1e3, 1e3)
            line = shapely.LineString(grid.place(ends))
            view.drawing.lines(line.intersection(reach), _GRID, "grid line")


def _strings(view: View, each: AreaStakes) -> None:
    for string in each.strings:
        if string.chalked:
            continue
        view.drawing.line([string.start.at, string.end.at], _STRING, "string")
    placed: list[Floats] = []
    for string in each.strings:
        for board in (string.start, string.end):
            if string.chalked or board.on_house:
                continue
            if any(np.hypot(*(board.at - one)) < view.scale.metres(2.0) for one in placed):
                continue
            placed.append(board.at)
            view.drawing.symbol("hub", board.at, size=2.4, layer="hub")


def _tapes(view: View, plan: Plan, found: SetOut, each: AreaStakes, unit: Unit) -> None:
    at = {held.name: held.at for held in found.references}
    loose = [
        stake for stake in each.stakes
        if stake.kind == "corner" and not stake.tied.wall
        and len(stake.tied.ties) >= 2
    ]  # fmt: skip
    step = READ[unit]
    shown = shown_of(plan, found, each).buffer(TOGETHER)
    for stake in loose if len(loose) <= _TAPED else ():
        for tie in stake.tied.ties[:2]:
            if not shown.contains(shapely.Point(at[tie.to])):
                continue
            view.drawing.line([at[tie.to], stake.at], _TAPE, "tape")
            _on_line(view, at[tie.to], stake.at, tape_words(tie.length, unit, step))
    for name in dict.fromkeys(tie.to for stake in each.stakes for tie in stake.tied.ties):
        spot = at[name]
        if not shown.contains(shapely.Point(spot)):
            continue
        view.drawing.area(shapely.Point(spot).buffer(view.scale.metres(2.3)), fill="#1a1a1a",
                          layer="reference")  # fmt: skip
        view.drawing.text(spot, name, size=2.4, bold=True, colour="#ffffff", layer="reference")


def _on_line(view: View, start: Floats, end: Floats, words: str) -> None:
    """Write a length along a line, where it lies on nothing else."""
    way = view.way(end - start)
    turn = view.tilt(float(np.degrees(np.arctan2(*(end - start)[::-1]))))
    home = (start + end) / 2
    long = view.scale.mm(float(np.hypot(*(end - start))))
    unit_way = way / float(np.hypot(*way))
    shifts = [tuple((unit_way * long * share).tolist())
              for share in (0.0, -0.1, 0.1, -0.2, 0.2, -0.3, 0.3, 0.38)]  # fmt: skip
    view.drawing.text(
        home, words, size=_WORDS, bold=True, rotation=turn, ground=True, shift=shifts[0],
        others=tuple(shifts[1:]), optional=True, layer="tape words",
    )  # fmt: skip


def _arc(view: View, bent: Bent, unit: Unit) -> None:
    draw = view.drawing
    draw.line(bent.at, _CHORD, "chord")
    side = view.way(np.array(bent.side))
    apart = min((b.along - a.along for a, b in pairwise(bent.marks)), default=bent.length / 2)
    for mark in bent.marks:
        foot, at = bent.place(mark)
        draw.line([foot, at], FINE, "chord offset")
        if view.scale.mm(apart) < _ROOM:
            continue
        shift = tuple((side * 3.4).tolist())
        off = size(mark.off, unit, 8).removesuffix(" in").removesuffix(" mm")
        draw.text(at, off, size=2.1, shift=shift, ground=True, optional=True,
                  others=(tuple((side * 5.2).tolist()),), layer="chord offset")  # fmt: skip


def _points(view: View, each: AreaStakes, unit: Unit) -> None:
    draw = view.drawing
    points = each.points
    for name, at, away in zip(points.names, points.xy, points.away, strict=True):
        out = view.way(away)
        draw.symbol("dot", at, size=1.7, layer="corner")
        shifts = [tuple((out * far).tolist()) for far in (3.6, -3.8, 5.0)]
        turned = np.array([-out[1], out[0]])
        shifts += [tuple((turned * far).tolist()) for far in (4.0, -4.0)]
        draw.text(at, name, size=_LETTER, bold=True, shift=shifts[0], ground=True,
                  others=tuple(shifts[1:]), layer="corner")  # fmt: skip
    for name, at in zip(each.grid.names, each.grid.xy, strict=True):
        draw.symbol("spot", at, size=1.7, layer="grid point")
        draw.text(at, name, size=_NUMBER, bold=True, shift=(2.6, -2.4), ground=True,
                  others=((-2.6, -2.4), (2.6, 2.4), (-2.6, 2.4)), layer="grid point")  # fmt: skip
    radii = dict(each.radii)
    for stake in each.stakes:
        # Arcs of the outline are marked from strings, a round hole from its middle.
        if not each.round_hole(stake):
            continue
        name, radius = stake.name, radii[stake.name]
        draw.symbol("spot", stake.at, size=2.4, layer="centre of an arc")
        draw.text(stake.at, f"{name}, radius {length(radius, unit)}", size=_WORDS, ground=True,
                  shift=(0.0, -3.4), layer="centre of an arc",
                  others=((0.0, 3.4), (14.0, 0.0), (-14.0, 0.0)))  # fmt: skip


def _sides(view: View, plan: Plan, area: AreaPlan, unit: Unit) -> None:
    """Dimension every straight side that no wall of the house does, outside where that is free."""
    ring = np.asarray(shapely.geometry.polygon.orient(area.outline).exterior.coords)
    house = shapely.MultiLineString(
        [[start, end] for _, start, end, _ in named_walls(plan.site.house)]
    )
    beside = shapely.union_all([each.outline for each in plan.areas if each is not area])
    past = view.scale.mm(area.chosen_dig.system.over_dig(plan.limits)) + _ASIDE
    for p, q in pairwise(ring):
        long = float(np.hypot(*(q - p)))
        side = shapely.LineString([p, q])
        at_house = not house.is_empty and all(
            house.distance(shapely.Point(end)) <= TOGETHER for end in (p, q)
        )
        if view.scale.mm(long) < _SHORT or at_house:
            continue
        middle = side.interpolate(0.5, normalized=True)
        shared = not beside.is_empty and beside.distance(middle) <= TOGETHER
        view.drawing.dimension(q, p, _run(long, unit), offset=-_ASIDE if shared else past,
                               size=_WORDS, ground=True)  # fmt: skip


def _run(metres: float, unit: Unit) -> str:
    return run(metres, unit) if unit == "ft" else length(metres, unit)


def _along_walls(view: View, plan: Plan, found: SetOut, each: AreaStakes, unit: Unit) -> None:
    """Chain behind each wall what lies along it: from its corner to the paving, and on."""
    shown = shown_of(plan, found, each).buffer(TOGETHER)
    drawn: list[shapely.LineString] = []
    for _, first, last, out in named_walls(found.design.site.house):
        start, end, outward = (np.asarray(value, float) for value in (first, last, out))
        wall = shapely.LineString([start, end])
        on = [
            stake.at for stake in each.stakes
            if stake.kind == "corner" and wall.distance(shapely.Point(stake.at)) <= TOGETHER
        ]  # fmt: skip
        held = [
            ref.at for ref in found.references
            if wall.distance(shapely.Point(ref.at)) <= TOGETHER
            and shown.contains(shapely.Point(ref.at))
        ]  # fmt: skip
        if not on:
            continue
        along = (end - start) / float(np.hypot(*(end - start)))
        places = sorted({round(float((at - start) @ along), 4) for at in (*on, *held)})
        # To the left of the way from one to the other lies the yard, or the house.
        left = np.array([-along[1], along[0]])
        behind = view.scale.mm(HOUSE) + 3.4
        offset = -behind if left @ outward > 0 else behind
        ends = np.array([start + along * places[0], start + along * places[-1]])
        line = shapely.LineString(ends - outward * view.scale.metres(behind))
        if any(line.intersects(other) for other in drawn):
            # In a corner that turns in two chains would cross: the second stands before its wall.
            offset = -offset / abs(offset) * _ASIDE
        drawn.append(line)
        spans = [
            (low, high) for low, high in pairwise(places)
            if view.scale.mm(high - low) >= _SHORT and high - low > TOGETHER
        ]  # fmt: skip
        for low, high in spans:
            words = _run(high - low, unit)
            outer = low == places[0], high == places[-1]
            if not any(outer) and view.scale.mm(high - low) < extent(words, _WORDS)[0] + 2.0:
                # Between two others there is no room beside the line: the tapes tell it.
                continue
            view.drawing.dimension(
                start + along * low, start + along * high, words, offset=offset, size=_WORDS,
                beside="start" if outer[0] else "end", ground=True,
            )  # fmt: skip
