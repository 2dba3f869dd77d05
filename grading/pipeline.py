"""The whole computation: from a site to its plan."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property, partial

import numpy as np
import shapely

from grading.catalogue.bases import BaseSystem, base_systems
from grading.catalogue.rules import Limits
from grading.checks.advice import advice_checks
from grading.checks.areas import checks_of
from grading.checks.check import Check, Maker
from grading.checks.doors import door_place_checks
from grading.checks.guards import guard_checks
from grading.checks.holding import holding_checks
from grading.checks.levels import level_checks
from grading.checks.survey import survey_checks
from grading.checks.unused import unused_checks
from grading.checks.water import water_checks
from grading.choice.advice import Advice, advice_of
from grading.choice.advised import on_advised_bases
from grading.choice.hold_ways import HoldWay, hold_ways
from grading.choice.sills import SillWay, sill_ways
from grading.crew.model import Crew, read_crew
from grading.design.area import AreaPlan, BaseFrom, GroupPlan
from grading.design.held_levels import unheld_finishes
from grading.design.model import Design
from grading.design.places import Places
from grading.dig.drainage import wall_fall
from grading.dig.edge_choice import edge_laid
from grading.dig.hole import Dig, dug_region, met_side, over_dug
from grading.dig.lawn import TieIn, tie_in
from grading.errors import OutsideSurvey, SiteError
from grading.finish.cutting import clip_facets
from grading.finish.earthwork import Clip
from grading.finish.fit import Fit
from grading.finish.layout import Block
from grading.finish.lowered import lowered_wishes
from grading.finish.model import Solved, given_finish
from grading.finish.seams import near_misses, seams_of
from grading.finish.sills import GroupSolved, with_steps
from grading.finish.together import Group, components, shape_of, with_best_folds
from grading.finish.wishes import NEARBY, wishes_of
from grading.geometry.arrays import Region
from grading.geometry.facets import Surface
from grading.geometry.nearer import parted
from grading.ground.model import Ground, survey_to_ground
from grading.halfway.limits import refuse_done
from grading.order.model import Order, order_of
from grading.section.model import Sections
from grading.site.model import Area, Site
from grading.site.settling import rests
from grading.site.walls import Wall, walls_in_reach
from grading.water.destinations import grate_too_high
from grading.water.model import Water
from grading.water.site import water_of_design


class Plan(Design):
    """A design with all that is read off it: water, advice, order, and every check.

    Each is worked out when it is asked for.
    """

    @cached_property
    def water(self) -> Water:
        """Where the water goes, over the finished site and below it."""
        return water_of_design(self)

    @cached_property
    def order(self) -> Order:
        """What it takes, reckoned with the crew's own figures."""
        return order_of(self, self.crew)

    @cached_property
    def advice(self) -> Advice:
        """Which base, edge and joint, and what stands on it."""
        return advice_of(self, self.order)

    @cached_property
    def sections(self) -> Sections:
        """Vertical cuts through it."""
        return Sections(self, self.advice.features)

    @cached_property
    def sill_ways(self) -> tuple[SillWay, ...]:
        """Both ways to plan areas at doors with high sills."""
        return sill_ways(self, self.order, plan)

    @cached_property
    def hold_ways(self) -> tuple[HoldWay, ...]:
        """Every way to hold the raised edges of its areas."""
        return hold_ways(self, self.order, plan)

    @cached_property
    def area_checks(self) -> tuple[Check, ...]:
        """The checks of the survey and of each area, in the order of the site."""
        limits = self.limits
        return (
            *survey_checks(self.site, self.ground, limits, self.places),
            *level_checks(self.site, Maker(limits, self.places)),
            *(
                check
                for area in self.areas
                for check in checks_of(area, limits, self.places, self.uncertainty)
            ),
        )

    @cached_property
    def checks(self) -> tuple[Check, ...]:
        """Every check: those of the areas, of the water, and of what the advice found."""
        limits = self.limits
        water = water_checks(self.water, limits, self.places, rests(self.site))
        advice = advice_checks(self, self.advice)
        unused, guards = unused_checks(self, self.advice), guard_checks(self)
        doors = door_place_checks(self)
        # First what was left out: every other check was made without it.
        holding = holding_checks(self)
        return (*unused, *doors, *self.area_checks, *holding, *guards, *water, *advice)

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
    edged: Mapping[tuple[str, str], BaseSystem]
    ground: Ground
    house: shapely.Geometry
    paving: shapely.Geometry
    crew: Crew
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
        return self.edged[area.name, name]

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
        wishes=(
            *wishes_of(context.site, block, ground, walls, group.group.stepped),
            *lowered_wishes(context.site, block, ground),
            *seams,
        ),
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
    edged = {
        (area.name, name): system.with_edge(edge_laid(site, area, system))
        for area in site.areas
        for name, system in systems.items()
    }
    widest = max(system.over_dig(limits) for system in edged.values())
    house = shapely.Polygon() if site.house is None else site.house.polygon(widest + NEARBY)
    # The ground under the house is never dug, so it need not have been surveyed.
    needed = shapely.difference(paving.buffer(widest, join_style="mitre"), house)
    margin = limits["survey-margin"]
    ground = survey_to_ground(site)
    for area in site.areas:
        ground = _reaching(ground, area, margin)
    ground = ground.reaching(needed, margin + 2 * widest)
    crew = read_crew(site.folder, site.unit).selling(systems.values())
    context = _Context(site, limits, systems, edged, ground, house, paving, crew)
    given = {area.name: area.base for area in site.areas if area.base}
    made = _plan_on(context, given)
    if len(given) < len(site.areas):
        made = on_advised_bases(
            made, lambda bases: _plan_on(context, {**given, **bases}), lambda plan: plan.advice
        )
    _refuse_grates(site, made.areas, ground, made.places)
    if site.done is not None:
        refuse_done(made, made.order)
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
    warnings = (*site.warnings, *ground.warnings, *unheld_finishes(groups, plans, site))
    warnings = (*warnings, *near_misses(site.areas, site.unit))
    return Plan(site, ground, plans, warnings, tuple(groups), context.crew)


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
