"""The raised edge as it is seen from the lawn: what holds it, its courses and caps, true scale."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise

import numpy as np
import shapely
from msgspec import Struct

from grading.design.area import AreaPlan
from grading.design.door_steps import door_steps
from grading.geometry.arrays import Floats
from grading.geometry.tolerances import NOTHING
from grading.pipeline import Plan
from grading.site.model import Door
from grading.structures.holding.block_wall import BlockWall, WallSegment
from grading.structures.holding.holds import holding_of
from grading.units import Unit, size
from viz.drawings.placing import arrows_between
from viz.paper.compose import Sheet, View
from viz.paper.drawing import FINE, OUTLINE, THIN, Drawing, Pen
from viz.paper.page import Page, Scale

_LARGEST = 12.0  # ratio: nothing is drawn larger
_DOOR_WIDTH = 0.9  # m: as doors are drawn, for no survey measures one
_ROOM = 22.0  # mm beside the wall on either side, for how high it stands
_OVER, _UNDER = 12.0, 5.0  # mm shown over the highest sill or paving, and under the lawn
_COURSE = 0.2  # m of siding: common practice, no source
_FACES = 0.2  # cosine: what looks less towards the eye is not seen
_EVERY = 0.25  # m between the places where the ground by the house is looked at
_SIZE = 2.7
_TONES = ("#b7ada0", "#a79d90", "#c0b7aa")
"""Of blocks: no two of one batch are alike. On a copy in grey the joints tell them apart."""

_CAP, _WEDGE, _PAVER, _STEP = "#e4ded2", "#b0a699", "#b8977a", "#d3cdc1"
_LAWN, _FAR, _SIDING, _FOUNDATION, _DOOR = "#8aa65c", "#b5c79a", "#efeae0", "#cfcdc8", "#5b6b78"
_HALF = 0.5  # of a unit, by which every second course is shifted
_SLIVER = 5e-3  # m


class FrontView(Struct, frozen=True, eq=False):
    """A wall seen from the lawn, with what a reader who cannot see it is told."""

    sheet: Sheet
    about: str


def front_views(plan: Plan, wide: float) -> tuple[FrontView, ...]:
    """Return every wall of blocks of a plan as it is seen from the lawn, the longest first.

    Looked at level and square to its longest side: what runs towards the eye is not seen.

    Parameters
    ----------
    plan : Plan
    wide : float
        Of the drawing. [mm]
    """
    walls = [
        (area, wall) for area in plan.areas for wall in holding_of(plan, area, area.chosen).walls
    ]
    walls.sort(key=lambda pair: -pair[1].length)
    if not walls:
        return ()
    faces = [_Face(plan, area, wall) for area, wall in walls]
    longest = max(face.ends[1] - face.ends[0] for face in faces)
    ratio = max(longest * 1000 / (wide - 2 * _ROOM), _LARGEST)
    return tuple(_view(face, wide, Scale(ratio, "true scale")) for face in faces)


class _Face:
    """A wall as it is looked at: how places on it and about it lie across the drawing. [m]"""

    def __init__(self, plan: Plan, area: AreaPlan, wall: BlockWall) -> None:
        self.plan, self.area, self.wall = plan, area, wall
        points = shapely.get_coordinates(wall.line)
        sides = np.diff(points, axis=0)
        long = np.hypot(*sides.T)
        # The way that the most of it runs; the eye stands on its right, where the lawn is.
        ways = sides / np.maximum(long, NOTHING)[:, None]
        totals = (long[None] * np.maximum(ways @ ways.T, 0.0) ** 4).sum(axis=1)
        self.right = ways[int(np.argmax(totals))]
        self.towards = np.array([self.right[1], -self.right[0]])
        across = self.across(self.places(wall.along))
        seen = np.array([wall.outward(at) @ self.towards > _FACES for at in wall.along])
        self.seen = seen
        self.ends = float(across[seen].min()), float(across[seen].max())

    def across(self, points: Floats) -> Floats:
        """Return how far right points (n, 2) lie as they are seen, (n,). [m]"""
        return np.asarray(np.asarray(points, float) @ self.right)

    def away(self, points: Floats) -> Floats:
        """Return how far points (n, 2) lie from the eye, (n,); only differences count. [m]"""
        return np.asarray(-np.asarray(points, float) @ self.towards)

    def places(self, along: Floats) -> Floats:
        """Return where on the edge distances along the wall lie, (n, 2). [m]"""
        line = self.wall.line
        return shapely.get_coordinates(shapely.line_interpolate_point(line, along))

    def shows(self, low: float, high: float) -> bool:
        """Say whether a piece of the wall looks towards the eye."""
        return bool(self.wall.outward((low + high) / 2) @ self.towards > _FACES)


def _view(face: _Face, wide: float, scale: Scale) -> FrontView:
    plan, area, wall = face.plan, face.area, face.wall
    unit, seen = plan.site.unit, face.seen
    doors = [step.door for step in door_steps(area) if _looks(face, step.door)]
    paved = area.finish.surface.at(shapely.get_coordinates(area.outline.exterior))
    top = max([float(paved.max()), *(door.sill for door in doors)]) + scale.metres(_OVER)
    bottom = float(wall.ground[seen].min()) - scale.metres(_UNDER)
    sheet = Sheet(Page("front", wide, scale.mm(top - bottom), margin=0.0, title=0.0), "front",
                  "The raised edge")  # fmt: skip
    x0, x1 = face.ends
    left = (wide - scale.mm(x1 - x0)) / 2
    view = View(Drawing("front"), scale, (left - scale.mm(x0), -scale.mm(bottom)))
    sheet.views.append(view)
    room = scale.metres(left)
    window = shapely.box(x0 - room, bottom, x1 + room, top)
    draw = view.drawing
    _behind(draw, face, doors, window)
    for facet in area.finish.surface.facets:
        for part in shapely.get_parts(shapely.intersection(facet.domain, area.outline)):
            if part.geom_type != "Polygon":
                continue
            ring = shapely.get_coordinates(part.exterior)
            shape = shapely.Polygon(np.column_stack([face.across(ring), facet.plane.at(ring)]))
            draw.area(shape.buffer(0).intersection(window), fill=_PAVER, pen=THIN, layer="paving")
    for _, shape, fill, pen, layer in sorted(_pieces_seen(face), key=lambda each: -each[0]):
        draw.area(shape, fill=fill, pen=pen, layer=layer)
    _lawn(draw, face, window)
    _heights(view, face, unit)
    about = f"{wall.name} seen from the lawn: blocks, caps and the paving over them, true scale"
    return FrontView(sheet, about)


def _looks(face: _Face, door: Door) -> bool:
    house = face.plan.site.house
    if house is None:
        return False
    outward = np.asarray(house.wall_of(np.asarray(door.at, float)).outward, float)
    return bool(outward @ face.towards > 0.5)


def _behind(draw: Drawing, face: _Face, doors: list[Door], window: shapely.Polygon) -> None:
    """Draw what stands behind the paving: the lawn by the house, its wall, its doors."""
    plan = face.plan
    x0, bottom, x1, top = window.bounds
    if plan.site.house is None:
        return
    sidings = [float(np.min(each.z)) for each in plan.site.ceilings if each.kind == "siding"]
    foundation = min([*sidings, *(door.sill - 0.025 for door in doors), top])
    for start, end, outward in plan.site.house.segments():
        if np.asarray(outward, float) @ face.towards < 0.5:
            continue
        a, b = sorted(face.across(np.array([start, end])))
        low, high = max(a, x0), min(b, x1)
        if high <= low:
            continue
        wall = shapely.box(low, bottom, high, top)
        draw.area(wall, fill=_SIDING, layer="house")
        draw.area(shapely.box(low, bottom, high, foundation), fill=_FOUNDATION, layer="foundation")
        for z in np.arange(foundation + _COURSE, top, _COURSE):
            draw.line([(low, z), (high, z)], Pen(0.15, "#cbc3b4"), "siding")
        along = np.linspace(0.0, 1.0, max(int(np.hypot(*np.subtract(end, start)) / _EVERY), 2))
        points = np.asarray(start) + along[:, None] * np.subtract(end, start)
        points = points + 0.05 * np.asarray(outward, float)
        ground = plan.ground.under(face.area.area.name).elevation(points)
        known = np.isfinite(ground)
        if known.sum() > 1:
            line = np.column_stack([face.across(points), ground])[known]
            line = line[np.argsort(line[:, 0])]
            low_line = np.column_stack([line[:, 0], np.full(len(line), bottom)])
            far = shapely.Polygon(np.vstack([line, low_line[::-1]])).buffer(0)
            draw.area(far.intersection(window), fill=_FAR, layer="lawn behind")
    half = _DOOR_WIDTH / 2
    for door in doors:
        x = float(face.across(np.asarray(door.at, float)[None])[0])
        leaf = shapely.box(x - half, door.sill, x + half, top).intersection(window)
        sill = shapely.box(x - half - 0.08, door.sill - 0.03, x + half + 0.08, door.sill)
        draw.area(leaf, fill=_DOOR, pen=THIN, layer="door")
        draw.area(sill.intersection(window), fill="#ffffff", pen=THIN, layer="sill")


_Piece = tuple[float, shapely.Polygon, str, Pen, str]
"""How far it lies from the eye, its shape, tone, outline and layer."""


def _pieces_seen(face: _Face) -> Iterator[_Piece]:
    """Yield every block, cap, wedge and step that is seen, in no order."""
    wall, unit = face.wall, face.wall.unit
    lowest = min(each.pad_top for each in wall.segments)
    for segment in wall.segments:
        for bottom, top, _ in wall.courses_of(segment):
            row = round((top - lowest) / unit.height)
            for n, (low, high) in enumerate(_pieces(segment, unit.length, _HALF * (row % 2))):
                tone = _TONES[(n + 2 * row) % 3]
                yield from _piece(face, low, high, bottom, top, tone, THIN, "block")
        under = segment.cap - unit.cap_height
        for low, high in _pieces(segment, unit.cap_length, 0.0):
            yield from _piece(face, low, high, under, segment.cap, _CAP, OUTLINE, "cap")
            yield from _wedge(face, segment, low, high)
    yield from _steps(face)


def _pieces(segment: WallSegment, long: float, shift: float) -> list[tuple[float, float]]:
    """Return where each unit of a course begins and ends along the wall. [m]"""
    first = (np.floor(segment.low / long - shift) + shift) * long
    ends = np.arange(first, segment.high + long, long)
    cut = np.unique(np.clip(ends, segment.low, segment.high))
    return [(float(a), float(b)) for a, b in pairwise(cut) if b - a > _SLIVER]


def _piece(
    face: _Face, low: float, high: float, bottom: float, top: float, fill: str, pen: Pen,
    layer: str,
) -> Iterator[_Piece]:  # fmt: skip
    """Yield a piece of the wall as it is seen; nothing where it looks another way."""
    if not face.shows(low, high):
        return
    ends = face.places(np.array([low, high]))
    a, b = sorted(face.across(ends))
    if b - a > _SLIVER:
        yield float(face.away(ends).mean()), shapely.box(a, bottom, b, top), fill, pen, layer


def _wedge(face: _Face, segment: WallSegment, low: float, high: float) -> Iterator[_Piece]:
    """Yield what is sawn to the fall of the paving, on a cap that lies lower than that."""
    wall = face.wall
    at = np.array([low, high])
    finish = np.interp(at, wall.along, wall.finish)
    if float(finish.max()) - segment.cap < _SLIVER or not face.shows(low, high):
        return
    ends = face.places(at)
    x = face.across(ends)
    ring = [(x[0], segment.cap), (x[1], segment.cap), (x[1], max(finish[1], segment.cap)),
            (x[0], max(finish[0], segment.cap))]  # fmt: skip
    shape = shapely.Polygon(ring).buffer(0)
    if shape.area > 0:
        yield float(face.away(ends).mean()), shape, _WEDGE, THIN, "wedge"


def _steps(face: _Face) -> Iterator[_Piece]:
    """Yield the steps that stand before the wall."""
    order = face.plan.order.of(face.area)
    for structure in order.takeoffs[face.area.chosen].structures:
        if "step" not in structure.kind:
            continue
        for solid in structure.solids:
            points = shapely.get_coordinates(solid.footprint)
            if shapely.distance(solid.footprint, face.wall.line) > 2 * face.wall.unit.depth:
                continue
            bottom, top = solid.between(points)
            x = face.across(points)
            low, high = float(bottom.min()), float(top.max())
            shape = shapely.box(float(x.min()), low, float(x.max()), high)
            yield float(face.away(points).min()), shape, _STEP, OUTLINE, "step"


def _lawn(draw: Drawing, face: _Face, window: shapely.Polygon) -> None:
    """Draw the lawn before the wall over what of it stands in the ground."""
    wall, seen = face.wall, face.seen
    x0, bottom, x1, _ = window.bounds
    x = face.across(face.places(wall.along[seen]))
    line = np.column_stack([x, wall.ground[seen]])[np.argsort(x)]
    line = np.vstack([[x0, line[0, 1]], line, [x1, line[-1, 1]]])
    low = np.column_stack([line[:, 0], np.full(len(line), bottom)])
    lawn = shapely.Polygon(np.vstack([line, low[::-1]])).buffer(0)
    draw.area(lawn.intersection(window), fill=_LAWN, layer="lawn")
    draw.line(line, Pen(0.25, "#5d7a37"), "lawn")


def _heights(view: View, face: _Face, unit: Unit) -> None:
    """Say how high the edge stands at either end of what is seen, and where it stands highest."""
    wall = face.wall
    height = wall.finish - wall.ground
    shown = np.flatnonzero(face.seen)
    x = face.across(face.places(wall.along))
    first, last = (int(shown[pick(x[shown])]) for pick in (np.argmin, np.argmax))
    _height(view, face, first, -1.0, unit)
    _height(view, face, last, 1.0, unit)
    most = int(shown[np.argmax(height[shown])])
    reach = 0.12 * (face.ends[1] - face.ends[0])
    if min(x[most] - face.ends[0], face.ends[1] - x[most]) > reach:
        _height(view, face, most, 0.0, unit)


def _height(view: View, face: _Face, k: int, side: float, unit: Unit) -> None:
    """Draw how high the edge stands at a place, beside the wall (1, -1) or before it (0)."""
    draw, mm, wall = view.drawing, view.scale.metres, face.wall
    x = float(face.across(face.places(wall.along[[k]]))[0])
    top, bottom = float(wall.finish[k]), float(wall.ground[k])
    at = x + side * mm(2.6)
    words = size(top - bottom, unit)
    if side:
        for z in (top, bottom):
            draw.line([(x, z), (at + side * mm(1.0), z)], FINE, "extension")
    arrows_between(view, at, bottom, top, head=1.5, layer="height")
    if side:
        draw.text((at, (top + bottom) / 2), words, size=_SIZE, bold=True,
                  across="left" if side > 0 else "right", shift=(side * 1.8, 0.0), ground=True,
                  layer="height words")  # fmt: skip
    else:
        draw.text((at, bottom), words, size=_SIZE, bold=True, shift=(0.0, -2.9), ground=True,
                  layer="height words")  # fmt: skip
