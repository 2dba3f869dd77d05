"""Two plans of one yard side by side, as plain data: lengths in m, volumes in m3, times in s."""

from __future__ import annotations

from typing import Any

from grading.comparison.model import Comparison
from grading.comparison.words import headline

SCHEMA = "fallaway/compare/1"


def comparison_record(found: Comparison) -> dict[str, Any]:
    """Return a comparison as plain data, ready for JSON.

    Parameters
    ----------
    found : Comparison
        Every figure of it stands in the record, those that stay too.
    """
    return {
        "schema": SCHEMA,
        "before": found.before.site.name,
        "after": found.after.site.name,
        "headline": headline(found, found.after.site.unit),
        "looks_alike": found.looks_alike,
        "moved": found.moved,
        "areas_new": list(found.new),
        "areas_gone": list(found.gone),
        "bases": [
            {"area": one.area, "before": one.before, "after": one.after, "why": one.why}
            for one in found.bases
        ],
        "figures": [
            {
                "key": one.key,
                "title": one.title,
                "area": one.area or None,
                "measure": one.measure,
                "before": one.before,
                "after": one.after,
                "more": one.more,
            }
            for one in found.figures
        ],
        "checks": [
            {
                "rule": one.check.rule,
                "area": one.check.area,
                "where": one.check.where,
                "before": one.before.status if one.before else None,
                "after": one.after.status if one.after else None,
                "text": one.check.text,
            }
            for one in found.turned
        ],
        "written": [
            {"file": one.file, "where": one.where, "before": one.before, "after": one.after}
            for one in found.written
        ],
        "failed": found.failed,
    }
