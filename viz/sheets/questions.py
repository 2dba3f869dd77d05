"""The homeowner's six questions as data, each answered with a drawing."""

from __future__ import annotations

from typing import Any

from viz.drawings.answers import Answer, answers_of
from viz.sheets.compile import Compiled, printable
from viz.sheets.head import Job, Say, area_title, head_of


def questions_data(job: Job, sheet: Compiled, say: Say) -> dict[str, Any]:
    """Return what the template of the six questions reads.

    Parameters
    ----------
    job, sheet, say : as for `homeowner_data`
    """

    say("answering the homeowner's questions ...")
    areas = [
        {
            "title": area_title(order.area),
            "answers": {
                each.key: answered(each, sheet) for each in answers_of(job.plan, order.area)
            },
        }
        for order in job.order.areas
    ]
    return {**head_of(job, sheet), "areas": areas}


def answered(answer: Answer, sheet: Compiled) -> dict[str, Any]:
    """Return a question with its answer in plain words and its picture."""
    return {
        "question": answer.question,
        "words": printable(answer.words, len(answer.words)),
        "picture": sheet.drawing(answer.sheet, f"{answer.question} {answer.words}"),
    }
