"""What fails and what must be looked at, told in the step of the job sheet that it belongs to."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from functools import lru_cache

from grading.answers.led import Led, Told, led, told_of
from grading.checks.check import Check
from grading.pipeline import Plan
from viz.desk.blocks import Block, Fold, Say, State
from viz.desk.offers import fail_offers
from viz.desk.seen import Seen
from viz.words.led import told_words
from viz.words.plain import begun, stopped

GROUND = frozenset({"survey"})
"""Rules that the step of the survey tells by itself."""

WATER = frozenset(
    {"low-edge", "foundation-water", "ground-water", "ground-fall-away", "run-on",
     "low-spot-paving", "low-spot-ground", "planting-lip", "downspout-reach", "drain-grate",
     "under-fall", "stone-reservoir",
     "swale-slope", "drain-slope", "drain-outlet", "drain-capacity", "pipe-cover", "other-water",
     "dry-well-distance", "dry-well-storm", "dry-well-size", "dry-well-soil",
     "foundation-soak-share"}
)  # fmt: skip
"""Rules of where the water goes, and of what is built for it."""

BASE = frozenset(
    {"base-thickness-foot", "base-thickness-vehicle", "panel-use", "panel-fire", "fire-distance",
     "panel-feature", "panel-feature-height", "feature-overhang", "feature-wedge", "edge", "joint",
     "joint-weather", "subgrade-bearing", "base-advised", "base-join", "backfill-zone",
     "backfill-depth", "settled-fall", "heaved-fall", "hold", "hold-height", "wall-safety",
     "wall-toe", "wall-permit", "wall-permit-surcharged", "wall-terrace", "raised-fill",
     "raised-edge", "sunken-edge", "guard-height", "lower-finish", "organics", "test-holes"}
)  # fmt: skip
"""Rules of what lies under the paving, what holds its edge and what stands on it."""

STEPS = {"ground": GROUND, "water": WATER, "base": BASE}


def step_of(rule: str) -> str:
    """Return the step of the job sheet that a rule belongs to: the finish, if to no other."""
    return next((step for step, rules in STEPS.items() if rule in rules), "finish")


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
        if told.status == "fail" and seen.whole and not seen.stale:
            yield from fail_offers(plan, told)
        yield Fold("What was found, and who asks for it", list(_in_full(plan, told.checks)))


def _words(plan: Plan, told: Told, whole: bool) -> str:
    """Return the sentence of the first screen; before all is known, what the check itself says."""
    if not whole:
        return told.worst.text.partition("; ")[0].partition(". ")[0]
    lead: Led = led(plan)
    return told_words(told, lead)


def _in_full(plan: Plan, checks: Iterable[Check]) -> Iterator[Block]:
    sources: dict[str, None] = {}
    for check in checks:
        sources[check.source] = None
        yield Say(begun(stopped(check.text), plan.site))
    for source in sources:
        yield Say(stopped(source), "quiet")
