"""The section of the page: what a cutting line meets, as the drawings have it, for the browser.

What is cut, the words beside it and the table of levels are those of the drawings of the section;
the browser draws them with the horizontal true and heights a stated number of times as large.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from typing import Any, NamedTuple

import numpy as np
import shapely
from msgspec import to_builtins

from grading.design.area import AreaPlan
from grading.design.door_steps import door_steps
from grading.geometry.tolerances import TOGETHER, TOLD_LEVEL
from grading.pipeline import Plan
from grading.section.built import Built
from grading.section.cut import Cut
from grading.section.line import Line, down_and_across, intervals
from grading.section.model import Which
from grading.units import Unit, length
from viz.desk.places import in_unit, place, placed
from viz.drawings.section.body import WALL, draw_body
from viz.drawings.section.built import built_labels, built_of, clear_of, edge_label, shown_in
from viz.drawings.section.detail import layer_labels, plain_labels
from viz.drawings.section.levels_table import level_rows, stations_of
from viz.drawings.section.notes import falls_told, sill_rows
from viz.drawings.section.sheet import way_of
from viz.paper.drawing import Area, Drawing, Pen, Polyline, Text, Turf
from viz.paper.hatch import LOOSE, OTHER, TONES
from viz.words.figures import small, stretch
from viz.words.plain import opened, table

Points = tuple[tuple[float, float], tuple[float, float]]

STRETCHES = (1, 2, 3, 4, 5, 6, 8)
"""How many times as large heights may be drawn; the browser takes the one that fits its room."""

_EARTH = 0.10  # m of undisturbed soil shown below all that is dug
_DEEP = 10.0  # m: soil is drawn down to the foot of the picture
_AIR = 0.08  # m shown over all that stands
_BEHIND = 0.3  # m shown behind the face of a wall
_AS_SEEN = 3  # rows of levels that a homeowner is told: along the edge, the finish, the ground
_STATION = 0.06  # m inside the edge: where the layers are told
_BESIDE = 0.06  # m from an end of the picture: where the ground is told
_CELLS = 200.0  # mm: the table is made for so wide a sheet, that its stations are few


class Way(NamedTuple):
    """A cut that is offered: what it is called, and two points of its line [m]."""

    name: str
    words: str
    line: Points


def ways_of(plan: Plan, area: AreaPlan) -> Iterator[Way]:
    """Yield the cuts that are offered of an area: out from each door, down the fall, across it.

    Parameters
    ----------
    plan : Plan
    area : AreaPlan
    """
    found = list(_doors(plan, area))
    yield from found
    whiches: tuple[Which, Which] = ("down", "across")
    for which, line in zip(whiches, down_and_across(plan, area), strict=True):
        ends = _ends(line, area)
        if not any(np.allclose(ends, way.line, rtol=0.0, atol=TOGETHER) for way in found):
            yield Way(which, way_of(area, which, plan), ends)


def _doors(plan: Plan, area: AreaPlan) -> Iterator[Way]:
    house = plan.site.house
    if house is None:
        return
    for step in door_steps(area):
        wall = house.wall_of(np.asarray(step.door.at, float))
        line = Line(np.asarray(wall.foot, float), np.asarray(wall.outward, float))
        if _met(area, line):
            yield Way(f"door {step.door.name}", f"out from {step.door.name}", _ends(line, area))


def line_through(
    plan: Plan, points: Points, prefer: AreaPlan | None = None
) -> tuple[AreaPlan, Line] | None:
    """Return the area that a line through two points [m] cuts, and the line through its paving.

    None where the points are one, or the line meets no paving.

    Parameters
    ----------
    plan : Plan
    points : two points
        The first is drawn on the left.
    prefer : AreaPlan, optional
        Cut where the line meets it at all; else the area that it runs longest through from the
        first point to the second, and then before and after them.
    """
    start, end = np.asarray(points, float)
    long = float(np.hypot(*(end - start)))
    if not np.isfinite(long) or long < TOGETHER:
        return None
    line = Line(start, (end - start) / long)
    found = [(area, _met(area, line)) for area in plan.areas]
    met = [(area, spans) for area, spans in found if spans]
    if not met:
        return None

    def runs(area: AreaPlan, spans: Sequence[tuple[float, float]]) -> tuple[bool, float, float]:
        between = [min(b, long) - max(a, 0.0) for a, b in spans]
        return area is prefer, sum(max(each, 0.0) for each in between), sum(b - a for a, b in spans)

    area, spans = max(met, key=lambda each: runs(*each))
    first, last = max(spans, key=lambda span: span[1] - span[0])
    return area, Line(start + line.along * (first + last) / 2, line.along)


def _met(area: AreaPlan, line: Line) -> list[tuple[float, float]]:
    """Return where a line lies on an area's paving, as distances from its point. [m]"""
    x0, y0, x1, y1 = area.outline.bounds
    away = float(np.hypot(*(np.array([(x0 + x1) / 2, (y0 + y1) / 2]) - line.through)))
    reach = away + float(np.hypot(x1 - x0, y1 - y0))
    drawn = shapely.LineString(
        [line.through - line.along * reach, line.through + line.along * reach]
    )
    return [(a - reach, b - reach) for a, b in intervals(drawn, area.outline)]


def _ends(line: Line, area: AreaPlan) -> Points:
    spans = _met(area, line)
    ends = (spans[0][0], spans[-1][1]) if spans else (0.0, 1.0)
    first, last = (line.through + line.along * s for s in ends)
    return (float(first[0]), float(first[1])), (float(last[0]), float(last[1]))


def cut_record(
    plan: Plan, area: AreaPlan, line: Line, *, base: str | None = None, whole: bool = True,
    home: bool = False,
) -> dict[str, Any]:  # fmt: skip
    """Return what a line meets, for the browser; places and levels in the site's unit.

    Parameters
    ----------
    plan : Plan
    area : AreaPlan
    line : Line
    base : str, optional
        Another base system than the one that the area is planned on.
    whole : bool
        Whether what is built beside the paving is shown too: it is known once the order is.
    home : bool
        Whether it is told in the words of who lives there, without what only the dig asks for.
    """
    unit = plan.site.unit
    base = base if base in area.digs else area.chosen
    cut = plan.sections.along(area, line, base)
    # What is built is what the base that is planned asks for.
    built = built_of(plan.order, cut) if whole and base == area.chosen else ()
    cut = clear_of(cut, built)
    window = _window(cut)
    drawing = Drawing("section")
    draw_body(drawing, cut, window, _DEEP, built)
    low, floor, high, roof = (in_unit(each, unit) for each in window.bounds)
    first, last = cut.plan_point(cut.ends[0]), cut.plan_point(cut.ends[1])
    said = list(_said(cut, unit, home))
    return {
        "area": area.name,
        "base": base,
        "title": f"{opened(area.name)}: {cut.system.called}",
        "line": [place(first, unit), place(last, unit)],
        "window": [low, floor, high, roof],
        "side": int(cut.layers_at[1]),
        "parts": list(_parts(drawing, unit)),
        "labels": list(_labels(cut, unit)),
        "layers": list(_layers(cut, built, window, unit, home)),
        "said": said,
        "alt": f"Section through {area.name}. {' '.join(said)}",
        "levels": _levels(cut, unit, home),
        "stretches": [{"times": times, "words": _stretched(times)} for times in STRETCHES],
        "tones": tones_of(part.material for part in drawing.parts if isinstance(part, Area)),
    }


def _window(cut: Cut) -> shapely.Polygon:
    """Return what is shown, in distance and level. [m]"""
    low, high = cut.ends
    for wall in cut.walls:
        low, high = (low - _BEHIND, high) if wall.side < 0 else (low, high + _BEHIND)
    sills = [wall.sill for wall in cut.walls if wall.sill is not None]
    return shapely.box(low, cut.deepest - _EARTH, high, max([cut.highest, *sills]) + _AIR)


def _stretched(times: int) -> str:
    if times == 1:
        return "Heights and lengths to one scale."
    return f"Heights are drawn {times} times as large as lengths."


def tones_of(materials: Iterable[str]) -> dict[str, dict[str, Any]]:
    """Return the tones of materials, as the drawings have them, for the patterns of the page."""
    keys = {known_material(each) for each in materials} & set(TONES)
    return {key: to_builtins(TONES[key]) for key in sorted(keys)}


def known_material(material: str) -> str:
    """Return a material by the name that its tone has; another is drawn as stone."""
    return material if material in TONES or material in ("", "turf") else OTHER


def _parts(drawing: Drawing, unit: Unit) -> Iterator[dict[str, Any]]:
    """Yield what was recorded of areas, lines and grass, in the order in which it is drawn."""
    for part in drawing.parts:
        if isinstance(part, Area):
            material = known_material(part.material)
            pen = part.pen
            if pen is None and material and material not in LOOSE:
                pen = Pen(0.18, TONES[material].line)
            yield {
                "is": "area", "rings": [placed(ring, unit) for ring in part.rings],
                "name": part.layer, "material": material, "fill": part.fill,
                "pen": to_builtins(pen),
            }  # fmt: skip
        elif isinstance(part, Polyline):
            yield {"is": "line", "points": placed(part.points, unit), "pen": to_builtins(part.pen),
                   "closed": part.closed}  # fmt: skip
        elif isinstance(part, Turf):
            yield {"is": "turf", "points": placed(part.points, unit)}
        elif isinstance(part, Text):
            yield {"is": "text", "at": place(part.at, unit), "words": part.words}


def _labels(cut: Cut, unit: Unit) -> Iterator[dict[str, Any]]:
    """Yield the words over the picture: levels of the finish, how it falls, the sills."""
    for s in cut.paving:
        z = float(cut.finish_at(s))
        yield {"kind": "level", "at": place((s, z), unit), "words": [length(z, unit)]}
    for start, end, rise, words in falls_told(cut, unit):
        every = cut.stops(start, end)
        top = max(float(cut.finish_at(every).max()), float(cut.ground_at(every).max()))
        yield {
            "kind": "fall", "at": place(((start + end) / 2, top), unit),
            "words": [opened(words)], "span": [in_unit(start, unit), in_unit(end, unit)],
            "way": 0 if abs(rise) < TOLD_LEVEL else (1 if rise < 0 else -1),
        }  # fmt: skip
    for wall in cut.walls:
        z = float(cut.finish_at(wall.at)) if wall.sill is None else wall.sill
        back = wall.at + wall.side * WALL
        yield {"kind": "wall", "at": place((back, z), unit), "side": int(wall.side),
               "words": sill_rows(cut, wall, unit)}  # fmt: skip
    for other in cut.others:
        for low, high in other.paved:
            at = ((low + high) / 2, float(other.finish_at((low + high) / 2)))
            yield {"kind": "other", "at": place(at, unit), "words": [other.name]}


def _layers(
    cut: Cut, built: Sequence[Built], window: shapely.Polygon, unit: Unit, home: bool
) -> Iterator[dict[str, Any]]:
    """Yield what lies where, from the top down, each with the place that it speaks of."""
    at, out = cut.layers_at
    s = min(max(at - out * _STATION, cut.paving[0]), cut.paving[1])
    materials = [bed.material for bed in cut.beds_at(s)]
    labels = plain_labels(cut, s, unit) if home else layer_labels(cut, s, unit)
    for number, (x, z, words) in enumerate(labels):
        material = materials[number] if number < len(materials) else "soil"
        yield _layer((x, z), words, material, unit)
    called = table("section")
    far = cut.ends[1] - _BESIDE if out > 0 else cut.ends[0] + _BESIDE
    if cut.other_at(far, 0.0) is None:
        words = called["ground"] if home else "existing ground"
        yield _layer((far, float(cut.ground_at(far))), words, "turf", unit)
        if cut.has_organics:
            z = (float(cut.ground_at(far)) + float(cut.organics_at(far))) / 2
            words = called["topsoil"] if home else "topsoil and organics"
            yield _layer((far, z), words, "topsoil", unit)
    here = shown_in(built, window)
    for x, z, words in built_labels(here, unit):
        point = shapely.Point(x, z)
        nearest = min(here, key=lambda each: float(each.shape.distance(point)))
        yield _layer((x, z), words, nearest.material, unit)
    beside = not here and cut.other_at(at + out * 0.02) is None and cut.free_at(at)
    if beside and (label := edge_label(cut, at, out)):
        x, z, words = label
        words = called["edge"] if home and not cut.raised_at(at) else words
        yield _layer((x, z), words, "", unit)


def _layer(at: tuple[float, float], words: str, material: str, unit: Unit) -> dict[str, Any]:
    return {"at": place(at, unit), "words": words, "material": known_material(material)}


def _said(cut: Cut, unit: Unit, home: bool) -> Iterator[str]:
    """Yield what the picture tells, in sentences."""
    first, last = cut.paving
    yield f"{stretch(last - first, unit)} of paving along this line."
    for _, _, _, words in falls_told(cut, unit):
        yield f"{opened(words)}."
    for wall in cut.walls:
        if wall.sill is not None:
            yield f"{' '.join(sill_rows(cut, wall, unit))}."
    deep = small(cut.system.build_up, unit)
    told = table("section")["deep"] if home else "{deep} from the finish down to the subgrade."
    yield told.format(deep=deep)


def _levels(cut: Cut, unit: Unit, home: bool) -> dict[str, Any]:
    stations = stations_of(cut, _CELLS / max(cut.paving[1] - cut.paving[0], 1.0), unit)
    rows = level_rows(cut, unit, stations)
    rows = rows[:_AS_SEEN] if home else rows
    return {
        "at": [in_unit(float(s), unit) for s in stations],
        "rows": [{"name": name, "cells": cells} for name, _, cells in rows],
    }
