"""What the rules of suitability ask: facts of an area and of each base system, as measured."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from math import inf

import numpy as np
import shapely

from grading.backfill import BackfillZone
from grading.baselayers import BaseSystem
from grading.basetags import tags_of
from grading.drives import MET, Drive, drive_met
from grading.earthwork import Clip, positive_and_negative
from grading.edgechoice import base_facts, meeting_facts
from grading.edgeholding import free_length, raised_stretches
from grading.features import HELD_TO_HEIGHT, Seat
from grading.frost import FrostDepth, reached_words
from grading.jointchoice import joint_facts
from grading.localparts import beyond, parts_above, where_words
from grading.onebase import OneBase
from grading.outlets import outlets_of
from grading.pipeline import AreaPlan, Plan
from grading.rules import Limits
from grading.settling import settles as still_settles
from grading.shares import share_words
from grading.suitability import Fact
from grading.underfoot import level_at
from grading.units import Unit, percent, run, size, volume
from grading.weighing import Weighed

ASKED = {
    "gate": "how wide the way in is is not given: [access] gate",
    "house_age": "the age of the house is not given: [house] age",
    "backfill_settles": "the age of the house is not given: [house] age",
    "frost_depth": "the winter is not given: [frost] index",
    "frost_inner": "the winter is not given: [frost] index",
    "meets_driveway": "whether it ties into a driveway is not said: [[meet]] kind",
    "tallest": "the height of a wall or steps on it is not given: [[feature]] height",
}
"""What a person is told of a fact that is not known."""


def _share(height: np.ndarray, paved: Clip) -> float:
    return positive_and_negative(height, paved.areas).cut_area / paved.area


def _above(area: AreaPlan, paved: Clip) -> np.ndarray:
    """Return the finish above the ground at the corners of the paving, (k, 3). [m]"""
    return level_at(area, paved.xy.reshape(-1, 2)).reshape(-1, 3) - paved.ground


def _ground_fall(paved: Clip) -> float:
    """Return the steepness of the ground's mean slope over the paving. [ratio]"""
    sides = paved.xy[:, 1:] - paved.xy[:, :1]
    rises = paved.ground[:, 1:] - paved.ground[:, :1]
    slopes = np.linalg.solve(sides, rises[:, :, None])[:, :, 0]
    return float(np.hypot(*(paved.areas @ slopes / paved.area)))


def _title(area: AreaPlan, base: str | None) -> str:
    """Return what a base is called within a sentence: a site's own as it was written."""
    if base is None:
        return "a base that is not given"
    system = area.digs[base].system
    return system.title if system.title == system.name else system.title.lower()


def _under_drive(area: AreaPlan, drive: Drive) -> frozenset[str]:
    """Return the tags of what a driveway stands on: dense-graded where it is not given."""
    if drive.base is None:
        return frozenset({"dense"})
    return tags_of(area.digs[drive.base].system)


def _length(value: float, unit: Unit) -> Fact:
    return Fact(value, size(value, unit))


def _part(value: float) -> Fact:
    return Fact(value, share_words(value))


def _named(seats: Sequence[Seat]) -> Fact:
    return Fact(bool(seats), " and ".join(seat.name for seat in seats))


def _of_things(seats: Sequence[Seat], unit: Unit, high: float) -> dict[str, Fact]:
    """Return what stands on the area, and what of it asks for a base of its own on panels.

    What stands on one of its own only because the area is on panels is asked like the rest: the
    advice does not hinge on what the area is planned on.
    """
    on_bedding = [seat for seat in seats if not seat.settled]
    walls = [seat for seat in on_bedding if seat.feature.kind in HELD_TO_HEIGHT]
    worst = max((seat.wedge.greatest for seat in walls), default=0.0)
    heights = [seat.feature.height for seat in walls]
    known = [height for height in heights if height is not None]
    tallest = Fact(None, "") if None in heights else _length(max(known, default=0.0), unit)
    wood = _named([seat for seat in on_bedding if seat.feature.kind == "wood fire"])
    heavy = _named([seat for seat in seats if seat.settled])
    return {
        "walls": _named([seat for seat in walls if seat.too_thick]),
        "wall_wedge": _length(worst, unit),
        "tall": _named([seat for seat in walls if (seat.feature.height or 0.0) > high]),
        "tallest": tallest,
        "wood_fire": wood,
        "wood_fires": wood,
        "heavy": heavy,
        "heavies": heavy,
    }


def _of_backfill(plan: Plan, area: AreaPlan, zone: BackfillZone | None) -> dict[str, Fact]:
    age = plan.site.house.age if plan.site.house else None
    share = 0.0 if zone is None else zone.paving / float(area.outline.area)
    settles = False if zone is None else still_settles(age)
    return {
        "house_age": Fact(age, "" if age is None else f"{age:g}"),
        "backfill_share": _part(share),
        "backfill_settles": Fact(settles, ""),
        "backfill_treated": Fact(plan.site.backfill.treatment != "none", ""),
    }


def _of_parts(plan: Plan, area: AreaPlan) -> dict[str, Fact]:
    """Return what stands high or has deep organics, over how much of the area, and where."""
    unit, limits, paved = plan.site.unit, Limits(plan.site.limits), area.chosen_dig.paved
    above = _above(area, paved)
    facts = {}
    for name, values, rule in (
        ("raised", above, "raised-area"),
        ("organics", paved.organics, "deep-organics"),
    ):
        where = where_words(parts_above(paved, values, limits[rule]), plan.places, unit)
        facts[f"{name}_share"] = _part(_share(beyond(values, limits[rule]), paved))
        facts[f"{name}_where"] = Fact(where, where)
    return {
        **facts,
        "finish_above": _length(max(float(above.max()), 0.0), unit),
        "organics": _length(float(paved.organics.max()), unit),
    }


def _of_edges(plan: Plan, area: AreaPlan) -> dict[str, Fact]:
    """Return how much of the free edge is raised."""
    unit, free = plan.site.unit, free_length(area)
    stretches = raised_stretches(area, Limits(plan.site.limits)["raised-edge"])
    raised = sum(part.length for part in stretches)
    return {
        "free_edge": Fact(free, run(free, unit, 1)),
        "raised_edge": Fact(raised, run(raised, unit, 1)),
        "raised_edge_share": _part(raised / free if free > 0 else 0.0),
        "edge_above": _length(max((part.height for part in stretches), default=0.0), unit),
    }


def area_facts(
    plan: Plan, area: AreaPlan, seats: Sequence[Seat], zone: BackfillZone | None
) -> dict[str, Fact]:
    """Return the facts of an area that hold for every base system.

    Parameters
    ----------
    plan : Plan
    area : AreaPlan
    seats : sequence of Seat
        What stands on it.
    zone : BackfillZone or None
        Its part on the backfill of the foundation.
    """
    site, unit = plan.site, plan.site.unit
    paved = area.chosen_dig.paved
    to_house = (
        inf
        if site.house is None
        else float(area.outline.distance(shapely.LineString(site.house.walls)))
    )
    by_house = "beside the foundation"
    if site.house is None:
        by_house = "with no house given"
    elif to_house >= MET:
        by_house = f"{run(to_house, unit)} from the foundation"
    drive = drive_met(plan, area)
    panels = [dig.fill_for_organics for dig in area.digs.values() if dig.system.on_panels]
    refill = max(panels, default=0.0)
    gate = site.access.gate
    return {
        "use": Fact(area.area.use, area.area.use),
        "soil": Fact(site.ground.soil, site.ground.soil),
        "accessible": Fact(area.area.accessible, ""),
        "ground_fall": Fact(_ground_fall(paved), percent(_ground_fall(paved))),
        "panel_refill": Fact(refill, volume(refill, unit)),
        "to_house": Fact(to_house, by_house),
        "by_house": Fact(by_house, by_house),
        "meets_driveway": Fact(drive.met, ""),
        "driveway": Fact(drive.name, drive.name),
        "drive_known": Fact(drive.base is not None, ""),
        "drive_base": Fact(drive.base or "", _title(area, drive.base)),
        "gate": Fact(gate, "" if gate is None else size(gate, unit)),
        **_of_parts(plan, area),
        **_of_edges(plan, area),
        **meeting_facts(site, area.area),
        **joint_facts(site, area, plan.crew.pavers),
        **_of_things(seats, unit, Limits(site.limits)["panel-feature-height"]),
        **_of_backfill(plan, area, zone),
    }


def system_facts(
    plan: Plan, area: AreaPlan, system: BaseSystem, frost: FrostDepth | None
) -> dict[str, Fact]:
    """Return the facts of one base system under an area.

    Parameters
    ----------
    plan : Plan
    area : AreaPlan
    system : BaseSystem
    frost : FrostDepth or None
        Under it; None where the winter is not given.
    """
    unit, limits, tags = plan.site.unit, Limits(plan.site.limits), tags_of(system)
    least = limits[
        "base-thickness-vehicle" if area.area.use == "driveway" else "base-thickness-foot"
    ]
    short = 0.0 if tags & {"panel", "overlay"} else max(least - system.base_thickness, 0.0)
    deeper = system.build_up - _above(area, area.chosen_dig.paved) if system.over else np.zeros(1)
    cut = area.digs[system.name].cut
    outlets = " or ".join(outlets_of(plan, area, system.name))
    return {
        "same_as_drive": Fact(tags == _under_drive(area, drive_met(plan, area)), ""),
        "outlet": Fact(bool(outlets), ""),
        "outlets": Fact(outlets, outlets),
        **base_facts(system),
        "base_thickness": _length(system.base_thickness, unit),
        "base_short": _length(short if short > 1e-9 else 0.0, unit),
        "overlay_cut": _length(max(float(deeper.max()), 0.0), unit),
        "overlay_gap": _length(max(-float(deeper.min()), 0.0), unit),
        "frost_depth": Fact(None, "") if frost is None else _length(frost.depth, unit),
        "frost_inner": Fact(None, "") if frost is None else _part(frost.inner),
        "frost_reached": Fact(None, "" if frost is None else reached_words(frost.inner)),
        "cut": Fact(cut, volume(cut, unit)),
        "digs_least": Fact(None, ""),
        "more_dig": Fact(None, ""),
        "more_cut": Fact(None, ""),
        "least_dig": Fact(None, ""),
        **one_base_facts(None, system.name),
        **cost_facts(area, {}, system.name, []),
    }


def one_base_facts(one: OneBase | None, name: str) -> dict[str, Fact]:
    """Return whether a base system is that of the piece of paving that an area is a part of.

    Parameters
    ----------
    one : OneBase or None
        None where it was not asked.
    name : str
        The base system.
    """
    as_one = one is not None and bool(one.joined) and one.base == name
    joined = "" if one is None else " and ".join(one.joined)
    other = one is not None and one.by_itself != one.base
    alone = f" (by itself it would be {one.by_itself})" if one is not None and other else ""
    return {
        "as_one": Fact(as_one, ""),
        "joined": Fact(joined, joined),
        "by_itself": Fact(alone, alone),
    }


def dig_facts(
    area: AreaPlan, name: str, candidates: Sequence[str], unit: Unit
) -> Mapping[str, Fact]:
    """Return how a base system's dig compares with the least of those that may be built.

    Parameters
    ----------
    area : AreaPlan
    name : str
        The base system.
    candidates : sequence of str
        The base systems that nothing speaks against, or those that nothing rules out.
    unit : "ft" or "m"
    """
    least = min(candidates, key=lambda other: area.digs[other].cut)
    beside_others = len(candidates) > 1
    more = area.digs[name].cut - area.digs[least].cut
    whole = area.digs[least].cut
    return {
        "digs_least": Fact(beside_others and name in candidates and more <= 1e-9 * whole, ""),
        "more_dig": Fact(more / whole if whole > 0 else 0.0, ""),
        "more_cut": Fact(more, volume(more, unit)),
        "least_dig": Fact(least, _title(area, least)),
    }


def cost_facts(
    area: AreaPlan, weighed: Mapping[str, Weighed], name: str, candidates: Sequence[str]
) -> Mapping[str, Fact]:
    """Return how a base system's cost compares with the least of those that may be built.

    Parameters
    ----------
    area : AreaPlan
    weighed : mapping of str to Weighed
        What each takes; empty where it was not counted.
    name : str
        The base system.
    candidates : sequence of str
        The base systems that nothing speaks against, or those that nothing rules out.
    """
    if not weighed:
        return {"more_cost": Fact(0.0, ""), "cheapest": Fact("", "")}
    cheapest = min(candidates, key=lambda other: weighed[other].cost)
    least = weighed[cheapest].cost
    more = weighed[name].cost / least - 1 if least > 0 else 0.0
    return {
        "more_cost": Fact(more, percent(more, 0)),
        "cheapest": Fact(cheapest, _title(area, cheapest)),
    }
