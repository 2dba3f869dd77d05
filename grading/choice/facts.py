"""What the rules of suitability ask: facts of an area and of each base system, as measured."""

from __future__ import annotations

from collections.abc import Sequence
from math import inf

import numpy as np
import shapely

from grading.catalogue.bases import BaseSystem, tags_of
from grading.catalogue.suitability import Fact
from grading.choice.compared import called, cost_facts, frost_facts, laying_facts, one_base_facts
from grading.conditions.backfill import BackfillZone
from grading.conditions.deep_topsoil import deep_topsoil, share_above
from grading.conditions.drives import MET, Drive, drive_met
from grading.conditions.features import too_high
from grading.conditions.frost import FrostDepth, reached_words
from grading.conditions.joint_choice import joint_facts
from grading.conditions.outlets import outlets_of
from grading.conditions.seats import HELD_TO_HEIGHT, Seat
from grading.design.area import AreaPlan
from grading.design.edge_holding import free_length, raised_stretches
from grading.design.local_parts import parts_above, where_words
from grading.design.model import Design
from grading.dig.edge_choice import base_facts, meeting_facts
from grading.dig.edge_runs import edge_runs
from grading.finish.earthwork import Clip
from grading.geometry.tolerances import ROUNDING
from grading.order.hauling import way_of
from grading.site.settling import settles as still_settles
from grading.units import Unit, percent, run, size, volume
from grading.units.shares import part_words, share_words
from grading.worded import Worded

_WINTER = "the winter is not given" + Worded(": [frost] index", "")
_AGE = "the age of the house is not given" + Worded(": [house] age", "")

ASKED = {
    "gate": "the width of the way in is not given" + Worded(": [access] gate", ""),
    "house_age": _AGE,
    "backfill_settles": _AGE,
    "frost_depth": _WINTER,
    "frost_inner": _WINTER,
    "frost_less": _WINTER,
    "meets_driveway": "whether it ties into a driveway is not said" + Worded(": [[meet]] kind", ""),
    "tallest": "the height of a wall or steps on it is not given"
    + Worded(": [[feature]] height", ""),
}
"""What a person is told of a fact that is not known."""


def _above(area: AreaPlan, paved: Clip) -> np.ndarray:
    """Return the finish above the ground at the corners of the paving, (k, 3). [m]

    As levels force it: what was left free may float as high as is won by it.
    """
    surface = area.group.forced[area.name]
    return surface.at(paved.xy.reshape(-1, 2)).reshape(-1, 3) - paved.ground


def _ground_fall(paved: Clip) -> float:
    """Return the steepness of the ground's mean slope over the paving. [ratio]"""
    sides = paved.xy[:, 1:] - paved.xy[:, :1]
    rises = paved.ground[:, 1:] - paved.ground[:, :1]
    slopes = np.linalg.solve(sides, rises[:, :, None])[:, :, 0]
    return float(np.hypot(*(paved.areas @ slopes / paved.area)))


def _under_drive(area: AreaPlan, drive: Drive) -> frozenset[str]:
    """Return the tags of what a driveway stands on: dense-graded where it is not given."""
    if drive.base is None:
        return frozenset({"dense"})
    return tags_of(area.digs[drive.base].system)


def _length(value: float, unit: Unit) -> Fact:
    return Fact(value, size(value, unit))


def _part(value: float) -> Fact:
    return Fact(value, share_words(value))


def _over(share: float) -> Fact:
    """Return how much of an area something concerns, as it is said aloud."""
    return Fact(share, part_words(share, "the area"))


def _about(share: float) -> Fact:
    """Return how much of an area something concerns, for who never counts in percent."""
    words = next(words for least, words in _AMOUNTS if share >= least)
    return Fact(share, f"{words} of the area")


_AMOUNTS = (
    (0.995, "all"), (0.85, "nearly all"), (0.55, "more than half"), (0.45, "about half"),
    (0.2, "a good part"), (0.0, "a small part"),
)  # fmt: skip
"""From which share on [ratio] a part of an area is called so."""


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
        "tall": _named([seat for seat in walls if too_high(seat.feature.height or 0.0, high)]),
        "tallest": tallest,
        "wood_fire": wood,
        "wood_fires": wood,
        "heavy": heavy,
        "heavies": heavy,
    }


def _of_backfill(plan: Design, area: AreaPlan, zone: BackfillZone | None) -> dict[str, Fact]:
    age = plan.site.house.age if plan.site.house else None
    share = 0.0 if zone is None else zone.paving / float(area.outline.area)
    settles = False if zone is None else still_settles(age)
    return {
        "house_age": Fact(age, "" if age is None else f"{age:g} year{'' if age == 1 else 's'}"),
        "backfill_share": _part(share),
        "backfill_over": _over(share),
        "backfill_settles": Fact(settles, ""),
        "backfill_treated": Fact(plan.site.backfill.treatment != "none", ""),
    }


def _of_parts(plan: Design, area: AreaPlan) -> dict[str, Fact]:
    """Return what stands high or has deep organics, over how much of the area, and where."""
    unit, limits, paved = plan.site.unit, plan.limits, area.chosen_dig.paved
    above = _above(area, paved)
    deep = deep_topsoil(area, limits, plan.places)
    raised = share_above(paved, above, limits["raised-area"])
    where = where_words(parts_above(paved, above, limits["raised-area"]), plan.places, unit)
    return {
        "raised_share": _part(raised),
        "raised_over": _over(raised),
        "raised_about": _about(raised),
        "raised_where": Fact(where, where),
        "finish_above": _length(max(float(above.max()), 0.0), unit),
        "organics": _length(deep.deepest, unit),
        "organics_deep": Fact(deep.extent, deep.extent),
        "organics_local": Fact(deep.local, ""),
        "organics_share": _part(deep.share),
        "organics_over": _over(deep.share),
        "organics_about": _about(deep.share),
        "organics_where": Fact(deep.where, deep.where),
    }


def _of_edges(plan: Design, area: AreaPlan) -> dict[str, Fact]:
    """Return how much of the free edge is raised."""
    unit, free = plan.site.unit, free_length(area)
    runs = edge_runs(area.free_edges, area.group.forced[area.name], plan.ground)
    stretches = raised_stretches(runs, plan.limits["raised-edge"])
    raised = sum(part.length for part in stretches)
    return {
        "free_edge": Fact(free, run(free, unit, 1)),
        "raised_edge": Fact(raised, run(raised, unit, 1)),
        "raised_edge_share": _part(raised / free if free > 0 else 0.0),
        "edge_above": _length(max((part.height for part in stretches), default=0.0), unit),
    }


def area_facts(
    plan: Design, area: AreaPlan, seats: Sequence[Seat], zone: BackfillZone | None
) -> dict[str, Fact]:
    """Return the facts of an area that hold for every base system.

    Parameters
    ----------
    plan : Design
    area : AreaPlan
    seats : sequence of Seat
        What stands on it.
    zone : BackfillZone or None
        Its part on the backfill of the foundation.
    """
    site, unit = plan.site, plan.site.unit
    paved = area.chosen_dig.paved
    to_house, by_house = inf, "with no house given"
    if site.house is not None:
        to_house = float(area.outline.distance(shapely.LineString(site.house.walls)))
        by_house = "beside the foundation"
        if to_house >= MET:
            by_house = f"{run(to_house, unit)} from the foundation"
    drive = drive_met(plan, area)
    panels = [dig.fill_for_organics for dig in area.digs.values() if dig.system.on_panels]
    refill = max(panels, default=0.0)
    gate = site.access.gate
    way = way_of(site.access, plan.crew, unit)
    return {
        "use": Fact(area.use, area.use),
        "soil": Fact(site.ground.soil, site.ground.soil),
        "accessible": Fact(area.area.accessible, ""),
        "ground_fall": Fact(_ground_fall(paved), percent(_ground_fall(paved))),
        "panel_refill": Fact(refill, volume(refill, unit)),
        "to_house": Fact(to_house, by_house),
        "by_house": Fact(by_house, by_house),
        "meets_driveway": Fact(drive.met, ""),
        "driveway": Fact(drive.name, drive.name),
        "drive_known": Fact(drive.base is not None, ""),
        "drive_base": Fact(drive.base or "", called(area, drive.base)),
        "gate": Fact(gate, "" if gate is None else size(gate, unit)),
        "carrier": Fact(way.carrier, way.carrier),
        "machine": Fact(way.carrier, way.carrier),
        "machine_digs": Fact(way.digs, ""),
        **_of_parts(plan, area),
        **_of_edges(plan, area),
        **meeting_facts(site, area.area),
        **joint_facts(site, area, plan.crew.pavers),
        **_of_things(seats, unit, site.in_force["panel-feature-height"]),
        **_of_backfill(plan, area, zone),
    }


def system_facts(
    plan: Design, area: AreaPlan, system: BaseSystem, frost: FrostDepth | None
) -> dict[str, Fact]:
    """Return the facts of one base system under an area.

    Parameters
    ----------
    plan : Design
    area : AreaPlan
    system : BaseSystem
    frost : FrostDepth or None
        Under it; None where the winter is not given.
    """
    unit, limits, tags = plan.site.unit, plan.limits, tags_of(system)
    least = limits["base-thickness-vehicle" if area.use == "driveway" else "base-thickness-foot"]
    short = 0.0 if tags & {"panel", "overlay"} else max(least - system.base_thickness, 0.0)
    deeper = system.build_up - _above(area, area.chosen_dig.paved) if system.over else np.zeros(1)
    cut = area.digs[system.name].cut
    outlets = " or ".join(outlets_of(plan, area, system.name))
    deep = deep_topsoil(area, limits, plan.places)
    told = deep.refill_words(area, area.digs[system.name], unit) if deep.local else ""
    return {
        "same_as_drive": Fact(tags == _under_drive(area, drive_met(plan, area)), ""),
        "outlet": Fact(bool(outlets), ""),
        "outlets": Fact(outlets, outlets),
        **base_facts(system),
        "rated": Fact(system.wheels, ""),
        "rating": Fact(system.source, system.source),
        "organics_dug": Fact(told, told),
        "base_thickness": _length(system.base_thickness, unit),
        "base_short": _length(short if short > ROUNDING else 0.0, unit),
        "overlay_cut": _length(max(float(deeper.max()), 0.0), unit),
        "overlay_gap": _length(max(-float(deeper.min()), 0.0), unit),
        "frost_depth": Fact(None, "") if frost is None else _length(frost.depth, unit),
        "frost_inner": Fact(None, "") if frost is None else _part(frost.inner),
        "frost_reached": Fact(None, "" if frost is None else reached_words(frost.inner)),
        **frost_facts(area, {}, system.name, unit),
        "walked_on": Fact(system.walked_on, ""),
        **laying_facts(area, {}, system.name),
        "cut": Fact(cut, volume(cut, unit)),
        **dict.fromkeys(("digs_least", "more_dig", "more_cut", "least_dig"), Fact(None, "")),
        **one_base_facts(None, system.name),
        **cost_facts(area, {}, system.name, []),
    }
