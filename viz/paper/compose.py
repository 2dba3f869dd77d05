"""From recordings in metres to ink on paper: every line, fill and word with its place in mm."""

from __future__ import annotations

import math
from collections.abc import Iterator
from itertools import pairwise
from typing import Any

import numpy as np
import shapely
from msgspec import Struct, field

from grading.geometry.arrays import Floats, unit_vector
from viz.paper.drawing import (
    FINE,
    THIN,
    Area,
    Arrow,
    Dimension,
    Drawing,
    Leader,
    Part,
    Pen,
    Point,
    Polyline,
    Symbol,
    Text,
    Turf,
)
from viz.paper.hatch import textured, turf
from viz.paper.ink import Ink, arrow_head, circle
from viz.paper.lettering import Corners, Room, extent, is_upright, rows_of, search, upright
from viz.paper.page import Page, Scale
from viz.paper.symbols import symbol


class Words(Struct, frozen=True):
    """One line of words; `at` is the anchor on the base line [mm], `corners` its extent."""

    at: Point
    words: str
    size: float
    across: str
    rotation: float
    colour: str
    bold: bool
    corners: Corners


class View(Struct, frozen=True):
    """A drawing put on a page: its scale, where its (0, 0) lies [mm], and its exaggeration.

    `turn` is how far it is turned on the paper, anticlockwise [degrees]: a plan is turned so that
    the house lies along the sheet.
    """

    drawing: Drawing
    scale: Scale
    origin: Point
    exaggeration: float = 1.0
    turn: float = 0.0

    def paper(self, at: Any) -> Point:
        """Return the place on paper [mm] of a point on site [m]."""
        x, y = self.way(at) if self.turn else (float(at[0]), float(at[1]))
        return (
            self.origin[0] + self.scale.mm(float(x)),
            self.origin[1] + self.scale.mm(float(y)) * self.exaggeration,
        )

    def ring(self, points: Any) -> Floats:
        """Return the places on paper (n, 2) [mm] of points on site (n, 2) [m]."""
        factor = self.scale.mm(1.0)
        flat = np.asarray(points, float)[:, :2]
        turned = _turned(flat, self.turn) if self.turn else flat
        return np.asarray(turned * (factor, factor * self.exaggeration) + self.origin)

    def way(self, direction: Any) -> Floats:
        """Return on paper (2,) a direction on site (2,)."""
        return _turned(np.asarray(direction, float)[:2], self.turn)

    def tilt(self, degrees: float) -> float:
        """Return how words lie along a direction on site so that they are read from below."""
        return upright(degrees + self.turn)


class Sheet(Struct):
    """A page with its views, and what is drawn on the paper itself, in mm."""

    page: Page
    name: str
    title: str
    views: list[View] = field(default_factory=list)
    paper: Drawing = field(default_factory=Drawing)


KEPT_CLEAR = (  # lines that movable words do not cross
    "dimension", "extension", "fall", "outline", "house wall", "zero line", "fold",
    "fold mark", "way of the water", "outline of paving",
    "finish fall", "low edge", "destination", "extension of a spout",
    "away from the wall", "finish line", "radius", "retained", "free edge",
)  # fmt: skip
FRAMED = (  # marks that movable words do not cover
    "section mark", "join mark", "destination mark", "downspout", "spill", "least fall", "door",
    "feature", "hub", "reference",
)  # fmt: skip
BEND = 2.0
"""How far before its words a leader bends. [mm]"""

_SHORTEST = 0.5  # mm: a shorter line to words tells nothing
FULL = Scale(1000.0, "on the paper")  # a drawing whose units are millimetres of paper


def compose(sheet: Sheet) -> tuple[Ink | Words, ...]:
    """Return all the ink of a sheet, in order: areas and lines first, words on top."""
    room = Room(sheet.page.width, sheet.page.height)
    inks: list[Ink | Words] = []
    late: list[tuple[View, Text]] = []
    views = [*sheet.views, View(sheet.paper, FULL, (0.0, 0.0))]
    fixed: list[tuple[View, Text]] = []
    for view in views:
        for part in view.drawing.parts:
            for made in _inked(part, view):
                if isinstance(made, Ink):
                    inks.append(made)
                    if made.name in KEPT_CLEAR:
                        room.take(_thin(made))
                    elif made.name in FRAMED:
                        room.take([_frame(made)])
                else:
                    (late if made.others or made.optional else fixed).append((view, made))
    lettered: list[Ink | Words] = []
    for view, text in fixed:
        lettered += _lettered(text, view, text.shift, room)
    for view, text in late:
        shift = _free_shift(text, view, room)
        if shift is None:
            continue
        given = text.on_it and shift in (text.shift, *text.others)
        if text.leads and math.dist(shift, text.shift) > 1.0 and not given:
            inks += _lead(text, view, shift)
        lettered += _lettered(text, view, shift, room)
    return (*inks, *lettered)


def _thin(ink: Ink) -> Iterator[Corners]:
    """Yield a thin box about each stroke of a line that movable words keep clear of."""
    half = ink.pen.width / 2 if ink.pen is not None and ink.pen.width > 1.0 else 0.1
    for ring in ink.rings:
        for a, b in pairwise(ring):
            along = unit_vector(b - a)
            side = np.array([-along[1], along[0]]) * half
            box = [tuple(p.tolist()) for p in (a - side, b - side, b + side, a + side)]
            yield box[0], box[1], box[2], box[3]


def _frame(ink: Ink) -> Corners:
    (x0, y0), (x1, y1) = (np.concatenate(ink.rings).min(axis=0).tolist(),
                          np.concatenate(ink.rings).max(axis=0).tolist())  # fmt: skip
    return (x0, y0), (x1, y0), (x1, y1), (x0, y1)


def _free_shift(text: Text, view: View, room: Room) -> Point | None:
    best, least = text.shift, math.inf
    tried = (text.shift, *text.others) if text.optional else search(text.shift, text.others)
    for shift in tried:
        worst = room.overlap([corners for _, _, corners in _rows(text, view, shift)])
        if worst == 0.0:
            return shift
        if worst < least:
            best, least = shift, worst
    return None if text.optional else best


def _rows(text: Text, view: View, shift: Point) -> Iterator[tuple[Point, str, Corners]]:
    x, y = view.paper(text.at)
    at = (x + shift[0], y + shift[1])
    return rows_of(at, text.words, text.size, text.across, text.up, text.rotation, text.bold)


def _lead(text: Text, view: View, shift: Point) -> Iterator[Ink]:
    """Yield a line from the point to the nearest edge of its words, which it does not cross."""
    tip = shapely.Point(view.paper(text.at))
    boxes = [_grown(corners, 0.3) for _, _, corners in _rows(text, view, shift)]
    words = shapely.union_all([shapely.Polygon(box) for box in boxes])
    line = shapely.shortest_line(tip, words)
    if line.length > _SHORTEST:
        yield Ink((np.asarray(line.coords),), FINE, name="lead")


def _lettered(text: Text, view: View, shift: Point, room: Room) -> Iterator[Ink | Words]:
    for at, row, corners in _rows(text, view, shift):
        if text.ground:
            yield Ink((_grown(corners, 0.35),), None, "#ffffff", True, "label-ground")
        room.take([corners])
        yield Words(at, row, text.size, text.across, text.rotation, text.colour, text.bold, corners)


def _grown(corners: Corners, by: float) -> Floats:
    ring = np.array(corners)
    along = unit_vector(ring[1] - ring[0]) * by
    up = unit_vector(ring[3] - ring[0]) * by
    signs = ((-1, -1), (1, -1), (1, 1), (-1, 1))
    return np.array([p + a * along + u * up for p, (a, u) in zip(ring, signs, strict=True)])


def _inked(part: Part, view: View) -> Iterator[Ink | Text]:
    if isinstance(part, Polyline):
        yield Ink((view.ring(part.points),), part.pen, "", part.closed, part.layer)
    elif isinstance(part, Area):
        yield from _filled(part, view)
    elif isinstance(part, Text):
        yield part
    elif isinstance(part, Dimension):
        yield from _dimensioned(part, view)
    elif isinstance(part, Leader):
        yield from _led(part, view)
    elif isinstance(part, Arrow):
        start, end = np.array(view.paper(part.start)), np.array(view.paper(part.end))
        yield Ink((np.array([start, end]),), part.pen, name=part.layer)
        yield Ink((arrow_head(end, end - start, part.head),), None, part.pen.colour, True)
    elif isinstance(part, Turf):
        yield from turf(view.ring(part.points), view.scale)
    elif isinstance(part, Symbol):
        at = np.array(view.paper(part.at))
        for rings, pen, fill, closed in symbol(part.kind, part.size):
            turned = tuple(_turned(ring, part.rotation) + at for ring in rings)
            yield Ink(turned, pen, fill, closed, part.layer)


def _filled(part: Area, view: View) -> Iterator[Ink]:
    rings = tuple(view.ring(ring) for ring in part.rings)
    if part.material:
        yield from textured(part.material, rings, view.scale, view.exaggeration, part.layer)
        if part.pen:
            yield Ink(rings, part.pen, "", True, part.layer)
    else:
        yield Ink(rings, part.pen, part.fill, True, part.layer)


def _turned(ring: Floats, degrees: float) -> Floats:
    turn = math.radians(degrees)
    # A quarter turn leaves what is square exactly square.
    cos, sin = round(math.cos(turn), 15), round(math.sin(turn), 15)
    return np.asarray(np.asarray(ring, float) @ np.array([[cos, sin], [-sin, cos]]))


def _tick(at: Floats, unit: Floats) -> Floats:
    slant = (unit + np.array([-unit[1], unit[0]])) * 0.85
    return np.array([at - slant, at + slant])


def _dimensioned(part: Dimension, view: View) -> Iterator[Ink | Text]:
    """Extension lines, dimension line, slant ticks, and the words over the line or beside it."""
    start, end = np.array(view.paper(part.start)), np.array(view.paper(part.end))
    unit = np.array(part.along) if part.along else end - start
    unit = unit_vector(unit)
    normal = np.array([-unit[1], unit[0]])
    high = max((start @ normal, end @ normal), key=lambda v: v * math.copysign(1, part.offset))
    level = high + part.offset
    first = start + normal * (level - start @ normal)
    last = end + normal * (level - end @ normal)
    side = math.copysign(1.0, part.offset)
    for foot, head in ((start, first), (end, last)):
        if abs(float((head - foot) @ normal)) > 1.2:
            line = np.array([foot + normal * side * 0.9, head + normal * side * 1.2])
            yield Ink((line,), FINE, name="extension")
    long = float(np.hypot(*(last - first)))
    wide = max(extent(row, part.size)[0] for row in part.words.split("\n"))
    inside = long > wide + 2.0
    upright = abs(unit[1]) > 0.95
    reach = np.array([1.5, 1.5]) if inside else np.array([2.5, 2.5])
    if not inside and not upright:
        reach[0 if part.beside == "start" else 1] += wide + 2.0
    ends = np.array([first - unit * reach[0], last + unit * reach[1]])
    yield Ink((ends,), FINE, name="dimension")
    for foot in (first, last):
        yield Ink((_tick(foot, unit),), Pen(0.35), name="tick")
    home = np.array(view.paper(part.start))
    middle = (first + last) / 2
    if not inside and upright:
        # A height shorter than its words: the words lie beside the line, one unit under the other.
        out = normal * side
        at = middle + out * 1.3 - home
        across = "right" if out[0] < 0 else "left"
        rows = part.words.replace(" (", "\n(")
        yield Text(part.start, rows, part.size, across, "middle", 0.0, (at[0], at[1]),
                   ground=part.ground)  # fmt: skip
        return
    angle = math.degrees(math.atan2(unit[1], unit[0]))
    flipped = not is_upright(angle)
    if not inside:
        away = 2.4 + wide / 2
        middle = first - unit * away if part.beside == "start" else last + unit * away
    at = middle + normal * (-0.6 if flipped else 0.6) - home
    turn = angle - 180.0 if flipped else angle
    yield Text(part.start, part.words, part.size, "center", "bottom", turn, (at[0], at[1]),
               ground=part.ground)  # fmt: skip


def _led(part: Leader, view: View) -> Iterator[Ink | Text]:
    tip = np.array(view.paper(part.tip))
    end = tip + np.array(part.shift)
    reach = -BEND if part.across == "left" else BEND
    elbow = end + np.array([reach, 0.0])
    yield Ink((np.array([tip, elbow, end]),), FINE, name="leader")
    if part.dot:
        yield Ink((circle(0.4) + tip,), None, THIN.colour, True)
    shift = (part.shift[0] - math.copysign(0.6, reach), part.shift[1])
    yield Text(part.tip, part.words, part.size, part.across, "middle", 0.0, shift, bold=part.bold)


def words_of(inks: tuple[Ink | Words, ...]) -> list[Words]:
    """Return the words alone."""
    return [ink for ink in inks if isinstance(ink, Words)]
