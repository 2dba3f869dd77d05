"""The site as one answer, as plain data: volumes in m3, times in s, lengths in m."""

from __future__ import annotations

from typing import Any

from grading.answers.site import SiteAnswer, Takes
from grading.record.advice import leading_record


def answer_record(answer: SiteAnswer) -> dict[str, Any]:
    """Return the answer as plain data; volumes in m3, times in s, lengths in m.

    Parameters
    ----------
    answer : SiteAnswer
    """
    return {
        "areas": [
            {
                "name": one.area,
                "use": one.use,
                "base": one.base,
                "why": one.why,
                "leading": leading_record(one.leading),
                "standing": [
                    {"name": seat.name, "kind": seat.feature.kind, "stands": seat.stands}
                    for seat in one.standing
                ],
                **_takes_record(one.takes),
            }
            for one in answer.areas
        ],
        "joins": [
            {
                "number": number,
                "areas": list(join.areas),
                "bases": list(join.bases),
                "there": join.there,
                "where": join.where,
                "length": join.length,
                "step": join.step,
                "detail": join.detail,
            }
            for number, join in enumerate(answer.joins, start=1)
        ],
        "whole_job": _takes_record(answer.takes),
    }


def _takes_record(takes: Takes) -> dict[str, Any]:
    return {
        "cut": takes.cut,
        "trips": takes.trips,
        "bins": takes.bins,
        "time": takes.time,
        "cost": takes.cost,
    }
