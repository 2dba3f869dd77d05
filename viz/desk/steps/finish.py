"""The step "Finish": the steps at the doors, which way water runs, and what holds it there."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import Any

import numpy as np
import shapely

from grading.choice.sills import STEPS_COUNTED, doors_words, edge_words
from grading.design.area import AreaPlan
from grading.design.door_steps import DoorStep, door_steps
from grading.finish.objectives import OBJECTIVES
from grading.geometry.arrays import Floats
from grading.order.telling import telling_of
from grading.pipeline import Plan
from grading.site.corners import corners_at
from grading.site.model import Area, Door
from grading.site.tables import LawnEdge
from grading.site.walls import Wall
from grading.units import HOUR, INCH, METRES, Unit, percent, size
from viz.desk.blocks import (
    Block,
    Change,
    Choice,
    Field,
    Fold,
    Head,
    Nudge,
    Offer,
    Option,
    Say,
    State,
    Step,
    Table,
)  # fmt: skip
from viz.desk.seen import Seen
from viz.desk.sheet.checked import check_blocks, state_of
from viz.desk.written.document import table_at
from viz.desk.yard.examples import such_as
from viz.table import moved
from viz.words.paving.falls import fall_words
from viz.words.paving.finish import corner_lines, edge_lines, held_lines, tie_in_lines
from viz.words.plain import opened, stopped

KEY, TITLE = "finish", "Finish"

NONE_YET = "A finish is fitted once there is a survey, and paving drawn on it."
CONFLICT = (
    "No finish has all that is asked. The head of the sheet says what conflicts, and has a button "
    "for each way that was tried and ends it."
)
_NUDGE: Mapping[Unit, float] = {"ft": INCH / 2, "m": 0.01}
"""By how much the arrows beside a step move the paving. [m]"""
_TURN = 5
"""By how much the arrows beside the way of the water turn it. [degrees]"""
_USUAL = LawnEdge.model_validate({})
"""How a lawn meets paving where nothing is written of it."""
_REACH = 0.2  # of the length of the paving: how far a fold is drawn past its ends


def step(seen: Seen) -> Step:
    """Return the step.

    Parameters
    ----------
    seen : Seen
    """
    return Step(KEY, TITLE, _answer(seen), _state(seen), list(_blocks(seen)))


def _state(seen: Seen) -> State:
    return "fails" if seen.conflict else state_of(seen, KEY)


def _answer(seen: Seen) -> str:
    plan = seen.plan
    if seen.conflict:
        return "no finish has all that is asked"
    if plan is None:
        return "not fitted yet"
    falls = [area.finish.plane.fall for area in plan.areas]
    least, most = percent(min(falls)), percent(max(falls))
    fall = f"falls {least}" if least == most else f"falls {least} to {most}"
    steps = [each for area in plan.areas for each in door_steps(area)]
    unit = plan.site.unit
    if len(steps) > 2:  # of each its height alone: the step below names their doors
        high = [each.step if each.risers == 1 else each.riser for each in steps]
        return f"{fall}, steps {size(min(high), unit)} to {size(max(high), unit)}"
    told = [each.words(lambda metres: size(metres, unit)) for each in steps]
    word = "step" if len(told) < 2 else "steps"
    return f"{fall}, {word} {' and '.join(told)}" if told else fall


def _blocks(seen: Seen) -> Iterator[Block]:
    if seen.conflict:
        yield Say(CONFLICT, "fails")
    elif seen.plan is None:
        yield Say(NONE_YET, "quiet")
    if seen.plan is not None and not seen.conflict:
        yield from check_blocks(seen, KEY)
        yield from (Say(stopped(opened(words)), "look") for words in seen.plan.warnings)
    steps = _steps(seen)
    for way, door in seen.partly.doors.items():
        yield from _door(seen, way, door, steps.get(door.name))
    for place, area in enumerate(seen.partly.areas.values()):
        yield from _area(seen, place, area)
    if seen.plan is not None and seen.whole and not seen.conflict:
        head, *lines = [words.strip() for words in edge_lines(seen.plan)] or [""]
        if lines:
            yield Head(head.rstrip(":"))
        yield from (Say(stopped(words)) for words in lines)
        yield from _high_sills(seen.plan, prices=seen.asked.prices)
    yield from _aim(seen)
    yield from _own_limits(seen)


def _steps(seen: Seen) -> Mapping[str, DoorStep]:
    if seen.plan is None or seen.stale:
        return {}
    return {each.door.name: each for area in seen.plan.areas for each in door_steps(area)}


def _door(seen: Seen, way: str, door: Door, found: DoorStep | None) -> Iterator[Block]:
    unit, name = seen.partly.unit, door.name or "the door"
    written = table_at(seen.document, way)
    told = ""
    if found is not None:
        told = f": {found.words(lambda metres: size(metres, unit))}"
        told += " BELOW the paving" if found.step < 0 else ""
    yield Head(f"Step down at {name}{told}")
    yield Field(
        f"{way}/step", "The least and the greatest that it may be", written.get("step"),
        _allowed(found, unit), optional=True, nudge=_nudge(found, unit), takes="list",
    )  # fmt: skip
    yield Fold(
        f"Sill and steps at {name}",
        [
            Field(f"{way}/sill", "Elevation of the sill", written.get("sill"),
                  "top of the sill, as the survey counts, "
                  + such_as("100' 3\" or 100.25", unit)),
            Field(f"{way}/steps", "Steps down from it", written.get("steps"),
                  "left empty: as many as it takes; 0 where none are wanted", optional=True),
        ],
    )  # fmt: skip


def _allowed(found: DoorStep | None, unit: Unit) -> str:
    if found is None:
        return f"two sizes with a comma, {such_as('1 1/2 in, 7 3/4 in', unit)}"
    least, most = (size(each, unit) for each in found.limit)
    return f"{least} to {most} now; write others with a comma between"


def _nudge(found: DoorStep | None, unit: Unit) -> Nudge | None:
    """Return what asks for the paving a little higher or lower at a door with one step."""
    if found is None or found.risers != 1 or found.step < 0:
        return None
    (least, most), by = found.limit, _NUDGE[unit]
    lower, higher = min(found.step + by, most), max(found.step - by, least)
    return Nudge(
        down=[size(lower, unit), size(most, unit)], up=[size(least, unit), size(higher, unit)],
        down_words=f"paving {size(by, unit)} lower at {found.door.name}",
        up_words=f"paving {size(by, unit)} higher at {found.door.name}",
    )  # fmt: skip


def _area(seen: Seen, place: int, area: Area) -> Iterator[Block]:
    at, made = f"area/{place}", seen.planned(area.name)
    written = table_at(seen.document, at)
    several = len(seen.partly.areas) > 1
    yield Head(f"Water runs on {area.name}" if several else "Water runs")
    if made is not None:
        yield Say(fall_words(made, seen.partly.unit))
    if area.plane is None:
        yield Choice(f"{at}/toward", "Which way", written.get("toward"), _ways(made, written))
        if written.get("shape", "plane") == "plane":
            yield from _turned(at, made, written)
        if made is not None and seen.whole:
            yield from _held(made, seen.partly.unit)
            lines = list(corner_lines(made, seen.partly.unit))
            if lines:
                ways = [Say(stopped(opened(each.strip()))) for each in lines[1:]]
                yield Fold(lines[0].rstrip(":"), ways)
        yield Fold(f"Shape and grade of {area.name}", list(_shapes(at, area, made, written, seen)))
    else:
        yield from _plane(at, written)


def _ways(made: AreaPlan | None, written: Mapping[str, Any]) -> Sequence[Option]:
    """Return the ways that water may be made to run: off each wall, and to the corner of two."""
    options = [Option(None, "as it is best", "for what is chosen at the end of this step")]
    walls = () if made is None else made.walls
    bearings: dict[float, list[str]] = {}
    for each in walls:
        bearings.setdefault(_bearing(np.asarray(each.wall.outward)), []).append(each.wall.name)
    options += [Option(to, f"straight out from {' and '.join(names)}")
                for to, names in bearings.items()]  # fmt: skip
    for to, names in _corners([each.wall for each in walls]):
        if to not in bearings:
            options.append(Option(to, f"to the corner, away from {names}"))
    own = written.get("toward")
    if own is not None and own not in [each.to for each in options]:
        options.append(Option(own, f"towards {own}°", "clockwise from +y, as it is written"))
    return options


def _turned(at: str, made: AreaPlan | None, written: Mapping[str, Any]) -> Iterator[Field]:
    """Yield what turns the fall by a hand, from the way that is asked, else that water runs now."""
    now = written.get("toward")
    if not isinstance(now, int | float):
        if made is None:
            return
        now = _bearing(np.asarray(made.finish.plane.downhill, float))
    left, right = (round((now + by) % 360, 1) for by in (-_TURN, _TURN))
    yield Field(
        f"{at}/toward", "Turned by hand", written.get("toward"),
        f"degrees, clockwise from +y of the survey; towards {now:g}° now", optional=True,
        nudge=Nudge(
            down=right, up=left, up_words=f"turn it {_TURN}° counter-clockwise",
            down_words=f"turn it {_TURN}° clockwise", up_shape="↺", down_shape="↻",
        ),
    )  # fmt: skip


def _corners(walls: Sequence[Wall]) -> Iterator[tuple[float, str]]:
    """Yield the bearing between two walls that face different ways, and their names."""
    for number, one in enumerate(walls):
        for other in walls[number + 1 :]:
            out = np.asarray(one.outward, float) + np.asarray(other.outward, float)
            if 0.2 < float(np.hypot(*out)) < 1.98:
                yield _bearing(out), f"{one.name} and {other.name}"
                return


def _bearing(out: Floats) -> float:
    return round(float(np.degrees(np.arctan2(out[0], out[1]))) % 360, 1)


def _held(made: AreaPlan, unit: Unit) -> Iterator[Block]:
    lines = list(held_lines(made, unit))
    yield Head("What holds it where it is")
    if not lines:
        yield Say("Nothing that a step of it would change.", "quiet")
    yield from (Say(stopped(opened(words))) for words in lines)


def _shapes(
    at: str, area: Area, made: AreaPlan | None, written: Mapping[str, Any], seen: Seen
) -> Iterator[Block]:
    options = [Option("plane", "one plane", changes=_shape(at, written, "plane"))]
    unit = seen.partly.unit
    for name, fold in _folds(area, made, seen):
        points = [[round(float(v) / METRES[unit], 3) for v in point] for point in fold]
        options.append(Option(name, name, changes=_shape(at, written, name, points)))
    own = written.get("shape", "plane")
    if own not in [each.to for each in options]:
        options.append(Option(own, own, "as it is written"))
    yield Choice(f"{at}/shape", "Shape", own, options)
    yield Choice(
        f"{at}/grade", "How it lies to the lawn", written.get("grade"),
        [Option(None, "as its use has it"), Option("as it lies", "near to the lawn"),
         Option("free", "wherever it is best")],
    )  # fmt: skip
    yield Choice(
        f"{at}/accessible", "An accessible route", written.get("accessible", False),
        [Option(False, "no"), Option(True, "yes", "held to its cross slope")],
    )  # fmt: skip
    lawn = table_at(seen.document, f"{at}/lawn")
    yield Choice(
        f"{at}/lawn/edge", "How the lawn meets it", lawn.get("edge", _USUAL.edge),
        [Option(each, each) for each in ("flush", "bevelled", "stepped")],
    )  # fmt: skip
    yield Field(f"{at}/lawn/lip", "How far below the finish it starts", lawn.get("lip"),
                such_as("1/2 in", unit), optional=True)  # fmt: skip
    yield Field(f"{at}/lawn/slope", "The slope it leaves at", lawn.get("slope"), "such as 10 %",
                optional=True)  # fmt: skip
    if made is not None:
        yield from (Say(stopped(opened(words.strip()))) for words in tie_in_lines(made, unit))


def _shape(
    at: str, written: Mapping[str, Any], name: str, fold: Sequence[Any] | None = None
) -> Sequence[Change]:
    """Return what makes an area of another shape: its own keys, and none of the shape before."""
    changes = [Change(f"{at}/{key}") for key in ("fold", "corner", "planes", "between")
               if key in written and not (key == "fold" and fold)]  # fmt: skip
    if fold:
        changes.append(Change(f"{at}/fold", fold))
    return (*changes, Change(f"{at}/shape", None if name == "plane" else name))


def _folds(area: Area, made: AreaPlan | None, seen: Seen) -> Iterator[tuple[str, Floats]]:
    """Yield shapes with a fold, and where it runs: from the corner of the house, or mid-way."""
    if made is None or seen.site is None:
        return
    inside = [each for each in corners_at(seen.site.house, area.polygon) if not each.outside]
    middle = np.asarray(area.polygon.representative_point().coords[0])
    down = np.asarray(made.finish.plane.downhill, float)
    across = np.array([down[1], -down[0]])
    yield "ridge", _through(area.polygon, middle, down)
    if inside:
        corner = inside[0]
        yield "valley", np.array([corner.at, corner.at + corner.bisector])
    else:
        yield "valley", _through(area.polygon, middle, down)
    yield "hinge", _through(area.polygon, middle, across)


def _through(polygon: shapely.Polygon, at: Floats, along: Floats) -> Floats:
    """Return a line through a point from one side of paving to past the other, (2, 2). [m]"""
    x0, y0, x1, y1 = polygon.bounds
    reach = float(np.hypot(x1 - x0, y1 - y0))
    met = shapely.intersection(
        polygon, shapely.LineString([at - along * reach, at + along * reach])
    )
    s = (shapely.get_coordinates(met) - at) @ along
    more = _REACH * float(s.max() - s.min())
    return np.array([at + along * (s.min() - more), at + along * (s.max() + more)])


def _plane(at: str, written: Mapping[str, Any]) -> Iterator[Block]:
    plane = table_at(written, "plane")
    yield Say("Its plane is given.", "quiet")
    for key, label, hint in (
        ("z", "Finish at the point of the plane", "an elevation"),
        ("fall", "Fall", "such as 2 %"),
        ("bearing", "The way water runs", "degrees clockwise from +y"),
    ):
        yield Field(f"{at}/plane/{key}", label, plane.get(key), hint)
    yield Offer("Fit it, and leave the plane out", [Change(f"{at}/plane")])


def _high_sills(plan: Plan, *, prices: bool) -> Iterator[Block]:
    """Yield both ways at a high sill, side by side."""
    ways, unit = plan.sill_ways, plan.site.unit
    if not ways:
        return
    telling = telling_of(plan.order)
    columns = ["way", "steps", "edge above lawn", "dug and refilled", "trips", "hours"]
    rows = [
        [f"{way.kind}{' *' if way.planned else ''}", doors_words(way, unit), edge_words(way, unit),
         moved(way.work, unit), str(way.trips), f"{way.time / HOUR:.0f}",
         *([telling.words(way.cost)] if prices else [])]
        for way in ways
    ]  # fmt: skip
    yield Table([*columns, *([telling.title] if prices else [])], rows, "A sill high over the lawn")
    yield Say(f"* planned; {STEPS_COUNTED}", "quiet")


def _aim(seen: Seen) -> Iterator[Block]:
    if not seen.partly.areas:
        return
    finish = table_at(seen.document, "finish")
    own = finish.get("objective", OBJECTIVES[0])
    blocks: list[Block] = [
        Choice("finish/objective", "Best at", own, [Option(each, each) for each in OBJECTIVES])
    ]
    if own == "elevation" or "elevation" in finish:
        blocks.append(
            Field("finish/elevation", "The level wished for", finish.get("elevation"),
                  "an elevation", optional=True)
        )  # fmt: skip
    yield Fold("What the finish is to be best at", blocks)


def _own_limits(seen: Seen) -> Iterator[Block]:
    """Yield the limits that the site has of its own: each can be taken back here."""
    own = table_at(seen.document, "limits")
    if own:
        yield Fold(
            "Limits of this site's own, in the place of the rules'",
            [
                Field(f"limits/{name}", name, value, "empty it, and the rule holds again",
                      optional=True, takes="list" if isinstance(value, list) else "number")
                for name, value in own.items()
            ],
        )  # fmt: skip
