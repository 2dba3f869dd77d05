"""Steps of wall units and caps: what a flight takes, what is dug for it, and how it looks."""

from __future__ import annotations

from collections.abc import Iterator

import shapely
from msgspec import Struct

from grading.crew.lines import Line, Maker, Work
from grading.crew.model import Crew
from grading.crew.stone import stone_line
from grading.design.area import AreaPlan
from grading.design.model import Design
from grading.dig.hole import Dig
from grading.geometry.tolerances import ROUNDING, WHOLE, whole_up
from grading.site.settling import settles
from grading.structures.flights import StepFlight, flights_on
from grading.structures.holding.holds import holding_of
from grading.structures.holding.wall_parts import trenches
from grading.structures.masonry import cap_line, glue_line, unit_line
from grading.structures.model import Dug, Solid, Structure
from grading.structures.pads import body_of, dug_for, levelled_under, pad_of_flight, pads_of
from grading.units import INCH, Unit, area, percent, run, size, volume

_LEAST = 1e-3  # m3: less is not told
_GUARD = 30 * INCH
"""An open side that stands higher may ask for a guard: IRC R312.1.1. [m]"""


class StepCount(Struct, frozen=True):
    """What a flight is built of: courses, rows of units in all of them [-], and both lengths [m].

    Attributes
    ----------
    courses : int
        One for each riser, but for that onto a sill, which is the house's.
    rows : int
        Of units, in all courses together, each as long as the flight is wide.
    units : float
        Without waste.
    caps : float
        Length of the caps, one for each course. [m]
    """

    courses: int
    rows: int
    units: float
    caps: float


def counted(
    courses: int, top: float, tread: float, width: float, deep: float, long: float
) -> StepCount:
    """Return what steps on full courses are built of: no course is laid on soil behind another.

    Parameters
    ----------
    courses : int
    top : float
        How deep the top course is: a unit's, a tread's or a landing's depth. [m]
    tread, width : float
        Going of a tread, and width of the flight. [m]
    deep, long : float
        Of a unit: face to back, and along. [m]

    Notes
    -----
    Course i of n from below is ((n - i) tread + top) deep, in whole rows of units.
    """
    depths = [(courses - each) * tread + top for each in range(1, courses + 1)]
    rows = sum(whole_up(depth / deep, WHOLE) for depth in depths)
    return StepCount(courses, rows, rows * width / long, courses * width)


def count_of(flight: StepFlight, crew: Crew) -> StepCount:
    """Return what a flight is built of with a crew's wall units.

    Parameters
    ----------
    flight : StepFlight
    crew : Crew
    """
    deep, long = crew["wall-unit-depth"], crew["wall-unit-length"]
    if flight.kind == "at a door":
        top, courses = flight.landing or flight.tread, flight.count - 1
    else:
        top, courses = deep, flight.count
    return counted(courses, top, flight.tread, flight.width, deep, long)


def steps_built(plan: Design, area_plan: AreaPlan, dig: Dig, crew: Crew) -> Iterator[Structure]:
    """Give the flights of steps that are built with an area.

    Parameters
    ----------
    plan : Design
    area_plan : AreaPlan
    dig : Dig
    crew : Crew
        Sizes of its wall units and caps.
    """
    flights = flights_on(plan, area_plan)
    if not flights:
        return
    pads = pads_of(plan, area_plan, dig)
    walls = holding_of(plan, area_plan, dig.system.name).walls
    deeper = [trench for wall in walls for trench in trenches(wall)]
    earths = dug_for(plan, area_plan, dig, pads, deeper)
    dug = {id(pad.of): earth for pad, earth in zip(pads, earths, strict=True)}
    for flight in flights:
        unit = plan.site.unit
        count, pad = count_of(flight, crew), pad_of_flight(plan, area_plan, dig, flight)
        earth, covered = dug[id(flight)], float(shapely.area(pad.where))
        thick, up = pad.top - pad.bottom, levelled_under(crew, dig, flight)
        bed = (float(body_of(flight, crew).area), up)
        yield Structure(
            kind="steps",
            name=flight.name,
            area=area_plan.name,
            solids=tuple(_solids(flight, pad.where, pad.bottom, pad.top, up, crew)),
            makers=(
                Maker(_units, (flight.name, count, flight.width, unit)),
                Maker(_pad, (flight.name, covered, thick, bed, unit)),
            ),
            works=(Work(f"build {flight.name}", count.caps, "m", "build-steps"),),
            dug=Dug(earth.bank, earth.topsoil),
            said=_said(flight, count, covered, thick, earth.bank, unit),
            plain=_plain(flight, unit),
            cautions=tuple(_cautions(plan, flight, crew)),
            not_counted=("a handrail",) if flight.handrail else (),
            stands=_beside(flight, crew),
        )


def _beside(flight: StepFlight, crew: Crew) -> shapely.MultiPolygon:
    """Return what stands beside the paving; on the paving it is left out of that itself. [m]"""
    own = flight.kind == "to the lawn"
    return shapely.MultiPolygon([body_of(flight, crew)] if own else [])


def _said(
    flight: StepFlight, count: StepCount, covered: float, thick: float, dug: float, unit: Unit
) -> str:
    words = f"{flight.name}: {risers_words(flight, unit)}, {run(flight.width, unit)} wide"
    if flight.count > 1:
        words += (
            f", treads of {size(flight.tread, unit)} that fall {percent(flight.pitch, 1)} outward"
        )
    if flight.landing:
        words += f", a landing of {size(flight.landing, unit)} at the sill"
    words += (
        f"; {count.courses} course{'s' if count.courses > 1 else ''} of wall units in "
        f"{count.rows} row{'s' if count.rows > 1 else ''}, capped, on a level pad of "
        f"{size(thick, unit)} over {area(covered, unit)}"
    )
    if dug > _LEAST:
        words += f", {volume(dug, unit)} dug for it beyond the hole of the paving"
    return words


def risers_words(flight: StepFlight, unit: Unit) -> str:
    """Say the risers of a flight in the middle of it."""
    many = "1 riser" if flight.count == 1 else f"{flight.count} risers"
    return f"{many} of {size(flight.riser, unit)}"


def _plain(flight: StepFlight, unit: Unit) -> str:
    many = "One step" if flight.count == 1 else f"{flight.count} steps"
    to = "the lawn" if flight.lower == "lawn" else flight.lower
    return (
        f"{many} of {size(flight.riser, unit)} from {flight.upper} down to {to}, "
        f"{run(flight.width, unit)} wide"
    )


def _cautions(plan: Design, flight: StepFlight, crew: Crew) -> Iterator[str]:
    unit, high = plan.site.unit, crew["wall-unit-height"]
    if abs(flight.riser - high) > plan.limits["step-alike"]:
        yield (
            f"the units are {size(high, unit)} high and the risers {size(flight.riser, unit)}: "
            "take units of that height, or bring the ground at the foot to them; risers that "
            "differ make people fall"
        )
    if flight.handrail:
        yield (
            f"{flight.count} risers: a handrail on one side may be asked for (IRC R311.7.8, four "
            "or more); ask the building department"
        )
    if flight.drop > _GUARD:
        yield (
            f"its open sides stand up to {size(flight.drop, unit)} high: a guard may be asked for "
            "(IRC R312.1.1); ask the building department"
        )
    if flight.kind == "to the lawn":
        yield (
            f"level the lawn at its foot, {size(plan.limits['step-landing'], unit)} out and as "
            "wide as the steps"
        )
    house = plan.site.house
    if flight.kind == "at a door" and house is not None and settles(house.age) is not False:
        yield (
            "its pad goes down to undisturbed soil, or the backfill by the wall is treated first: "
            "steps on loose fill lean away from the house"
        )
    if flight.count > 1:
        yield (
            "whether the code's rules for stairs reach steps in a yard differs by edition and "
            "place: ask the building department before they are sold"
        )


def _solids(
    flight: StepFlight, pad: shapely.Geometry, bottom: float, top: float, up: float, crew: Crew
) -> Iterator[Solid]:
    cap, body = crew["wall-cap-height"], body_of(flight, crew)
    for part in shapely.get_parts(pad):
        yield Solid("dense-graded", part, bottom, top)
    if up > ROUNDING:
        yield Solid("dense-graded", body, top, top + up)
        top += up
    for tread in flight.treads:
        yield Solid("block", tread.polygon, top, tread.top.lowered(cap))
        yield Solid("cap", tread.polygon, tread.top.lowered(cap), tread.top)
    if flight.kind != "at a door":
        head = shapely.difference(body, flight.polygon)
        for part in shapely.get_parts(head):
            if isinstance(part, shapely.Polygon) and part.area > 0:
                yield Solid("block", part, top, float(flight.levels[0].min()) - cap)


def _units(name: str, count: StepCount, width: float, unit: Unit, crew: Crew) -> Iterator[Line]:
    how = (
        f"{count.courses} course{'s' if count.courses > 1 else ''} {run(width, unit)} wide, "
        f"{count.rows} row{'s' if count.rows > 1 else ''} in all"
    )
    yield unit_line(name, count.units, how, crew)
    how = f"{run(count.caps, unit)} of tread and nosing"
    yield cap_line(name, count.caps / crew["wall-cap-length"], how, crew)
    yield glue_line(name, count.caps, "the caps", unit, crew)


def _pad(
    name: str, covered: float, thick: float, bed: tuple[float, float], unit: Unit, crew: Crew
) -> Iterator[Line]:
    how = f"{size(thick, unit)} over {area(covered, unit)}, dead level"
    under, up = bed
    if up > ROUNDING:
        how += f", and {size(up, unit)} under the lowest course"
    yield stone_line("dense-graded", f"pad of {name}", covered * thick + under * up, how, crew)
