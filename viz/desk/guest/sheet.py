"""What stands in the homeowner's sheet of the page, in the words and the order of their paper."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from grading.answers.led import told_of
from grading.pipeline import Plan
from viz.desk.blocks import Block, Head, Say, State, Step, Table, Tool
from viz.desk.seen import Seen
from viz.desk.sheet.rules import WATER
from viz.paper.page import page_for
from viz.sheets.head import Job, area_title
from viz.sheets.homeowner.agreed import agreed
from viz.sheets.homeowner.changes import price_told
from viz.sheets.homeowner.reasons import why
from viz.sheets.homeowner.told import edge_told, stands_told, steps_told, water_told
from viz.words.cautions import PICTURE
from viz.words.field.away import PAPER
from viz.words.plain import opened
from viz.words.signing import Against, against_signing

NONE_YET = "There is nothing to show before there is a plan."
NOT_TOGETHER = (
    "Not all that is asked for can be had together: what gives is settled first, and shown then."
)
DROP = "Let rain fall somewhere"


def guest_steps(seen: Seen) -> tuple[Step, ...]:
    """Return the lines of the homeowner's sheet.

    Parameters
    ----------
    seen : Seen
    """
    plan = seen.plan
    if seen.conflict:
        return (_step("first", PAPER["first"], [Say(NOT_TOGETHER, "look")], "fails"),)
    if plan is None or not seen.whole:
        words = NONE_YET if plan is None else ""
        return (_step("water", PAPER["water"], [Say(words, "quiet")], "working"),)
    job = Job(plan, plan.order, page_for(plan.site.unit, None, portrait=True))
    against = against_signing(plan)
    made = (
        _step("first", PAPER["first"], _first(against), "fails"),
        _step("water", PAPER["water"], _water(job), _water_state(plan)),
        _step("steps", PAPER["steps"], _steps(job)),
        _step("edge", PAPER["edge"], map(Say, edge_told(job))),
        _step("base", "What lies under it, and why", _under(job)),
        _step("agreed", PAPER["agreed"], _agreed(job, seen)),
        _step("settled", PAPER["settled"], map(Say, stands_told(job))),
    )
    return tuple(each for each in made if each.blocks)


def _step(key: str, title: str, blocks: Iterable[Block], state: State = "settled") -> Step:
    return Step(key, title, "", state, list(blocks))


def _first(against: Against) -> Iterator[Block]:
    """Yield what speaks against signing, as it stands at the head of the paper."""
    if against.any:
        yield Say(against.lead, "strong")
        yield from (Say(each, "look") for each in against.reasons)


def _water(job: Job) -> Iterator[Block]:
    """Yield the whole answer in its own order: what else fails stands in no way between."""
    yield from map(Say, water_told(job))
    yield Tool("drop-water", DROP)


def _water_state(plan: Plan) -> State:
    """Return the worst state of the rules that the answer on water tells."""
    states = {each.status for each in told_of(plan.checks) if each.rule in WATER | {"fall-away"}}
    if "fail" in states:
        return "fails"
    return "look" if states else "settled"


def _steps(job: Job) -> Iterator[Block]:
    told = steps_told(job, priced=False)
    rows = [(row["door"], row["step"]) for row in told["rows"]]
    if rows:
        yield Table((PAPER["door"], PAPER["step"]), rows)
    yield from map(Say, told.get("said", ()))


def _under(job: Job) -> Iterator[Block]:
    for area in job.plan.areas:
        if len(job.plan.areas) > 1:
            yield Head(area_title(area))
        yield from (Say(f"{each['lead']}: {each['words']}") for each in why(job, area))


def _agreed(job: Job, seen: Seen) -> Iterator[Block]:
    told = agreed(job)
    for area, row in zip(job.plan.areas, told["areas"], strict=True):
        yield Head(area_title(area))
        lines = (
            (PAPER["size"], row["size"]), (PAPER["base"], row["base"]),
            *((PAPER["step"], step) for step in row["steps"]), (PAPER["edge_head"], row["edge"]),
        )  # fmt: skip
        said = (PAPER["said"].format(what=what, words=words) for what, words in lines)
        yield from (Say(opened(each)) for each in said)
    yield from map(Say, (*told["laid"], *told["built"]))
    price = price_told(job.plan, seen.asked.prices)
    if price:
        yield Say(price, "strong")
    yield Head(PAPER["not_included"])
    yield from map(Say, told["not_included"])
    yield Say(PICTURE, "quiet")
