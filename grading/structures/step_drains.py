"""Clean stone, fabric and pipe behind steps that hold an edge, as behind a wall of that height.

Steps down to the lawn and between areas hold the base of what they go down from; those at a door
stand before the house and hold nothing.
"""

from __future__ import annotations

import shapely
from msgspec import Struct

from grading.crew.model import Crew
from grading.design.area import AreaPlan
from grading.design.model import Design
from grading.dig.hole import Dig
from grading.geometry.arrays import Floats, Region, polygons
from grading.geometry.tolerances import ROUNDING, SAME, TOGETHER
from grading.structures.behind import Behind, fabric_behind, stone_behind, stone_height
from grading.structures.flights import StepFlight, flights_of, strip
from grading.structures.holding.block_wall import BlockWall
from grading.structures.holding.holds import holding_of
from grading.structures.holding.outlet import Outlet, outlet_from
from grading.structures.pads import Pad


class StepDrain(Struct, frozen=True, eq=False):
    """What lies behind a flight that holds an edge.

    Attributes
    ----------
    of : Behind
    area, dig : AreaPlan, Dig
        The paving whose base it holds.
    where : shapely polygon
        The stone, in plan. [m]
    pipe : shapely polygon
        The pipe, in plan. [m]
    pad_top : float
        Of the pad of the flight. [m]
    outlet : Outlet
    """

    of: Behind
    area: AreaPlan
    dig: Dig
    where: shapely.Polygon
    pipe: shapely.Polygon
    pad_top: float
    outlet: Outlet


def held_by(plan: Design, flight: StepFlight) -> AreaPlan | None:
    """Return the area whose base a flight holds as a wall of its height would; None for none.

    Parameters
    ----------
    plan : Design
    flight : StepFlight
    """
    if flight.kind == "at a door" or flight.drop < plan.limits["wall-least"] - ROUNDING:
        return None
    return plan.area(flight.upper)


def behind_flight(flight: StepFlight, crew: Crew) -> shapely.Polygon:
    """Return where the stone behind a flight lies: behind its top course. [m]"""
    deep = crew["wall-unit-depth"]
    return strip(flight.head, flight.out, -deep - crew["wall-drain-stone"], -deep)


def stone_behind_steps(plan: Design, area: AreaPlan) -> Region:
    """Return where stone behind steps takes the place of an area's base that is not clean. [m]

    Parameters
    ----------
    plan : Design
    area : AreaPlan
    """
    strips = [
        shapely.intersection(behind_flight(flight, plan.crew), area.outline)
        for flight in flights_of(plan)
        if flight.upper == area.name and held_by(plan, flight) is not None
    ]
    return polygons(shapely.union_all(strips), 0.0)


def step_drain(
    plan: Design, area: AreaPlan, dig: Dig, flight: StepFlight, pad: Pad
) -> StepDrain | None:
    """Return what lies behind a flight, None where it holds nothing.

    Parameters
    ----------
    plan : Design
    area, dig : AreaPlan, Dig
        That it is built with.
    flight : StepFlight
    pad : Pad
        What it stands on.
    """
    held = held_by(plan, flight)
    own = None if held is None else dig if held.name == area.name else held.chosen_dig
    if held is None or own is None or own.system.over:
        return None  # on a slab there is no base to hold
    crew = plan.crew
    deep, wide, pipe = (
        crew[name] for name in ("wall-unit-depth", "wall-drain-stone", "underdrain-pipe")
    )
    line = shapely.LineString(_paving_left(flight.head, flight.out))
    high = stone_height(float(flight.levels[0].mean()), own, pad.top)
    outlet = _into_a_wall(plan, (area, held), flight, pad) or outlet_from(
        plan, area, line, pad.top, float(flight.levels[1].min())
    )
    return StepDrain(
        of=Behind(
            stone_behind(line, deep, wide, pad.top, high, held, own), flight.width, 1,
            fabric_behind(high, deep, flight.width),
        ),
        area=held,
        dig=own,
        where=behind_flight(flight, crew),
        pipe=strip(flight.head, flight.out, -deep - pipe, -deep),
        pad_top=pad.top,
        outlet=outlet,
    )  # fmt: skip


def _paving_left(head: Floats, out: Floats) -> Floats:
    """Return a head from the end at which what it goes down from is on its left. [m]"""
    ahead = head[1] - head[0]
    return head if ahead[0] * out[1] - ahead[1] * out[0] < 0 else head[::-1]


def _into_a_wall(
    plan: Design, areas: tuple[AreaPlan, ...], flight: StepFlight, pad: Pad
) -> Outlet | None:
    """Return the pipe behind a wall that ends at the steps, where theirs runs on into it."""
    beside = [
        wall
        for wall in walls_of(plan, areas)
        if shapely.distance(wall.line, flight.taken) < TOGETHER
    ]
    lower = [wall for wall in beside if _pipe_level(wall) <= pad.top + SAME]
    if not lower:
        return None
    return Outlet(0.0, f"the pipe behind {lower[0].name}", pad.top)


def walls_of(plan: Design, areas: tuple[AreaPlan, ...]) -> tuple[BlockWall, ...]:
    """Return the walls that hold the edges of some areas, each area once.

    Parameters
    ----------
    plan : Design
    areas : tuple of AreaPlan
    """
    names = dict.fromkeys(each.name for each in areas)
    found = [each for each in plan.areas if each.name in names]
    return tuple(wall for each in found for wall in holding_of(plan, each, each.chosen).walls)


def _pipe_level(wall: BlockWall) -> float:
    return min(each.pad_top for each in wall.segments)
