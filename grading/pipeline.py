"""The whole computation: from a site to its plan."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
import shapely
from numpy.typing import NDArray

from grading.baselayers import BaseSystem, base_systems, swells
from grading.checks import Check, checks_of
from grading.dig import Dig, Region, dug_region, met_side
from grading.drainage import WallFall, wall_fall
from grading.earthwork import Clip, clip
from grading.finish import Finish, fitted_finish, given_finish
from grading.ground import Ground, survey_to_ground
from grading.plane import Plane
from grading.rules import Limits
from grading.site import Area, Site
from grading.walls import Wall, walls_in_reach
from grading.wish import Wish
from grading.wishes import NEARBY, nearest_area, wishes_of

Floats = NDArray[np.float64]


@dataclass(frozen=True)
class AreaPlan:
    """All that was computed for one area.

    Attributes
    ----------
    area : Area
    finish : Finish
    wishes : tuple of Wish
        What was asked of the finish, about the centre of the paving.
    walls : tuple of WallFall
        The foundation walls in reach.
    digs : mapping of str to Dig
        One dig for each base system, in the order of the catalogue.
    chosen : str
        The base system chosen, or where none was, the one that moves the least earth.
    beyond_survey : (float, (2,) float)
        How far the chosen dig reaches beyond the surveyed ground, and where. [m]
    paving_beyond_survey : float
        The same for the paving alone. [m]
    """

    area: Area
    finish: Finish
    wishes: tuple[Wish, ...]
    walls: tuple[WallFall, ...]
    digs: Mapping[str, Dig]
    chosen: str
    beyond_survey: tuple[float, Floats]
    paving_beyond_survey: float

    @property
    def outline(self) -> shapely.Polygon:
        """The paving in plan, its holes left out. [m]"""
        return self.area.polygon

    @property
    def chosen_dig(self) -> Dig:
        """The dig of the base system chosen."""
        return self.digs[self.chosen]

    @property
    def _paved(self) -> Clip:
        return self.chosen_dig.paved

    @property
    def unknowns(self) -> Floats:
        """The finish as its wishes take it: level at the paving's centre, and slopes, (3,)."""
        centre, plane = self._paved.centre, self.finish.plane
        return np.array([plane.at(centre[None])[0], plane.dzdx, plane.dzdy])

    @cached_property
    def max_raise(self) -> float:
        """How far the finish stands above the existing ground at the most, or 0. [m]"""
        plane = self.finish.plane
        return max(-float(self._paved.depth(plane.z0, plane.dzdx, plane.dzdy).min()), 0.0)

    @cached_property
    def max_fill(self) -> float:
        """How far the chosen build-up stands above the existing ground at the most, or 0. [m]"""
        return max(self.max_raise - self.chosen_dig.build_up, 0.0)

    def difference(self, name: str) -> float:
        """Return how much more a base system digs than the one chosen. [m3]"""
        return self.digs[name].cut - self.chosen_dig.cut


@dataclass(frozen=True)
class Plan:
    """A site, its ground, the plan of each area, every check, and what looked suspicious."""

    site: Site
    ground: Ground
    areas: tuple[AreaPlan, ...]
    checks: tuple[Check, ...]
    warnings: tuple[str, ...]

    @property
    def failed(self) -> bool:
        """Whether a check failed."""
        return any(check.status == "fail" for check in self.checks)


def _given(area: Area) -> Plane | None:
    if area.plane is None:
        return None
    given = area.plane
    return Plane.through(np.array(given.at), given.z, given.fall, given.bearing)


@dataclass(frozen=True)
class _Context:
    """What the plan of every area is made with."""

    site: Site
    limits: Limits
    systems: Mapping[str, BaseSystem]
    ground: Ground
    house: shapely.Geometry
    paving: shapely.Geometry

    def region(self, area: Area, system: BaseSystem, dug: Sequence[Mapping[str, Dig]]) -> Region:
        """Return an area's over-dug hole, clear of the house, other paving and earlier digs."""
        over_dig = system.over_dig(self.limits)
        others = [other.polygon for other in self.site.areas if other is not area]
        earlier = [digs[system.name].polygon for digs in dug]
        met = [
            met_side(np.array(meet.at), area.polygon, 2 * over_dig)
            for meet in self.site.meets
            if meet.area in (None, area.name)
        ]
        kept_out = shapely.union_all([self.house, *others, *earlier, *met])
        return dug_region(area.polygon, over_dig, kept_out)


def _digs(
    context: _Context, area: Area, finish: Plane, paved: Clip, dug: Sequence[Mapping[str, Dig]]
) -> dict[str, Dig]:
    swell = swells()
    clips: dict[bytes, tuple[Region, Clip]] = {}
    digs = {}
    for name, system in context.systems.items():
        region = context.region(area, system, dug)
        # Base systems with the same over-dig share one hole, so it is cut out once.
        key = shapely.to_wkb(region)
        if key not in clips:
            clips[key] = region, clip(context.ground, region)
        region, hole = clips[key]
        digs[name] = Dig(
            system=system,
            outline=area.polygon,
            polygon=region,
            finish=finish,
            formation=finish.lowered(system.build_up),
            paved=paved,
            clip=hole,
            soil_swell=swell[context.site.ground.soil],
            organics_swell=swell["organics"],
        )
    return digs


def _area_plan(
    context: _Context, area: Area, walls: Sequence[Wall], dug: Sequence[Mapping[str, Dig]]
) -> AreaPlan:
    site, ground, limits = context.site, context.ground, context.limits
    paved = clip(ground, area.polygon)
    wishes = wishes_of(site, area, ground, walls, paved.centre)
    candidates = [context.systems[area.base]] if area.base else list(context.systems.values())
    given = _given(area)
    if given is None:
        finish = fitted_finish(site, area, paved, wishes, candidates, len(walls))
    else:
        finish = given_finish(given, paved, candidates)
    digs = _digs(context, area, finish.plane, paved, dug)
    reach = limits["foundation-reach"]
    return AreaPlan(
        area=area,
        finish=finish,
        wishes=wishes,
        walls=tuple(
            wall_fall(wall, finish.plane, ground, context.paving, context.house, reach)
            for wall in walls
        ),
        digs=digs,
        chosen=finish.system,
        beyond_survey=ground.beyond_survey(digs[finish.system].polygon),
        paving_beyond_survey=ground.beyond_survey(area.polygon)[0],
    )


def _astray(site: Site) -> list[str]:
    """Say which doors are about no area."""
    return [
        f"{door.name} is not within {NEARBY:.2f} m of any area, so nothing is asked for its step"
        for door in site.doors
        if nearest_area(site, door.at) is None
    ]


def plan(site: Site) -> Plan:
    """Compute the plan of a site: ground, finish, dig of every base system, and checks.

    Parameters
    ----------
    site : Site

    Returns
    -------
    Plan

    Raises
    ------
    SiteError
        The survey cannot be made into a surface, or does not cover the paving.
    NoFinish
        No plane meets every wish of an area.
    """
    limits = Limits(site.limits)
    systems = base_systems(site.systems)
    paving = shapely.union_all([area.polygon for area in site.areas])
    widest = max(system.over_dig(limits) for system in systems.values())
    house = shapely.Polygon() if site.house is None else site.house.polygon(widest + NEARBY)
    # The ground under the house is never dug, so it need not have been surveyed.
    needed = shapely.difference(paving.buffer(widest, join_style="mitre"), house)
    margin = limits["survey-margin"]
    ground = survey_to_ground(site).reaching(paving, margin).reaching(needed, margin + 2 * widest)
    context = _Context(site, limits, systems, ground, house, paving)
    reach = limits["foundation-reach"]
    areas: list[AreaPlan] = []
    for area in site.areas:
        walls = walls_in_reach(site.house, area.polygon, reach)
        areas.append(_area_plan(context, area, walls, [done.digs for done in areas]))
    checks = [check for area_plan in areas for check in checks_of(area_plan, limits, site.unit)]
    warnings = (*site.warnings, *ground.warnings, *_astray(site))
    return Plan(site, ground, tuple(areas), tuple(checks), warnings)
