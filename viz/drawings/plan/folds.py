"""How a finish falls, in plan: an arrow for each plane, and its folds with their names."""

from __future__ import annotations

from collections.abc import Callable, Sequence

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from grading.design.area import AreaPlan
from grading.design.folds import Fold, Pane, panes_of, warped
from grading.geometry.arrays import Floats
from grading.geometry.tolerances import TOLD_LEVEL
from grading.units import Unit, slope
from viz.drawings.plan.view import reach_of
from viz.paper.compose import View
from viz.paper.drawing import FAINT, FINE, Pen
from viz.paper.lettering import extent

Told = Callable[[float], str]
"""Writes a fall. [ratio]"""

FOLD = Pen(0.35, "#1a1a1a", (4.0, 0.8, 0.6, 0.8, 0.6, 0.8))
APART = 15.0  # mm between the marks along a fold
MARK = 2.8  # mm: length of a mark beside a fold


def draw_fall(
    view: View, area: AreaPlan, unit: Unit, told: Told | None = None, least: float = 5.0,
    long: float = 13.0, things: BaseGeometry | None = None,
) -> None:  # fmt: skip
    """Record an arrow of the fall with its figures on every plane of the finish.

    Parameters
    ----------
    view : View
    area : AreaPlan
    unit : "ft" or "m"
    told : callable, optional
        Writes a fall; as `slope` does where it is left out.
    least, long : float
        How long half an arrow is, at the least and at the most. [mm]
    things : shapely geometry, optional
        What stands on the paving: the arrow of a finish of one plane is drawn clear of it. [m]
    """
    panes = panes_of(area)
    said = told or (lambda fall: slope(fall, unit))
    first = "" if told else "fall "
    if len(panes) == 1:
        inside = area.outline.buffer(-view.scale.metres(5.0))
        home = (inside if not inside.is_empty else area.outline).representative_point()
        at = np.asarray(home.coords[0])
        if things is not None:
            at = _clear_of(things, inside, at, panes[0], view.scale.metres(long))
        _arrow(view, panes[0], at, said, first, long, least=least)
        return
    if not warped(panes):
        for pane in panes:
            _arrow(view, pane, pane.place, said, long=long, least=least)
        return
    for at in _spread(area.outline):
        here = shapely.Point(at)
        pane = min(panes, key=lambda pane: float(pane.region.distance(here)))
        _arrow(view, pane, at, said, long=8.0, shape=area.outline, least=least)


def _clear_of(
    things: BaseGeometry, inside: BaseGeometry, at: Floats, pane: Pane, half: float
) -> Floats:
    """Return the middle of an arrow that meets nothing that stands there, or where it was. [m]"""
    way = half * np.asarray(pane.plane.downhill, float)
    if not things.intersects(shapely.LineString([at - way, at + way])):
        return at
    free = shapely.get_parts(inside.difference(things.buffer(half / 2)))
    if not len(free):
        return at
    largest = free[shapely.area(free).argmax()]
    return np.asarray(shapely.get_coordinates(shapely.point_on_surface(largest))[0])


def _spread(outline: BaseGeometry) -> list[Floats]:
    """Return points all over paving at which a warped finish is told. [m]"""
    left, bottom, right, top = outline.bounds
    shares = ((0.5, 0.5), (0.2, 0.22), (0.8, 0.22), (0.2, 0.78), (0.8, 0.78))
    places = [np.array([left + x * (right - left), bottom + y * (top - bottom)]) for x, y in shares]
    return [at for at in places if outline.contains(shapely.Point(at))]


def _arrow(
    view: View, pane: Pane, middle: Floats, said: Told, first: str = "", long: float = 13.0,
    shape: BaseGeometry | None = None, least: float = 5.0,
) -> None:  # fmt: skip
    plane, draw = pane.plane, view.drawing
    if plane.fall < TOLD_LEVEL:
        draw.text(middle, "finish is level", size=2.8, bold=True, ground=True, layer="fall")
        return
    way = np.asarray(plane.downhill, float)
    near, far = reach_of(shape or pane.region, middle, way)
    half = max(min(view.scale.metres(long), -near, far), view.scale.metres(least))
    draw.arrow(middle - way * half, middle + way * half, pen=Pen(0.5), head=4.0, layer="fall")
    words = first + said(plane.fall)
    shown = view.way(way)
    normal = np.array([-shown[1], shown[0]])
    clear = abs(normal[0]) * (extent(words, 2.8, True)[0] / 2 + 1) + abs(normal[1]) * 1.4 + 1.6
    sides = [tuple((normal * clear * k).tolist()) for k in (1.0, -1.0, 1.6, -1.6)]
    draw.text(middle, words, size=2.8, bold=True, shift=sides[0], ground=True, layer="fall",
              leads=True, others=tuple(sides[1:]))  # fmt: skip


def draw_folds(
    view: View, folds: Sequence[Fold], unit: Unit, *, many: bool, named: bool = True
) -> None:
    """Record the folds of a finish.

    Parameters
    ----------
    view : View
    folds : sequence of Fold
    unit : "ft" or "m", that falls are written in.
    many : Whether the finish is warped: thin lines then, and no names.
    named : Whether their names are written beside them.
    """
    draw = view.drawing
    for fold in folds:
        if many:
            draw.line(fold.line, FAINT, "ruling")
            continue
        draw.line(fold.line, FOLD, "fold")
        _marks(view, fold)
        if named:
            _name(view, fold, unit)


def _marks(view: View, fold: Fold) -> None:
    """Small arrows beside a fold: away from a ridge, into a valley, across another fold."""
    start, end = fold.line
    long = float(np.hypot(*(end - start)))
    along = (end - start) / long
    across = np.array([-along[1], along[0]])
    count = max(1, int(view.scale.mm(long) / APART))
    near, far = view.scale.metres(0.7), view.scale.metres(0.7 + MARK)
    for share in (np.arange(count) + 0.5) / count:
        at = start + share * (end - start)
        for side in (across, -across):
            inner, outer = at + side * near, at + side * far
            ends = (inner, outer) if fold.kind != "valley" else (outer, inner)
            if fold.kind == "fold":
                view.drawing.line(ends, FINE, "fold mark")
            else:
                view.drawing.arrow(*ends, pen=FINE, head=1.5, layer="fold mark")


def _name(view: View, fold: Fold, unit: Unit) -> None:
    start, end = fold.line
    along = (end - start) / np.hypot(*(end - start))
    falls = "level" if fold.fall < TOLD_LEVEL else f"falls {slope(fold.fall, unit)}"
    words = f"{fold.kind}, {falls}"
    turn = view.tilt(float(np.degrees(np.arctan2(along[1], along[0]))))
    along = view.way(along)
    across = np.array([-along[1], along[0]])
    # Outside the small arrows, whose middle gap is half their spacing away.
    aside = 0.7 + MARK + 2.0
    long = view.scale.mm(float(np.hypot(*(end - start))))
    shifts = [
        tuple((across * side * aside * more + along * step * long).tolist())
        for more in (1.0, 1.5)
        for step in (0.0, -0.15, 0.15, -0.27, 0.27)
        for side in (1.0, -1.0)
    ]
    view.drawing.text(
        (start + end) / 2, words, size=2.3, bold=True, rotation=turn, shift=shifts[0],
        ground=True, others=tuple(shifts[1:]), layer="fold name",
    )  # fmt: skip
