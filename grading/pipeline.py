"""The whole computation: from a site to its plan."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from typing import TYPE_CHECKING, Literal

import numpy as np
import shapely
from numpy.typing import NDArray

from grading.baselayers import BaseSystem, base_systems
from grading.checks import Check, checks_of
from grading.cornerways import CornerWay, corner_ways
from grading.crew import Crew, read_crew
from grading.destinations import grate_too_high
from grading.dig import Dig, Region, dug_region, met_side
from grading.drainage import WallFall, wall_fall
from grading.earthwork import Clip, clip_facets
from grading.edgeruns import EdgeRun, edge_runs
from grading.errors import OutsideSurvey, SiteError
from grading.facets import Surface
from grading.finish import Finish, Solved, given_finish
from grading.fit import Fit
from grading.ground import Ground, survey_to_ground
from grading.layout import Block
from grading.objectives import Outcome, Tradeoff, side_by_side, tradeoff
from grading.places import Places, places_of
from grading.pockets import Pocket, pockets_of
from grading.rules import CLEARANCE_RULES, Limits
from grading.seams import near_misses, seams_of
from grading.settling import rests
from grading.shapes import Shape
from grading.site import Area, Site
from grading.sitewater import water_of_plan
from grading.tiein import TieIn, tie_in
from grading.together import Group, components, shape_of, with_best_folds
from grading.units import run, size
from grading.walls import Wall, walls_in_reach
from grading.water import Water
from grading.watercheck import water_checks
from grading.wish import Wish
from grading.wishes import NEARBY, nearest_area, wishes_of

if TYPE_CHECKING:
    from grading.advice import Advice
    from grading.order import Order

Floats = NDArray[np.float64]
BaseFrom = Literal["given", "advised", "least earth"]

_BESIDE = 0.1  # m: an edge this near to a wall or other paving is closed by it

FALLS = (0.01, 0.015, 0.02, 0.025, 0.03, 0.035, 0.04)
"""Falls away from the house that the least earth is told for. [ratio]"""


@dataclass(frozen=True)
class GroupPlan:
    """Areas whose finishes were solved together, and what other finishes they could have."""

    group: Group
    shapes: Mapping[str, Shape]
    solved: Solved

    @cached_property
    def corner_ways(self) -> Mapping[str, tuple[CornerWay, ...]]:
        """Both ways to drain an inside corner of the house, by the name of the area at it."""
        return {area.name: corner_ways(self.group, area, self.shapes) for area in self.group.areas}

    @cached_property
    def closed(self) -> shapely.Geometry:
        """What closes an edge of paving: the house, other paving, what is met. [m]"""
        site = self.group.site
        parts: list[shapely.Geometry] = [
            area.polygon.boundary.buffer(_BESIDE)
            for area in site.areas
            if area.name not in self.shapes
        ]
        for seam in self.group.seams:
            parts += [shapely.LineString(line).buffer(_BESIDE) for line in seam.lines]
        if site.house is not None:
            parts.append(shapely.buffer(site.house.polygon(NEARBY), _BESIDE))
        parts += [
            shapely.LineString(meet.at).buffer(_BESIDE) for meet in site.meets if len(meet.at) > 1
        ]
        return shapely.union_all(parts)

    @cached_property
    def outcomes(self) -> tuple[Outcome, ...]:
        """What each objective gives, side by side; none where all planes are given."""
        if all(area.plane is not None for area in self.group.areas):
            return ()
        return side_by_side(self.solved.held, self.group.aim, self.solved.build_ups)

    @cached_property
    def tradeoff(self) -> Tradeoff:
        """Least earth against the fall away from the house."""
        return tradeoff(self.solved.held, self.solved.build_ups, FALLS)


@dataclass(frozen=True)
class AreaPlan:
    """All that was computed for one area.

    Attributes
    ----------
    area : Area
    finish : Finish
    wishes : tuple of Wish
        What was asked of the finish.
    unknowns : (n,) float
        The finish as its wishes take it, with all areas that hang together.
    walls : tuple of WallFall
        The foundation walls in reach.
    digs : mapping of str to Dig
        One dig for each base system, in the order of the catalogue.
    chosen : str
        The base system that it is planned on.
    base_from : "given", "advised" or "least earth"
        How it was chosen: the site gives it; the site gives none, and it is advised; or, where
        every one is ruled out, it moves the least earth.
    beyond_survey : (float, (2,) float)
        How far the chosen dig reaches beyond the surveyed ground, and where. [m]
    paving_beyond_survey : (float, (2,) float)
        The same for the paving alone.
    tie_in : TieIn or None
        The lawn beside it, where the site says how it is brought to the paving.
    group : GroupPlan
        The areas that it was solved with.
    """

    area: Area
    finish: Finish
    wishes: tuple[Wish, ...]
    unknowns: Floats
    walls: tuple[WallFall, ...]
    digs: Mapping[str, Dig]
    chosen: str
    base_from: BaseFrom
    beyond_survey: tuple[float, Floats]
    paving_beyond_survey: tuple[float, Floats]
    tie_in: TieIn | None
    group: GroupPlan

    @property
    def corner_ways(self) -> tuple[CornerWay, ...]:
        """Both ways to drain an inside corner of the house, where the paving lies at one."""
        return self.group.corner_ways[self.area.name]

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

    @cached_property
    def max_raise(self) -> float:
        """How far the finish stands above the existing ground at the most, or 0. [m]"""
        depth = self._paved.depth_below(self.finish.surface.coefficients)
        return max(-float(depth.min()), 0.0)

    @cached_property
    def max_fill(self) -> float:
        """How far the chosen build-up stands above the existing ground at the most, or 0. [m]"""
        return max(self.max_raise - self.chosen_dig.build_up, 0.0)

    @cached_property
    def pockets(self) -> tuple[Pocket, ...]:
        """The planting pockets in its paving."""
        return pockets_of(self.area, self.finish.surface, self.group.group.limits)

    @cached_property
    def edge_runs(self) -> tuple[EdgeRun, ...]:
        """The free edges: not by the house, by other paving or at what is met."""
        return edge_runs(
            self.outline, self.group.closed, self.finish.surface, self.group.group.ground
        )

    @cached_property
    def edge_heights(self) -> tuple[float, float]:
        """Greatest height of the finish above, and depth below, the ground at the edge. [m]

        Along the free edges.
        """
        rise = np.concatenate([run.height for run in self.edge_runs] or [np.zeros(0)])
        rise = rise[np.isfinite(rise)]
        return (float(rise.max()), float(-rise.min())) if len(rise) else (0.0, 0.0)

    def difference(self, name: str) -> float:
        """Return how much more a base system digs than the one chosen. [m3]"""
        return self.digs[name].cut - self.chosen_dig.cut


@dataclass(frozen=True)
class Plan:
    """A site, its ground, the plan of each area, every check, and what looked suspicious."""

    site: Site
    ground: Ground
    areas: tuple[AreaPlan, ...]
    area_checks: tuple[Check, ...]
    warnings: tuple[str, ...]
    groups: tuple[GroupPlan, ...]
    crew: Crew

    @cached_property
    def water(self) -> Water:
        """Where the water goes, over the finished site and below it; worked out when asked for."""
        return water_of_plan(self)

    @cached_property
    def order(self) -> Order:
        """What it takes, reckoned with the crew's own figures; worked out when asked for."""
        from grading.order import order_of

        return order_of(self, self.crew)

    @cached_property
    def advice(self) -> Advice:
        """Which base, edge and joint, and what stands on it; worked out when asked for."""
        # The advice is on a plan, and so knows this module; it is met only when asked for.
        from grading.advice import advice_of

        return advice_of(self)

    @cached_property
    def checks(self) -> tuple[Check, ...]:
        """Every check: those of the areas, of the water, and of what the advice found."""
        from grading.advicechecks import advice_checks

        limits = Limits(self.site.limits, self.site.unit)
        water = water_checks(self.water, limits, self.places, rests(self.site))
        return (*self.area_checks, *water, *advice_checks(self, self.advice))

    @cached_property
    def places(self) -> Places:
        """Says where points of the site are."""
        return places_of(self.site, self.areas)

    @property
    def failed(self) -> bool:
        """Whether a check failed."""
        return any(check.status == "fail" for check in self.checks)


@dataclass(frozen=True)
class _Context:
    """What the plan of every area is made with."""

    site: Site
    limits: Limits
    systems: Mapping[str, BaseSystem]
    ground: Ground
    house: shapely.Geometry
    paving: shapely.Geometry
    crew: Crew

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
    context: _Context, area: Area, finish: Surface, dug: Sequence[Mapping[str, Dig]]
) -> dict[str, Dig]:
    domains = [facet.domain for facet in finish.facets]
    paved = clip_facets(context.ground, area.polygon, domains)
    clips: dict[bytes, tuple[Region, Clip]] = {}
    digs = {}
    for name, system in context.systems.items():
        region = context.region(area, system, dug)
        # Base systems with the same over-dig share one hole, so it is cut out once.
        key = shapely.to_wkb(region)
        if key not in clips:
            clips[key] = region, clip_facets(context.ground, region, domains)
        region, hole = clips[key]
        digs[name] = Dig(
            system=system,
            outline=area.polygon,
            polygon=region,
            finish=finish,
            formation=finish.lowered(system.build_up),
            paved=paved,
            clip=hole,
            soil_swell=context.crew[f"{context.site.ground.soil}-swell"],
            organics_swell=context.crew["organics-swell"],
        )
    return digs


def _solved(context: _Context, group: Group, known: Mapping[str, Shape]) -> tuple[Fit, Solved]:
    """Return the finishes of areas that hang together, and the problem that they are of."""
    if any(area.plane is None for area in group.areas):
        return group.solved(known)
    fit = group.fit(known)
    unknowns = np.concatenate([wish.lower for wish in fit.wishes if wish.rule == "given-plane"])
    finishes = {}
    for block, paved in zip(fit.blocks, fit.clips, strict=True):
        area = block.area
        systems = [context.systems[block.base]] if block.base else list(context.systems.values())
        surface = block.surface(unknowns).over(area.polygon)
        finishes[area.name] = given_finish(surface, paved, systems)
    build_ups = tuple(context.systems[each.system].build_up for each in finishes.values())
    return fit, Solved(finishes, unknowns, fit, build_ups)


def _area_plan(
    context: _Context, group: GroupPlan, fit: Fit, block: Block, dug: Sequence[Mapping[str, Dig]]
) -> AreaPlan:
    ground, area, solved = context.ground, block.area, group.solved
    finish = solved.finishes[area.name]
    walls = group.group.walls[area.name]
    seams = [
        wish
        for wish in fit.wishes
        if wish.rule in ("shared-edge", "riser", "riser-alike") and wish.area == area.name
    ]
    digs = _digs(context, area, finish.surface, dug)
    advised: BaseFrom = "advised" if area.name in group.group.bases else "least earth"
    reach = context.limits["foundation-reach"]
    return AreaPlan(
        area=area,
        finish=finish,
        wishes=(*wishes_of(context.site, block, ground, walls), *seams),
        unknowns=solved.unknowns,
        walls=tuple(
            wall_fall(wall, walls, finish.surface, ground, context.paving, context.house, reach)
            for wall in walls
        ),
        digs=digs,
        chosen=finish.system,
        base_from="given" if area.base else advised,
        beyond_survey=ground.beyond_survey(digs[finish.system].polygon),
        paving_beyond_survey=ground.beyond_survey(area.polygon),
        tie_in=_tie_in(context, area, finish.surface),
        group=group,
    )


def _tie_in(context: _Context, area: Area, finish: Surface) -> TieIn | None:
    if area.lawn is None:
        return None
    others = [other.polygon for other in context.site.areas if other is not area]
    kept_out = shapely.union_all([context.house, *others])
    wished = area.lawn
    return tie_in(
        area.polygon, finish, context.ground, kept_out, wished.edge, wished.lip, wished.slope
    )


def _astray(site: Site) -> list[str]:
    """Say which doors, ceilings, floors and edges to meet are about no area."""
    far = run(NEARBY, site.unit)
    said = [
        f"{door.name} is not within {far} of any area, so nothing is asked for its step"
        for door in site.doors
        if nearest_area(site, door.at) is None
    ]
    for line in (*site.ceilings, *site.floors, *site.meets):
        shape = shapely.LineString(line.at) if len(line.at) > 1 else shapely.Point(line.at[0])
        areas = [area for area in site.areas if line.area in (None, area.name)]
        near = any(area.polygon.distance(shape) <= NEARBY for area in areas)
        # Water may run a long way to an outlet or a swale: it is followed there.
        if not near and getattr(line, "kind", "") not in ("outlet", "swale"):
            said.append(f"{line.name} is not within {far} of the paving, so nothing is asked of it")
    return said


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
    limits = Limits(site.limits, site.unit)
    systems = base_systems(site.systems)
    paving = shapely.union_all([area.polygon for area in site.areas])
    widest = max(system.over_dig(limits) for system in systems.values())
    house = shapely.Polygon() if site.house is None else site.house.polygon(widest + NEARBY)
    # The ground under the house is never dug, so it need not have been surveyed.
    needed = shapely.difference(paving.buffer(widest, join_style="mitre"), house)
    margin = limits["survey-margin"]
    ground = survey_to_ground(site)
    for area in site.areas:
        ground = _reaching(ground, area, margin)
    ground = ground.reaching(needed, margin + 2 * widest)
    crew = read_crew(site.folder, site.unit)
    context = _Context(site, limits, systems, ground, house, paving, crew)
    given = {area.name: area.base for area in site.areas if area.base}
    made = _plan_on(context, given)
    if len(given) < len(site.areas):
        # Advice is on a plan, and so knows this module; a site that gives its bases needs none.
        from grading.advisedbase import on_advised_bases

        made = on_advised_bases(made, lambda bases: _plan_on(context, {**given, **bases}))
    _refuse_grates(site, made.areas, ground, made.places)
    return made


def _plan_on(context: _Context, bases: Mapping[str, str]) -> Plan:
    """Return the plan with these bases; an area that has none is on what moves least earth."""
    site, limits, ground = context.site, context.limits, context.ground
    reach = limits["foundation-reach"]
    walls: dict[str, tuple[Wall, ...]] = {
        area.name: walls_in_reach(site.house, area.polygon, reach) for area in site.areas
    }
    seams = seams_of(site.areas, site.steps)
    solved: dict[str, AreaPlan] = {}
    groups: list[GroupPlan] = []
    for areas in components(site.areas, seams):
        names = {area.name for area in areas}
        own = tuple(seam for seam in seams if seam.upper in names)
        group = Group(site, ground, areas, walls, own, context.systems, bases)
        shapes = {area.name: shape_of(site, area) for area in areas}
        known = with_best_folds(group, shapes)
        fit, together = _solved(context, group, known)
        groups.append(GroupPlan(group, known, together))
        for block in fit.blocks:
            name = block.area.name
            dug = [done.digs for done in solved.values()]
            solved[name] = _area_plan(context, groups[-1], fit, block, dug)
    plans = tuple(solved[area.name] for area in site.areas)
    places = places_of(site, plans)
    checks = [check for area_plan in plans for check in checks_of(area_plan, limits, places)]
    warnings = (*site.warnings, *ground.warnings, *_astray(site), *_unheld(plans, site))
    warnings = (*warnings, *near_misses(site.areas, site.unit))
    return Plan(site, ground, plans, tuple(checks), warnings, tuple(groups), context.crew)


def _reaching(ground: Ground, area: Area, margin: float) -> Ground:
    """Return ground that covers an area's paving; say which area it is that reaches too far."""
    try:
        return ground.reaching(area.polygon, margin)
    except OutsideSurvey as error:
        where = f"site.toml, area {area.name!r}, key outline"
        raise OutsideSurvey([replace(each, where=where) for each in error.problems]) from None


def _refuse_grates(site: Site, plans: Sequence[AreaPlan], ground: Ground, places: Places) -> None:
    """Refuse drains whose grate stands above the finished surface: no water would reach them."""
    surfaces = [(plan.outline, plan.finish.surface.at) for plan in plans]
    found = [grate_too_high(each, surfaces, ground, places) for each in site.outfalls]
    problems = [problem for problem in found if problem is not None]
    if problems:
        raise SiteError(problems)


def _unheld(plans: Sequence[AreaPlan], site: Site) -> list[str]:
    """Say which fitted finishes nothing ties to the house or to existing paving."""
    levels = ("door-step", "meeting-gap", "shared-edge", "riser", *CLEARANCE_RULES.values())
    return [
        f"nothing holds the finish of {plan.area.name} to a level: no door, siding or existing "
        f"paving beside it was given, so it lies where least earth is moved, up to "
        f"{size(plan.max_raise, site.unit)} above the ground"
        for plan in plans
        if plan.finish.fitted and not any(wish.rule in levels for wish in plan.wishes)
    ]
