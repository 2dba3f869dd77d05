"""The step "Water": where the rain ends, what stands, and what is built to lead it away."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from grading.pipeline import Plan
from grading.units import Unit
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
    Choice,
    Field,
    Fold,
    Head,
    Item,
    Items,
    Option,
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
from viz.desk.yard.outlets import kind_choice, new_place
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
    names = [str(each.get("name", "")) for each in tables(seen.document, "outfall")]
    items = []
    for place, written in enumerate(tables(seen.document, "outfall")):
        at = f"outfall/{place}"
        summary = str(written.get("kind", "")) + _lead(written)
        blocks = list(_outfall(seen, at, written))
        items.append(Item(at, names[place] or f"place {place + 1}", summary, blocks))
    add = Add("Add a place that water is meant to reach", new_place(seen))
    return Items("outfall", "Where water is meant to go", items, add)


def _lead(written: Mapping[str, Any]) -> str:
    return f", led to {written['outlet']}" if "outlet" in written else ""


def _outfall(seen: Seen, at: str, written: Mapping[str, Any]) -> Iterator[Block]:
    kind, unit = written.get("kind"), seen.partly.unit
    yield Field(f"{at}/name", "Name", written.get("name"), takes="text")
    yield kind_choice(seen, at, written, "What it is")
    yield Field(f"{at}/z", "Its elevation", written.get("z"),
                "left empty: that of the finished surface", optional=True)  # fmt: skip
    if kind == "drain":
        yield Field(f"{at}/outlet", "Its pipe is led to", written.get("outlet"),
                    "the name of a place", optional=True, takes="text")  # fmt: skip
        for key, label, hint in (
            ("fall", "Fall of its bottom", "such as 1 %; 0 where it is level"),
            ("width", "Inner width", such_as("4 in", unit)),
            ("pipe", "Pipe", f"inner diameter, {such_as('4 in', unit)}"),
        ):
            yield Field(f"{at}/{key}", label, written.get(key), hint, optional=True)
    if kind == "dry well":
        yield Field(f"{at}/depth", "Depth of its stone", written.get("depth"),
                    such_as("4 ft", unit), optional=True)  # fmt: skip
    if kind in ("drain", "dry well"):
        yield Choice(f"{at}/existing", "There already", written.get("existing", False),
                     [Option(False, "no, it is built"), Option(True, "yes")])  # fmt: skip


def _downspouts(seen: Seen, plan: Plan | None) -> Block:
    told = {} if plan is None else {each.name: each for each in plan.water.downspouts}
    unit, items = seen.partly.unit, []
    for place, written in enumerate(tables(seen.document, "downspout")):
        at, name = f"downspout/{place}", str(written.get("name", ""))
        summary = ""
        if name in told:
            summary = spout_words(told[name], unit).removeprefix(f"{name} ")
        read = seen.partly.downspouts.get(at)
        if not summary and read is not None and read.to is None:
            summary = "no extension"
        items.append(
            Item(at, name or f"downspout {place + 1}", summary, _downspout(at, written, unit))
        )
    return Items("downspout", "Downspouts", items)


def _downspout(at: str, written: Mapping[str, Any], unit: Unit) -> Sequence[Block]:
    fields: list[Block] = [
        Field(f"{at}/name", "Name", written.get("name"), takes="text"),
        Field(f"{at}/roof", "Roof that it drains", written.get("roof"),
              f"in plan, {such_as('450 ft2', unit)}"),
        Field(f"{at}/to", "Where its extension ends", written.get("to"),
              "x, y; left empty where it has none", optional=True, takes="list"),
    ]  # fmt: skip
    if "to" in written:
        fields += [
            Field(f"{at}/pipe", "Its pipe", written.get("pipe"),
                  f"inner diameter, {such_as('4 in', unit)}",
                  optional=True),
            Choice(f"{at}/existing", "There already", written.get("existing", False),
                   [Option(False, "no, it is built"), Option(True, "yes")]),
        ]  # fmt: skip
    return fields


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
