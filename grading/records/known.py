"""How well the numbers of a plan are known, as plain data in SI: what goes into the JSON."""

from __future__ import annotations

from typing import Any

from grading.design.area import AreaPlan
from grading.design.uncertainty import Interval, NextShot, Uncertainty
from grading.dig.drainage import WallFall
from grading.ground.certainty import SHARE
from grading.order.model import bins_between
from grading.pipeline import Plan
from grading.records.fields import fields


def ground_known(known: Uncertainty | None) -> dict[str, Any] | None:
    """Return what the plus-or-minus of the ground is reckoned with; None where it is not told."""
    if known is None:
        return None
    process = known.certainty.process
    return {
        "kernel": "matern-3/2",
        **fields(process, "length sd=size noise"),
        "sd_median": known.deviation,
        "spots": len(process.xyz),
        "bends": len(process.bends),
        "share": SHARE,
    }


def dig_known(known: Uncertainty | None, area: AreaPlan, base: str) -> dict[str, Any]:
    """Return the least and the most of a dig's cut and fill [m3], and of its deepest [m]."""
    found = None if known is None else known.digs[area.area.name, base]
    parts = {"cut": None, "fill": None, "max_dig": None} if found is None else {
        "cut": found.cut, "fill": found.fill, "max_dig": found.deepest,
    }  # fmt: skip
    return {key: value for name, each in parts.items() for key, value in _ends(name, each).items()}


def wall_known(known: Uncertainty | None, wall: WallFall) -> dict[str, Any]:
    """Return the least and the greatest fall of the ground beyond the paving. [ratio]"""
    return _ends("fall", None if known is None else known.fall(wall))


def shots_known(plan: Plan) -> list[dict[str, Any]]:
    """Return where to shoot next: for the cut, then for each fall that is not known."""
    known = plan.uncertainty
    if known is None:
        return []
    unsure = {
        (check.area, check.where): check.limit
        for check in plan.checks
        if check.rule == "ground-fall-away" and check.status == "unknown"
    }
    found = list(known.next_shots)
    for area in plan.areas:
        for wall in area.walls:
            limit = unsure.get((area.area.name, wall.wall.name))
            if limit is not None:
                found += known.settling(wall, limit)
    return [_shot(plan, shot) for shot in found]


def bins_known(plan: Plan) -> list[int] | None:
    """Return the least and the most bins of soil."""
    found = bins_between(plan.order)
    return None if found is None else list(found)


def _shot(plan: Plan, shot: NextShot) -> dict[str, Any]:
    return {
        **fields(shot, "at"),
        "place": plan.places.at(shot.at),
        **fields(shot, "halves of from=before to=after"),
    }


def _ends(name: str, found: Interval | None) -> dict[str, float | None]:
    low, high = (None, None) if found is None else (found.low, found.high)
    return {f"{name}_low": low, f"{name}_high": high}
