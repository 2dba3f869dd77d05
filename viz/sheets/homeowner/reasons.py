"""Why this base and not another, in plain words: every reason, the worst first."""

from __future__ import annotations

from typing import Any

from grading.catalogue.verdicts import Verdict
from grading.design.area import AreaPlan
from grading.units import volume
from viz.sheets.compile import printable
from viz.sheets.head import Job
from viz.words.plain import opened, stopped, table


def why(job: Job, plan: AreaPlan) -> list[dict[str, str]]:
    """Return all that is said of the base that is built, the worst first."""
    advice = job.plan.advice.area(plan.area.name)
    found = []
    best = advice.base.advised
    if best is not None and best.option.name != plan.chosen:
        words = f"By our own rules {best.option.called} would be first choice"
        words += f"; chosen all the same: {advice.reason}" if advice.reason else ""
        words += f"; {advice.base.caveat}" if advice.base.caveat else ""
        found.append(_said("care", words))
    else:
        if advice.base.caveat:
            found.append(_said("care", f"To be said of it: {advice.base.caveat}"))
        if advice.dearer_plain:
            found.append(_said("care", opened(advice.dearer_plain)))
    own = advice.base.of(plan.chosen)
    found += _reasons(own)
    leading = advice.base.leading
    alone = any(reason.level == "for" for reason in own.reasons)
    if own is best and not alone and leading is not None and leading.of_other:
        # Nothing speaks for it alone: what is against the other one is why it is built.
        against = f"{leading.about.title} has more against it. {leading.reason.plain}"
        found.append(_said("for", against))
    if not found:
        words = (
            f"Nothing speaks against it here, and it digs {volume(plan.chosen_dig.cut, job.unit)}"
        )
        found.append(_said("for", words))
    return found


def _said(level: str, words: str) -> dict[str, str]:
    """Return a reason in plain words, whole however long, with what it is as its lead."""
    whole = printable(words, len(words))
    return {"lead": str(table("level")[level]), "words": stopped(whole)}


def _reasons(verdict: Verdict) -> list[dict[str, str]]:
    """Return every reason of a verdict, the worst first."""
    return [_said(reason.level, reason.plain) for reason in verdict.reasons]


def others(job: Job, plan: AreaPlan) -> list[dict[str, Any]]:
    """Return each other base with all that is said of it, the worst first."""
    choice = job.plan.advice.area(plan.area.name).base
    return [
        {
            "title": printable(dig.system.called, 40),
            "reasons": _reasons(choice.of(name))
            or [_said("care", opened(choice.passed_over(name)))],
        }
        for name, dig in plan.digs.items()
        if name != plan.chosen
    ]


def why_told(job: Job, plan: AreaPlan) -> list[str]:
    """Return why an area is built on its base: all that is against it, then the first reason for.

    Parameters
    ----------
    job : Job
    plan : AreaPlan
    """
    found = why(job, plan)
    lead = str(table("level")["for"])
    for_it = [row for row in found if row["lead"] == lead][:1]
    return [row["words"] for row in found if row["lead"] != lead] + [row["words"] for row in for_it]


def others_told(job: Job, plan: AreaPlan) -> list[dict[str, Any]]:
    """Return for each other base why it is not built: the worst reason, and all else against it.

    A base that nothing speaks against is told with what speaks for it, for that is the truth.

    Parameters
    ----------
    job : Job
    plan : AreaPlan
    """
    lead = str(table("level")["for"])
    told = []
    for each in others(job, plan):
        against = [row["words"] for row in each["reasons"] if row["lead"] != lead]
        rest = [row["words"] for row in each["reasons"] if row["lead"] == lead]
        worst, *more = against or rest
        told.append({"title": each["title"], "worst": worst, "more": more})
    return told
