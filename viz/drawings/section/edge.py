"""The edge of paving in a section: plastic, concrete, a border, or what has to hold it."""

from __future__ import annotations

from typing import Any

import shapely

from viz.drawings.section.cut import EDGE, Cut
from viz.paper.drawing import HIDDEN, OUTLINE, Drawing, Pen

# Edge restraint as commonly sold: upright, foot, spike and screw. Common practice, no source.
UPRIGHT, FOOT_OUT, THICK = 0.045, 0.075, 0.006
SPIKE, SPIKE_WIDE = 0.25, 0.009
SCREW_WIDE = 0.005
HOLDER, BURIED = 0.25, 0.15
"""What holds a raised edge is outlined so thick, and so deep in the ground: nobody has designed
it. [m]"""


def draw_edges(draw: Drawing, cut: Cut, yard: Any) -> None:
    """Draw what is laid along the ends of the paving, and outline what has to hold them.

    Parameters
    ----------
    draw : The recording.
    cut : The cut.
    yard : shapely geometry in distance and elevation. [m]
    """
    for at, out in [(a, -1.0) for a, _ in cut.paved] + [(b, 1.0) for _, b in cut.paved]:
        # Where other paving goes on there is no edge to hold.
        if cut.other_at(at + out * 0.02) is not None:
            continue
        if cut.edging.of_wall:
            if cut.raised_at(at):
                draw.lines(holder(cut, at, out).boundary.intersection(yard), HIDDEN, "holder")
            continue
        if cut.edging.fixing == "concrete" and cut.free_at(at) and not cut.raised_at(at):
            _concrete(draw, cut, at, out, yard)
            continue
        _plastic(draw, cut, at, out, yard)


def _plastic(draw: Drawing, cut: Cut, at: float, out: float, yard: Any) -> None:
    """Draw plastic where the layer that it stands on goes on; what holds it where it is raised."""
    spreading = [solid for solid in cut.solids if solid.role in ("base", "panel")]
    if not spreading:
        return
    under = spreading[0].shape
    probe = shapely.LineString([(at + out * 0.04, -1e6), (at + out * 0.04, 1e6)])
    met = shapely.intersection(probe, under)
    flush = cut.edging.fixing == "concrete" and cut.free_at(at)
    if cut.raised_at(at) and (flush or not met.is_empty):
        draw.lines(holder(cut, at, out).boundary.intersection(yard), HIDDEN, "holder")
        return
    if met.is_empty or cut.edging.fixing == "concrete":
        return
    if cut.edging.name == "dense shoulder":
        low, floor, high, roof = under.bounds
        beside = (
            shapely.box(at, floor, high, roof) if out > 0 else shapely.box(low, floor, at, roof)
        )
        draw.area(under.intersection(beside).intersection(yard), "dense-graded", pen=OUTLINE,
                  layer="shoulder of the edge")  # fmt: skip
    top = met.bounds[3]
    foot = min(FOOT_OUT, _room(under, at, out))
    stem = _upright(at, out, top, 0.0, THICK, UPRIGHT)
    toe = _upright(at, out, top, 0.0, foot, THICK)
    deep = met.length if cut.edging.fixing == "screws" else SPIKE
    wide = SCREW_WIDE if cut.edging.fixing == "screws" else SPIKE_WIDE
    pin = _upright(at, out, top - deep, foot * 0.55, foot * 0.55 + wide, deep + 0.012)
    head = _upright(at, out, top + THICK, foot * 0.55 - 0.007, foot * 0.55 + 0.016, 0.006)
    whole = shapely.union_all([stem, toe, pin, head]).intersection(yard)
    draw.area(whole, fill="#26302f", pen=Pen(0.1), layer="edge restraint")


def concrete_of(cut: Cut, at: float, out: float) -> tuple[Any, Any]:
    """Return the concrete of an edge and the unit of a border before it, in section. [m]

    Parameters
    ----------
    cut : Cut
    at : The edge of the paving, a distance along the cut. [m]
    out : +1 where the yard lies after it, -1 before it.
    """
    how, finish, slant = cut.edging, float(cut.finish_at(at)), cut.slant_at(at)
    near, far = how.unit * slant, how.wide * slant
    foot = finish - how.deep
    unit = _upright(at, out, finish - how.tall, 0.0, near, how.tall)
    bed = _upright(at, out, foot, 0.0, near, how.deep - how.tall)
    behind = _upright(at, out, foot, near, far, max(how.deep - how.top, 0.0))
    return (shapely.union_all([bed, behind]) if how.unit else behind), unit


def _concrete(draw: Drawing, cut: Cut, at: float, out: float, yard: Any) -> None:
    body, unit = concrete_of(cut, at, out)
    draw.area(body.intersection(yard), "concrete", pen=OUTLINE, layer="edge of concrete")
    if cut.edging.unit:
        draw.area(unit.intersection(yard), "paver", pen=OUTLINE, layer="border unit")


def holder(cut: Cut, at: float, out: float) -> Any:
    """Return the outline of what has to hold a raised edge: outside the dig, into the ground. [m]

    Parameters
    ----------
    cut : Cut
    at : The edge of the paving, a distance along the cut. [m]
    out : +1 where the yard lies after it, -1 before it.
    """
    dug = [edge for span in cut.dug for edge in span if (edge - at) * out > EDGE]
    face = min(dug, key=lambda edge: abs(edge - at), default=at)
    ground = float(cut.ground_at(face + out * HOLDER))
    foot = min(ground, float(cut.ground_at(face))) - BURIED
    return _upright(face, out, foot, 0.0, HOLDER, float(cut.finish_at(face)) - foot)


def _room(under: Any, at: float, out: float) -> float:
    low, _, high, _ = under.bounds
    return max(float(high - at if out > 0 else at - low), 0.02)


def _upright(at: float, out: float, z: float, near: float, far: float, high: float) -> Any:
    a, b = at + out * near, at + out * far
    return shapely.box(min(a, b), z, max(a, b), z + high)
