"""What every plan view shares: house, doors, other paving, outline, fall, section lines."""

from __future__ import annotations

from itertools import pairwise

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from grading.design.area import AreaPlan
from grading.design.levels import out_of
from grading.design.steps import SharedEdge, shared_edges
from grading.dig.hole import Dig
from grading.geometry.arrays import Floats
from grading.geometry.tolerances import TOGETHER
from grading.pipeline import Plan
from grading.section.line import down_and_across
from grading.units import Unit
from viz.drawings.section.sheet import MARKS
from viz.paper.compose import View
from viz.paper.drawing import CENTRE, CUT, FAINT, FINE, HIDDEN, OUTLINE, Pen
from viz.paper.lettering import block, fold
from viz.words.figures import level, run
from viz.words.paving.edges import step_words

AROUND = 1.2  # m shown around the dig
HOUSE = 0.5  # m of the house shown behind its wall
_SHARED = 45.0  # mm: words along a shared edge are folded no narrower
_NAME, _NARROW = 2.6, 16.0  # mm: letters of an area's name, and its narrowest row
DOOR = 0.45  # m: half a door, whose width no site gives


def plan_window(
    plan: Plan, area: AreaPlan, dig: Dig, turn: float = 0.0, around: float = AROUND
) -> shapely.Polygon:
    """Return the rectangle of the site that a plan of an area shows, turned so far. [m, degrees]"""
    shown = shapely.affinity.rotate(dig.polygon.union(area.outline), turn, origin=(0, 0))
    x0, y0, x1, y1 = shown.bounds
    window = shapely.box(x0 - around, y0 - around, x1 + around, y1 + around)
    return shapely.affinity.rotate(window, -turn, origin=(0, 0)) if turn else window


def turn_of(area: AreaPlan) -> float:
    """Return how far a plan of an area is turned, anticlockwise: its wall along the top. [degrees]

    So it lies as one faces the house. An area at no wall lies as it was surveyed.
    """
    if not area.walls:
        return 0.0
    out = out_of(area)
    turn = -90.0 - float(np.degrees(np.arctan2(out[1], out[0])))
    return round((turn + 180.0) % 360.0 - 180.0, 9) + 0.0


def hatch_lines(shape: BaseGeometry, step: float, rising: bool = True) -> BaseGeometry:
    """Return lines at 45 degrees across a shape, `step` apart. [m]"""
    if shape.is_empty:
        return shape
    x0, y0, x1, y1 = shape.bounds
    high = y1 - y0
    gap = step * np.sqrt(2)
    first = np.floor((x0 - high) / gap) * gap
    feet = np.arange(first, x1 + high, gap)
    lean = high if rising else -high
    lines = shapely.linestrings(
        np.stack(
            [np.column_stack([feet, np.full(len(feet), y0)]),
             np.column_stack([feet + lean, np.full(len(feet), y1)])], axis=1,
        )
    )  # fmt: skip
    return shapely.union_all(shapely.intersection(lines, shape))


def draw_house(view: View, plan: Plan, window: BaseGeometry, sills: bool = True) -> None:
    """Record the house hatched, its wall line, and each door with its sill."""
    house, draw = plan.site.house, view.drawing
    if house is None:
        return
    walls = shapely.union_all([shapely.LineString([p, q]) for p, q, _ in house.segments()])
    strip = house.polygon(HOUSE).intersection(walls.buffer(HOUSE, join_style="mitre"))
    body = strip.intersection(window)
    draw.area(body, fill="#eeeeec", layer="house")
    draw.lines(hatch_lines(body, view.scale.metres(2.2)), FINE, "house hatch")
    for p, q, _ in house.segments():
        draw.lines(shapely.LineString([p, q]).intersection(window), CUT, "house wall")
    unit = plan.site.unit
    for door in plan.site.doors:
        at = np.asarray(door.at, float)
        if not window.buffer(TOGETHER).contains(shapely.Point(at)):
            continue
        # It stands in the wall, however far off its line it was measured.
        wall = house.wall_of(at)
        p, q, outward = house.segments()[wall.number - 1]
        at, along = wall.foot, wall.along
        # What is seen of it: neither past the end of its wall nor past the edge of the plan.
        reach = sorted(float(np.clip((end - at) @ along, -DOOR, DOOR)) for end in (p, q))
        leaf_line = shapely.LineString([at + along * reach[0], at + along * reach[1]])
        seen = leaf_line.intersection(window)
        if seen.geom_type != "LineString" or seen.is_empty:
            continue
        a, b = (np.asarray(end) for end in (seen.coords[0], seen.coords[-1]))
        inward = -np.asarray(outward) * view.scale.metres(1.8)
        leaf = shapely.Polygon([a, b, b + inward, a + inward])
        draw.area(leaf, fill="#ffffff", pen=OUTLINE, layer="door")
        if sills:
            words = f"{door.name}\nsill {level(door.sill, unit)}"
            away = view.way(-np.asarray(outward))
            step = (float(away[0]) * 17.0, float(away[1]) * 6.5)
            draw.text(at, words, size=2.2, shift=step, ground=True, layer="door",
                      others=tuple((step[0] * more + beside * float(away[1]),
                                    step[1] * more + beside * 0.5 * float(away[0]))
                                   for more in (1.0, 1.6, 2.3, 3.2)
                                   for beside in (0.0, 17.0, -17.0, 24.0, -24.0)))  # fmt: skip


def draw_outlines(view: View, plan: Plan, area: AreaPlan, dig: Dig, window: BaseGeometry) -> None:
    """Record the outline (heavy), the over-dig (dashed) and other paving (faint)."""
    draw = view.drawing
    for other in plan.areas:
        if other is not area:
            shape = other.outline.intersection(window)
            draw.area(shape, fill="#f7f5f1", layer="other paving")
            draw.lines(other.outline.boundary.intersection(window), FAINT, "other paving")
            if shape.area > 0.3:
                at = shape.representative_point().coords[0]
                draw.text(at, other.area.name, size=2.2, colour="#6a6a6a", ground=True,
                          others=((0.0, 3.0), (0.0, -3.0)))  # fmt: skip
    draw.lines(dig.polygon.boundary, HIDDEN, "over-dig")
    draw.lines(area.outline.boundary, Pen(0.6), "outline")


def name_area(view: View, name: str, outline: BaseGeometry) -> None:
    """Write the name of an area within it, where there is room; else a line leads to it.

    A line of its own in the name stays one.
    """
    x0, y0, x1, y1 = outline.bounds
    room = max(_NARROW, 0.75 * view.scale.mm(x1 - x0))
    words = "\n".join(fold(row, _NAME, room) for row in name.split("\n"))
    wide, high = (view.scale.metres(side / 2 + 0.6) for side in block(words, _NAME))
    home = np.asarray(outline.representative_point().coords[0])
    grid = np.stack(np.meshgrid(np.linspace(x0, x1, 25), np.linspace(y0, y1, 25)), axis=-1)
    places = grid.reshape(-1, 2)
    half = np.array([wide, high])
    boxes = shapely.box(*(places - half).T, *(places + half).T)
    inside = places[shapely.contains(outline, boxes)]
    near = inside[np.argsort(np.hypot(*(inside - home).T), kind="stable")]
    shifts = [tuple(shift) for shift in ((near - home) * view.scale.mm(1.0)).tolist()]
    shifts = shifts or [(0.0, 0.0)]
    view.drawing.text(home, words, size=_NAME, ground=True, shift=shifts[0],
                      others=tuple(shifts[1:]), leads=True, on_it=bool(len(inside)),
                      layer="area name")  # fmt: skip


def draw_shared_edges(view: View, plan: Plan, area: AreaPlan) -> None:
    """Write along each edge shared with another area whether it is flush or how high its step."""
    name, unit = area.area.name, plan.site.unit
    for edge in shared_edges(plan):
        if name not in (edge.upper, edge.lower):
            continue
        line = max((shapely.LineString(each) for each in edge.lines), key=lambda each: each.length)
        way = "with" if edge.flush else "down to" if name == edge.upper else "up to"
        words = f"{step_words(edge, unit, plan)} {way} {edge.other(name)}{_join_words(plan, edge)}"
        words = fold(words, 2.2, max(view.scale.mm(line.length) - 4.0, _SHARED))
        at = line.interpolate(0.5, normalized=True).coords[0]
        (ax, ay), (bx, by) = line.coords[0], line.coords[-1]
        turn = view.tilt(float(np.degrees(np.arctan2(by - ay, bx - ax))))
        normal = np.array([-np.sin(np.radians(turn)), np.cos(np.radians(turn))])
        along = np.array([normal[1], -normal[0]])
        shifts = [
            tuple((normal * aside + along * step).tolist())
            for aside in (2.4, -2.4, 4.8, -4.8)
            for step in (0.0, 14.0, -14.0, 24.0, -24.0)
        ]
        view.drawing.text(at, words, size=2.2, rotation=turn, ground=True, shift=shifts[0],
                          others=tuple(shifts[1:]), layer="shared edge")  # fmt: skip


def _join_words(plan: Plan, edge: SharedEdge) -> str:
    """Say that bases meet along a shared edge, and by which number the join is told."""
    for number, join in enumerate(plan.advice.joins, start=1):
        if set(join.areas) == {edge.upper, edge.lower}:
            return f"; join {number}, {join.bases[0]} meets {join.bases[1]}"
    return ""


def draw_section_marks(view: View, plan: Plan, area: AreaPlan, dig: Dig, out: float = 6.0) -> None:
    """Record where the sections are cut and which way they look, `out` mm beyond the dig."""
    draw = view.drawing
    for line, (mark, _) in zip(down_and_across(plan, area), MARKS.values(), strict=True):
        through, along = line.through, line.along
        past = view.scale.metres(out)
        looks = np.array([-along[1], along[0]])
        near, far = reach_of(dig.polygon.union(area.outline), through, along)
        for s, sign in ((near - past, -1.0), (far + past, 1.0)):
            end = through + along * s
            inner = end - along * sign * view.scale.metres(9.0)
            draw.line([inner, end], CENTRE, "section line")
            turn = view.turn + float(np.degrees(np.arctan2(looks[1], looks[0])))
            draw.symbol("section", end, size=4.6, rotation=turn, layer="section mark")
            draw.text(end, mark, size=2.8, bold=True, layer="section mark")


def reach_of(shape: BaseGeometry, through: Floats, along: Floats) -> tuple[float, float]:
    """Return where a line through a point enters and leaves a shape for good. [m]"""
    x0, y0, x1, y1 = shape.bounds
    long = float(np.hypot(x1 - x0, y1 - y0))
    line = shapely.LineString([through - along * long, through + along * long])
    met = shapely.get_coordinates(shapely.intersection(line, shape))
    at = (met - through) @ along
    return float(at.min()), float(at.max())


def draw_spots(view: View, plan: Plan, window: BaseGeometry, apart: float = 15.0) -> None:
    """Record the survey's spots, with elevations at those that stand `apart` mm on paper."""
    xyz = np.asarray(plan.site.spots.xyz, float)
    inside = shapely.contains_xy(window.buffer(-view.scale.metres(3.0)), xyz[:, 0], xyz[:, 1])
    if plan.site.house is not None:
        body = plan.site.house.polygon(HOUSE * 20)
        inside &= ~shapely.contains_xy(body, xyz[:, 0], xyz[:, 1])
    shown = xyz[inside]
    unit = plan.site.unit
    for x, y, _ in shown:
        view.drawing.symbol("spot", (x, y), size=1.6, layer="spots")
    told: list[tuple[float, float]] = []
    for x, y, z in shown:
        near = [p for p in told if view.scale.mm(float(np.hypot(x - p[0], y - p[1]))) < apart]
        if near:
            continue
        told.append((x, y))
        words = level(float(z), unit, 8).split(" (")[0]
        view.drawing.text(
            (x, y), words, size=1.9, across="left", shift=(1.0, 1.2), colour="#444444",
            ground=True, layer="spots",
            others=((1.0, -1.4), (-13.0, 1.2), (-13.0, -1.4), (-6.0, 2.6), (-6.0, -2.6)),
        )  # fmt: skip


def side_dimensions(
    view: View, area: AreaPlan, unit: Unit, house: BaseGeometry | None = None
) -> None:
    """Record the length of each long straight side of the outline, outside it."""

    ring = np.asarray(shapely.geometry.polygon.orient(area.outline).exterior.coords)
    drawn: list[shapely.LineString] = []
    for p, q in pairwise(ring):
        long = float(np.hypot(*(q - p)))
        if view.scale.mm(long) < 16.0:
            continue
        # Along the house the figures stand behind the strip of it that is drawn.
        at_house = house is not None and house.distance(shapely.Point((p + q) / 2)) < TOGETHER
        offset = view.scale.mm(HOUSE) + 5.0 if at_house else 9.0
        out = np.array([q[1] - p[1], p[0] - q[0]]) / long
        line = shapely.LineString(np.array([p, q]) + out * view.scale.metres(offset))
        if any(line.intersects(other) for other in drawn):
            # In a corner that turns in two lines would cross: the second stands on the paving.
            offset = -5.0
        else:
            drawn.append(line)
        view.drawing.dimension(q, p, run(long, unit), offset=offset, size=2.2)
