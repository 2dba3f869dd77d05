"""The seal of a plan: one hash of all that is built, ordered and checked, and its number."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Iterable
from typing import Any

import shapely

from grading.comparison.placed import Kind, Thing, Trait, asked_for
from grading.design.area import AreaPlan
from grading.geometry.tolerances import ROUNDING
from grading.order.model import Job
from grading.pipeline import Plan
from grading.structures.model import Solid, Structure

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
    It is of what is built, of what stands there, where and how high, of what that takes and costs,
    and of how every check comes out: the SHA-256 of these as JSON, numbers to seven figures. The
    same plan has the same seal on every machine; a remark in the site file, tables of it in another
    order, or a word that we say in another way, leaves it as it is.
    """
    told = {
        "site": plan.site.name,
        "unit": plan.site.unit,
        "areas": _sorted(map(_area, plan.areas)),
        "things": _sorted(_thing(*each) for each in asked_for(plan)),
        "built": _sorted(
            _solid(built, solid)
            for job in plan.order.total.jobs
            for built in job.structures
            for solid in built.solids
        ),
        "held": _sorted([each.area, each.kind] for each in plan.site.holds),
        "job": _job(plan.order.total),
        "checks": _sorted(
            [check.rule, check.area, check.where, check.status, _number(check.value)]
            for check in plan.checks
        ),
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
        "finish": [
            [_number(each) for each in (facet.plane.z0, facet.plane.dzdx, facet.plane.dzdy)]
            for facet in area.finish.surface.paved
        ],
        "base": area.chosen,
        "layers": [[layer.name, _number(layer.thickness)] for layer in dig.system.layers],
        "dig": [_number(each) for each in (dig.cut, dig.fill, dig.max_dig)],
    }


def _sorted(parts: Iterable[list[Any] | dict[str, Any]]) -> list[str]:
    """Return parts as JSON, in an order that is not that of a file."""
    return sorted(map(json.dumps, parts))


def _thing(kind: str, name: str, thing: Thing) -> list[Any]:
    return [kind, name, _in_plan(thing.place), [*map(_trait, thing.traits.values())]]


def _trait(value: Trait) -> str | int | None:
    if isinstance(value, Kind):
        return value.name
    return _number(value) if isinstance(value, float) else value


def _solid(built: Structure, solid: Solid) -> list[Any]:
    corners = shapely.get_coordinates(solid.footprint)
    heights = [
        _number(each) for ends in solid.between(corners) for each in (ends.min(), ends.max())
    ]
    return [built.kind, solid.material, _in_plan(solid.footprint), heights]


def _in_plan(shape: shapely.Geometry) -> list[Any]:
    """Return size and corners of a shape, wherever its outline begins and whichever way it runs."""
    corners = {f"{_number(x)} {_number(y)}" for x, y in shapely.get_coordinates(shape)}
    return [
        _number(float(shapely.area(shape))),
        _number(float(shapely.length(shape))),
        sorted(corners),
    ]


def _job(job: Job) -> dict[str, Any]:
    return {
        "supplies": _sorted(
            [supply.title, _number(supply.count), _number(supply.cost)] for supply in job.supplies
        ),
        "tasks": _sorted([task.title, _number(task.mean)] for task in job.tasks),
        "cost": _number(job.cost.total),
    }


def _number(value: float | None) -> str | None:
    """Write a number to so many figures; one that is nothing but rounding as nothing."""
    if value is None:
        return None
    return f"{value if abs(value) > ROUNDING else 0.0:.{_FIGURES}g}"
