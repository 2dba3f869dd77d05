"""The step "Water": where the rain ends, what stands, and what is built to lead it away."""

from __future__ import annotations

from collections.abc import Iterator

from msgspec.structs import replace

from grading.pipeline import Plan
from grading.units.rates import flow
from grading.water.joints import joint_water_words
from grading.water.model import AreaWater
from grading.water.words import (
    around_sentences,
    ends_of,
    ends_words,
    place_words,
    pocket_words,
    rain_words,
    spout_words,
)  # fmt: skip
from viz.desk.blocks import (
    Add,
    Block,
    Field,
    Fold,
    Head,
    Items,
    Say,
    State,
    Step,
    Table,
    Tool,
)  # fmt: skip
from viz.desk.seen import Seen
from viz.desk.sheet.checked import check_blocks, state_of
from viz.desk.written.document import table_at, tables
from viz.desk.yard.examples import such_as
from viz.desk.yard.outlets import new_place, outfall_row, spout_row
from viz.desk.yard.rows import items_of
from viz.words.paving.structures import structure_lines
from viz.words.plain import opened, stopped

KEY, TITLE = "water", "Water"

NONE_YET = "Water is followed once there is a plan, over the paving and the lawn as surveyed."
WORKING = "Every drop is being followed ..."
_SHORTEST = 3  # of a list that is told in a step's line


def step(seen: Seen) -> Step:
    """Return the step.

    Parameters
    ----------
    seen : Seen
    """
    return Step(KEY, TITLE, _answer(seen), _state(seen), list(_blocks(seen)))


def _state(seen: Seen) -> State:
    if seen.plan is not None and not seen.whole and not seen.conflict and not seen.stale:
        return "working"
    return state_of(seen, KEY) if seen.whole else "to do"


def _answer(seen: Seen) -> str:
    plan = seen.plan
    if plan is None:
        return "not followed yet"
    if not seen.whole:
        return "working"
    if len(plan.water.areas) == 1:
        return ends_words(plan.water.areas[0])
    ends: dict[str, None] = {}
    for area in plan.water.areas:
        for end in ends_of(area):
            ends[place_words(end.name, end.kind)] = None
    return f"ends at: {', '.join(list(ends)[:_SHORTEST])}" if ends else "not known"


def _blocks(seen: Seen) -> Iterator[Block]:
    plan = seen.plan
    if plan is None:
        yield Say(NONE_YET, "quiet")
    elif not seen.whole:
        yield Say(WORKING, "quiet")
    elif not seen.conflict:
        yield from check_blocks(seen, KEY)
        for area in plan.water.areas:
            yield from _area(plan, area)
        yield from _around(plan)
        yield Tool("drop-water", "Run a drop of water from anywhere")
    yield _outfalls(seen)
    if tables(seen.document, "downspout"):
        yield _downspouts(seen, plan if seen.whole else None)
    if plan is not None and seen.whole:
        built = list(structure_lines(plan))
        if built:
            yield Head("Built beside and below the paving")
            yield from (Say(stopped(opened(words.strip()))) for words in built)
    yield from _storm(seen)


def _area(plan: Plan, area: AreaWater) -> Iterator[Block]:
    unit = plan.site.unit
    yield Head(f"Rain on {area.name}" if len(plan.water.areas) > 1 else "Where the rain ends")
    yield Say(stopped(opened(rain_words(plan.water, area))))
    rows = [[place_words(end.name, end.kind), end.words] for end in ends_of(area)]
    yield Table(("ends at", "share"), rows)
    if area.joints is not None:
        yield Say(stopped(opened(joint_water_words(area.joints, unit))), "quiet")
    if area.runoff is not None:
        yield Say(f"{flow(area.runoff, unit)} of it in the storm.", "quiet")
    for bed in area.pockets:
        yield Say(stopped(opened(f"{pocket_words(bed)}, {plan.places.at(bed.at)}")), "quiet")


def _around(plan: Plan) -> Iterator[Block]:
    """Yield what roofs, the ground around and low spots do, each once."""
    said: dict[str, None] = {}
    for area in plan.water.areas:
        said.update(dict.fromkeys(around_sentences(plan.water, area, plan.places)))
    if said:
        yield Head("What stands, and what runs on from around")
    yield from (Say(words) for words in said)


def _outfalls(seen: Seen) -> Block:
    add = Add("Add a place that water is meant to reach", new_place(seen))
    items = items_of(seen, "outfall", outfall_row(seen))
    return Items("outfall", "Where water is meant to go", items, add)


def _downspouts(seen: Seen, plan: Plan | None) -> Block:
    """Return the downspouts, each with where its water ends once that is known."""
    ends = {} if plan is None else {each.name: each for each in plan.water.downspouts}
    items = []
    for item in items_of(seen, "downspout", spout_row(seen)):
        end = ends.get(item.title)
        words = "" if end is None else spout_words(end, seen.partly.unit)
        told = words.removeprefix(f"{item.title} ") or item.summary
        items.append(replace(item, summary=told))
    return Items("downspout", "Downspouts", items)


def _storm(seen: Seen) -> Iterator[Block]:
    storm = table_at(seen.document, "storm")
    unit = seen.partly.unit
    blocks: list[Block] = [
        Field("storm/intensity", "Rain", storm.get("intensity"),
              f"what drains are sized for, {such_as('4 in/h', unit)}",
              optional="infiltration" not in storm),
    ]  # fmt: skip
    if storm:
        blocks.append(
            Field("storm/infiltration", "What the subgrade takes in", storm.get("infiltration"),
                  f"{such_as('0.5 in/h', unit)}, where it was tested", optional=True)
        )  # fmt: skip
    yield Fold("The storm", blocks)
