"""What holds the raised edge of an area, as plain data in SI."""

from __future__ import annotations

from typing import Any

from grading.choice.hold_ways import HoldWay
from grading.design.area import AreaPlan
from grading.pipeline import Plan
from grading.records.fields import each, fields, finite, maybe
from grading.structures.holding.first_look import FirstLook, Look, first_look
from grading.structures.holding.holds import Held, holding_of
from grading.worded import of_file

_WAY = "kind planned advised refused against"
_TAKES = "height time material trips cost not_counted"


def holding_record(plan: Plan, area: AreaPlan) -> dict[str, Any]:
    """Return what holds the raised edge of an area, and every way to hold it: m, s, Pa, money.

    Parameters
    ----------
    plan : Plan
    area : AreaPlan
        One of the plan's.
    """
    ways: list[HoldWay] = [way for way in plan.hold_ways if way.area == area.name]
    return {
        "parts": [_part(plan, area, part) for part in holding_of(plan, area, area.chosen).parts],
        "ways": [_way(way) for way in ways],
    }


def _way(way: HoldWay) -> dict[str, Any]:
    # What is ruled out is not counted: nothing, and no zero, is told of it.
    takes = fields(way, _TAKES)
    return {**fields(way, _WAY), **(dict.fromkeys(takes) if way.refused else takes)}


def _part(plan: Plan, area: AreaPlan, part: Held) -> dict[str, Any]:
    return {
        **fields(part, "kind given wish length height lowest"),
        "refused": maybe(part.refused, lambda verdict: verdict.reasons[0].text),
        "walls": [
            _wall(first_look(plan, area, area.chosen_dig, wall, part.asked)) for wall in part.walls
        ],
    }


def _wall(look: FirstLook) -> dict[str, Any]:
    wall = look.wall
    return {
        **fields(wall, "name length total"),
        "shown": list(wall.shown),
        "segments": each(wall.segments, "low high cap pad_top courses bury shown"),
        "outlet": None if look.outlet.far is None else look.outlet.name,
        # Of what is not said nothing is told that could be taken for an answer.
        "worst": None if look.unknown else _look(look.worst),
        "best": None if look.unknown else _look(look.best),
        "unknown": list(map(of_file, look.unknown)),
        "bearing": look.bearing,
    }


def _look(look: Look) -> dict[str, Any]:
    ground = "friction stone all_stone on_pad under_pad cohesion load"
    stands = fields(look, "sliding overturning")
    return {**stands, "toe": finite(look.toe), **fields(look.ground, ground)}
