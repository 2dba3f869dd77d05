"""What a crew looks out for on a job, and where it stops: short, one line each."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import NamedTuple

from grading.answers.led import Told, failing, told_of
from grading.catalogue.tables import table
from grading.checks.survey import RULE as SURVEY
from grading.design.door_steps import door_steps
from grading.pipeline import Plan
from grading.signs import listed
from grading.units import size
from viz.signature import not_for_signature
from viz.words.check_figures import REPORTED
from viz.words.checks import look_again_words
from viz.words.plain import stopped
from viz.words.screen.told import said_of as led_words

_AREA = "\0"  # stands for the name of an area


def lookouts(plan: Plan) -> Iterator[str]:
    """Give what must be looked at, a line each, the worst first; what fails is told in the band.

    Parameters
    ----------
    plan : Plan
    """
    looks = [told for told in told_of(plan.checks) if told.status != "fail"]
    yield from _joined(plan, (row for told in looks for row in _looked(told, plan)))
    yield from look_again_words(plan)


def forbidden(plan: Plan) -> tuple[str, ...]:
    """Return why a plan is not to be built, a line each: shots to be read again, what fails.

    The worst first, in the sentence that leads the plan where the place on the ground is not asked.
    """
    doubt, shots = not_for_signature(plan), plan.ground.shots
    fails = (row for told in failing(plan.checks) if not (doubt and told.rule == SURVEY)
             for row in _looked(told, plan))  # fmt: skip
    # What a shot may be is said in the yard; by which words of a command it is settled is not.
    suspects = () if shots is None else shots.suspects
    said = (stopped(each.yard) for each in suspects)
    return (*((f"{doubt}.",) if doubt else ()), *said, *_joined(plan, fails))


class _Row(NamedTuple):
    rule: str
    area: str
    words: str


def _looked(told: Told, plan: Plan) -> Iterator[_Row]:
    """Yield what is said of checks that come out alike.

    It is the sentence that leads the plan, but where the crew has to find the place on the ground,
    or where that sentence sends to the report, which is not on paper.
    """
    words = "" if told.rule in table("answers", "led")["placed"]["rules"] else led_words(told, plan)
    if words and REPORTED not in words:
        yield _Row(told.rule, told.area, f"{told.area}: {words}" if told.area else words)
    else:
        yield from (_Row(check.rule, check.area, check.yard) for check in told.checks)


def _joined(plan: Plan, rows: Iterable[_Row]) -> Iterator[str]:
    """Yield what is said, a sentence each; what holds for several areas alike is said once."""
    alike: dict[tuple[str, str], list[str]] = {}
    for rule, area, words in rows:
        key = words.replace(area, _AREA) if area else words
        alike.setdefault((area and rule, key), []).append(area)
    for (_, said), found in alike.items():
        names = list(dict.fromkeys(filter(None, found)))
        areas = listed(names or [""])
        if len(plan.areas) > 1 and names and _AREA not in said:
            said = f"{areas}: {said}"
        yield stopped(said.replace(_AREA, areas))


def stops(plan: Plan) -> Iterator[str]:
    """Give where the crew stops and calls before it goes on: common practice, no source.

    Parameters
    ----------
    plan : Plan
    """
    unit, limits = plan.site.unit, plan.limits
    yield (
        "The benchmark does not read at the end as at the start, within "
        f"{size(limits['level-misclosure'], unit, 8)}."
    )
    yield "A pipe, wire, tank or slab, or a locator's paint, inside the dig line."
    yield (
        "Topsoil, roots, rubbish or soft soil below the dig-to reading: measure it, photograph it."
    )
    yield "Water stands in the hole, or the soil pumps under the plate."
    yield (
        "The dug surface reads more than "
        f"{size(limits['built-subgrade'], unit, 8)} off, or the base more than "
        f"{size(limits['built-base'], unit, 8)}."
    )
    for area in plan.areas:
        for step in door_steps(area):
            yield (
                f"The finish at {step.door.name} would not come out "
                f"{step.words(lambda metres: size(metres, unit))} below its sill."
            )
    structures = [
        each for area in plan.areas
        for each in plan.order.of(area).takeoffs[area.chosen].structures
    ]  # fmt: skip
    if any(each.kind == "block wall" for each in structures):
        yield "The pad of a wall cannot be dug to firm soil at its level."
    if any("drain" in each.kind or "pipe" in each.kind for each in structures):
        yield "A pipe cannot be laid falling all the way to its outlet."
