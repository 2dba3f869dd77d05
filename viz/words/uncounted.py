"""What an order list leaves out, told beside it, so that nobody takes it for the whole."""

from __future__ import annotations

from collections.abc import Iterator

from grading.conditions.level_words import LINE
from grading.design.door_steps import door_steps
from grading.design.edge_holding import PARTS
from grading.design.steps import shared_edges
from grading.finish.mends import LANDING
from grading.pipeline import Plan
from grading.structures.holding.holds import holding_of
from grading.units import area, size, volume
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
        *_things(plan), *_door_steps(plan), *_steps(plan), *_raised(plan),
        *_backfill(plan), *still_needed(plan),
    )  # fmt: skip


def _things(plan: Plan) -> Iterator[str]:
    """Bases of their own: what is dug and filled for them, and what the paving is spared."""
    unit = plan.site.unit
    for thing in plan.advice.levels:
        seat = thing.seat
        own = seat.own_base
        if seat.stands != "own base":
            if seat.wedge.greatest > LINE:
                yield (
                    f"the wedge of bedding under {seat.name}, up to "
                    f"{size(seat.wedge.greatest, unit)} of sand, and {stretch(thing.line, unit)} "
                    "of cuts round it, or its lowest course cut to the fall"
                )
            continue
        words = f"a base of its own under {seat.name}"
        if not seat.given:
            words += " (advised, for the site does not say)"
        if own is None:
            words += ": how deep its footing goes is given by neither the site nor its frost"
        else:
            words += f": {volume(own.stone, unit)} of compacted base or concrete"
            if own.excavation > _LEAST:
                words += f", {volume(own.excavation, unit)} more to dig"
            words += ", and what fills in round it up to the pavers"
            words += f"; {area(own.cut_out, unit)} of the paving's base is left out there"
        yield words


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
    """Raised edges that nothing may be counted for."""
    unit = plan.site.unit
    for each in plan.areas:
        for part in holding_of(plan, each, each.chosen).parts:
            if not part.kind:
                yield (
                    f"what holds {stretch(part.length, unit, PARTS)} of raised edge of "
                    f"{each.name}, up to {size(part.height, unit)} above the ground: for a "
                    "licensed professional to design"
                )


def _backfill(plan: Plan) -> Iterator[str]:
    unit = plan.site.unit
    for zone in plan.advice.backfill:
        for each in zone.treatments:
            if each.treatment == zone.chosen and each.excavation + each.stone > _LEAST:
                yield (
                    f"the backfill by the wall under {zone.area}: "
                    f"{volume(each.excavation, unit)} to dig, {volume(each.stone, unit)} of stone"
                )
