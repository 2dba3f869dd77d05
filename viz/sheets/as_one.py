"""A mixed site as one, for the homeowner: what stands on what and why, and where bases meet."""

from __future__ import annotations

from typing import Any

from grading.answers.site import join_plain, site_answer, standing_words
from viz.drawings.details.bases import bases_figure
from viz.sheets.compile import Compiled, printable
from viz.sheets.head import Job
from viz.words.plain import stopped

_ALT = "Plan of the site: every area with the base that it stands on, joins numbered"
_PLAN = 180.0  # mm: the plan on the homeowner's sheet


def whole(job: Job, sheet: Compiled) -> dict[str, Any] | None:
    """Return what the homeowner's sheet reads of the site as one; None where it is one area.

    Parameters
    ----------
    job : Job
    sheet : Compiled
    """

    answer = site_answer(job.plan)
    if len(answer.areas) < 2:
        return None
    rows = []
    for one in answer.areas:
        dig = job.plan.area(one.area).chosen_dig
        said = [stopped(one.why_plain)]
        standing = standing_words(one)
        if standing:
            said.append(stopped(f"On it: {standing}"))
        rows.append(
            {
                "area": printable(one.area, 44),
                "base": printable(dig.system.title, 40),
                "why": " ".join(printable(each, len(each)) for each in said),
            }
        )
    joins = [stopped(join_plain(join)) for join in answer.joins]
    figure = bases_figure(job.plan, answer, _PLAN)
    return {
        "rows": rows,
        "plan": sheet.drawing(figure, _ALT),
        "joins": [printable(each, len(each)) for each in joins],
    }
