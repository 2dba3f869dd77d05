"""How checks come out, and what looks odd in a survey, in words."""

from __future__ import annotations

from grading.pipeline import Plan

STATUS = {"fail": "FAIL", "warn": "LOOK", "unknown": "not known", "pass": "ok"}
"""By the status of a check, the worst first."""


def look_again_words(plan: Plan) -> list[str]:
    """Return what looks odd in what was surveyed and written, a sentence each."""
    return [f"Look again: {warning}" for warning in plan.warnings]
