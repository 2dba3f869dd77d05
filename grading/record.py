"""A plan as plain data: the JSON that scripts rely on, in SI."""

from __future__ import annotations

from typing import Any

from grading.checks import Check
from grading.dig import Dig
from grading.drainage import WallFall
from grading.finish import Finish
from grading.pipeline import AreaPlan, Plan

SCHEMA = "fallaway/plan/1"


def _finish(finish: Finish) -> dict[str, Any]:
    plane = finish.plane
    return {
        "z0": plane.z0,
        "dzdx": plane.dzdx,
        "dzdy": plane.dzdy,
        "fall": plane.fall,
        "bearing": plane.bearing,
        "fitted": finish.fitted,
        "base": finish.system,
        "moved": finish.moved,
        "binding": [
            {
                "wish": binding.wish,
                "rule": binding.rule,
                "step": binding.step,
                "harder": binding.harder,
                "easier": binding.easier,
            }
            for binding in finish.binding
        ],
    }


def _wall(fall: WallFall) -> dict[str, Any]:
    beyond = fall.beyond
    return {
        "name": fall.wall.name,
        "from": fall.wall.start.tolist(),
        "to": fall.wall.end.tolist(),
        "fall_away": fall.fall_away,
        "distance": fall.distance,
        "ground_beyond": None
        if beyond is None
        else {"fall": beyond.fall, "at": beyond.at.tolist(), "length": beyond.length},
    }


def _dig(dig: Dig) -> dict[str, Any]:
    return {
        "build_up": dig.build_up,
        "cut": dig.cut,
        "fill": dig.fill,
        "cut_in_outline": dig.cut_in_outline,
        "fill_in_outline": dig.fill_in_outline,
        "dig_area": dig.dig_area,
        "max_dig": dig.max_dig,
        "mean_dig": dig.mean_dig,
        "fill_area": dig.fill_area,
        "fill_for_organics": dig.fill_for_organics,
        "refill_share": dig.refill_share,
        "organics": dig.organics_volume,
        "spoil_bank": dig.spoil_bank,
        "spoil_loose": dig.spoil_loose,
        "backfill": dig.backfill,
        "layers": [
            {
                "name": part.layer.name,
                "material": part.layer.material,
                "thickness": part.layer.thickness,
                "area": part.area,
                "volume": part.volume,
            }
            for part in dig.layers
        ],
    }


def _area(plan: AreaPlan) -> dict[str, Any]:
    return {
        "name": plan.area.name,
        "use": plan.area.use,
        "plan_area": plan.outline.area,
        "base": plan.chosen,
        "finish": _finish(plan.finish),
        "max_raise": plan.max_raise,
        "walls": [_wall(wall) for wall in plan.walls],
        "bases": {
            name: {**_dig(dig), "cut_difference": plan.difference(name)}
            for name, dig in plan.digs.items()
        },
    }


def _check(check: Check) -> dict[str, Any]:
    return {
        "rule": check.rule,
        "area": check.area,
        "where": check.where,
        "status": check.status,
        "value": check.value,
        "limit": check.limit,
        "unit": check.unit,
        "source": check.source,
        "text": check.text,
    }


def record(plan: Plan) -> dict[str, Any]:
    """Return a plan as plain data, ready for JSON; lengths in m, volumes in m3, slopes as ratios.

    Parameters
    ----------
    plan : Plan
    """
    ground = plan.ground
    return {
        "schema": SCHEMA,
        "site": plan.site.name,
        "ground": {"spots": ground.spots, "triangles": int((~ground.beyond).sum())},
        "areas": [_area(area) for area in plan.areas],
        "checks": [_check(check) for check in plan.checks],
        "warnings": list(plan.warnings),
    }
