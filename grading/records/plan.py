"""A plan as plain data: the JSON that scripts rely on, in SI."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from msgspec import to_builtins

from grading.answers.card import deeper_of, reckoned_depth
from grading.answers.site import site_answer
from grading.choice.sills import SillWay
from grading.design.area import AreaPlan, GroupPlan
from grading.design.uncertainty import Uncertainty
from grading.dig.drainage import WallFall
from grading.dig.hole import Dig
from grading.finish.corner_ways import CornerWay
from grading.halfway.left import from_here
from grading.order.margins.break_even import break_evens_of
from grading.order.margins.sensitivity import swings_of
from grading.pipeline import Plan
from grading.records.advice import advice_record
from grading.records.answers import DEEPER, answer_record, from_here_record
from grading.records.fields import each, fields, finite, maybe
from grading.records.holding import holding_record
from grading.records.known import bins_known, dig_known, ground_known, shots_known, wall_known
from grading.records.order import order_record
from grading.records.price import price_in_plan
from grading.records.stakes import rods_record
from grading.records.structures import structures_record
from grading.records.survey import survey_record
from grading.structures.holding.holds import unheld_edge
from grading.water.beneath import Underflow
from grading.water.model import AreaWater, Water

SCHEMA = "fallaway/plan/1"


_CHECK = "rule area where status value limit unit source text"
_PLANE = "z0 dzdx dzdy fall bearing"


def _finish(plan: AreaPlan) -> dict[str, Any]:
    finish = plan.finish
    return {
        **fields(finish.plane, _PLANE),
        "planes": each((facet.plane for facet in finish.surface.paved), _PLANE),
        "fitted": finish.fitted,
        "grade": plan.grade,
        **fields(finish, "base=system moved dug_and_refilled=work gap"),
        "binding": each(finish.binding, "wish rule step harder easier nearer"),
    }


def _wall(fall: WallFall) -> dict[str, Any]:
    return {
        **fields(fall, "name=wall.name from=wall.start to=wall.end fall_away distance"),
        "ground_beyond": maybe(fall.beyond, "fall at length"),
    }


def _dig(dig: Dig) -> dict[str, Any]:
    return {
        **fields(dig.system, "wheels source"),
        "panel": maybe(dig.system.panel, to_builtins),
        **fields(
            dig,
            "build_up cut fill cut_in_outline fill_in_outline dig_area max_dig mean_dig fill_area "
            "fill_for_organics refill_share organics=organics_volume spoil_bank=cut spoil_loose "
            "backfill",
        ),
        "layers": each(
            dig.layers,
            "name=layer.name material=layer.material thickness=layer.thickness "
            "modulus=layer.modulus area volume",
        ),
    }


def _corner_way(way: CornerWay) -> dict[str, Any]:
    names = "shape moved dug_and_refilled=work greatest_fall valley_fall one_plane corner_drop"
    return {**fields(way, names), "reveals": dict(way.reveals)}


def _area_water(water: AreaWater) -> dict[str, Any]:
    return {
        "verdict": water.verdict,
        "shares": each(water.shares, "destination kind share"),
        "low_edges": each(water.edges, "at z share destination"),
        "pockets": each(water.pockets, "at share"),
        "run_on": maybe(water.run_on, "area at flow beyond_survey=beyond"),
        "runoff": water.runoff,
        "joints": maybe(
            water.joints,
            "joint base passes soaks runs_off beside_foundation=beside "
            "soaks_beside_foundation=soaked_beside",
        ),
        "under": maybe(water.under, _under),
    }


def _under(under: Underflow) -> dict[str, Any]:
    return {
        **fields(under, "base low z from_house falls_away"),
        "stored": maybe(under.held, lambda held: held.volume),
        "hours": finite(under.hours),
    }


def _site_water(water: Water) -> dict[str, Any]:
    return {
        "low_spots": each(water.low_spots, "at depth volume area spill touching from_house"),
        "downspouts": each(water.downspouts, "name destination runoff from_house crosses"),
        "walls": [
            {
                "name": wall.wall,
                "paved": maybe(wall.paved, "fall at"),
                "ground": maybe(wall.ground, "fall at"),
                **fields(around, "ground_area=area ground_goes_to=end"),
            }
            for wall, around in zip(water.walls, water.at_walls, strict=True)
        ],
        "destinations": each(water.destinations, "name kind z"),
        "unaccounted": water.unaccounted,
    }


def _sill_way(way: SillWay) -> dict[str, Any]:
    return {
        **fields(way, "kind areas planned"),
        "doors": each(way.doors, "name=door.name steps=risers drop=step riser"),
        "edge": dict(zip(("least", "mean", "greatest"), way.edge, strict=True)),
        **fields(way, "dug_and_refilled=work trips time cost"),
    }


def _group(group: GroupPlan) -> dict[str, Any]:
    curve = group.tradeoff
    return {
        "areas": [area.name for area in group.group.areas],
        "outcomes": each(
            group.outcomes,
            "objective cut_in_outline=cut fill_in_outline=fill hauled dug_and_refilled=work "
            "greatest_fall",
        ),
        "tradeoff": [
            {"fall_away": fall, "moved": finite(moved), "dug_and_refilled": finite(work)}
            for fall, moved, work in zip(
                curve.falls.tolist(), curve.moved.tolist(), curve.work.tolist(), strict=True
            )
        ],
    }


def _area(
    plan: AreaPlan,
    water: AreaWater,
    quantities: Mapping[str, Mapping[str, Any]],
    known: Uncertainty | None,
    unheld: float | None,
) -> dict[str, Any]:
    return {
        **fields(plan, "name use plan_area=outline.area base=chosen base_from"),
        "finish": _finish(plan),
        "max_raise": plan.max_raise,
        "edge": dict(zip(("above", "below", "unheld"), (*plan.edge_heights, unheld), strict=True)),
        "walls": [{**_wall(wall), **wall_known(known, wall)} for wall in plan.walls],
        "water": _area_water(water),
        "corner": [_corner_way(way) for way in plan.corner_ways],
        "lawn": maybe(plan.tie_in, "edge slope cut fill area widest open reveal"),
        "bases": {
            name: {
                **_dig(dig),
                **dig_known(known, plan, name),
                "cut_difference": plan.difference(name),
                **quantities.get(name, {}),
            }
            for name, dig in plan.digs.items()
        },
    }


def _survey(plan: Plan) -> dict[str, Any]:
    shots = plan.ground.shots
    return {
        "power": maybe(shots, lambda shots: shots.power),
        "suspects": [
            {
                **fields(spot, "id=key off text"),
                "causes": each(spot.slips, "kind=cause.kind written=cause.written z"),
            }
            for spot in (() if shots is None else shots.suspects)
        ],
        "settled": list(plan.site.settled),
        **survey_record(plan.site),
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
        "ground": {
            "spots": ground.spots,
            "triangles": int((~ground.beyond).sum()),
            "uncertainty": ground_known(plan.uncertainty),
        },
        "answer": answer_record(site_answer(plan)),
        "survey": _survey(plan),
        "next_shots": shots_known(plan),
        "areas": [
            {
                **_area(area, water, quantities, plan.uncertainty, unheld_edge(plan, area)),
                "structures": structures_record(
                    plan.order.of(area).takeoffs[area.chosen].structures, plan.crew
                ),
                "holding": holding_record(plan, area),
                "advice": advice_record(plan.advice, area.name),
            }
            for area, water, quantities in zip(
                plan.areas, plan.water.areas, order["areas"], strict=True
            )
        ],
        "water": _site_water(plan.water),
        "cost": order["cost"],
        "price": price_in_plan(plan),
        "bins_between": bins_known(plan),
        "topsoil": {
            "reckoned": reckoned_depth(plan),
            "deeper": each(deeper_of(plan), DEEPER),
        },
        "done": from_here_record(from_here(plan.order, plan.advice)),
        "rods": rods_record(plan),
        "finishes": [_group(group) for group in plan.groups],
        "sills": [_sill_way(way) for way in plan.sill_ways],
        "checks": each(plan.checks, _CHECK),
        "warnings": list(plan.warnings),
    }
