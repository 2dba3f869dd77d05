"""What a site has beside its paving, in plan: things on it, what it meets, ceilings, floors."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import TypeVar

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from grading.design.area import AreaPlan
from grading.geometry.tolerances import SLIVER, TOUCH
from grading.pipeline import Plan
from grading.site.tables import Ceiling, Floor, Meet
from grading.units import Unit
from viz.paper.compose import View
from viz.paper.drawing import FINE, HIDDEN, OUTLINE, Pen
from viz.paper.lettering import extent
from viz.words.figures import level

Marked = TypeVar("Marked", bound=Floor | Ceiling | Meet)

MET = Pen(1.7, "#9a9a9a")  # a broad band: it shows on both sides of the outline
CEILING = Pen(0.25, "#1a1a1a", (0.5, 0.7))
FLOOR = Pen(0.2, "#4d6b2f", (2.4, 0.8, 0.5, 0.8))
BESIDE = 1.0  # mm: a ceiling is drawn this far outside its wall
_SIZE = 2.0


def draw_site_marks(
    view: View, plan: Plan, area: AreaPlan, window: BaseGeometry, *, named: bool = True
) -> None:
    """Record features, what the paving meets, ceilings and floors within a window of the plan.

    Parameters
    ----------
    view : View
    plan, area : Plan, AreaPlan
    window : shapely geometry
        What is shown. [m]
    named : bool
        Whether their names are written where there is room.
    """
    unit = plan.site.unit
    for floor in _of(area, plan.site.floors):
        _line(view, floor, FLOOR, "floor", (floor.name or floor.kind) if named else "", window)
    for ceiling in _of(area, plan.site.ceilings):
        _ceiling(view, plan, ceiling, window, unit, named)
    for meet in _of(area, plan.site.meets):
        words = f"meets {meet.name}" if named and meet.name else ""
        _line(view, meet, MET, "what is met", words, window)
    for base in own_bases(plan, window):
        view.drawing.lines(base.boundary.intersection(window), HIDDEN, "own base")
    draw_features(view, plan, window, named=named)


def _of(area: AreaPlan, lines: Iterable[Marked]) -> Iterator[Marked]:
    """Yield the lines that an area has to do with."""
    return (line for line in lines if line.area in (None, area.area.name))


def own_bases(plan: Plan, window: BaseGeometry) -> list[BaseGeometry]:
    """Return the bases that things have of their own, as they are planned, within a window. [m]"""
    return [
        seat.own_base.pad
        for seat in plan.advice.features
        if seat.stands == "own base" and seat.own_base and seat.own_base.pad.intersects(window)
    ]


def draw_features(view: View, plan: Plan, window: BaseGeometry, *, named: bool = True) -> None:
    """Record the things that stand on the paving, with their names where there is room."""
    draw = view.drawing
    for feature in plan.site.features:
        shape = feature.polygon.intersection(window)
        if shape.is_empty or shape.area < SLIVER:
            continue
        draw.area(shape, fill="#ffffff", pen=OUTLINE, layer="feature")
        (x0, y0), (x1, y1) = (ends(view.ring(feature.polygon.exterior.coords), axis=0)
                              for ends in (np.min, np.max))  # fmt: skip
        inset = shape.buffer(-view.scale.metres(0.9))
        if not inset.is_empty:
            draw.lines(inset.boundary, FINE, "feature")
        # What is shown in part is named where all of it is.
        if not named or not window.contains(feature.polygon.centroid):
            continue
        words = feature.name or feature.kind
        up = float(y1 - y0) / 2 + 2.2
        aside = float(x1 - x0) / 2 + extent(words, _SIZE)[0] / 2 + 1.4
        at = feature.polygon.centroid.coords[0]
        draw.text(at, words, size=_SIZE, ground=True, shift=(0.0, -up), optional=True,
                  layer="feature name",
                  others=((0.0, up), (aside, 0.0), (-aside, 0.0), (aside, up), (-aside, up),
                          (aside, -up), (-aside, -up), (0.0, -up - 3.0),
                          (0.0, up + 3.0)))  # fmt: skip


def _line(
    view: View, line: Floor | Meet, pen: Pen, layer: str, words: str, window: BaseGeometry
) -> None:
    at = np.array(line.at, float).reshape(-1, 2)
    if len(at) == 1:
        if window.contains(shapely.Point(at[0])):
            view.drawing.symbol("existing", at[0], size=2.4, layer=layer)
            _name(view, shapely.LineString([at[0], at[0] + (TOUCH, 0.0)]), words, layer)
        return
    shown = shapely.LineString(at).intersection(window)
    view.drawing.lines(shown, pen, layer)
    # Outside the window nothing is left of it, which counts as a line too, of no points.
    parts = [part for part in shapely.get_parts(shown) if part.length > 0]
    if parts:
        _name(view, max(parts, key=lambda part: float(part.length)), words, layer)


def _name(view: View, line: shapely.LineString, words: str, layer: str) -> None:
    """Write words beside a line, along it, where there is room."""
    if not words:
        return
    wide = extent(words, _SIZE)[0]
    home = np.array(view.paper(line.interpolate(0.5, normalized=True).coords[0]))
    (ax, ay), (bx, by) = line.coords[0], line.coords[-1]
    turn = view.tilt(float(np.degrees(np.arctan2(by - ay, bx - ax))))
    if view.scale.mm(line.length) < wide * 0.6:
        turn = 0.0
    up = np.array([-np.sin(np.radians(turn)), np.cos(np.radians(turn))])
    shifts = []
    for share in (0.5, 0.35, 0.65, 0.2, 0.8, 0.1, 0.9):
        there = np.array(view.paper(line.interpolate(share, normalized=True).coords[0])) - home
        for aside in (1.9, -1.9, 4.2, -4.2):
            shifts.append(tuple((there + up * aside).tolist()))
    view.drawing.text(
        line.interpolate(0.5, normalized=True).coords[0], words, size=_SIZE, rotation=turn,
        ground=True, shift=shifts[0], others=tuple(shifts[1:]), optional=True, layer=layer,
    )  # fmt: skip


def _ceiling(
    view: View, plan: Plan, line: Ceiling, window: BaseGeometry, unit: Unit, named: bool
) -> None:
    """A dotted line just outside the wall, or a mark where the ceiling is a point."""
    z = np.broadcast_to(np.asarray(line.z, float), (len(line.at),))
    words = f"{line.name or line.kind} {level(float(z.min()), unit).split(' (')[0]}"
    if len(line.at) == 1:
        at = np.array(line.at[0], float)
        if window.contains(shapely.Point(at)):
            view.drawing.symbol("vent", at, size=2.6, layer="ceiling")
            half = extent(words, _SIZE)[0] / 2 + 2.2
            if named:
                view.drawing.text(
                    at, words, size=_SIZE, ground=True, shift=(0.0, 3.2), optional=True,
                    others=((0.0, -3.2), (half, 0.0), (-half, 0.0), (half, 3.0), (-half, 3.0)),
                    layer="ceiling",
                )  # fmt: skip
        return
    wall = shapely.LineString(np.array(line.at, float))
    sides = [wall.offset_curve(side * view.scale.metres(BESIDE)) for side in (1.0, -1.0)]
    shown: BaseGeometry = wall
    if plan.site.house is not None:
        body = plan.site.house.polygon(1.0)
        shown = min(sides, key=lambda side: float(side.intersection(body).length))
    view.drawing.lines(shown.intersection(window), CEILING, "ceiling")


def site_keys(plan: Plan, area: AreaPlan, window: BaseGeometry) -> list[tuple[Pen | str, str]]:
    """Return the rows of a key for what `draw_site_marks` drew: pen or mark, and words."""

    def shown(lines: Iterable[Floor | Ceiling | Meet], points: bool = False) -> bool:
        return any(
            (len(line.at) == 1) == points
            and shapely.MultiPoint(line.at).convex_hull.intersects(window)
            for line in _of(area, lines)
        )

    site = plan.site
    things = any(feature.polygon.intersects(window) for feature in site.features)
    rows: list[tuple[bool, Pen | str, str]] = [
        (shown(site.meets), MET, "what the paving meets"),
        (shown(site.ceilings), CEILING, "siding or the like over it"),
        (shown(site.ceilings, True), "vent", "vent or the like, its level"),
        (shown(site.floors), FLOOR, "what it must stay above"),
        (things, "feature", "thing that stands on it"),
        (bool(own_bases(plan, window)), HIDDEN, "its own base, below the pavers"),
    ]
    return [(mark, words) for there, mark, words in rows if there]
