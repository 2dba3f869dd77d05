"""What is seen, told in the keys that the page shows: that which is waited for first."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from grading.errors import Problem
from viz.desk.blocks import Step
from viz.desk.plan_view import plan_view
from viz.desk.sections import section
from viz.desk.seen import Seen
from viz.desk.steps.listed import STEPS
from viz.desk.survey.settling import judged

Told = dict[str, Any]


def told(seen: Seen, again: bool = False) -> Iterator[Told]:
    """Yield what the page shows of a document, key by key, that which is wanted first before.

    Parameters
    ----------
    seen : Seen
    again : bool
        Whether only something else of the same document is looked at.
    """
    if not again:
        yield _document(seen)
    if seen.asked.view == "section":
        yield {"section": section(seen)}
    yield _steps(seen)


def _document(seen: Seen) -> Told:
    site = seen.site
    return {
        "name": site.name if site else str(seen.document.get("name", "")),
        "unit": seen.partly.unit,
        "document": seen.document,
        "stale": seen.stale,
        "problems": [*map(problem_record, seen.problems), *_conflict(seen)],
        "whole": seen.whole,
        "plan": plan_view(seen.document, seen.partly, seen.plan, seen.stale, _suspects(seen)),
    }


def _suspects(seen: Seen) -> list[str]:
    shots = judged(seen).shots
    return [] if shots is None else [each.key for each in shots.suspects]


def _steps(seen: Seen) -> Told:
    listed = {each.key: each for each in STEPS}
    key = seen.asked.step if seen.asked.step in listed else STEPS[0].key
    made: dict[str, Step] = {each.key: each.make(seen) for each in STEPS}
    return {"steps": [each.line() for each in made.values()], "open": made[key].opened()}


def problem_record(problem: Problem) -> Told:
    """Return a problem as the page shows it."""
    return {
        "where": problem.where, "found": problem.found, "expected": problem.expected,
        "mend": problem.mend, "words": str(problem),
    }  # fmt: skip


def _conflict(seen: Seen) -> Iterator[Told]:
    if seen.conflict:
        yield {"where": "", "found": "", "expected": "", "mend": "", "words": seen.conflict}
