"""Will water go to my basement? A plan with an arrow away from each foundation wall."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from grading.design.area import AreaPlan
from grading.dig.drainage import WallFall
from grading.geometry.arrays import Floats, unit_vector
from grading.geometry.tolerances import TOLD_LEVEL
from grading.pipeline import Plan
from grading.site.model import Door
from grading.units import Unit, inches, millimetres, slope
from grading.units.shares import share_words
from grading.water.course import FOUNDATION
from grading.water.edges import LowEdge
from grading.water.model import AreaWater
from grading.water.words import (
    around_sentences,
    by_house,
    ends_of,
    ground_words,
    rain_words,
    spouts_to_house,
    to_words,
    verdict_words,
)
from viz.drawings.answers.page import BODY, Row, answer_sheet, column, foot
from viz.drawings.placing import place_plan
from viz.drawings.plan.view import HOUSE, draw_house
from viz.drawings.plan.water_marks import BLUE, EDGE, WAY, draw_way
from viz.paper.compose import Sheet, View
from viz.paper.drawing import OUTLINE, Pen
from viz.paper.lettering import extent
from viz.paper.page import Box
from viz.words.paving.falls import from_the_house, wall_fall_parts

QUESTION = "Will water go to my basement?"
SIDE = 66.0  # mm: the walls, told one by one
AROUND = 0.65  # m shown around the paving
BEYOND = 1.4  # m of a way shown beyond it
APART = 20.0  # mm between arrows along a wall
_ON_IT = 0.01  # m: a stretch this near to a free edge is along it
_AWAY = Pen(0.7, BLUE)


def water_answer(plan: Plan, area: AreaPlan) -> tuple[str, str, str, Sheet]:
    """Return key, question, words and sheet: where the water of an area runs."""
    sheet = answer_sheet("water", QUESTION)
    unit = plan.site.unit
    water = plan.water.of(area)
    window = _window(plan, area)
    room = Box(BODY.x0, BODY.y0, BODY.x1 - SIDE - 3, BODY.y1)
    view = place_plan(window, room, unit, QUESTION)
    sheet.views.append(view)
    draw = view.drawing
    for other in plan.areas:
        shape = other.outline.intersection(window)
        draw.area(shape, fill="#f1eee9" if other is area else "#f8f7f5", layer="paving")
    draw_house(view, plan, window, sills=False)
    draw.lines(area.outline.boundary, OUTLINE, "outline of paving")
    for number, fall in enumerate(area.walls, start=1):
        _arrows(view, fall, number, window, plan.site.doors, unit)
    told: set[str] = set()
    free = shapely.union_all(area.free_edges).buffer(_ON_IT)
    for edge in water.edges:
        draw.lines(shapely.intersection(edge.stretch, free), EDGE, "low edge")
        draw_way(view, edge.path, WAY, window)
        if edge.destination not in told:
            told.add(edge.destination)
            _end(view, edge, water, window)
    place = Box(BODY.x1 - SIDE, BODY.y0, BODY.x1, BODY.y1)
    column(sheet, place, list(_rows(plan, area, unit)), 2.8)
    foot(sheet, unit, view.scale, "a plan, seen from above.", axes=True)
    return "water", QUESTION, words_of(plan, area), sheet


def _window(plan: Plan, area: AreaPlan) -> BaseGeometry:
    """Return the paving with what is next to it, longer the way that its water leaves."""
    x0, y0, x1, y1 = area.outline.buffer(AROUND).bounds
    ways = [shapely.LineString(edge.path) for edge in plan.water.of(area).edges
            if len(edge.path) > 1]  # fmt: skip
    near = area.outline.buffer(BEYOND).envelope
    kept = [shapely.box(x0, y0, x1, y1), *(way.intersection(near) for way in ways)]
    return shapely.union_all(kept).envelope


def _arrows(
    view: View, fall: WallFall, number: int, window: BaseGeometry, doors: Sequence[Door], unit: Unit
) -> None:
    """Arrows out from a wall, as far as the paving in front of it; back where it falls back."""
    wall, draw = fall.wall, view.drawing
    start, end = np.asarray(wall.start), np.asarray(wall.end)
    shown = shapely.LineString([start, end]).intersection(window)
    along = unit_vector(end - start)
    outward = np.asarray(wall.outward)
    at = (shapely.get_coordinates(wall.front) - start) @ along
    first, last = float(at.min()), float(at.max())
    count = max(1, min(5, int(view.scale.mm(last - first) / APART)))
    arrows: list[list[Floats]] = []
    for share in (np.arange(count) + 0.5) / count:
        foot_ = start + along * (first + share * (last - first))
        ray = shapely.LineString([foot_, foot_ + outward * fall.distance])
        met = shapely.get_coordinates(ray.intersection(wall.front))
        if len(met) < 2:
            continue
        out = (met - foot_) @ outward
        pair = [foot_ + outward * float(out.min()), foot_ + outward * float(out.max())]
        pair = [pair[0] + outward * view.scale.metres(0.8), pair[1]]
        if fall.fall_away < 0:
            pair.reverse()
        if abs(fall.fall_away) < TOLD_LEVEL:
            draw.line(pair, _AWAY, "away from the wall")
        else:
            draw.arrow(*pair, pen=_AWAY, head=3.2, layer="away from the wall")
        arrows.append(pair)
    if arrows:
        # The longest, of those the one nearest the middle: there the words have most room.
        order = sorted(range(len(arrows)), key=lambda k: abs(k - (len(arrows) - 1) / 2))
        long = [round(float(np.hypot(*(arrows[k][1] - arrows[k][0]))), 2) for k in order]
        _drop(view, fall, number, arrows[order[int(np.argmax(long))]], unit)
    if shown.is_empty:
        return
    points = [shapely.Point(door.at) for door in doors]
    shares = (0.5, 0.35, 0.65, 0.2, 0.8, 0.08, 0.92)
    places = [start + along * (first + share * (last - first)) for share in shares]
    clear = [min((door.distance(shapely.Point(p)) for door in points), default=9.0) for p in places]
    far = [min(value, 1.0) for value in clear]
    x, y = (-outward * (view.scale.mm(HOUSE) * 0.5 + 1.0)).tolist()
    draw.text(places[int(np.argmax(far))], str(number), size=3.2, bold=True, ground=True,
              shift=(x, y), layer="wall")  # fmt: skip


def _drop(view: View, fall: WallFall, number: int, ends: list[Floats], unit: Unit) -> None:
    """Write at the tip of an arrow how far the finish falls along it."""
    words = inches(abs(fall.drop)) if unit == "ft" else millimetres(abs(fall.drop))
    if abs(fall.fall_away) < TOLD_LEVEL:
        words = "level"
    elif fall.drop < 0:
        words += " BACK"
    words = f"{number}: {words}"
    out = unit_vector(ends[1] - ends[0])
    half = extent(words, 2.6, True)[0] / 2 + 1.2
    shifts = []
    for past in (1.0, -0.6, -2.2):
        x, y = (out * (half * abs(out[0]) + 2.2 * abs(out[1])) * past).tolist()
        shifts += [(x, y), (x + half, y), (x - half, y), (x, y + 2.6), (x, y - 2.6)]
    view.drawing.text(ends[1], words, size=2.6, bold=True, ground=True, colour=BLUE,
                      shift=shifts[0], others=tuple(shifts[1:]), layer="drop")  # fmt: skip


def _end(view: View, edge: LowEdge, water: AreaWater, window: BaseGeometry) -> None:
    """Say at the end of a way, or where it leaves the picture, where it goes."""
    at = np.asarray(edge.at, float)
    if len(edge.path) > 1:
        shown = shapely.LineString(edge.path).intersection(window)
        ends = shapely.get_coordinates(shown)
        at = ends[-1] if len(ends) else at
    words = to_words(edge.destination, edge.kind)
    shares = {end.name: end.words for end in ends_of(water)}
    if len(shares) > 1 and edge.destination in shares:
        words = f"{shares[edge.destination]} {words}"
    half = extent(words, 2.3, True)[0] / 2 + 1.5
    view.drawing.text(
        at, words, size=2.3, bold=True, colour=BLUE, ground=True, shift=(0.0, 2.4), leads=True,
        others=((half, 0.0), (-half, 0.0), (0.0, -2.4), (half, -2.4), (-half, -2.4), (half, 2.4),
                (-half, 2.4)), layer="destination name",
    )  # fmt: skip


def _rows(plan: Plan, area: AreaPlan, unit: Unit) -> Iterator[Row]:
    yield "Fall of the finish away from each wall", "bold", 0.0
    if not area.walls:
        yield "no foundation wall within reach of this paving", "", 0.0
    for number, fall in enumerate(area.walls, start=1):
        words = "\n".join(wall_fall_parts(fall, unit))
        yield f"wall {number}: {words}", "", 0.0
        if fall.beyond is not None and fall.beyond.fall < 0:
            yield f"{fall.beyond_words} FALLS BACK {slope(-fall.beyond.fall, unit)}", "bold", 3.5
    yield "Where the rain on it ends", "bold", 0.0
    water = plan.water.of(area)
    for end in ends_of(water):
        bad = "bold" if end.kind == FOUNDATION else ""
        yield f"{end.words} {to_words(end.name, end.kind)}", bad, 0.0
    said = verdict_words(plan.water, water)
    yield f"{said[:1].upper()}{said[1:]}.", "bold" if water.verdict != "named" else "", 0.0
    around = around_sentences(plan.water, water, plan.places)
    if around:
        yield "Water of the ground around and of roofs", "bold", 0.0
    for words in around:
        yield words, "", 0.0


def words_of(plan: Plan, area: AreaPlan) -> str:
    """Say whether water goes to the house."""
    water = plan.water.of(area)
    said = list(_wall_words(plan, area, water))
    said.append(f"R{rain_words(plan.water, water)[1:]}.")
    said += around_sentences(plan.water, water, plan.places)
    told = {wall for wall, _ in ground_words(plan.water, plan.places)}
    said += [
        f"T{fall.beyond_words[1:]} falls back to the house and needs regrading."
        for fall in area.walls
        if fall.beyond is not None and fall.beyond.fall < 0 and fall.wall.name not in told
    ]
    return " ".join(said)


def _wall_words(plan: Plan, area: AreaPlan, water: AreaWater) -> Iterator[str]:
    """Say what the finish does before the walls: away from them, or what is wrong."""
    foundation = water.share("foundation")
    ground = any(wall.reaches for wall in plan.water.at_walls)
    if foundation > 0:
        much = "All of it" if share_words(foundation) == "100 %" else "Some of it"
        yield f"{much} would: {share_words(foundation)} of the rain on it reaches the house."
    roof = bool(spouts_to_house(plan.water))
    if roof and ground:
        yield "Some does from the roof and from the ground around: see below."
    elif roof:
        yield "Some does from the roof: see below."
    elif ground:
        yield "Some does from the ground around, whatever is paved: see below."
    elif by_house(plan.water):
        yield "It may: water stands beside the house: see below."
    elsewhere = roof or ground or bool(by_house(plan.water))
    falls, bad = from_the_house(plan, [area])
    if not bad and foundation <= 0 and not elsewhere:
        yield "Not from this paving as planned."
    yield from falls
