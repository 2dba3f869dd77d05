"""Level pads that are dug below or beside the paving's hole: one union with it, never a sum."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import shapely
from msgspec import Struct

from grading.conditions.backfill import dug_out
from grading.conditions.features import own_base_of, things_on
from grading.conditions.seats import stands_on
from grading.crew.model import Crew
from grading.design.area import AreaPlan
from grading.design.model import Design
from grading.design.underfoot import Earth, Levels, dug_under, flat, level_at, overlap
from grading.dig.hole import Dig
from grading.finish.cutting import clip
from grading.geometry.arrays import polygons
from grading.geometry.tolerances import REACH, ROUNDING
from grading.structures.flights import StepFlight, flights_of, flights_on, strip


class Pad(Struct, frozen=True, eq=False):
    """One pad.

    Attributes
    ----------
    name : str
        Whose it is.
    where : shapely geometry
        In plan. [m]
    bottom, top : float
        Levels. [m]
    of : object
        The thing or the flight of steps that stands on it.
    """

    name: str
    where: shapely.Geometry
    bottom: float
    top: float
    of: object


def pads_of(plan: Design, area: AreaPlan, dig: Dig) -> tuple[Pad, ...]:
    """Return every pad of an area on a base system: what stands on bedding there has none.

    Parameters
    ----------
    plan : Design
    area : AreaPlan
    dig : Dig
        One of the area's.
    """
    return tuple(_pads(plan, area, dig))


def _pads(plan: Design, area: AreaPlan, dig: Dig) -> Iterator[Pad]:
    for feature in things_on(plan, area):
        if stands_on(plan, area, feature, dig.system.name) == "own base":
            own = own_base_of(plan, area, feature, dig)
            if own is not None:
                yield Pad(feature.name or feature.kind, own.pad, own.bottom, own.top, feature)
    for flight in flights_on(plan, area):
        yield pad_of_flight(plan, area, dig, flight)


def body_of(flight: StepFlight, crew: Crew) -> shapely.Polygon:
    """Return what the units of a flight cover: where no sill is at its head, the top course too.

    Parameters
    ----------
    flight : StepFlight
    crew : Crew
        Depth of its units.
    """
    behind = 0.0 if flight.kind == "at a door" else crew["wall-unit-depth"]
    return strip(flight.head, flight.out, -behind, flight.going)


def pad_of_flight(plan: Design, area: AreaPlan, dig: Dig, flight: StepFlight) -> Pad:
    """Return the level pad that a flight stands on, out of the house.

    Its top lies below the lowest place of the foot by the height of a cap, so that the lowest
    riser is as high as a course, like all above it. On paving it ends where the base of the paving
    does, so that pavers butt against the lowest course; `levelled_under` is what is then left.

    Parameters
    ----------
    plan : Design
    area : AreaPlan
    dig : Dig
    flight : StepFlight
    """
    crew = plan.crew
    thick, spread = crew["step-pad"], crew["step-pad-spread"]
    where: shapely.Geometry = body_of(flight, crew).buffer(spread, join_style="mitre")
    if plan.site.house is not None:
        where = shapely.difference(where, plan.site.house.polygon(spread + thick))
    top = float(flight.levels[1].min()) - _below_foot(crew, dig, flight)
    return Pad(flight.name, where, top - thick, top, flight)


def _below_foot(crew: Crew, dig: Dig, flight: StepFlight) -> float:
    cap = crew["wall-cap-height"]
    return cap if flight.kind == "to the lawn" else max(cap, dig.system.above_edge)


def levelled_under(crew: Crew, dig: Dig, flight: StepFlight) -> float:
    """Return how high the lowest course of a flight is levelled up over its pad. [m]

    Parameters
    ----------
    crew : Crew
        Height of its caps.
    dig : Dig
    flight : StepFlight
    """
    return _below_foot(crew, dig, flight) - crew["wall-cap-height"]


def left_out_for(plan: Design, area: AreaPlan) -> tuple[shapely.Geometry, shapely.Geometry]:
    """Return where steps stand in an area's paving, and where its base is left out for them. [m]

    Those that stand on it, and the top course of those that go down from it.

    Parameters
    ----------
    plan : Design
    area : AreaPlan
    """
    crew = plan.crew
    feet: list[shapely.Geometry] = []
    pads: list[shapely.Geometry] = []
    for flight in flights_of(plan):
        body = body_of(flight, crew)
        if flight.kind != "to the lawn" and flight.area == area.name:
            stands = shapely.intersection(body, flight.polygon)
            feet.append(stands)
            pads.append(shapely.buffer(stands, crew["step-pad-spread"], join_style="mitre"))
        elif flight.upper == area.name:
            behind = shapely.difference(body, flight.polygon)
            feet.append(behind)
            pads.append(behind)
    return shapely.union_all(feet), shapely.union_all(pads)


def dug_for(
    plan: Design, area: AreaPlan, dig: Dig, pads: Sequence[Pad],
    deeper: Sequence[tuple[shapely.Geometry, float]] = (),
) -> tuple[Earth, ...]:  # fmt: skip
    """Return what is dug for each pad beyond the hole, the backfill dug out and deeper pads.

    Parameters
    ----------
    plan : Design
    area : AreaPlan
    dig : Dig
        One of the area's.
    pads : sequence of Pad
        All of the area's, so that no ground is dug twice where they overlap.
    deeper : sequence of (shapely geometry, float)
        What else is dug there, in plan and to what level: no ground of it is dug again. [m]
    """
    out = dug_out(plan, area, dig)
    earlier = None
    if out is not None:
        below = dig.build_up + out.depth
        earlier = (out.zone, lambda xy: level_at(area, xy) - below)
    found = [Earth(0.0, 0.0)] * len(pads)
    taken: shapely.Geometry = shapely.Polygon()
    for number in sorted(range(len(pads)), key=lambda k: pads[k].bottom):
        pad = pads[number]
        gone = [where for where, bottom in deeper if bottom <= pad.bottom + ROUNDING]
        where = polygons(shapely.difference(pad.where, shapely.union_all([taken, *gone])))
        bank = topsoil = 0.0
        for part, of, hole, start in _by_hole(plan, area, dig, where, earlier):
            ground = plan.ground.under(of.name)
            ground = ground.reaching(part, ground.beyond_survey(part)[0] + REACH)
            earth = dug_under(ground, of, hole, part, flat(pad.bottom), start)
            bank, topsoil = bank + earth.bank, topsoil + earth.topsoil
        found[number] = Earth(bank, topsoil)
        taken = shapely.union(taken, pad.where)
    return tuple(found)


_Earlier = tuple[shapely.Geometry, Levels]


def _by_hole(
    plan: Design, area: AreaPlan, dig: Dig, where: shapely.Geometry, earlier: _Earlier | None
) -> Iterator[tuple[shapely.Geometry, AreaPlan, Dig, _Earlier | None]]:
    """Yield the parts of a region by whose hole they lie in: the rest is dug with the area's own.

    Steps between areas reach under the paving that they go down from, which is dug for itself.
    """
    rest = where
    for other in plan.areas:
        if other.name != area.name:
            hole = other.chosen_dig
            inside = polygons(
                shapely.difference(shapely.intersection(rest, hole.polygon), dig.polygon)
            )
            if not inside.is_empty:
                yield inside, other, hole, None
                rest = shapely.difference(rest, inside)
    rest = polygons(rest)
    if not rest.is_empty:
        yield rest, area, dig, earlier


def refilled_in(plan: Design, area: AreaPlan, dig: Dig, pad: Pad) -> float:
    """Return the refill of the hole that a pad takes the place of. [m3]

    Between the stripped ground, or the pad's bottom where that is higher, and the formation.

    Parameters
    ----------
    plan : Design
    area : AreaPlan
    dig : Dig
    pad : Pad
    """
    shape = polygons(shapely.intersection(pad.where, dig.polygon))
    if shape.is_empty:
        return 0.0
    piece = clip(plan.ground.under(area.name), shape)
    corners = piece.xy.reshape(-1, 2)
    formation = (level_at(area, corners) - dig.build_up).reshape(-1, 3)
    return overlap(formation - (piece.ground - piece.organics), formation - pad.bottom, piece.areas)
