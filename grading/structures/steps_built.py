"""Steps of wall units and caps: what a flight takes, what is dug for it, and how it looks."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import shapely
from msgspec import Struct

from grading.crew.lines import Line, Maker, Work, stone_line
from grading.crew.model import Crew
from grading.design.area import AreaPlan
from grading.design.model import Design
from grading.design.underfoot import Earth
from grading.dig.hole import Dig
from grading.geometry.arrays import polygons
from grading.geometry.tolerances import ROUNDING, TOLD_EARTH, WHOLE, whole_up
from grading.site.settling import settles
from grading.structures.behind import (
    behind_makers,
    finish_over,
    no_way_out,
    pipe_solid,
    stone_solids,
)
from grading.structures.cheeks import (
    Beside,
    Cheek,
    beside_flight,
    cheek_makers,
    cheek_pads,
    cheek_solids,
    cheek_works,
    put_back_beside,
    sides_not_known,
    sides_plain,
    sides_said,
)
from grading.structures.flights import StepFlight, flights_on
from grading.structures.holding.holds import holding_of
from grading.structures.holding.wall_parts import bodies_of, trenches
from grading.structures.masonry import cap_line, glue_line, unit_line
from grading.structures.model import Dug, Solid, Structure
from grading.structures.pads import Pad, body_of, dug_for, levelled_under, pad_of_flight, pads_of
from grading.structures.step_drains import StepDrain, step_drain, walls_of
from grading.units import Unit, area, percent, run, size, volume
from grading.units import counted as some


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
    made = [_built(plan, area_plan, dig, flight) for flight in flights]
    dug = _dug(plan, area_plan, dig, made)
    for each in made:
        yield _structure(plan, area_plan, dig, each, dug[id(each.flight)])


class _Made(Struct, frozen=True, eq=False):
    """A flight with its pad, what stands beside it, and what lies behind it."""

    flight: StepFlight
    pad: Pad
    beside: Beside
    drain: StepDrain | None

    @property
    def under(self) -> shapely.Geometry:
        """Its own pad, less those of its cheek walls. [m]"""
        return shapely.difference(
            self.pad.where, shapely.union_all([each.pad for each in self.beside.cheeks])
        )


def _built(plan: Design, area_plan: AreaPlan, dig: Dig, flight: StepFlight) -> _Made:
    pad = pad_of_flight(plan, area_plan, dig, flight)
    holding = holding_of(plan, area_plan, dig.system.name)
    slopes = tuple(each for part in holding.parts for each in part.slopes)
    walls = [body for wall in holding.walls for body in bodies_of(wall)]
    beside = beside_flight(plan, flight, slopes, shapely.union_all(walls))
    return _Made(flight, pad, beside, step_drain(plan, area_plan, dig, flight, pad))


def _dug(plan: Design, area_plan: AreaPlan, dig: Dig, made: Sequence[_Made]) -> dict[int, Earth]:
    """Return what is dug for each flight, by its identity: pads, cheek walls, stone behind."""
    pads = list(pads_of(plan, area_plan, dig))
    owners = [id(pad.of) for pad in pads]
    held = [area_plan]
    for each in made:
        more = list(cheek_pads(each.beside.cheeks, plan.crew))
        if each.drain is not None:
            drain = each.drain
            more.append(Pad(each.flight.name, drain.where, drain.pad_top, drain.pad_top, drain))
            held.append(drain.area)
        pads += more
        owners += [id(each.flight)] * len(more)
    walls = walls_of(plan, tuple(held))
    deeper = [trench for wall in walls for trench in trenches(wall)]
    found: dict[int, Earth] = {}
    for owner, earth in zip(owners, dug_for(plan, area_plan, dig, pads, deeper), strict=True):
        before = found.get(owner, Earth(0.0, 0.0))
        found[owner] = Earth(before.bank + earth.bank, before.topsoil + earth.topsoil)
    return found


def _structure(plan: Design, area_plan: AreaPlan, dig: Dig, made: _Made, earth: Earth) -> Structure:
    flight, pad, cheeks, crew = made.flight, made.pad, made.beside.cheeks, plan.crew
    unit, count, drain = plan.site.unit, count_of(flight, crew), made.drain
    under = made.under
    covered, thick = float(shapely.area(under)), pad.top - pad.bottom
    up = levelled_under(crew, dig, flight)
    bed = (float(body_of(flight, crew).area), up)
    behind: tuple[Maker, ...] = ()
    if drain is not None:
        wide, pipe = crew["wall-drain-stone"], crew["underdrain-pipe"]
        out = drain.outlet
        behind = tuple(behind_makers(flight.name, drain.of, wide, pipe, out.far, out.name, unit))
    back = put_back_beside(cheeks, crew)
    return Structure(
        kind="steps",
        name=flight.name,
        area=area_plan.name,
        solids=(
            *_solids(flight, under, pad.bottom, pad.top, up, crew),
            *_top_course(plan, flight, pad.top + up, crew),
            *cheek_solids(cheeks, crew),
            *_behind(drain, crew),
        ),
        makers=(
            Maker(_units, (flight.name, count, flight.width, unit)),
            Maker(_pad, (flight.name, covered, thick, bed, unit)),
            *cheek_makers(cheeks, flight.name, unit),
            *behind,
        ),
        works=(
            Work(f"build {flight.name}", count.caps, "m", "build-steps"),
            *cheek_works(cheeks),
        ),
        dug=Dug(earth.bank, earth.topsoil, min(back, max(earth.bank - earth.topsoil, 0.0))),
        said=_said(made, count, covered, thick, earth.bank, unit),
        plain=_plain(flight, made.beside, unit),
        cautions=tuple(_cautions(plan, flight, crew)),
        not_counted=(
            *(("a handrail",) if flight.handrail else ()),
            *sides_not_known(flight, made.beside),
            *((no_way_out(flight.name),) if drain is not None and drain.outlet.far is None else ()),
        ),
        stands=_beside(flight, cheeks, crew),
    )


def _behind(drain: StepDrain | None, crew: Crew) -> Iterator[Solid]:
    if drain is None:
        return
    pipe = crew["underdrain-pipe"]
    yield from stone_solids(drain.area, drain.dig, polygons(drain.where), drain.pad_top)
    yield pipe_solid(polygons(drain.pipe), drain.outlet.level, pipe)


def _beside(flight: StepFlight, cheeks: Sequence[Cheek], crew: Crew) -> shapely.MultiPolygon:
    """Return what stands beside the paving; on the paving it is left out of that itself. [m]"""
    own = [body_of(flight, crew)] if flight.kind == "to the lawn" else []
    return polygons(shapely.union_all([*own, *(each.stands for each in cheeks)]))


def _said(
    made: _Made, count: StepCount, covered: float, thick: float, dug: float, unit: Unit
) -> str:
    flight = made.flight
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
    sides = sides_said(flight, made.beside, unit)
    words += f"; {sides}" if sides else ""
    if made.drain is not None:
        words += "; clean stone, fabric and a pipe behind them, as behind a wall"
    if dug > TOLD_EARTH:
        words += f"; {volume(dug, unit)} dug for it beyond the hole of the paving"
    return words


def risers_words(flight: StepFlight, unit: Unit) -> str:
    """Say the risers of a flight in the middle of it."""
    many = some(flight.count, "riser")
    return f"{many} of {size(flight.riser, unit)}"


def _plain(flight: StepFlight, beside: Beside, unit: Unit) -> str:
    many = "One step" if flight.count == 1 else f"{flight.count} steps"
    to = "the lawn" if flight.lower == "lawn" else flight.lower
    words = (
        f"{many} of {size(flight.riser, unit)} from {flight.upper} down to {to}, "
        f"{run(flight.width, unit)} wide"
    )
    sides = sides_plain(flight, beside)
    return f"{words}, {sides}" if sides else words


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
            f"{flight.count} risers, and from four on a handrail on one side may be asked for"
            f"{plan.limits.clause('step-handrail')}; ask the building department"
        )
    if flight.drop > plan.limits["guard-height"]:
        yield (
            f"its open sides stand up to {size(flight.drop, unit)} high: a guard may be asked "
            f"for{plan.limits.clause('guard-height')}; ask the building department"
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


def _top_course(plan: Design, flight: StepFlight, low: float, crew: Crew) -> Iterator[Solid]:
    """Yield the top course and its cap, flush with the paving that they go down from."""
    if flight.kind == "at a door":
        return
    upper = plan.area(flight.upper)
    head = polygons(shapely.difference(body_of(flight, crew), flight.polygon))
    for part, finish in finish_over(upper, head):
        under = finish.lowered(crew["wall-cap-height"])
        yield Solid("block", part, low, under)
        yield Solid("cap", part, under, finish)


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
