"""A plan as plain data: the JSON that scripts rely on, in SI."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import asdict
from typing import Any

from grading.answers.card import deeper_of, reckoned_depth
from grading.answers.site import site_answer
from grading.checks.check import Check
from grading.choice.sills import SillWay
from grading.design.area import AreaPlan, GroupPlan
from grading.dig.drainage import WallFall
from grading.dig.hole import Dig
from grading.dig.lawn import TieIn
from grading.finish.corner_ways import CornerWay
from grading.halfway.left import from_here
from grading.order.break_even import break_evens_of
from grading.order.sensitivity import swings_of
from grading.pipeline import Plan
from grading.record.advice import advice_record
from grading.record.answer import answer_record
from grading.record.card import deeper_record
from grading.record.halfway import from_here_record
from grading.record.order import order_record
from grading.water.falls import Worst
from grading.water.model import AreaWater, Water

SCHEMA = "fallaway/plan/1"


def _finish(plan: AreaPlan) -> dict[str, Any]:
    finish = plan.finish
    plane = finish.plane
    return {
        "z0": plane.z0,
        "dzdx": plane.dzdx,
        "dzdy": plane.dzdy,
        "fall": plane.fall,
        "bearing": plane.bearing,
        "planes": [
            {
                "z0": facet.plane.z0,
                "dzdx": facet.plane.dzdx,
                "dzdy": facet.plane.dzdy,
                "fall": facet.plane.fall,
                "bearing": facet.plane.bearing,
            }
            for facet in finish.surface.paved
        ],
        "fitted": finish.fitted,
        "grade": plan.grade,
        "base": finish.system,
        "moved": finish.moved,
        "dug_and_refilled": finish.work,
        "gap": finish.gap,
        "binding": [
            {
                "wish": binding.wish,
                "rule": binding.rule,
                "step": binding.step,
                "harder": binding.harder,
                "easier": binding.easier,
                "nearer": binding.nearer,
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
    system = dig.system
    return {
        "wheels": system.wheels,
        "source": system.source,
        "panel": None if system.panel is None else asdict(system.panel),
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
                "modulus": part.layer.modulus,
                "area": part.area,
                "volume": part.volume,
            }
            for part in dig.layers
        ],
    }


def _corner_way(way: CornerWay) -> dict[str, Any]:
    return {
        "shape": way.shape,
        "moved": way.moved,
        "dug_and_refilled": way.work,
        "greatest_fall": way.greatest_fall,
        "valley_fall": way.valley_fall,
        "one_plane": way.one_plane,
        "corner_drop": way.corner_drop,
        "reveals": dict(way.reveals),
    }


def _tie_in(tie: TieIn) -> dict[str, Any]:
    return {
        "edge": tie.edge,
        "slope": tie.slope,
        "cut": tie.cut,
        "fill": tie.fill,
        "area": tie.area,
        "widest": tie.widest,
        "open": tie.open,
        "reveal": list(tie.reveal),
    }


def _finite(value: float | None) -> float | None:
    return None if value is None or not math.isfinite(value) else value


def _area_water(water: AreaWater) -> dict[str, Any]:
    under = water.under
    return {
        "verdict": water.verdict,
        "shares": [
            {"destination": part.destination, "kind": part.kind, "share": part.share}
            for part in water.shares
        ],
        "low_edges": [
            {
                "at": edge.at.tolist(),
                "z": edge.z,
                "share": edge.share,
                "destination": edge.destination,
            }
            for edge in water.edges
        ],
        "pockets": [{"at": bed.at.tolist(), "share": bed.share} for bed in water.pockets],
        "run_on": None
        if water.run_on is None
        else {
            "area": water.run_on.area,
            "at": water.run_on.at.tolist(),
            "flow": water.run_on.flow,
            "beyond_survey": water.run_on.beyond,
        },
        "runoff": water.runoff,
        "joints": None
        if water.joints is None
        else {
            "joint": water.joints.joint,
            "base": water.joints.base,
            "passes": water.joints.passes,
            "soaks": water.joints.soaks,
            "runs_off": water.joints.runs_off,
            "beside_foundation": water.joints.beside,
            "soaks_beside_foundation": water.joints.soaked_beside,
        },
        "under": None
        if under is None
        else {
            "base": under.base,
            "low": under.low.tolist(),
            "z": under.z,
            "from_house": under.from_house,
            "falls_away": under.falls_away,
            "stored": None if under.held is None else under.held.volume,
            "hours": _finite(under.hours),
        },
    }


def _site_water(water: Water) -> dict[str, Any]:
    return {
        "low_spots": [
            {
                "at": spot.at.tolist(),
                "depth": spot.depth,
                "volume": spot.volume,
                "area": spot.area,
                "spill": spot.spill.tolist(),
                "touching": list(spot.touching),
                "from_house": spot.from_house,
            }
            for spot in water.low_spots
        ],
        "downspouts": [
            {
                "name": spout.name,
                "destination": spout.destination,
                "runoff": spout.runoff,
                "from_house": spout.from_house,
                "crosses": list(spout.crosses),
            }
            for spout in water.downspouts
        ],
        "walls": [
            {
                "name": wall.wall,
                "paved": None if wall.paved is None else _worst(wall.paved),
                "ground": None if wall.ground is None else _worst(wall.ground),
                "ground_area": around.area,
                "ground_goes_to": around.end,
            }
            for wall, around in zip(water.walls, water.at_walls, strict=True)
        ],
        "destinations": [
            {"name": place.name, "kind": place.kind, "z": place.z} for place in water.destinations
        ],
        "unaccounted": water.unaccounted,
    }


def _worst(found: Worst) -> dict[str, Any]:
    return {"fall": found.fall, "at": found.at.tolist()}


def _sill_way(way: SillWay) -> dict[str, Any]:
    least, mean, greatest = way.edge
    return {
        "kind": way.kind,
        "areas": list(way.areas),
        "planned": way.planned,
        "doors": [
            {"name": step.door.name, "steps": step.risers, "drop": step.step, "riser": step.riser}
            for step in way.doors
        ],
        "edge": {"least": least, "mean": mean, "greatest": greatest},
        "dug_and_refilled": way.work,
        "trips": way.trips,
        "time": way.time,
        "cost": way.cost,
    }


def _group(group: GroupPlan) -> dict[str, Any]:
    curve = group.tradeoff
    return {
        "areas": [area.name for area in group.group.areas],
        "outcomes": [
            {
                "objective": each.objective,
                "cut_in_outline": each.cut,
                "fill_in_outline": each.fill,
                "hauled": each.hauled,
                "dug_and_refilled": each.work,
                "greatest_fall": each.greatest_fall,
            }
            for each in group.outcomes
        ],
        "tradeoff": [
            {"fall_away": fall, "moved": _finite(moved), "dug_and_refilled": _finite(work)}
            for fall, moved, work in zip(
                curve.falls.tolist(), curve.moved.tolist(), curve.work.tolist(), strict=True
            )
        ],
    }


def _area(
    plan: AreaPlan, water: AreaWater, quantities: Mapping[str, Mapping[str, Any]]
) -> dict[str, Any]:
    return {
        "name": plan.name,
        "use": plan.use,
        "plan_area": plan.outline.area,
        "base": plan.chosen,
        "base_from": plan.base_from,
        "finish": _finish(plan),
        "max_raise": plan.max_raise,
        "walls": [_wall(wall) for wall in plan.walls],
        "water": _area_water(water),
        "corner": [_corner_way(way) for way in plan.corner_ways],
        "lawn": None if plan.tie_in is None else _tie_in(plan.tie_in),
        "bases": {
            name: {
                **_dig(dig),
                "cut_difference": plan.difference(name),
                **quantities.get(name, {}),
            }
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


def _survey(plan: Plan) -> dict[str, Any]:
    shots = plan.ground.shots
    return {
        "power": None if shots is None else shots.power,
        "suspects": [
            {"id": each.key, "off": each.off, "text": each.text}
            for each in (() if shots is None else shots.suspects)
        ],
        "settled": list(plan.site.settled),
    }


def record(plan: Plan) -> dict[str, Any]:
    """Return a plan as plain data, ready for JSON; lengths in m, volumes in m3, slopes as ratios.

    Parameters
    ----------
    plan : Plan
    """
    ground = plan.ground
    order = order_record(plan.order, swings_of(plan.order), break_evens_of(plan.order))
    return {
        "schema": SCHEMA,
        "site": plan.site.name,
        "ground": {"spots": ground.spots, "triangles": int((~ground.beyond).sum())},
        "answer": answer_record(site_answer(plan)),
        "survey": _survey(plan),
        "areas": [
            {
                **_area(area, water, quantities),
                "advice": advice_record(plan.advice, area.name),
            }
            for area, water, quantities in zip(
                plan.areas, plan.water.areas, order["areas"], strict=True
            )
        ],
        "water": _site_water(plan.water),
        "cost": order["cost"],
        "topsoil": {
            "reckoned": reckoned_depth(plan),
            "deeper": deeper_record(deeper_of(plan)),
        },
        "done": from_here_record(from_here(plan.order, plan.advice)),
        "finishes": [_group(group) for group in plan.groups],
        "sills": [_sill_way(way) for way in plan.sill_ways],
        "checks": [_check(check) for check in plan.checks],
        "warnings": list(plan.warnings),
    }
