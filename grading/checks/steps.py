"""Flights of steps held to their risers, treads, width and landings; and where one is missing."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
import shapely

from grading.checks.maker import Check, Maker, Status, maker_of
from grading.design.area import AreaPlan
from grading.design.door_steps import door_steps
from grading.design.model import Design
from grading.finish.lawn_steps import edge_at, straight_out
from grading.geometry.arrays import Floats
from grading.geometry.tolerances import ROUNDING, SLIVER, SOLVED, TOGETHER
from grading.structures.flights import StepFlight, flights_of, strip
from grading.units import Unit, run, size
from grading.worded import Worded, in_plan

_STRIDE = 0.6  # m: own: what is free before the lowest riser
_STANDS = 0.999  # own: share of a landing that lies on paving


def step_checks(plan: Design) -> Iterator[Check]:
    """Give the checks of every flight of steps, and of edges that want one.

    Parameters
    ----------
    plan : Design
    """
    make = maker_of(plan)
    for flight in flights_of(plan):
        yield from _of(plan, flight, make.of(flight.area))
    yield from _unused_treads(plan, make)
    for area in plan.areas:
        yield from _in_the_way(plan, area, make.of(area.name))


def _of(plan: Design, flight: StepFlight, make: Maker) -> Iterator[Check]:
    if flight.kind == "to the lawn":
        yield _place(plan, flight, make)
        yield from _lawn_risers(plan, flight, make)
        yield from _width(plan, flight, make)
    yield _alike(flight, make)
    if flight.kind == "between areas" and flight.count > 1:
        yield _between_risers(plan, flight, make)
    if flight.count > 1:
        yield _tread(flight, make)
        yield from _landings(plan, flight, make)
    if flight.handrail:
        yield make.check(
            "step-handrail", "warn", None,
            f"{flight.name} have {flight.count} risers: a handrail on one side may be asked for; "
            "ask the local building department, and leave room for its posts",
            where=flight.name,
        )  # fmt: skip


def _place(plan: Design, flight: StepFlight, make: Maker) -> Check:
    """Check that steps stand where they were written, and that a lawn lies there."""
    rule, unit = "step-place", make.unit
    at = None if flight.written is None else flight.written.at
    off = 0.0 if at is None else float(shapely.distance(flight.taken, shapely.Point(at)))
    text = f"{flight.name} go down {plan.places.at(flight.head.mean(axis=0))}"
    if make.passes(rule, off):
        return make.judged(
            rule, False, "fail", off,
            f"{text}, {run(off, unit)} from where they are written", where=flight.name,
            mend=in_plan("write an `at` on the edge of the area, or leave it out",
                         "put their middle on the edge of the area, or leave it empty"),
        )  # fmt: skip
    blocked = [name for name, body in _bodies(plan, flight)
               if shapely.area(shapely.intersection(body, _way(flight))) > SLIVER]  # fmt: skip
    if blocked:
        text += f", where {' and '.join(blocked)} {'is' if len(blocked) == 1 else 'are'} in the way"
    return make.judged(
        rule, not blocked, "fail", off, text, where=flight.name,
        mend=in_plan("write an `at` where the edge meets the lawn",
                     "put their middle where the edge meets the lawn"),
    )  # fmt: skip


def _way(flight: StepFlight) -> shapely.Polygon:
    """Return what steps cover, and a stride before them. [m]"""
    return strip(flight.head, flight.out, 0.0, flight.going + _STRIDE)


def _bodies(plan: Design, flight: StepFlight) -> Iterator[tuple[str, shapely.Geometry]]:
    if plan.site.house is not None:
        yield "the house", plan.site.house.polygon(flight.width)
    for area in plan.areas:
        yield area.name, area.outline
    for feature in plan.site.features:
        yield feature.name or feature.kind, feature.polygon
    for other in flights_of(plan):
        if other is not flight:
            yield f"what is built of {other.name}", other.polygon


def _lawn_risers(plan: Design, flight: StepFlight, make: Maker) -> Iterator[Check]:
    rule = "step-risers"
    written = flight.written
    least, most = plan.limits.pair(rule) if written is None else written.riser
    unit = make.unit
    many = f"{flight.count} riser{'s' if flight.count > 1 else ''}"
    ground = plan.ground.under(flight.area)
    beyond, _ = ground.beyond_survey(shapely.union(flight.polygon, flight.taken))
    if beyond > plan.limits["survey-margin"]:
        yield make.check(
            rule, "unknown", None,
            f"{flight.name}: {many}, as the lawn would go on; its foot lies {run(beyond, unit)} "
            "beyond the ground that was surveyed",
            where=flight.name, mend="shoot the lawn at the foot of them",
        )  # fmt: skip
        return
    if flight.drop <= ROUNDING:
        text = (
            f"{flight.name} would go up: the lawn at its foot stands "
            f"{size(-flight.drop, unit)} above the edge"
        )
        yield make.check(rule, "fail", flight.drop, text, limit=least, where=flight.name,
                         mend=in_plan(
                             "write another `at`, or leave the step out",
                             "put their middle elsewhere, or take the step away"))  # fmt: skip
        return
    text = f"{flight.name}: {many} of {size(flight.riser, unit)}"
    if least - SOLVED <= flight.riser <= most + SOLVED:
        yield make.check(rule, "pass", flight.riser, text, limit=most, where=flight.name)
        return
    high = flight.riser > most
    limit = most if high else least
    other = "more" if high else "fewer"
    which = "at most" if high else "at least"
    lower = "" if high else "; an edge as low as that may need no steps there"
    yield make.check(
        rule, "fail", flight.riser,
        f"{text}, where it is to be {which} {size(limit, unit)}",
        limit=limit, where=flight.name,
        mend=in_plan(f"write {other} `risers`, or leave them out{lower}",
                     f"give it {other} risers, or leave that field empty"),
    )  # fmt: skip


def _between_risers(plan: Design, flight: StepFlight, make: Maker) -> Check:
    """Check risers where the treads end: the fit held the step where the areas meet."""
    rule, unit = "step-risers", make.unit
    written = flight.written
    least, most = plan.limits.pair(rule) if written is None else written.riser
    text = f"{flight.name}: {flight.count} risers of {size(flight.riser, unit)}"
    if flight.riser > most + SOLVED:
        return make.check(
            rule, "fail", flight.riser,
            f"{text}, where each is to be at most {size(most, unit)}: {flight.lower} falls on to "
            "the foot of them",
            limit=most, where=flight.name,
            mend=in_plan("write more `risers`", "give them more risers"),
        )  # fmt: skip
    if flight.riser < least - SOLVED:
        return make.check(
            rule, "warn", flight.riser,
            f"{text}, where each is to be at least {size(least, unit)}: what they come down to at "
            "the foot of them stands higher than where the areas meet, or their treads fall",
            limit=least, where=flight.name,
            mend=in_plan("write fewer `risers`, or a lower `riser`",
                         "give them fewer risers, or a lower height of a riser"),
        )  # fmt: skip
    return make.check(rule, "pass", flight.riser, text, limit=most, where=flight.name)


def _alike(flight: StepFlight, make: Maker) -> Check:
    rule, unit = "step-alike", make.unit
    risers = flight.risers
    low, high = size(float(risers.min()), unit), size(float(risers.max()), unit)
    text = f"{flight.name}: risers alike, {low}"
    if low != high:
        text = f"{flight.name}: risers {low} to {high}, {size(flight.unlike, unit)} apart"
    lawn = flight.lower == "lawn"
    mend = (
        "make the ground at the foot of them level across, or set them where it does not fall "
        "along the edge"
        if lawn
        else f"turn the fall of {flight.lower} square to them, or make them less wide"
    )
    # A lawn is levelled by hand at a foot; a finish does what the plan has it do.
    worse: Status = "fail" if flight.kind == "between areas" and flight.count > 1 else "warn"
    fine = not make.passes(rule, flight.unlike)
    return make.judged(rule, fine, worse, flight.unlike, text, where=flight.name, mend=mend)


def _tread(flight: StepFlight, make: Maker) -> Check:
    rule = "step-tread"
    text = f"{flight.name}: treads of {size(flight.tread, make.unit)}"
    least = size(make.limits[rule], make.unit)
    return make.judged(
        rule, make.reaches(rule, flight.tread), "fail", flight.tread, text, where=flight.name,
        mend=in_plan(f"write a `tread` of {least} or more",
                     f"give them a tread of {least} or more"),
    )  # fmt: skip


def _width(plan: Design, flight: StepFlight, make: Maker) -> Iterator[Check]:
    rule = "step-width"
    text = f"{flight.name}: {run(flight.width, make.unit)} wide"
    written = None if flight.written is None else flight.written.width
    asked = written or plan.limits["step-built-width"]
    short = asked - flight.width > ROUNDING
    if short:
        text += f", as long as the straight edge there: {run(asked, make.unit)} is not used"
    fine = make.reaches(rule, flight.width) and not short
    yield make.judged(
        rule, fine, "fail", flight.width, text, where=flight.name,
        mend=in_plan(
            "write a `width` that the edge has room for, or an `at` on a longer one",
            "make them as narrow as the edge has room for, or put their middle on a longer one",
        )
        if short
        else in_plan(
            f"write a `width` of {size(make.limits[rule], make.unit)} or more",
            f"make them {size(make.limits[rule], make.unit)} wide or more",
        ),
    )  # fmt: skip


def _landings(plan: Design, flight: StepFlight, make: Maker) -> Iterator[Check]:
    """Check that people stand on paving above and below: on a lawn they stand on grass."""
    rule, unit = "step-landing", make.unit
    deep = plan.limits[rule]
    head, foot = flight.landings(deep)
    paving = shapely.union_all([area.outline for area in plan.areas])
    things = shapely.union_all([each.polygon for each in plan.site.features])
    free = shapely.difference(paving, things)
    wanted = []
    if flight.kind != "at a door":
        wanted.append(("above", head))
    if flight.kind != "to the lawn":
        wanted.append(("below", foot))
    short = [
        where for where, strip in wanted
        if shapely.area(shapely.intersection(free, strip)) < _STANDS * strip.area
    ]  # fmt: skip
    if not wanted:
        return
    text = f"{flight.name}: a landing of {size(deep, unit)} "
    if short:
        text += f"{' and '.join(short)} them does not lie free on the paving"
    else:
        text += f"{' and '.join(where for where, _ in wanted)} them lies on the paving"
    yield make.judged(
        rule, not short, "warn", deep, text, where=flight.name,
        mend="move the steps or what stands there, or draw the paving deeper there",
    )  # fmt: skip


def _unused_treads(plan: Design, make: Maker) -> Iterator[Check]:
    """Fail a tread that was written of steps that came out as one riser."""
    for step in plan.site.steps:
        if step.tread is None:
            continue
        found = [each for each in flights_of(plan) if each.written is step]
        if not any(each.count > 1 for each in found):
            area = step.area or (step.down or ("",))[0]
            yield make.of(area).check(
                "not-used", "fail", None,
                f"the tread of {size(step.tread, make.unit)} of the step down from {area} is not "
                "used, for it has one riser",
                mend=in_plan("leave `tread` out, or write more `risers`",
                             "leave the tread empty, or give it more risers"),
                where=f"the tread of the step down from {area}",
            )  # fmt: skip


def _in_the_way(plan: Design, area: AreaPlan, make: Maker) -> Iterator[Check]:
    """Warn where an edge higher than a riser lies straight out from a door, and no steps do."""
    rule, unit = "steps-to-lawn", make.unit
    flights = [each for each in flights_of(plan) if each.kind == "to the lawn"]
    if any(each.area == area.name for each in flights):
        return
    for step in door_steps(area):
        place = straight_out(plan.site, area.area, step.door)
        if place is None:
            continue
        high = _height_at(area, place)
        if high is None or high <= plan.limits[rule] + ROUNDING:
            continue
        _, _, long = edge_at(area.outline, place, plan.limits["step-built-width"])
        text = (
            f"straight out from {step.door.name} the edge of {area.name} stands {size(high, unit)} "
            f"over the lawn, {plan.places.at(place)}: steps down to the lawn are advised there"
        )
        mend = _written(area.name, unit, long, plan.limits["step-built-width"])
        yield make.judged(rule, False, "warn", high, text, where=step.door.name, mend=mend)
        return


def _written(name: str, unit: Unit, long: float, wide: float) -> Worded:
    """Say how steps are asked for where an edge has room for them, if for less than is usual."""
    width = run(min(long, wide), unit)
    more = Worded(f' and width = "{width}"', f" {width} wide") if long < wide else ""
    here = Worded(
        f'add [[step]] with area = "{name}" and to = "lawn"',
        "have steps", f"add steps from {name} down to the lawn",
    )  # fmt: skip
    return here + more + Worded("", " put into the plan before you dig", "")


def _height_at(area: AreaPlan, place: Floats) -> float | None:
    """Return how high the edge stands over the ground at a place, None where it is not free."""
    point = shapely.Point(place)
    for run_ in area.edge_runs:
        line = shapely.LineString(run_.points)
        if shapely.distance(line, point) <= TOGETHER:
            return float(np.interp(line.project(point), run_.along, run_.height))
    return None
