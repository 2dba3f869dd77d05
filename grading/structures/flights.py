"""Flights of steps: at doors, between areas and down to the lawn, riser by riser.

A flight goes down from a straight head, square to it. Its treads are level across and fall a little
outward, so that water leaves them; its risers are alike by construction, but for what the finish
or the ground does across its width at the head and at the foot. Where no area carries it, its
foot stands on the lawn as it lies.
"""

from __future__ import annotations

from collections.abc import Iterator
from functools import partial
from itertools import pairwise
from typing import Literal

import numpy as np
import shapely
from msgspec import Struct
from msgspec.structs import replace

from grading.design.area import AreaPlan
from grading.design.door_steps import (
    BESIDE,
    DoorStep,
    door_steps,
    going_of,
    landing_of,
    pitch_for,
    pitched_riser,
)
from grading.design.model import Design, kept
from grading.design.steps import SharedEdge, shared_edges
from grading.design.underfoot import Levels, flat, level_at
from grading.finish.lawn_steps import LawnSteps, lawn_steps, toward, way_out
from grading.geometry.arrays import Floats
from grading.geometry.plane import Plane
from grading.geometry.tolerances import ROUNDING, TOGETHER, WHOLE, whole_up
from grading.site.step_tables import Step
from grading.units import INCH

FlightKind = Literal["at a door", "between areas", "to the lawn"]

MOST_RISERS = 8
"""More is a stair, which is drawn by who designs it; common practice, no source."""

_NEAR = 2 * INCH  # own: m: what is straight within this is one head


class Tread(Struct, frozen=True, eq=False):
    """One tread of a flight, or the landing that it begins with.

    Attributes
    ----------
    number : int
        From the top, from 1.
    polygon : shapely polygon
        What shows of it. [m]
    top : Plane
        Level across, falling outward.
    back, front : float
        Its level where it begins and where it ends. [m]
    """

    number: int
    polygon: shapely.Polygon
    top: Plane
    back: float
    front: float


class StepFlight(Struct, frozen=True, eq=False):
    """A flight of steps.

    Attributes
    ----------
    kind : "at a door", "between areas" or "to the lawn"
    name : str
    area : str
        Of the area that it is built with: the one it stands on, or goes down from to the lawn.
    upper, lower : str
        What it goes down from and to: a door, an area, "lawn".
    head : (2, 2) float
        Both ends of the line that it goes down from. [m]
    out : (2,) float
        Unit vector, the way down.
    levels : (2, 2) float
        At the ends of the head: of what it goes down from, and of what lies at its foot. [m]
    drop : float
        From the middle of the head to the foot there. [m]
    count : int
        Risers.
    riser : float
        Each, in the middle. [m]
    tread, pitch : float
        Going of a tread [m], and how it falls outward [ratio].
    landing : float
        Depth of the landing that it begins with at a door; 0 where it has none. [m]
    treads : tuple of Tread
        From the top down; the lowest riser ends on what lies at its foot.
    written : Step or None
        The table of the site that asks for it; None of steps at a door.
    """

    kind: FlightKind
    name: str
    area: str
    upper: str
    lower: str
    head: Floats
    out: Floats
    levels: Floats
    drop: float
    count: int
    riser: float
    tread: float
    pitch: float
    landing: float
    treads: tuple[Tread, ...]
    written: Step | None = None

    @property
    def width(self) -> float:
        """Along its head. [m]"""
        return float(np.hypot(*(self.head[1] - self.head[0])))

    @property
    def going(self) -> float:
        """From its head to its foot. [m]"""
        return going_of(self.count, self.tread, self.landing)

    @property
    def polygon(self) -> shapely.Polygon:
        """What it covers; empty where it is one riser at an edge. [m]"""
        return strip(self.head, self.out, 0.0, self.going)

    @property
    def taken(self) -> shapely.LineString:
        """The stretch of edge that it takes: nothing else holds that. [m]"""
        return shapely.LineString(self.head)

    @property
    def risers(self) -> Floats:
        """Height of each riser at both ends, (count, 2), from the top down. [m]"""
        top = np.array([self.levels[0], *([each.front] * 2 for each in self.treads)])
        foot = np.array([*([each.back] * 2 for each in self.treads), self.levels[1]])
        return np.asarray(top - foot, float)

    @property
    def unlike(self) -> float:
        """By how much its greatest riser exceeds its smallest, wherever they are. [m]"""
        return float(np.ptp(self.risers))

    @property
    def handrail(self) -> bool:
        """Whether it has so many risers that a handrail may be asked for."""
        return self.count >= HANDRAIL

    def landings(self, deep: float) -> tuple[shapely.Polygon, shapely.Polygon]:
        """Return the ground that people stand on above and below it, of a depth. [m]"""
        return (
            strip(self.head, self.out, -deep, 0.0),
            strip(self.head, self.out, self.going, self.going + deep),
        )


HANDRAIL = 4
"""Risers from which a handrail may be asked for: IRC R311.7.8."""


def strip(head: Floats, out: Floats, near: float, far: float) -> shapely.Polygon:
    """Return the strip along a head, between two distances out from it. [m]"""
    return shapely.Polygon(
        [head[0] + out * near, head[1] + out * near, head[1] + out * far, head[0] + out * far]
    )


@kept
def flights_of(plan: Design) -> tuple[StepFlight, ...]:
    """Return every flight of steps of a site: at doors, between areas, down to the lawn.

    What the site draws as a thing of kind "steps" at a door is that thing, and none of these.

    Parameters
    ----------
    plan : Design
    """
    return tuple(_all(plan))


def _all(plan: Design) -> Iterator[StepFlight]:
    for area in plan.areas:
        for sill in door_steps(area):
            if sill.risers > 1 and not _drawn(plan, sill):
                yield _at_door(plan, area, sill)
    for edge in shared_edges(plan):
        if edge.risers and not edge.flush:
            yield from _between(plan, edge)
    for area in plan.areas:
        places = lawn_steps(plan.site, area.area, plan.limits)
        for number, place in enumerate(places, start=1):
            flight = _to_lawn(plan, area, place)
            part = f", no. {number}" if len(places) > 1 else ""
            yield replace(flight, name=f"{flight.name}{part}", written=place.step)


def flights_on(plan: Design, area: AreaPlan) -> tuple[StepFlight, ...]:
    """Return the flights that are built with an area."""
    return tuple(each for each in flights_of(plan) if each.area == area.name)


def flights_between(plan: Design, edge: SharedEdge) -> tuple[StepFlight, ...]:
    """Return the flights along an edge that two areas share: one to each straight part of it."""
    pair = {edge.upper, edge.lower}
    return tuple(each for each in flights_of(plan) if {each.upper, each.lower} == pair)


def _drawn(plan: Design, step: DoorStep) -> bool:
    """Whether the site draws the steps at a door as a thing on the paving."""
    door = shapely.Point(step.door.at)
    return any(
        feature.kind == "steps" and shapely.distance(feature.polygon, door) <= BESIDE
        for feature in plan.site.features
    )


def _fall(levels: Levels, middle: Floats, out: Floats) -> float:
    at = np.stack([middle, middle + out])
    high, low = levels(at)
    return float(high - low)


def flight_of(
    kind: FlightKind, name: str, area: str, ends: tuple[str, str], head: Floats, out: Floats,
    upper: Levels, foot: Levels, count: int, tread: float, pitch: float, landing: float = 0.0,
) -> StepFlight:  # fmt: skip
    """Return the flight of so many risers from a head down to what lies at its foot.

    Parameters
    ----------
    kind, name, area, head, out, count, tread, pitch, landing : as for `StepFlight`
    ends : (str, str)
        What it goes down from and to.
    upper, foot : callable
        Levels (k,) at points (k, 2) of what it goes down from and to. [m]
    """
    going, middle = going_of(count, tread, landing), head.mean(axis=0)
    high, low = upper(head), foot(head + out * going)
    top = float(high.mean())
    drop = top - float(low.mean())
    riser = pitched_riser(drop, count, going, pitch)
    bearing = float(np.degrees(np.arctan2(out[0], out[1])) % 360)
    treads, near, level = [], 0.0, top
    for number in range(1, count):
        deep = landing if number == 1 and landing else tread
        back = level - riser
        front = back - deep * pitch
        plane = Plane.through(middle + out * near, back, pitch, bearing)
        treads.append(Tread(number, strip(head, out, near, near + deep), plane, back, front))
        near, level = near + deep, front
    return StepFlight(
        kind, name, area, *ends, head, out, np.array([high, low]), drop, count, riser, tread,
        pitch, landing, tuple(treads),
    )  # fmt: skip


def _at_door(plan: Design, area: AreaPlan, step: DoorStep) -> StepFlight:
    door = np.asarray(step.door.at, float)
    out, foot = way_out(plan.site, area.area, step.door)
    along = np.array([-out[1], out[0]])
    half = plan.limits["step-built-width"] / 2
    head = np.stack([foot - along * half, foot + along * half])
    landing = landing_of(step.risers, plan.limits)

    sill, finish = flat(float(step.door.sill)), partial(level_at, area)
    pitch = pitch_for(_fall(finish, door, out))
    name = f"steps at {step.door.name or 'the door'}"
    ends = (step.door.name or "the door", area.name)
    return flight_of("at a door", name, area.name, ends, head, out, sill, finish, step.risers,
                     plan.limits["step-built-tread"], pitch, landing)  # fmt: skip


def _between(plan: Design, edge: SharedEdge) -> Iterator[StepFlight]:
    upper, lower = plan.area(edge.upper), plan.area(edge.lower)
    if edge.drop[1] < -edge.drop[0]:
        upper, lower = lower, upper
    pair = {edge.upper, edge.lower}
    asked = [step for step in plan.site.steps if step.down and set(step.down) == pair]
    written = asked[0] if asked else None
    tread = (written.tread if written is not None else None) or plan.limits["step-built-tread"]
    straight = [head for line in edge.lines for head in _straight(line)]
    for number, head in enumerate(straight, start=1):
        out = toward(head, lower.outline)

        high, low = partial(level_at, upper), partial(level_at, lower)
        pitch = pitch_for(_fall(low, head.mean(axis=0), out))
        part = f", part {number}" if len(straight) > 1 else ""
        flight = flight_of("between areas", f"steps from {upper.name} to {lower.name}{part}",
                           lower.name, (upper.name, lower.name), head, out, high, low,
                           edge.risers, tread, pitch)  # fmt: skip
        yield replace(flight, written=written)


def _straight(line: Floats) -> Iterator[Floats]:
    """Give the straight parts of a line by their ends. [m]"""
    points = shapely.get_coordinates(shapely.simplify(shapely.LineString(line), _NEAR))
    for start, end in pairwise(points):
        if np.hypot(*(end - start)) > TOGETHER:
            yield np.stack([start, end])


def _to_lawn(plan: Design, area: AreaPlan, place: LawnSteps) -> StepFlight:
    crew, step = plan.crew, place.step
    most = min(crew["step-riser"], step.riser[1])
    tread = step.tread or plan.limits["step-built-tread"]
    return lawn_flight(plan, area, place.head, place.out, step.risers, tread, most)


def lawn_flight(
    plan: Design, area: AreaPlan, head: Floats, out: Floats, risers: int | None, tread: float,
    most: float,
) -> StepFlight:  # fmt: skip
    """Return the flight from a head on an area's edge down to the lawn as it lies.

    Parameters
    ----------
    plan : Design
    area : AreaPlan
    head, out : as `edge_at` gives them
    risers : int or None
        None for as many as keep each within the most.
    tread, most : float
        Going of a tread, and the highest riser. [m]
    """

    finish = partial(level_at, area)
    pitch = pitch_for(_fall(finish, head.mean(axis=0) - out, out))
    reach = strip(head, out, -0.1, going_of(MOST_RISERS, tread) + 0.1)
    ground = plan.ground.under(area.name)
    ground = ground.reaching(reach, ground.beyond_survey(reach)[0] + 0.1)

    def made(count: int) -> StepFlight:
        return flight_of("to the lawn", f"steps from {area.name} to the lawn", area.name,
                         (area.name, "lawn"), head, out, finish, ground.elevation, count, tread,
                         pitch)  # fmt: skip

    if risers is not None:
        return made(risers)
    flight = made(1)
    while flight.count < MOST_RISERS and flight.riser > most + ROUNDING:
        # The ground falls on while the flight goes out: one more is tried, never reckoned.
        flight = made(max(flight.count + 1, min(whole_up(flight.drop / most, WHOLE), MOST_RISERS)))
    return flight
