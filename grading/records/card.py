"""The decision card as plain data, in SI: what `fallaway card --json` prints."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from grading.answers.card import Advised, Card, CardRow, Deeper
from grading.order.model import Job
from grading.pipeline import Plan
from grading.records.fields import each, fields, maybe
from grading.records.order import break_even_record, prices_record

SCHEMA = "fallaway/card/1"


_JOB = "cut fill trips=haul.trips bins=haul.bins.count time=time.mean cost=cost.total"
DEEPER = "more cut fill trips bins time cost"
"""What deeper topsoil takes more, on the bases chosen."""


def _jobs(jobs: Mapping[str, Job]) -> dict[str, Any]:
    return {name: fields(job, _JOB) for name, job in jobs.items()}


def _advised(plan: Plan, advised: Advised) -> dict[str, str | None]:
    return {area.name: base for area, base in zip(plan.areas, advised, strict=True)}


def _row(plan: Plan, row: CardRow) -> dict[str, Any]:
    return {
        "topsoil": row.depth,
        "reckoned": row.reckoned,
        "bases": _jobs(row.jobs),
        "areas": {area.name: _jobs(jobs) for area, jobs in zip(plan.areas, row.areas, strict=True)},
        "advised": _advised(plan, row.advised),
        "cheapest": row.cheapest,
    }


def card_record(card: Card, deeper: Sequence[Deeper]) -> dict[str, Any]:
    """Return a decision card as plain data: m, m3, seconds of one person, money.

    Parameters
    ----------
    card : Card
    deeper : sequence of Deeper
    """
    plan = card.plan
    return {
        "schema": SCHEMA,
        "site": plan.site.name,
        "currency": plan.crew.currency,
        "prices": prices_record(plan.crew),
        "rows": [_row(plan, row) for row in card.rows],
        "advised_turns": [
            {
                "topsoil": turn.value,
                "from": _advised(plan, turn.before),
                "to": _advised(plan, turn.after),
            }
            for turn in card.advised_turns
        ],
        "cheapest_turns": each(card.cheapest_turns, "topsoil=value from=before to=after"),
        "break_even": maybe(card.break_even, break_even_record),
        "deeper": [
            {**fields(one, DEEPER), "advised": _advised(plan, one.advised)} for one in deeper
        ],
    }
