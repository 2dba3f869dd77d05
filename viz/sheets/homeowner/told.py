"""What a homeowner asks first, answered for the whole job: water, steps, the edge, and movement."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from typing import Any

from grading.choice.sills import SillWay, ways_words
from grading.design.area import AreaPlan
from grading.design.door_steps import door_steps
from grading.design.steps import shared_edges
from grading.dig.drainage import WallFall
from grading.geometry.tolerances import FLAT, SEEN
from grading.order.telling import money
from grading.pipeline import Plan
from grading.price.model import price_of
from grading.signs import listed
from grading.site.settling import rests
from grading.structures.flights import flights_of
from grading.units import percent, size
from grading.water.course import FOUNDATION
from grading.water.joints import soaked_words
from grading.water.margins import HEAVE
from grading.water.model import least_margin
from grading.water.plain import called, plain_rain
from grading.water.words import by_house, spouts_to_house
from viz.sheets.compile import printable
from viz.sheets.head import Job
from viz.words.home.around import around_told
from viz.words.paving.edges import step_words
from viz.words.paving.falls import from_the_house, wall_called
from viz.words.paving.structures import is_of, plainly_told, structures_in
from viz.words.plain import begun, opened, stopped
from viz.words.price import band_words

_HURTS = ("fire-distance", "panel-fire")
"""Rules of what stands on paving that are there so that nobody is hurt."""

_LEADS_WATER = ("drain", "well", "pipe", "membrane", "downspout", "extension")
_STEPS = ("step",)
_UNDER = ("base", "backfill")
"""What a kind of structure is told under, by a word that is in it; all else is at the edge."""


def whole(sentences: Iterable[str]) -> list[str]:
    """Return sentences as they are set, each once and whole however long."""
    return [printable(each, len(each)) for each in dict.fromkeys(sentences) if each]


def water_told(job: Job) -> list[str]:
    """Say whether water goes to the basement: the paving's, the roof's, the ground's; worst first.

    Parameters
    ----------
    job : Job
    """
    plan = job.plan
    water = plan.water
    rain = plain_rain(water, water.areas)
    around = [said for one in water.areas for said in around_told(plan, one)]
    reaches = any(one.share(FOUNDATION) > 0 for one in water.areas)
    elsewhere = bool(spouts_to_house(water) or by_house(water))
    elsewhere |= any(wall.reaches for wall in water.at_walls)
    falls, bad = from_the_house(plan, plan.areas)
    ground = _ground_told(plan)
    wet = [
        (called(one.name), one.joints)
        for one in water.areas
        if one.joints is not None and one.joints.soaked_beside > 0
    ]
    soaked = [f"{soaked_words(wet, job.unit)}."] if wet else []
    led = plainly_told(plan, _LEADS_WATER)
    if reaches:
        return whole(["As it is drawn now, some would.", *rain, *falls, *around, *ground, *led,
                      *soaked])  # fmt: skip
    if bad:
        return whole([*falls, *rain, *around, *ground, *led, *soaked])
    if elsewhere:
        # What comes to the house from elsewhere is told before what the paving does well.
        return whole([*around, *falls, *rain, *ground, *led, *soaked])
    if not falls:
        return whole([*rain, *around, *ground, *led, *soaked])
    return whole([f"Not from the paving. {falls[0]}", *rain, *around, *ground, *led, *soaked])


def _ground_told(plan: Plan) -> list[str]:
    """Say what the ground beyond the paving does before each wall, the worst first."""
    worst: dict[str, str] = {}
    ranked = list(_GROUND)
    for area in plan.areas:
        states: dict[str, str] = {
            check.where: check.status
            for check in plan.checks
            if check.rule == "ground-fall-away" and check.area == area.area.name
        }
        for fall in area.walls:
            # One wall is told once, however many areas lie along it: by its worst place.
            wall, status = fall.wall.name, states.get(fall.wall.name)
            if status is None:
                # Paved as far as is looked: there is no ground beyond it to tell of.
                continue
            state = _state(fall, status)
            worst[wall] = min(worst.get(wall, state), state, key=ranked.index)
    names: dict[str, list[str]] = {key: [] for key in ranked}
    for wall, state in worst.items():
        names[state].append(printable(wall_called(plan, wall), 60))
    bad = [(key, some) for key, some in names.items() if some and key]
    if bad:
        return [_GROUND[key].format(walls=listed(some)) for key, some in bad]
    return ["Beyond it the ground falls away from the house too."] if names[""] else []


_GROUND = {
    "back": "Beyond the paving the ground in front of {walls} falls back to the house: it has to "
            "be regraded or drained.",
    "fail": "Beyond the paving the ground in front of {walls} falls away too little: it has to be "
            "regraded or drained.",
    "warn": "Beyond the paving the ground in front of {walls} falls away less than is good for a "
            "house: regrade it, or drain it.",
    "unknown": "How the ground falls beyond the paving in front of {walls} is not known well "
               "enough: we look at it before work begins.",
    "": "",
}  # fmt: skip


def _state(fall: WallFall, status: str) -> str:
    if fall.beyond is not None and fall.beyond.fall < -FLAT:
        return "back"
    return "" if status == "pass" else status


def steps_told(job: Job, priced: bool | None = None) -> dict[str, Any]:
    """Return the step at each door as rows, and what else is said of steps.

    Parameters
    ----------
    job : Job
    priced : bool, optional
        Whether what it costs is said; as the crew's card says where it is left out.
    """
    plan, unit = job.plan, job.unit
    rows = [
        {
            "door": printable(step.door.name or "door"),
            "step": step.words(lambda metres: size(metres, unit)),
        }
        for area in plan.areas
        for step in door_steps(area)
    ]
    said = [] if rows else ["No door opens onto the paving."]
    said += [
        f"Down from {called(edge.upper)} to {called(edge.lower)}: {step_words(edge, unit)}."
        for edge in shared_edges(plan)
        if not edge.flush
    ]
    # Steps at a door and between areas are told by then.
    above = {flight.name for flight in flights_of(plan) if flight.kind != "to the lawn"}
    said += [
        stopped(each.plain)
        for each in structures_in(plan.order)
        if each.plain and is_of(each, _STEPS) and each.name not in above
    ]
    priced = plan.crew.card.show_prices if priced is None else priced
    for area in plan.areas:
        ways = [way for way in plan.sill_ways if area.area.name in way.areas]
        said.append(ways_words(ways, unit, _dearer(plan, ways) if priced else ""))
    clear = [
        check.value
        for check in plan.checks
        if check.rule == "siding-clearance" and check.value is not None
    ]
    if clear:
        said.append(f"Your siding stays at least {size(min(clear), unit)} above the paving.")
    return {"rows": rows, "said": whole(said)}


def _dearer(plan: Plan, ways: Sequence[SillWay]) -> str:
    """Say what the price of the other way is more or less; empty where no price is told."""
    price = price_of(plan)
    if len(ways) != 2 or price is None or band_words(price):
        return ""
    more = price.more_for(ways[1], ways[0])
    if not more:
        return "the same"
    return f"{money(abs(more), price.currency)} {'more' if more > 0 else 'less'}"


def edge_told(job: Job) -> list[str]:
    """Say what is seen at the edge of each area, and what holds it.

    Parameters
    ----------
    job : Job
    """
    plan = job.plan
    several = len(plan.areas) > 1
    said = []
    holds = [list(_holds(plan, area)) for area in plan.areas]
    alike = all(each == holds[0] for each in holds)
    for area, held in zip(plan.areas, holds, strict=True):
        start = f"{called(area.area.name, first=True)}: " if several else ""
        said.append(_edge_of(plan, area, start))
        # What holds all of them is told once, behind them all.
        said += [] if alike else held
    said += holds[0] if alike else []
    # What people may fall from is said to them, and not to the crew alone.
    said += [
        begun(stopped(check.yard), plan.site)
        for check in plan.checks
        if check.rule == "guard-height"
    ]
    return whole(said)


def _edge_of(plan: Plan, area: AreaPlan, start: str) -> str:
    """Say how high the edge of an area stands over the lawn, and how low it lies."""
    unit = plan.site.unit
    above, below = area.edge_heights
    words = []
    if above > SEEN:
        words.append(f"at its highest its edge stands {size(above, unit)} above the lawn")
    if below > SEEN:
        lies = "where it is lowest it lies" if words else "where its edge is lowest it lies"
        words.append(f"{lies} {size(below, unit)} below the ground beside it")
    if not area.edge_runs:
        words = ["no edge of it is free"]
    elif not words:
        words = ["its edge is level with the ground beside it"]
    told = "; ".join(words)
    return stopped(f"{start}{told if start else opened(told)}")


def _holds(plan: Plan, area: AreaPlan) -> Iterator[str]:
    """Yield what holds the edge of an area: what is built there, else what the edge is laid in."""
    holds = [
        stopped(each.plain)
        for each in structures_in(plan.order)
        if each.area == area.area.name
        and each.plain
        and not is_of(each, (*_LEADS_WATER, *_STEPS, *_UNDER))
    ]
    if holds:
        yield from holds
    elif area.edge_runs:
        yield f"Held by: {stopped(plan.advice.area(area.area.name).holding_plain)}"


def stands_told(job: Job) -> list[str]:
    """Return what has to be settled of fires that stand on the paving, a sentence each."""
    return whole(
        begun(stopped(check.yard), job.plan.site)
        for check in job.plan.checks
        if check.rule in _HURTS and check.status != "pass"
    )


def heave_told(job: Job) -> list[str]:
    """Say what frost and settlement may do, and promise nothing.

    Parameters
    ----------
    job : Job
    """
    plan, unit = job.plan, job.unit
    said = ["It may move a little with the seasons and settle back."]
    inch = size(HEAVE, unit)
    found = [least_margin(plan.water, area.walls) for area in plan.areas]
    left = [one[1] for one in found if one is not None]
    if left:
        least = min(each.heaved for each in left)
        if percent(least) == percent(0.0):
            said.append(f"If frost lifted its outer edge {inch}, it would lie level.")
        elif least > 0:
            said.append(
                f"It keeps falling away from the house even if frost lifts its outer edge {inch}."
            )
        else:
            said.append(
                f"If frost lifted its outer edge {inch}, some of it would fall back to the house."
            )
        used = min(each.used_up for each in left)
        why = rests(plan.site)
        if why:
            said.append(f"Settling beside the house is not looked for: {why}.")
        else:
            said.append(f"{size(used, unit)} of settling at the wall would use up its fall there.")
    said.append("We do not promise that it never moves.")
    return whole(said)
