"""What an order list leaves out, told beside it, so that nobody takes it for the whole.

What is built beside the paving is counted where it is drawn: only what no structure stands along
is told here, and what structures and things themselves still need.
"""

from __future__ import annotations

from collections.abc import Iterator

from grading.design.edge_holding import PARTS
from grading.pipeline import Plan
from grading.structures.holding.holds import holding_of, unheld_edge
from grading.units import run, size
from viz.words.paving.structures import still_needed
from viz.words.plain import begun, stopped, table


def not_counted(plan: Plan, keys: bool = True) -> tuple[str, ...]:
    """Return what a plan needs that neither its order list nor its hours hold, in sentences.

    Parameters
    ----------
    plan : Plan
    keys : bool
        Whether it is told where in the site's file a thing is written: the crew's to know.
    """
    still = dict.fromkeys(still_needed(plan))
    return (*_things(plan), *_raised(plan), *_backfill(plan), *_lawn(plan, keys), *still)


def not_included(plan: Plan) -> tuple[str, ...]:
    """Return the same to who pays, in whole sentences, and behind it what never is included.

    Parameters
    ----------
    plan : Plan
    """
    own = (stopped(begun(said, plan.site)) for said in not_counted(plan, keys=False))
    return (*own, *table("not-included")["items"])


def may_need(plan: Plan) -> tuple[str, ...]:
    """Return what a job may need beyond its plan, that nothing on the site tells of, in sentences.

    Parameters
    ----------
    plan : Plan
    """
    return tuple(_may_need(plan))


def _may_need(plan: Plan) -> Iterator[str]:
    yield "permits, inspections and their fees, where the place asks for them"
    yield (
        "what the dig finds: rock, roots, an old slab, fill, water or soil softer than was reckoned"
    )
    yield (
        "pipes and wires in the ground, and sprinkler heads in the way: found before the dig, "
        "moved by who is licensed for them"
    )
    yield "a fence panel, a gate or a plant moved for the way in, and put back"
    if any(area.area.pavers is None for area in plan.areas):
        yield "pavers dearer, thicker or of another size than those reckoned with"
    yield "lighting, planting and furniture"


def _brought(plan: Plan, keys: bool) -> Iterator[str]:
    """Edges that stand over the lawn, and are held by soil that nobody says how to bring there."""
    for each in plan.areas:
        high = unheld_edge(plan, each)
        if high is not None:
            key = f" (`lawn` of {each.name})" if keys else ""
            yield (
                f"soil and grass beyond the hole that bring the lawn up to {each.name}, where it "
                f"stands up to {size(high, plan.site.unit)} above it and nothing is built: how "
                f"the lawn meets it is not given{key}"
            )


def _things(plan: Plan) -> Iterator[str]:
    """Bases of their own whose depth nobody gave."""
    for seat in plan.advice.features:
        if seat.stands == "own base" and seat.own_base is None:
            yield (
                f"a base of its own under {seat.name}: how deep its footing goes is given by "
                "neither the site nor its frost"
            )


def _raised(plan: Plan) -> Iterator[str]:
    """Raised edges that nothing may be counted for."""
    unit = plan.site.unit
    for each in plan.areas:
        for part in holding_of(plan, each, each.chosen).parts:
            if not part.kind:
                yield (
                    f"what holds {run(part.length, unit, PARTS)} of raised edge of "
                    f"{each.name}, up to {size(part.height, unit)} above the ground: for a "
                    "licensed professional to design"
                )


def _backfill(plan: Plan) -> Iterator[str]:
    """What is done about the backfill of the foundation, and is somebody else's or not known."""
    backfill = plan.site.backfill
    if backfill.treatment == "strip" and plan.site.house is not None:
        yield "planting or river stone on the strip between the wall and the paving"
    elif backfill.treatment == "slab" and plan.advice.backfill:
        yield "the reinforced slab that bridges the backfill by the wall: an engineer's to design"
    elif backfill.treatment == "firm" and backfill.depth is None and plan.advice.backfill:
        yield "digging the backfill by the wall to firm ground: how deep that lies is not given"


def _lawn(plan: Plan, keys: bool) -> Iterator[str]:
    """Lawn brought to paving or worn by the work, somebody else's or of no known size."""
    yield from _brought(plan, keys)
    access = plan.site.access
    if access.repair == "owner":
        yield "lawn worn by the way in and by heaps of soil: the owner puts it right"
    elif access.over == "lawn" and access.path is None:
        key = " ([access] path)" if keys else ""
        yield f"lawn worn by the way in: how far it is to the dig is not given{key}"
