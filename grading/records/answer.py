"""The site as one answer, as plain data: volumes in m3, times in s, lengths in m."""

from __future__ import annotations

from typing import Any

from grading.answers.site import SiteAnswer
from grading.records.advice import LEADING
from grading.records.fields import each, fields, maybe

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
