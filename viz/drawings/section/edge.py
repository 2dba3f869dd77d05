"""The edge of paving in a section: plastic, concrete, a border, or what has to hold it."""

from __future__ import annotations

from collections.abc import Sequence

import shapely
from shapely.geometry.base import BaseGeometry

from grading.section.built import Built
from grading.section.cut import Cut
from grading.section.edge import concrete_of, holder, upright
from viz.paper.drawing import HIDDEN, OUTLINE, Drawing, Pen

# Edge restraint as commonly sold: upright, foot, spike and screw. Common practice, no source.
UPRIGHT, FOOT_OUT, THICK = 0.045, 0.075, 0.006
SPIKE, SPIKE_WIDE = 0.25, 0.009
SCREW_WIDE = 0.005


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
    held = shapely.GeometryCollection([each.shape for each in built])
    for at, out in [(a, -1.0) for a, _ in cut.paved] + [(b, 1.0) for _, b in cut.paved]:
        # Where other paving goes on there is no edge to hold.
        if cut.other_at(at + out * 0.02) is None:
            _edge(draw, cut, at, out, yard, held)


def _edge(
    draw: Drawing, cut: Cut, at: float, out: float, yard: BaseGeometry, held: BaseGeometry
) -> None:
    """Draw plastic where the layer that it stands on goes on; what holds it where it is raised."""
    spreading = [solid.shape for solid in cut.solids if solid.role in ("base", "panel")]
    under = spreading[0] if spreading else shapely.Polygon()
    probe = shapely.LineString([(at + out * 0.04, -1e6), (at + out * 0.04, 1e6)])
    met = probe.intersection(under)
    set_in = cut.edging.fixing == "concrete"
    if cut.raised_at(at):
        flush = bool(spreading) and set_in and cut.free_at(at)
        outline = holder(cut, at, out)
        if held.intersects(outline):
            return
        if cut.edging.of_wall or flush or not met.is_empty:
            draw.lines(outline.boundary.intersection(yard), HIDDEN, "holder")
    elif set_in and cut.free_at(at):
        body, unit = concrete_of(cut, at, out)
        draw.area(yard.intersection(body), "concrete", pen=OUTLINE, layer="edge of concrete")
        if cut.edging.unit:
            draw.area(unit.intersection(yard), "paver", pen=OUTLINE, layer="border unit")
    elif not (cut.edging.of_wall or set_in or met.is_empty):
        _plastic(draw, cut, at, out, yard, under, met)


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
