"""What an order list leaves out, told beside it, so that nobody takes it for the whole."""

from __future__ import annotations

from collections.abc import Iterator

from grading.catalogue.edge_kinds import WALL
from grading.design.door_steps import door_steps
from grading.design.edge_holding import PARTS, kerbed
from grading.design.steps import shared_edges
from grading.finish.mends import LANDING
from grading.pipeline import Plan
from grading.units import size
from viz.words.edges import step_words
from viz.words.figures import stretch
from viz.words.structures import still_needed

_LEAST = 1e-3  # m3


def not_counted(plan: Plan) -> tuple[str, ...]:
    """Return what a plan needs that neither its order list nor its hours hold, in sentences.

    Parameters
    ----------
    plan : Plan
    """
    return (
        *_things(plan), *_door_steps(plan), *_steps(plan), *_raised(plan), *_kerbs(plan),
        *still_needed(plan),
    )  # fmt: skip


def _things(plan: Plan) -> Iterator[str]:
    """Bases of their own whose depth nobody gave."""
    for seat in plan.advice.features:
        if seat.stands == "own base" and seat.own_base is None:
            yield (
                f"a base of its own under {seat.name}: how deep its footing goes is given by "
                "neither the site nor its frost"
            )


def _door_steps(plan: Plan) -> Iterator[str]:
    unit = plan.site.unit
    for each in plan.areas:
        for step in door_steps(each):
            if step.risers > 1:
                yield (
                    f"the {step.words(lambda metres: size(metres, unit))} from {step.door.name} "
                    f"down to {each.area.name}, {LANDING}"
                )


def _steps(plan: Plan) -> Iterator[str]:
    for edge in shared_edges(plan):
        if edge.risers and not edge.flush:
            yield (
                f"the step between {edge.upper} and {edge.lower}: "
                f"{step_words(edge, plan.site.unit)}, {stretch(edge.length, plan.site.unit)} long"
            )


def _raised(plan: Plan) -> Iterator[str]:
    unit = plan.site.unit
    for each in plan.areas:
        long = sum(edge.length for edge in each.raised_edges)
        raised = "" if each.chosen_dig.system.edge == WALL else "raised "
        if long:
            yield (
                f"the wall or slope that holds {stretch(long, unit, PARTS)} of {raised}edge of "
                f"{each.area.name}"
            )


def _kerbs(plan: Plan) -> Iterator[str]:
    limits, unit = plan.limits, plan.site.unit
    for each in plan.areas:
        long = kerbed(each, limits)
        if long:
            yield f"the kerb along {stretch(long, unit, PARTS)} of edge of {each.area.name}"
