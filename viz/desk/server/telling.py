"""What is seen, told in the keys that the page shows: that which is waited for first."""

from __future__ import annotations

import datetime
import math
from collections.abc import Iterator, Mapping
from typing import Any

from msgspec.structs import replace

from grading.errors import Problem
from grading.files.csv_points import NO_POINTS
from grading.ground.spots import FEWEST_SPOTS
from grading.reading.site_file import NO_AREA
from grading.reading.survey_files import SPOTS
from viz.desk.blocks import Step
from viz.desk.guest.sheet import guest_steps
from viz.desk.plan.view import plan_view
from viz.desk.section.view import section
from viz.desk.seen import Seen
from viz.desk.sheet.offers import offers
from viz.desk.sheet.tally import tally
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
    anew = not again or seen.whole
    figures = {"tally": tally(seen)} if anew else {}
    yield {**({} if again else _document(seen)), **figures}
    if anew:
        yield {
            "plan": plan_view(seen.document, seen.partly, seen.plan, seen.stale, _suspects(seen)),
        }
    if seen.asked.view == "section":
        yield {"section": section(seen)}
    yield _steps(seen)


def offered(seen: Seen) -> Told:
    """Return what is offered where something fails or conflicts: each was tried, which takes time.

    Parameters
    ----------
    seen : Seen
    """
    return {"offers": [each.record() for each in offers(seen)]}


def _document(seen: Seen) -> Told:
    site = seen.site
    return {
        "name": site.name if site else str(seen.document.get("name", "")),
        "unit": seen.partly.unit,
        "document": plain(seen.document),
        "stale": seen.stale,
        "problems": [
            *(problem_record(each) for each in seen.problems if not still_to_give(each)),
            *([{"words": seen.conflict}] if seen.conflict else []),
        ],
        "whole": seen.whole,
        # What was offered of the state before is not of this one.
        **({} if seen.whole else {"offers": None}),
    }


def _suspects(seen: Seen) -> list[str]:
    shots = judged(seen).shots
    return [] if shots is None else [each.key for each in shots.suspects]


def _steps(seen: Seen) -> Told:
    steps = guest_steps(seen) if seen.asked.who == "home" else _sheet(seen)
    made: dict[str, Step] = {each.key: each for each in steps}
    opened = made.get(seen.asked.step, steps[0])
    return {
        "steps": [each.line() for each in steps], "open": plain(opened.opened()),
        "who": seen.asked.who,
    }  # fmt: skip


def _sheet(seen: Seen) -> tuple[Step, ...]:
    field = seen.asked.who == "field"
    shown = [each for each in STEPS if not field or each.in_the_field]
    if all(each.key != seen.asked.step for each in shown):
        # Who is let in asks for a step that is not theirs: the first opens, and so is made.
        seen = replace(seen, asked=replace(seen.asked, step=shown[0].key))
    return tuple(each.make(seen) for each in shown)


def plain(written: Any) -> Any:
    """Return what TOML holds as JSON can: a day, a time, and what is no number as they are written.

    Parameters
    ----------
    written : object
    """
    if isinstance(written, Mapping):
        return {key: plain(value) for key, value in written.items()}
    if isinstance(written, list):
        return [plain(each) for each in written]
    if isinstance(written, datetime.date | datetime.time):
        return written.isoformat()
    if isinstance(written, float) and not math.isfinite(written):
        return str(written)
    return written


def still_to_give(problem: Problem) -> bool:
    """Return whether a problem is that a yard is only begun: its steps say what to give next."""
    if problem.found in (NO_AREA, NO_POINTS):
        return True
    return problem.expected in (SPOTS, FEWEST_SPOTS)


def problem_record(problem: Problem) -> Told:
    """Return a problem as the page shows it."""
    return {"words": problem.page}
