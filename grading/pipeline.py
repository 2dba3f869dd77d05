"""The whole computation: from a site to its plan."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property, partial
from typing import TYPE_CHECKING, Literal

import numpy as np
import shapely
from numpy.typing import NDArray

from grading.baselayers import BaseSystem, base_systems
from grading.checks import Check, checks_of
from grading.cornerways import CornerWay, corner_ways
from grading.crew import Crew, read_crew
from grading.destinations import grate_too_high
from grading.dig import Dig, Region, dug_region, met_side, over_dug
from grading.drainage import WallFall, wall_fall
from grading.earthwork import Clip, clip_facets
from grading.edgechoice import edge_laid
from grading.edgeruns import EdgeRun, edge_runs
from grading.errors import OutsideSurvey, SiteError
from grading.facets import Surface
from grading.finish import Finish, Solved, given_finish
from grading.fit import Fit
from grading.freeedges import free_edges
from grading.ground import Ground, survey_to_ground
from grading.heldedges import holders_of
from grading.heldlevels import unheld_finishes
from grading.layout import Block
from grading.nearer import parted
from grading.objectives import ON_GRADE, Outcome, Tradeoff, outcome, side_by_side, tradeoff
from grading.places import Places, places_of
from grading.pockets import Pocket, pockets_of
from grading.rules import Limits
from grading.seams import near_misses, seams_of
from grading.settling import rests
from grading.shapes import Shape
from grading.sills import GroupSolved, with_steps
from grading.site import Area, Site
from grading.sitewater import water_of_plan
from grading.surveychecks import survey_checks
from grading.tiein import TieIn, tie_in
from grading.together import Group, components, lies, shape_of, with_best_folds
from grading.walls import Wall, walls_in_reach
from grading.water import Water
from grading.watercheck import water_checks
from grading.wish import Wish
from grading.wishes import NEARBY, wishes_of

if TYPE_CHECKING:
    from grading.advice import Advice
    from grading.order import Order
    from grading.sillways import SillWay

Floats = NDArray[np.float64]
BaseFrom = Literal["given", "advised", "least dig and refill", "least earth"]

FALLS = (0.01, 0.015, 0.02, 0.025, 0.03, 0.035, 0.04)
"""Falls away from the house that the least dig and refill is told for. [ratio]"""


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
    def outcomes(self) -> tuple[Outcome, ...]:
        """What each objective gives, side by side; none where all planes are given.

        First what areas on grade have, where there are any: the others then leave the lawn be.
        """
        if all(area.plane is not None for area in self.group.areas):
            return ()
        solved, aim = self.solved, self.group.aim
        free = side_by_side(solved.redirected, aim, solved.build_ups)
        if solved.held.lawn is None:
            return free
        on_grade = outcome(solved.held, ON_GRADE, solved.unknowns, solved.build_ups, aim.shrink)
        return on_grade, *free

    @property
    def aimed_at(self) -> str:
        """What its finishes are best at: "as it lies" first where any is on grade."""
        return ON_GRADE if self.solved.held.lawn is not None else self.group.aim.objective

    @cached_property
    def forced(self) -> Mapping[str, Surface]:
        """The finish of each area as levels force it: that of one left free, put on grade."""
        group = self.group
        if not any(area.plane is None and not lies(group.site, area) for area in group.areas):
            return {name: finish.surface for name, finish in self.solved.finishes.items()}
        on_grade = tuple(
            area if area.plane is not None else area.model_copy(update={"grade": ON_GRADE})
            for area in group.site.areas
        )
        names = {area.name for area in group.areas}
        own = tuple(area for area in on_grade if area.name in names)
        site = replace(group.site, areas=on_grade)
        _, solved = replace(group, site=site, areas=own).solved(self.shapes)
        return {name: finish.surface for name, finish in solved.finishes.items()}

    @cached_property
    def tradeoff(self) -> Tradeoff:
        """The least of what is counted, against the fall away from the house."""
        return tradeoff(self.solved.held.free, self.solved.build_ups, FALLS)


@dataclass(frozen=True, eq=False)
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
    base_from : "given", "advised", "least dig and refill" or "least earth"
        How it was chosen: the site gives it; the site gives none, and it is advised; or, where
        every one is ruled out, it has the least of what finishes are weighed by.
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
    def grade(self) -> Literal["as it lies", "free", "given"]:
        """Whether its finish lies on grade, or where an objective puts it, or as it is given."""
        if self.area.plane is not None:
            return "given"
        return "as it lies" if lies(self.group.group.site, self.area) else "free"

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
    def free_edges(self) -> tuple[shapely.LineString, ...]:
        """The edges of its paving that nothing holds: no wall, no other paving, nothing met. [m]"""
        return free_edges(self.outline, *holders_of(self.group.group.site, self.area))

    @cached_property
    def edge_runs(self) -> tuple[EdgeRun, ...]:
        """The free edges, with the levels along them."""
        return edge_runs(self.free_edges, self.finish.surface, self.group.group.ground)

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


@dataclass(frozen=True, eq=False)
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
    def sill_ways(self) -> tuple[SillWay, ...]:
        """Both ways to plan areas at doors with high sills; worked out when asked for."""
        from grading.sillways import sill_ways

        return sill_ways(self)

    @cached_property
    def checks(self) -> tuple[Check, ...]:
        """Every check: those of the areas, of the water, and of what the advice found."""
        # These are on a plan, and so know this module.
        from grading.advicechecks import advice_checks
        from grading.doorplaces import door_place_checks
        from grading.guards import guard_checks
        from grading.unused import unused_checks

        limits = Limits(self.site.limits, self.site.unit)
        water = water_checks(self.water, limits, self.places, rests(self.site))
        advice = advice_checks(self, self.advice)
        unused, guards = unused_checks(self), guard_checks(self)
        doors = door_place_checks(self)
        # First what was left out: every other check was made without it.
        return (*unused, *doors, *self.area_checks, *guards, *water, *advice)

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
    _edged: dict[tuple[str, str], BaseSystem] = field(default_factory=dict)
    _wide: dict[tuple[str, float], shapely.Geometry] = field(default_factory=dict)
    _parted: dict[tuple[str, str, float, float], tuple[shapely.Geometry, shapely.Geometry]] = field(
        default_factory=dict
    )

    def region(self, area: Area, system: BaseSystem, chosen: Mapping[str, str]) -> Region:
        """Return an area's over-dug hole, clear of the house and of what other areas dig.

        What two areas would both dig goes to the nearer one. Where the base system is the one
        chosen for the area, the others are dug for those chosen for them; else for the same one.

        Parameters
        ----------
        area : Area
        system : BaseSystem
        chosen : mapping
            Name of the base system chosen, by the name of the area.
        """
        over_dig = self.under(area, system.name).over_dig(self.limits)
        own = self.over_dug(area, over_dig)
        others = [other for other in self.site.areas if other is not area]
        met = [
            met_side(np.array(meet.at), area.polygon, 2 * over_dig)
            for meet in self.site.meets
            if meet.area in (None, area.name)
        ]
        mixed = chosen.get(area.name) == system.name
        lost = [
            self.nearer_to(other, area, (system.name, name))
            for other in others
            for name in (chosen[other.name] if mixed else system.name,)
            if shapely.intersects(
                self.over_dug(other, self.under(other, name).over_dig(self.limits)), own
            )
        ]
        kept_out = shapely.union_all([self.house, self.paving, *lost, *met])
        return dug_region(area.polygon, over_dig, kept_out)

    def under(self, area: Area, name: str) -> BaseSystem:
        """Return a base system as it is laid under an area: with its edge there."""
        key = (area.name, name)
        if key not in self._edged:
            system = self.systems[name]
            self._edged[key] = system.with_edge(edge_laid(self.site, area, system))
        return self._edged[key]

    def over_dug(self, area: Area, over_dig: float) -> shapely.Geometry:
        """Return what an area alone would dig. [m]"""
        key = (area.name, over_dig)
        if key not in self._wide:
            self._wide[key] = over_dug(area.polygon, over_dig)
        return self._wide[key]

    def nearer_to(self, other: Area, area: Area, bases: tuple[str, str]) -> shapely.Geometry:
        """Return what an area leaves to another that would dig there too, and is nearer. [m]

        Parameters
        ----------
        other, area : Area
        bases : (str, str)
            The base systems that the area and the other are dug for.
        """
        own, its = (
            self.under(each, name).over_dig(self.limits)
            for each, name in zip((area, other), bases, strict=True)
        )
        # Parted once for both, whichever asks.
        ahead = area.name < other.name
        first, second = (area, other) if ahead else (other, area)
        wide = (own, its) if ahead else (its, own)
        key = (first.name, second.name, *wide)
        if key not in self._parted:
            both = shapely.intersection(
                self.over_dug(first, wide[0]), self.over_dug(second, wide[1])
            )
            ground = shapely.difference(both, self.paving)
            self._parted[key] = parted(ground, first.polygon, second.polygon)
        return self._parted[key][1 if ahead else 0]


def _digs(
    context: _Context, area: Area, finish: Surface, chosen: Mapping[str, str]
) -> dict[str, Dig]:
    domains = [facet.domain for facet in finish.facets]
    ground = context.ground.under(area.name)
    paved = clip_facets(ground, area.polygon, domains)
    clips: dict[bytes, tuple[Region, Clip]] = {}
    digs = {}
    for name in context.systems:
        system = context.under(area, name)
        region = context.region(area, system, chosen)
        # Base systems with the same over-dig share one hole, so it is cut out once.
        key = shapely.to_wkb(region)
        if key not in clips:
            clips[key] = region, clip_facets(ground, region, domains)
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


def _solved(context: _Context, group: Group) -> GroupSolved:
    """Return the finishes of areas that hang together, and the problem that they are of."""
    known = with_best_folds(group, {area.name: shape_of(group.site, area) for area in group.areas})
    if any(area.plane is None for area in group.areas):
        return GroupSolved(group, known, *group.solved(known))
    fit = group.fit(known)
    unknowns = np.concatenate([wish.lower for wish in fit.wishes if wish.rule == "given-plane"])
    finishes = {}
    for block, paved in zip(fit.blocks, fit.clips, strict=True):
        area = block.area
        systems = [context.systems[block.base]] if block.base else list(context.systems.values())
        surface = block.surface(unknowns).over(area.polygon)
        finishes[area.name] = given_finish(surface, paved, systems, group.aim.measure)
    build_ups = tuple(context.systems[each.system].build_up for each in finishes.values())
    return GroupSolved(group, known, fit, Solved(finishes, unknowns, fit, build_ups, fit.counting))


def _area_plan(
    context: _Context, group: GroupPlan, fit: Fit, block: Block, chosen: Mapping[str, str]
) -> AreaPlan:
    ground, area, solved = context.ground, block.area, group.solved
    finish = solved.finishes[area.name]
    walls = group.group.walls[area.name]
    seams = [
        wish
        for wish in fit.wishes
        if wish.rule in ("shared-edge", "riser", "riser-alike") and wish.area == area.name
    ]
    digs = _digs(context, area, finish.surface, chosen)
    advised: BaseFrom = "advised" if area.name in group.group.bases else group.group.aim.weighed
    reach = context.limits["foundation-reach"]
    return AreaPlan(
        area=area,
        finish=finish,
        wishes=(*wishes_of(context.site, block, ground, walls, group.group.stepped), *seams),
        unknowns=solved.unknowns,
        walls=tuple(
            wall_fall(wall, finish.surface, ground, context.paving, context.house, reach)
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
    widest = max(
        system.with_edge(edge_laid(site, area, system)).over_dig(limits)
        for system in systems.values()
        for area in site.areas
    )
    house = shapely.Polygon() if site.house is None else site.house.polygon(widest + NEARBY)
    # The ground under the house is never dug, so it need not have been surveyed.
    needed = shapely.difference(paving.buffer(widest, join_style="mitre"), house)
    margin = limits["survey-margin"]
    ground = survey_to_ground(site)
    for area in site.areas:
        ground = _reaching(ground, area, margin)
    ground = ground.reaching(needed, margin + 2 * widest)
    crew = read_crew(site.folder, site.unit).selling(systems.values())
    context = _Context(site, limits, systems, ground, house, paving, crew)
    given = {area.name: area.base for area in site.areas if area.base}
    made = _plan_on(context, given)
    if len(given) < len(site.areas):
        # Advice is on a plan, and so knows this module; a site that gives its bases needs none.
        from grading.advisedbase import on_advised_bases

        made = on_advised_bases(made, lambda bases: _plan_on(context, {**given, **bases}))
    _refuse_grates(site, made.areas, ground, made.places)
    if site.done is not None:
        # What is done is held against a plan, and so knows this module.
        from grading.donelimits import refuse_done

        refuse_done(made)
    return made


def _plan_on(context: _Context, bases: Mapping[str, str]) -> Plan:
    """Return the plan with these bases; an area that has none is on what takes least work."""
    site, limits, ground = context.site, context.limits, context.ground
    reach = limits["foundation-reach"]
    walls: dict[str, tuple[Wall, ...]] = {
        area.name: walls_in_reach(site.house, area.polygon, reach) for area in site.areas
    }
    seams = seams_of(site.areas, site.steps)
    groups: list[GroupPlan] = []
    fits: list[Fit] = []
    for areas in components(site.areas, seams):
        names = {area.name for area in areas}
        own = tuple(seam for seam in seams if seam.upper in names)
        group = Group(site, ground, areas, walls, own, context.systems, bases)
        chosen_way = with_steps(group, partial(_solved, context))
        groups.append(GroupPlan(chosen_way.group, chosen_way.shapes, chosen_way.solved))
        fits.append(chosen_way.fit)
    # What is dug beside one area hangs on what its neighbours are built on.
    chosen = {
        name: finish.system for each in groups for name, finish in each.solved.finishes.items()
    }
    solved = {
        block.area.name: _area_plan(context, each, fit, block, chosen)
        for each, fit in zip(groups, fits, strict=True)
        for block in fit.blocks
    }
    plans = tuple(solved[area.name] for area in site.areas)
    places = places_of(site, plans)
    checks = [
        *survey_checks(site, ground, limits, places),
        *(check for area_plan in plans for check in checks_of(area_plan, limits, places)),
    ]
    warnings = (*site.warnings, *ground.warnings, *unheld_finishes(groups, plans, site))
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
