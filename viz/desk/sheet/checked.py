"""What fails and what must be looked at, told in the step of the job sheet that it belongs to."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from functools import lru_cache

from grading.answers.led import Led, Told, led, told_of
from grading.catalogue.rules import RULES
from grading.checks.maker import Check
from grading.pipeline import Plan
from viz.desk.blocks import Block, Fold, Own, Say, State
from viz.desk.seen import Seen
from viz.desk.sheet.rules import step_of
from viz.words.check_figures import Reader
from viz.words.plain import begun, opened, stopped
from viz.words.screen.told import told_words

TRYING = "Each way to mend it is tried first; what does mend it then stands here."
NONE_MENDS = "No change that was tried mends it by itself; what was found says what would."
BESIDE = Reader("the check below", 16)
"""On the page a check's own sentence stands below the short one, and both tell one figure."""


@lru_cache(maxsize=2)  # asked by every step
def _so_far(plan: Plan) -> tuple[Told, ...]:
    return told_of(plan.area_checks)


def told_in(seen: Seen, step: str) -> tuple[Told, ...]:
    """Return what does not pass of a step, the worst first; so far, until all is looked at.

    Parameters
    ----------
    seen : Seen
    step : str
    """
    plan = seen.plan
    if plan is None:
        return ()
    told = (*led(plan).fails, *led(plan).looks) if seen.whole else _so_far(plan)
    return tuple(each for each in told if step_of(each.rule) == step)


def state_of(seen: Seen, step: str) -> State:
    """Return how a step stands: by what fails in it, or must be looked at.

    Parameters
    ----------
    seen : Seen
    step : str
    """
    if seen.plan is None:
        return "to do"
    told = told_in(seen, step)
    if any(each.status == "fail" for each in told):
        return "fails"
    return "look" if told else "settled"


def check_blocks(seen: Seen, step: str) -> Iterator[Block]:
    """Yield what does not pass of a step, each with what mends it, and why it is asked.

    Parameters
    ----------
    seen : Seen
    step : str
    """
    plan = seen.plan
    if plan is None:
        return
    several = len(plan.areas) > 1
    for told in told_in(seen, step):
        tone, word = ("fails", "Fails") if told.status == "fail" else ("look", "Look")
        said = _words(plan, told, seen.whole)
        where = f" ({told.area})" if several and told.area else ""
        yield Say(f"{word}{where}: {stopped(said)}", "fails" if tone == "fails" else "look")
        what = RULES[told.rule].title if told.rule in RULES else told.rule
        found = list(_in_full(plan, told.checks, stopped(opened(said))))
        yield Fold(f"What was found: {what}{where}", found)
    if any(each.status == "fail" for each in told_in(seen, step)):
        # Each is tried first, which takes time: they come after all else.
        until = {"working": TRYING, "none": NONE_MENDS}
        yield Own("offered", {"key": "offered", "about": step, **until})


def _words(plan: Plan, told: Told, whole: bool) -> str:
    """Return the sentence of the first screen; before all is known, what the check itself says."""
    if not whole:
        return told.worst.page.partition("; ")[0].partition(". ")[0]
    lead: Led = led(plan)
    return told_words(told, lead, BESIDE)


def _in_full(plan: Plan, checks: Iterable[Check], said: str) -> Iterator[Block]:
    """Yield what checks say, but for what is said already, and where it comes from."""
    sources: dict[str, None] = {}
    for check in checks:
        sources[check.source] = None
        words = begun(stopped(check.page), plan.site)
        if words != said:
            yield Say(words)
    for source in sources:
        yield Say(stopped(source), "quiet")
