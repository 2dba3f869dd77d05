"""The seal of a plan: one hash of all that is built, ordered and checked, and its number."""

from __future__ import annotations

import hashlib
import json
from typing import Any

from grading.design.area import AreaPlan
from grading.geometry.tolerances import ROUNDING
from grading.order.model import Job
from grading.pipeline import Plan

DIGITS = 6
"""So many digits of the hash are the number of a plan."""

_FIGURES = 7  # own: significant figures: machines differ in the last bits, yards do not


def seal_of(plan: Plan) -> str:
    """Return the hash of a plan, in hexadecimal.

    Parameters
    ----------
    plan : Plan

    Notes
    -----
    It is of what is built, where and how high, of what that takes and costs, and of how every
    check comes out: the SHA-256 of these as JSON, numbers to seven figures. The same plan has the
    same seal on every machine; a remark in the site file, or a word that we say in another way,
    leaves it as it is.
    """
    told = {
        "site": plan.site.name,
        "unit": plan.site.unit,
        "areas": [_area(area) for area in plan.areas],
        "job": _job(plan.order.total),
        "checks": [
            [check.rule, check.area, check.where, check.status, _number(check.value)]
            for check in plan.checks
        ],
    }
    text = json.dumps(told, sort_keys=True, separators=(",", ":"), ensure_ascii=False)
    return hashlib.sha256(text.encode()).hexdigest()


def number_of(plan: Plan) -> str:
    """Return the number by which a plan is called: the first digits of its seal.

    Parameters
    ----------
    plan : Plan
    """
    return seal_of(plan)[:DIGITS]


def _area(area: AreaPlan) -> dict[str, Any]:
    dig = area.chosen_dig
    return {
        "name": area.name,
        "use": area.use,
        "outline": [_number(each) for ring in _rings(area) for point in ring for each in point],
        "finish": [
            [_number(each) for each in (facet.plane.z0, facet.plane.dzdx, facet.plane.dzdy)]
            for facet in area.finish.surface.paved
        ],
        "base": area.chosen,
        "layers": [[layer.name, _number(layer.thickness)] for layer in dig.system.layers],
        "dig": [_number(each) for each in (dig.cut, dig.fill, dig.max_dig)],
    }


def _rings(area: AreaPlan) -> list[list[tuple[float, ...]]]:
    outline = area.outline
    parts = getattr(outline, "geoms", [outline])
    return [list(ring.coords) for part in parts for ring in (part.exterior, *part.interiors)]


def _job(job: Job) -> dict[str, Any]:
    return {
        "supplies": [
            [supply.title, _number(supply.count), _number(supply.cost)] for supply in job.supplies
        ],
        "tasks": [[task.title, _number(task.mean)] for task in job.tasks],
        "cost": _number(job.cost.total),
    }


def _number(value: float | None) -> str | None:
    """Write a number to so many figures; one that is nothing but rounding as nothing."""
    if value is None:
        return None
    return f"{value if abs(value) > ROUNDING else 0.0:.{_FIGURES}g}"
