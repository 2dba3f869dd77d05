"""The advice as plain data, in SI: what stands under `advice` in the JSON."""

from __future__ import annotations

from typing import Any

from msgspec import to_builtins

from grading.catalogue.verdicts import Choice, Verdict
from grading.choice.advice import Advice
from grading.conditions.backfill import BackfillZone
from grading.conditions.frost import CAUTION
from grading.conditions.level_things import LevelThing
from grading.conditions.load import LoadStress
from grading.conditions.seats import Seat
from grading.records.fields import each, fields, maybe
from grading.worded import of_file


def _verdict(verdict: Verdict) -> dict[str, Any]:
    return {
        **fields(verdict, "name=option.name title=option.title level"),
        "reasons": [to_builtins(reason) for reason in verdict.reasons],
        "nears": list(verdict.nears),
    }


def _choice(choice: Choice) -> dict[str, Any]:
    return {
        "advised": maybe(choice.advised, lambda best: best.option.name),
        "options": [_verdict(verdict) for verdict in choice.verdicts],
    }


JOIN = "areas bases there where length below step detail"
LEADING = "rule=reason.rule of=about.name text plain"
"""The reason that stands for a choice: its rule, of which option, and its words."""


def _set_out(thing: LevelThing) -> dict[str, Any]:
    return {
        **fields(thing, "top line course courses_laid=laid"),
        "corners": each(thing.corners, "name at finish sand lost base_below shows"),
        "ends": [
            {**fields(end, "where shows"), "courses": maybe(end.courses, to_builtins)}
            for end in thing.ends
        ],
        "risers": maybe(thing.risers, "door=door.name drop count each last"),
    }


def _seat(seat: Seat, thing: LevelThing) -> dict[str, Any]:
    return {
        "set_out": _set_out(thing),
        **fields(seat, "name kind=feature.kind stands"),
        "stands_as": "given" if seat.given else "advised",
        **fields(seat, "advised why fall"),
        "wedge": to_builtins(seat.wedge),
        **fields(
            seat,
            "limit too_thick height=feature.height height_limit to_house overhang",
        ),
        "own_base": maybe(seat.own_base, "top bottom cut_out excavation stone"),
        "source": seat.source,
    }


def _zone(zone: BackfillZone) -> dict[str, Any]:
    return {
        **fields(zone, "area=paving width age uses_up chosen"),
        "treatments": [to_builtins(one) for one in zone.treatments],
    }


def _load(load: LoadStress) -> dict[str, Any]:
    return {
        **fields(load, "base load depth boussinesq two_to_one bearing refused"),
        "board": maybe(load.board, to_builtins),
    }


_FROST = "base stefan modified_berggren=berggren factor in_subgrade inner code"


def advice_record(advice: Advice, name: str) -> dict[str, Any]:
    """Return the advice on one area as plain data; lengths in m, volumes m3, stress Pa.

    Parameters
    ----------
    advice : Advice
    name : str
        That of the area.
    """
    area = advice.area(name)
    best = area.base.advised
    zones = (zone for zone in advice.backfill if zone.area == area.area)
    return {
        "base": None if best is None else best.option.name,
        "reasons": [] if best is None else [to_builtins(reason) for reason in best.reasons],
        "nears": [] if best is None else list(best.nears),
        "others": [_verdict(verdict) for verdict in area.base.verdicts if verdict is not best],
        "caveat": area.base.caveat,
        "weighed": [to_builtins(each) for each in area.weighed],
        "paver_stacks": {
            **fields(area.stacks, "walked_on at"),
            "length": maybe(area.stacks.edge, lambda edge: edge.length),
            "text": area.stacks.words,
        },
        "dearer": area.dearer,
        "leading": maybe(area.base.leading, LEADING),
        "one_base_with": [] if area.one_base is None else list(area.one_base.joined),
        **fields(area, "chosen overruled reason"),
        "edge": {
            **_choice(area.edge),
            "laid": area.edge_laid,
            "laid_as": "given" if area.edge_given else "advised",
            "holders": [to_builtins(each) for each in area.held],
        },
        "joint": {
            **_choice(area.joint),
            "laid": area.joint_laid,
            "laid_as": "given" if area.joint_given else "advised",
            "when": advice.laid,
        },
        **fields(area, "disagreements"),
        "unknown": list(map(of_file, area.unknown)),
        "features": [
            _seat(thing.seat, thing) for thing in advice.levels if thing.seat.area == area.area
        ],
        "backfill": maybe(next(zones, None), _zone),
        "joins": each((join for join in advice.joins if area.area in join.areas), JOIN),
        "frost": [
            {**fields(one, _FROST), "caution": CAUTION}
            for one in advice.frost
            if one.area == area.area
        ],
        "boards": list(area.boards),
        "loads": [_load(one) for one in advice.loads if one.area == area.area],
    }
