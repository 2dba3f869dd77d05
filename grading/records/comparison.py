"""Two plans of one yard side by side, as plain data: lengths in m, volumes in m3, times in s."""

from __future__ import annotations

from typing import Any

from grading.comparison.model import Comparison
from grading.comparison.words import headline, things_words
from grading.records.fields import each, fields

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
        "bases": each(found.bases, "area before after why"),
        "things": list(things_words(found, found.after.site.unit)),
        "figures": [
            {**fields(one, "key title area measure before after more"), "area": one.area or None}
            for one in found.figures
        ],
        "checks": [
            {
                **fields(one.check, "rule area where"),
                "before": one.before.status if one.before else None,
                "after": one.after.status if one.after else None,
                "text": one.check.text,
            }
            for one in found.turned
        ],
        "written": each(found.written, "file where before after"),
        "failed": found.failed,
    }
