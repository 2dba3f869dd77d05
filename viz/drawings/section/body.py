"""The body of a section: what is cut, drawn in metres within a window, without its figures.

Its edge is plastic, concrete, a border, or what has to hold it.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import shapely
from numpy.typing import ArrayLike
from shapely.geometry.base import BaseGeometry

from grading.geometry.tolerances import TOUCH
from grading.section.built import STANDING, Built
from grading.section.cut import Cut, Hole, WallCut
from grading.section.edge import concrete_of, holder, upright
from grading.section.line import Interval, within
from grading.section.standing import Standing
from grading.section.through import between
from viz.paper.drawing import CUT, GROUND, HIDDEN, ORGANICS, OUTLINE, THIN, Drawing, Pen
from viz.paper.hatch import TONES

DUG = Pen(0.35)
_ONE_SIDE = 1e-3  # m: holes so near to each other have one side
FINISH = Pen(0.7)
WALL = 0.2  # m: drawn thickness of a foundation wall, which no survey gives
TREAD = "#dcd5c9"
UNKNOWN = "#e6e3dc"  # what is built of what has no tone of its own
GRASS = "#a9be86"

# Edge restraint as commonly sold: upright, foot, spike and screw. Common practice, no source.
UPRIGHT, FOOT_OUT, THICK = 0.045, 0.075, 0.006
SPIKE, SPIKE_WIDE = 0.25, 0.009
SCREW_WIDE = 0.005


def draw_body(
    draw: Drawing, cut: Cut, window: BaseGeometry, earth: float, built: Sequence[Built] = ()
) -> None:
    """Record all solids and lines of a cut that lie within a window.

    Parameters
    ----------
    draw : Drawing
    cut : Cut
    window : shapely box
        In distance and elevation. [m]
    earth : float
        How deep undisturbed soil is shown below the dig. [m]
    built : sequence of Built
        What the cut meets of what is built beside and below the paving.
    """
    low, _, high, _ = window.bounds
    low, high = max(low, cut.ends[0]), min(high, cut.ends[1])
    yard = shapely.intersection(window, shapely.box(low, -1e6, high, 1e6))
    _soil(draw, cut, yard, low, high, earth)
    for span in _undug(cut, low, high):
        t = cut.stops(*span)
        peat = between(t, cut.ground_at(t), cut.organics_at(t)).intersection(yard)
        draw.area(peat, "topsoil", layer="topsoil")
    for thing in cut.things:
        # Pavers beside the thing lie on its base, and are drawn over it.
        shape = thing.base.intersection(yard)
        if thing.material:
            draw.area(shape, thing.material, pen=OUTLINE, layer="own base")
        else:
            draw.lines(shape.boundary, HIDDEN, "own base")
    for other in cut.others:
        for solid in other.solids:
            draw.area(solid.shape.intersection(yard), solid.material,
                      layer=f"other {solid.name}")  # fmt: skip
    for solid in cut.solids:
        draw.area(solid.shape.intersection(yard), solid.material, layer=solid.name)
    for thing in cut.things:
        _thing(draw, thing, yard)
    for tread in cut.treads:
        draw.area(tread.intersection(yard), fill=TREAD, pen=OUTLINE, layer="tread")
    for wall in cut.walls:
        _wall(draw, cut, wall, window)
    draw_edges(draw, cut, yard, built)
    _lines(draw, cut, yard, low, high)
    for each in built:
        if each.material == "turf":
            draw_grass(draw, each.shape, yard)
            continue
        known = each.material in TONES
        draw.area(each.shape.intersection(yard), each.material if known else "",
                  fill="" if known else UNKNOWN, pen=OUTLINE, layer="built")  # fmt: skip


def draw_grass(draw: Drawing, shape: BaseGeometry, yard: BaseGeometry) -> None:
    """The grass of a slope: what lies in the ground of it, and what grows out of its top."""
    draw.area(shape.intersection(yard), fill=GRASS, pen=THIN, layer="built")
    _, floor, _, roof = shape.bounds
    places = np.unique(shapely.get_coordinates(shape)[:, 0])
    upright = [shapely.LineString([(x, floor - 1.0), (x, roof + 1.0)]) for x in places]
    top = np.column_stack([places, shapely.bounds(shapely.intersection(upright, shape))[:, 3]])
    for part in shapely.get_parts(shapely.LineString(top).intersection(yard)):
        if part.geom_type == "LineString" and not part.is_empty:
            draw.turf(part.coords)


def _thing(draw: Drawing, thing: Standing, yard: BaseGeometry) -> None:
    """A thing on a base of its own, its top dashed: the picture does not need its height."""
    shown = thing.body.intersection(yard)
    for body in () if shown.is_empty else shapely.get_parts(shown):
        a, low, b, high = body.bounds
        draw.area(body, fill="#ffffff", layer="thing")
        draw.line([(a, high), (a, low), (b, low), (b, high)], OUTLINE, "thing")
        draw.line([(a, high), (b, high)], HIDDEN, "thing")
        draw.text(((a + b) / 2, high), thing.name, size=2.0, shift=(0.0, -1.6), optional=True,
                  others=((0.0, 1.6), (0.0, 4.6)), layer="thing name")  # fmt: skip


def _soil(
    draw: Drawing, cut: Cut, yard: BaseGeometry, low: float, high: float, earth: float
) -> None:
    """Undisturbed soil, from the dug surface down, and from the organics down beside the dig."""
    pieces, floors = [], []
    for a, b, hole in _holes(cut, low, high):
        t = cut.stops(a, b)
        pieces.append((t, cut.floor_of(hole, t)))
    for a, b in _undug(cut, low, high):
        t = cut.stops(a, b)
        pieces.append((t, cut.organics_at(t)))
    pieces.sort(key=lambda piece: float(piece[0][0]))
    floors = [top - earth for _, top in pieces]
    # One even lower edge, so that the soil beside the dig reaches as deep as that under it.
    stations = np.concatenate([t for t, _ in pieces])
    lowest = np.column_stack([stations, np.concatenate(floors)])
    slope, level = np.polyfit(lowest[:, 0], lowest[:, 1], 1)
    sunk = float((slope * lowest[:, 0] + level - lowest[:, 1]).max())
    shapes = [between(t, top, slope * t + level - sunk) for t, top in pieces]
    draw.area(shapely.union_all(shapes).intersection(yard), "soil", layer="soil")


def _undug(cut: Cut, low: float, high: float) -> tuple[Interval, ...]:
    """Return what nothing is dug in, between two distances. [m]"""
    return within(cut.undug, (low, high))


def _holes(cut: Cut, low: float, high: float) -> list[tuple[float, float, Hole]]:
    """Return every hole, and which part of it lies between two distances. [m]"""
    parts = [(max(hole.start, low), min(hole.end, high), hole) for hole in cut.holes]
    return [(a, b, hole) for a, b, hole in parts if b - a > TOUCH]


def _clipped(
    draw: Drawing, s: ArrayLike, z: ArrayLike, window: BaseGeometry, pen: Pen, layer: str
) -> BaseGeometry:
    """Draw a line over distances and return what is seen of it."""
    shown = shapely.LineString(np.column_stack([s, z])).intersection(window)
    draw.lines(shown, pen, layer)
    return shown


def _lines(draw: Drawing, cut: Cut, yard: BaseGeometry, low: float, high: float) -> None:
    """Ground (solid outside the dig, long dashes inside), dug surface, organics, finish."""
    for span in _undug(cut, low, high):
        t = cut.stops(*span)
        shown = _clipped(draw, t, cut.ground_at(t), yard, OUTLINE, "existing ground outside")
        for part in shapely.get_parts(shown):
            # A line that is nowhere seen has one part, an empty one.
            if part.geom_type == "LineString" and not part.is_empty:
                draw.turf(part.coords)
        if cut.has_organics:
            _clipped(draw, t, cut.organics_at(t), yard, ORGANICS, "bottom of organics")
    for a, b, hole in _holes(cut, low, high):
        t = cut.stops(a, b)
        _clipped(draw, t, cut.ground_at(t), yard, GROUND, "existing ground")
        if cut.has_organics:
            _clipped(draw, t, cut.organics_at(t), yard, ORGANICS, "bottom of organics")
        _clipped(draw, t, cut.floor_of(hole, t), yard, DUG, "dug surface")
        for end in (hole.start, hole.end):
            foot, head = float(cut.floor_of(hole, end)), _beside(cut, hole, end)
            if head > foot:
                _clipped(draw, [end, end], [foot, head], yard, DUG, "side of the dig")
    for other in cut.others:
        for span in other.paved:
            t = other.along_finish(*span)
            _clipped(draw, t, other.finish_at(t), yard, CUT, "other finish")
    paving = yard.difference(shapely.union_all([thing.foot for thing in cut.things]))
    for a, b in cut.paved:
        t = cut.along_finish(a, b)
        _clipped(draw, t, cut.finish_at(t), paving, FINISH, "finish")


def _beside(cut: Cut, hole: Hole, end: float) -> float:
    """Return how high the side of a hole stands: to the ground, or to another hole's floor. [m]"""
    for other in cut.holes:
        if other is not hole and min(abs(other.start - end), abs(other.end - end)) < _ONE_SIDE:
            return float(cut.floor_of(other, end))
    return float(cut.ground_at(end))


def _wall(draw: Drawing, cut: Cut, wall: WallCut, window: BaseGeometry) -> None:
    """The house wall in section, its door opening over the sill where the line meets a door."""
    _, below, _, above = window.bounds
    back = wall.at + wall.side * WALL
    foot = below + (above - below) * 0.02
    head = above if wall.sill is None else min(wall.sill - 0.04, above)
    body = shapely.box(min(wall.at, back), foot, max(wall.at, back), head)
    draw.area(body.intersection(window), "concrete", layer="house wall")
    face = shapely.LineString([(wall.at, foot), (wall.at, head)])
    draw.lines(face.intersection(window), CUT, "house wall")
    if wall.sill is None:
        return
    nose = wall.at - wall.side * 0.03
    sill = shapely.box(min(nose, back), wall.sill - 0.04, max(nose, back), wall.sill)
    draw.area(sill.intersection(window), fill="#e9e4da", pen=OUTLINE, layer="sill")
    leaf = wall.at + wall.side * 0.07
    far = leaf + wall.side * 0.045
    door = shapely.box(min(leaf, far), wall.sill, max(leaf, far), above)
    draw.area(door.intersection(window), fill="#ffffff", pen=THIN, layer="door")
    for at in (wall.at, back):
        line = shapely.LineString([(at, wall.sill), (at, above)])
        draw.lines(line.intersection(window), HIDDEN, "door opening")


def draw_edges(draw: Drawing, cut: Cut, yard: BaseGeometry, built: Sequence[Built] = ()) -> None:
    """Draw what is laid along the ends of the paving, and outline what has to hold them.

    Parameters
    ----------
    draw : Drawing
    cut : Cut
    yard : shapely geometry
        In distance and elevation. [m]
    built : sequence of Built
        What is built there: where it holds the edge, nothing else is outlined to.
    """
    for at, out in [(a, -1.0) for a, _ in cut.paved] + [(b, 1.0) for _, b in cut.paved]:
        # Where other paving goes on there is no edge to hold.
        if cut.other_at(at + out * 0.02) is None:
            _edge(draw, cut, at, out, yard, built)


def edge_tip(cut: Cut, at: float, out: float) -> tuple[float, float] | None:
    """Return a place in what is drawn along an edge, for a leader to it; None where nothing is. [m]

    Parameters
    ----------
    cut : Cut
    at : float
        The edge of the paving, a distance along the cut. [m]
    out : float
        +1 where the yard lies after it, -1 before it.
    """
    if cut.edging.fixing == "concrete":
        if not cut.free_at(at):
            return None
        concrete, unit = concrete_of(cut, at, out)
        laid = unit if cut.edging.unit else concrete
    else:
        _, met = _under_edge(cut, at, out)
        if cut.edging.of_wall or met.is_empty:
            return None
        laid = upright(at, out, met.bounds[3], 0.0, THICK, UPRIGHT)
    x, y = shapely.get_coordinates(shapely.point_on_surface(laid))[0].tolist()
    return x, y


def _under_edge(cut: Cut, at: float, out: float) -> tuple[BaseGeometry, BaseGeometry]:
    """Return the layer that goes on beyond the paving, and what of it plastic stands on."""
    spreading = [solid.shape for solid in cut.solids if solid.role in ("base", "panel")]
    under = spreading[0] if spreading else shapely.Polygon()
    probe = shapely.LineString([(at + out * 0.04, -1e6), (at + out * 0.04, 1e6)])
    return under, probe.intersection(under)


def _edge(
    draw: Drawing, cut: Cut, at: float, out: float, yard: BaseGeometry, built: Sequence[Built]
) -> None:
    """Draw plastic where the layer that it stands on goes on; what holds it where it is raised."""
    under, met = _under_edge(cut, at, out)
    set_in = cut.edging.fixing == "concrete"
    if cut.raised_at(at):
        flush = not under.is_empty and set_in and cut.free_at(at)
        outline = holder(cut, at, out)
        if any(each.shape.intersects(outline) for each in built):
            return
        if cut.edging.of_wall or flush or not met.is_empty:
            draw.lines(outline.boundary.intersection(yard), HIDDEN, "holder")
    elif set_in and cut.free_at(at):
        body, unit = concrete_of(cut, at, out)
        draw.area(yard.intersection(body), "concrete", pen=OUTLINE, layer="edge of concrete")
        if cut.edging.unit:
            draw.area(unit.intersection(yard), "paver", pen=OUTLINE, layer="border unit")
    elif not (cut.edging.of_wall or set_in or met.is_empty or _stands_at(cut, at, out, built)):
        _plastic(draw, cut, at, out, yard, under, met)


def _stands_at(cut: Cut, at: float, out: float, built: Sequence[Built]) -> bool:
    """Return whether something built is the edge, such as a channel, where plastic would stand."""
    edge = shapely.LineString([(at + out * THICK, -1e6), (at + out * THICK, 1e6)])
    solid = (each.shape for each in built if each.material in (*STANDING, "channel"))
    top = float(cut.finish_at(at)) - cut.system.build_up / 2
    return any(shape.bounds[3] > top and shape.intersects(edge) for shape in solid)


def _plastic(
    draw: Drawing, cut: Cut, at: float, out: float, yard: BaseGeometry, under: BaseGeometry,
    met: BaseGeometry,
) -> None:  # fmt: skip
    low, floor, high, roof = under.bounds
    if cut.edging.name == "dense shoulder":
        beside = shapely.box(*((at, floor, high, roof) if out > 0 else (low, floor, at, roof)))
        draw.area(under.intersection(beside).intersection(yard), "dense-graded", pen=OUTLINE,
                  layer="shoulder of the edge")  # fmt: skip
    top = met.bounds[3]
    foot = min(FOOT_OUT, max(high - at if out > 0 else at - low, 0.02))
    screwed = cut.edging.fixing == "screws"
    deep, wide = (met.length, SCREW_WIDE) if screwed else (SPIKE, SPIKE_WIDE)
    parts = (
        upright(at, out, top, 0.0, THICK, UPRIGHT),
        upright(at, out, top, 0.0, foot, THICK),
        upright(at, out, top - deep, foot * 0.55, foot * 0.55 + wide, deep + 0.012),
        upright(at, out, top + THICK, foot * 0.55 - 0.007, foot * 0.55 + 0.016, 0.006),
    )
    whole = shapely.union_all(parts).intersection(yard)
    draw.area(whole, fill="#26302f", pen=Pen(0.1), layer="edge restraint")
