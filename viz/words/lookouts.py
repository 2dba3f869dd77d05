"""What a crew looks out for on a job, and where it stops: short, one line each."""

from __future__ import annotations

from collections.abc import Iterator

from grading.checks.check import Check
from grading.design.door_steps import door_steps
from grading.pipeline import Plan
from grading.units import size
from viz.signature import not_for_signature
from viz.words.checks import look_again_words
from viz.words.plain import stopped

_WHY = ("held there by", "two levels with a step")
"""How clauses begin that tell why a finish lies where it does, not what to do: for the report."""


def lookouts(plan: Plan) -> Iterator[str]:
    """Give what must be looked at, a line each, the worst first; what fails is told in the band.

    Parameters
    ----------
    plan : Plan
    """
    for status in ("warn", "unknown"):
        for check in plan.checks:
            if check.status == status:
                yield _line(plan, check)
    yield from look_again_words(plan)


def forbidden(plan: Plan) -> tuple[str, ...]:
    """Return why a plan is not to be built, a line each: shots to be read again, what fails."""
    doubt = not_for_signature(plan)
    failed = [_line(plan, check) for check in plan.checks if check.status == "fail"]
    return (*((f"{doubt}.",) if doubt else ()), *failed)


def _line(plan: Plan, check: Check) -> str:
    """Return what a check found and what is done about it, without why it cannot be otherwise."""
    found, _, mend = check.text.partition(". To mend it: ")
    clauses = [each for each in found.split("; ") if not each.startswith(_WHY)]
    said = "; ".join(clauses)
    several = len(plan.areas) > 1 and check.area and check.area not in said
    if several:
        said = f"{check.area}: {said}"
    if mend:
        # The first way that mends it; the report has all.
        said += f": {mend.partition('; or ')[0]}"
    return stopped(said)


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
