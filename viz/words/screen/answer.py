"""The table at the top of everything: what each area stands on, why, and what it takes."""

from __future__ import annotations

from collections.abc import Iterator

from grading.answers.site import (
    TOTAL,
    AreaAnswer,
    Takes,
    joins_words,
    site_answer,
    standing_words,
)
from grading.order.telling import Telling
from grading.pipeline import Plan
from grading.units import HOUR, Unit, volume
from viz.table import Cells, Table

_WIDE = 56  # letters: the column of reasons, in the terminal


def answer_lines(plan: Plan) -> Iterator[str]:
    """Give the site as one answer, line by line, for the terminal.

    Parameters
    ----------
    plan : Plan
    """
    answer, unit = site_answer(plan), plan.site.unit
    rows = [
        _row(one.area, one.title, one.takes, answer.telling, unit, _why(one))
        for one in answer.areas
    ]
    rows.append(_row(TOTAL, "", answer.takes, answer.telling, unit, ""))
    yield Table.of(rows).grid(2, 1, _WIDE)
    yield from joins_words(answer, unit)


def _why(one: AreaAnswer) -> str:
    words = standing_words(one)
    return f"{one.why}; {words}" if words else one.why


def _row(area: str, base: str, takes: Takes, telling: Telling, unit: Unit, why: str) -> Cells:
    return {
        "area": area, "stands on": base, "dig": volume(takes.cut, unit), "trips": str(takes.trips),
        "hours": f"{takes.time / HOUR:.0f}", telling.title: telling.words(takes.cost), "why": why,
    }  # fmt: skip
