"""The advice as plain data, in SI: what stands under `advice` in the JSON."""

from __future__ import annotations

from dataclasses import asdict
from typing import Any

from grading.catalogue.suitability import Choice, Leading, Reason, Verdict
from grading.choice.advice import Advice, AreaAdvice
from grading.conditions.backfill import BackfillZone
from grading.conditions.features import Seat
from grading.conditions.frost import CAUTION, FrostDepth
from grading.conditions.joins import Join
from grading.conditions.level_things import LevelThing
from grading.conditions.load import LoadStress


def _reason(reason: Reason) -> dict[str, Any]:
    return asdict(reason)


def _verdict(verdict: Verdict) -> dict[str, Any]:
    return {
        "name": verdict.option.name,
        "title": verdict.option.title,
        "level": verdict.level,
        "reasons": [_reason(reason) for reason in verdict.reasons],
        "nears": list(verdict.nears),
    }


def _choice(choice: Choice) -> dict[str, Any]:
    best = choice.advised
    return {
        "advised": None if best is None else best.option.name,
        "options": [_verdict(verdict) for verdict in choice.verdicts],
    }


def leading_record(leading: Leading | None) -> dict[str, Any] | None:
    """Return the reason that stands for a choice: its rule, of which option, and its words.

    Parameters
    ----------
    leading : Leading or None
    """
    if leading is None:
        return None
    return {
        "rule": leading.reason.rule,
        "of": leading.about.name,
        "text": leading.text,
        "plain": leading.plain,
    }


def _set_out(thing: LevelThing) -> dict[str, Any]:
    risers = thing.risers
    return {
        "top": thing.top,
        "line": thing.line,
        "course": thing.course,
        "courses_laid": thing.laid,
        "corners": [
            {
                "name": corner.name,
                "at": corner.at.tolist(),
                "finish": corner.finish,
                "sand": corner.sand,
                "lost": corner.lost,
                "base_below": corner.base_below,
                "shows": corner.shows,
            }
            for corner in thing.corners
        ],
        "ends": [
            {
                "where": end.where,
                "shows": end.shows,
                "courses": None if end.courses is None else asdict(end.courses),
            }
            for end in thing.ends
        ],
        "risers": None
        if risers is None
        else {
            "door": risers.door.name,
            "drop": risers.drop,
            "count": risers.count,
            "each": risers.each,
            "last": risers.last,
        },
    }


def _seat(seat: Seat, thing: LevelThing) -> dict[str, Any]:
    own = seat.own_base
    return {
        "set_out": _set_out(thing),
        "name": seat.name,
        "kind": seat.feature.kind,
        "stands": seat.stands,
        "stands_as": "given" if seat.given else "advised",
        "advised": seat.advised,
        "why": list(seat.why),
        "fall": seat.fall,
        "wedge": asdict(seat.wedge),
        "limit": seat.limit,
        "too_thick": seat.too_thick,
        "height": seat.feature.height,
        "height_limit": seat.height_limit,
        "to_house": seat.to_house,
        "overhang": seat.overhang,
        "own_base": None
        if own is None
        else {
            "top": own.top,
            "bottom": own.bottom,
            "cut_out": own.cut_out,
            "excavation": own.excavation,
            "stone": own.stone,
        },
        "source": seat.source,
    }


def _zone(zone: BackfillZone) -> dict[str, Any]:
    return {
        "area": zone.paving,
        "width": zone.width,
        "age": zone.age,
        "uses_up": zone.uses_up,
        "chosen": zone.chosen,
        "treatments": [asdict(one) for one in zone.treatments],
    }


def _join(join: Join) -> dict[str, Any]:
    return {
        "areas": list(join.areas),
        "bases": list(join.bases),
        "there": join.there,
        "where": join.where,
        "length": join.length,
        "below": join.below,
        "step": join.step,
        "detail": join.detail,
    }


def _frost(frost: FrostDepth) -> dict[str, Any]:
    return {
        "base": frost.base,
        "stefan": frost.stefan,
        "modified_berggren": frost.berggren,
        "factor": frost.factor,
        "in_subgrade": frost.in_subgrade,
        "inner": frost.inner,
        "code": frost.code,
        "caution": CAUTION,
    }


def _load(load: LoadStress) -> dict[str, Any]:
    return {
        "base": load.base,
        "load": load.load,
        "depth": load.depth,
        "boussinesq": load.boussinesq,
        "two_to_one": load.two_to_one,
        "bearing": load.bearing,
        "refused": load.refused,
        "board": None if load.board is None else asdict(load.board),
    }


def _area(advice: Advice, area: AreaAdvice) -> dict[str, Any]:
    best, zones = area.base.advised, [zone for zone in advice.backfill if zone.area == area.area]
    return {
        "base": None if best is None else best.option.name,
        "reasons": [] if best is None else [_reason(reason) for reason in best.reasons],
        "nears": [] if best is None else list(best.nears),
        "others": [_verdict(verdict) for verdict in area.base.verdicts if verdict is not best],
        "caveat": area.base.caveat,
        "weighed": [asdict(each) for each in area.weighed],
        "paver_stacks": {
            "walked_on": area.stacks.walked_on,
            "at": None if area.stacks.at is None else area.stacks.at.tolist(),
            "length": None if area.stacks.edge is None else area.stacks.edge.length,
            "text": area.stacks.words,
        },
        "dearer": area.dearer,
        "leading": leading_record(area.base.leading),
        "one_base_with": [] if area.one_base is None else list(area.one_base.joined),
        "chosen": area.chosen,
        "overruled": area.overruled,
        "reason": area.reason,
        "edge": {
            **_choice(area.edge),
            "laid": area.edge_laid,
            "laid_as": "given" if area.edge_given else "advised",
            "holders": [asdict(each) for each in area.held],
        },
        "joint": {
            **_choice(area.joint),
            "laid": area.joint_laid,
            "laid_as": "given" if area.joint_given else "advised",
            "when": advice.laid,
        },
        "disagreements": list(area.disagreements),
        "unknown": list(area.unknown),
        "features": [
            _seat(thing.seat, thing) for thing in advice.levels if thing.seat.area == area.area
        ],
        "backfill": _zone(zones[0]) if zones else None,
        "joins": [_join(join) for join in advice.joins if area.area in join.areas],
        "frost": [_frost(one) for one in advice.frost if one.area == area.area],
        "boards": list(area.boards),
        "loads": [_load(one) for one in advice.loads if one.area == area.area],
    }


def advice_record(advice: Advice, area: str) -> dict[str, Any]:
    """Return the advice on one area as plain data; lengths in m, volumes m3, stress Pa.

    Parameters
    ----------
    advice : Advice
    area : str
        The name of the area.
    """
    return _area(advice, advice.area(area))
