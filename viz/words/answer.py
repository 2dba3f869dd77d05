"""The table at the top of everything: what each area stands on, why, and what it takes."""

from __future__ import annotations

from collections.abc import Iterator

from tabulate import tabulate

from grading.answers.site import (
    TOTAL,
    AreaAnswer,
    Takes,
    joins_words,
    site_answer,
    standing_words,
)
from grading.pipeline import Plan
from grading.units import HOUR, Unit, volume
from viz.table import Table, both

_WIDE = 56  # letters: the column of reasons, in the terminal


def answer_lines(plan: Plan) -> Iterator[str]:
    """Give the site as one answer, line by line, for the terminal.

    Parameters
    ----------
    plan : Plan
    """
    answer, unit = site_answer(plan), plan.site.unit
    rows = [
        (one.area, one.title, *_figures(one.takes, answer.currency, unit), _why(one))
        for one in answer.areas
    ]
    rows.append((TOTAL, "", *_figures(answer.takes, answer.currency, unit), ""))
    headers = ("area", "stands on", "dig", "trips", "hours", "cost", "why")
    yield tabulate(
        rows, headers, maxcolwidths=[None] * 6 + [_WIDE], disable_numparse=True,
        colalign=("left", "left", "right", "right", "right", "right", "left"),
    )  # fmt: skip
    yield from joins_words(answer, unit)


def _why(one: AreaAnswer) -> str:
    words = standing_words(one)
    return f"{one.why}; {words}" if words else one.why


def _figures(takes: Takes, currency: str, unit: Unit) -> tuple[str, ...]:
    return (
        volume(takes.cut, unit), str(takes.trips), f"{takes.time / HOUR:.0f}",
        f"{currency}{takes.cost:,.0f}",
    )  # fmt: skip


def answer_tables(plan: Plan) -> dict[str, Table]:
    """Return the tables that a spreadsheet opens: what stands on what, and where bases meet.

    Parameters
    ----------
    plan : Plan
    """
    answer = site_answer(plan)
    takes = (
        "cut bank (yd3)", "cut bank (m3)", "trips (count)", "bins (count)", "time (h)",
        "cost (money)",
    )  # fmt: skip
    rows = [
        (one.area, one.use, one.base, one.why, standing_words(one), *_numbers(one.takes))
        for one in answer.areas
    ]
    rows.append((TOTAL, "", "", "", "", *_numbers(answer.takes)))
    joins = [
        (
            number, *join.areas, *join.bases, "yes" if join.there else "", join.where,
            round(join.length, 3), join.detail,
        )
        for number, join in enumerate(answer.joins, start=1)
    ]  # fmt: skip
    return {
        "what-stands-on-what": Table(
            ("area", "use", "base", "why", "what stands on it", *takes), tuple(rows)
        ),
        "joins": Table(
            (
                "join", "area", "meets", "base", "base met", "there already", "where",
                "length (m)", "detail",
            ),
            tuple(joins),
        ),
    }  # fmt: skip


def _numbers(takes: Takes) -> tuple[float, ...]:
    return (
        *both(takes.cut), takes.trips, takes.bins, round(takes.time / HOUR, 1),
        round(takes.cost, 2),
    )  # fmt: skip
