"""Answers as plain data, in SI: the site as one, the decision card, and half-way."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from grading.answers.card import Advised, Card, CardRow, Deeper
from grading.answers.site import SiteAnswer
from grading.halfway.left import Finishing, FromHere
from grading.order.model import Job
from grading.pipeline import Plan
from grading.records.advice import LEADING
from grading.records.fields import each, fields, maybe
from grading.records.order import break_even_record, prices_record


def _finishing(one: Finishing) -> dict[str, Any]:
    return {
        **fields(
            one,
            "level because cut fill over_dug trips=haul.trips bins=haul.bins.count "
            "deliveries=haul.deliveries.count time=cost.time.mean cost=cost.total",
        ),
        "to_buy": {supply.item: supply.count for supply in one.to_buy},
        "unused": each(one.unused, "title package=each count cost"),
    }


def from_here_record(found: FromHere | None) -> dict[str, Any] | None:
    """Return what finishes from here as plain data: m, m3, seconds of one person, money.

    Parameters
    ----------
    found : FromHere or None
    """
    if found is None:
        return None
    return {
        "dug": dict(found.dug),
        "bought": dict(found.done.counts),
        "bins": found.done.bins,
        "cheapest": maybe(found.cheapest, lambda best: best.base),
        "bases": {one.base: _finishing(one) for one in found.bases},
        "doors": [
            {**fields(step, "door=door.name area step"), "changes": 0.0} for step in found.steps
        ],
        "lifted": each(found.lifted, "base rise door=step.door.name step=left allowed"),
    }


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


_TAKES = "cut trips bins time cost"
_JOIN = "areas bases there where length step detail"


def answer_record(answer: SiteAnswer) -> dict[str, Any]:
    """Return the answer as plain data; volumes in m3, times in s, lengths in m.

    Parameters
    ----------
    answer : SiteAnswer
    """
    return {
        "areas": [
            {
                **fields(one, "name=area use base why"),
                "leading": maybe(one.leading, LEADING),
                "standing": each(one.standing, "name kind=feature.kind stands"),
                **fields(one.takes, _TAKES),
            }
            for one in answer.areas
        ],
        "joins": [
            {"number": number, **fields(join, _JOIN)}
            for number, join in enumerate(answer.joins, start=1)
        ],
        "whole_job": fields(answer.takes, _TAKES),
    }
