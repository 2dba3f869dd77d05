"""The decision card as plain data, in SI: what `fallaway card --json` prints."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from grading.answers.card import Advised, Card, CardRow, Deeper
from grading.order.model import Job
from grading.pipeline import Plan
from grading.record.order import break_even_record

SCHEMA = "fallaway/card/1"


def _job(job: Job) -> dict[str, Any]:
    return {
        "cut": job.cut,
        "fill": job.fill,
        "trips": job.haul.trips,
        "bins": job.haul.bins.count,
        "time": job.time.mean,
        "cost": job.cost.total,
    }


def _jobs(jobs: Mapping[str, Job]) -> dict[str, Any]:
    return {name: _job(job) for name, job in jobs.items()}


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
        "rows": [_row(plan, row) for row in card.rows],
        "advised_turns": [
            {
                "topsoil": turn.value,
                "from": _advised(plan, turn.before),
                "to": _advised(plan, turn.after),
            }
            for turn in card.advised_turns
        ],
        "cheapest_turns": [
            {"topsoil": turn.value, "from": turn.before, "to": turn.after}
            for turn in card.cheapest_turns
        ],
        "break_even": None if card.break_even is None else break_even_record(card.break_even),
        "deeper": [
            {**part, "advised": _advised(plan, one.advised)}
            for part, one in zip(deeper_record(deeper), deeper, strict=True)
        ],
    }


def deeper_record(deeper: Sequence[Deeper]) -> list[dict[str, Any]]:
    """Return what deeper topsoil takes more, on the bases chosen, as plain data.

    Parameters
    ----------
    plan : Plan
    deeper : sequence of Deeper
    """
    return [
        {
            "more": one.more,
            "cut": one.cut,
            "fill": one.fill,
            "trips": one.trips,
            "bins": one.bins,
            "time": one.time,
            "cost": one.cost,
        }
        for one in deeper
    ]
