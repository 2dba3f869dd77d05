"""The whole computation: from a site to its plan."""

from __future__ import annotations

from collections.abc import Mapping
from functools import cached_property, partial
from typing import Literal

import shapely
from msgspec import Struct
from msgspec.structs import replace

from grading.catalogue.bases import BaseSystem, base_systems
from grading.checks.advice import advice_checks
from grading.checks.areas import checks_of, freed_of
from grading.checks.doors import door_place_checks
from grading.checks.drains import drain_checks, underdrained
from grading.checks.guards import guard_checks
from grading.checks.holding import holding_checks
from grading.checks.maker import Check, Maker
from grading.checks.steps import step_checks
from grading.checks.survey import level_checks, survey_checks
from grading.checks.unused import unused_checks
from grading.checks.water import water_checks
from grading.choice.advice import Advice, advice_of
from grading.choice.advised import on_advised_bases
from grading.choice.hold_ways import HoldWay, hold_ways
from grading.choice.sills import SillWay, sill_ways
from grading.conditions.seats import seats_of
from grading.crew.model import Crew
from grading.crew.reading import read_crew
from grading.design.held_levels import unheld_finishes
from grading.design.making import Making, areas_made
from grading.design.model import Design
from grading.dig.edge_choice import edge_laid
from grading.errors import OutsideSurvey, SiteError
from grading.finish.wishes.of_site import NEARBY
from grading.finish.wishes.seams import near_misses
from grading.ground.model import Ground, survey_to_ground
from grading.halfway.limits import refuse_done
from grading.kept import GROUNDS, PLANS, Kept, Same, fingerprint
from grading.order.model import Order, order_of
from grading.section.model import Sections
from grading.site.around import around_of
from grading.site.model import Area, Site
from grading.site.settling import rests
from grading.water.destinations import grate_too_high
from grading.water.model import Water
from grading.water.site import water_of_design


class Plan(Design, frozen=True, dict=True):
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
        return Sections(self, tuple(seats_of(self)))

    @cached_property
    def sill_ways(self) -> tuple[SillWay, ...]:
        """Both ways to plan areas at doors with high sills."""
        return sill_ways(self, self.order, partial(plan, kept=self.kept.aside()))

    @cached_property
    def hold_ways(self) -> tuple[HoldWay, ...]:
        """Every way to hold the raised edges of its areas."""
        return hold_ways(self, self.order, partial(plan, kept=self.kept.aside()))

    @cached_property
    def area_checks(self) -> tuple[Check, ...]:
        """The checks of the survey and of each area, in the order of the site."""
        freed = {
            (area.name, rule): check
            for area in self.areas
            for rule, check in freed_of(area, self.limits, self.places).items()
        }
        return tuple(freed.get((each.area, each.rule), each) for each in self.area_checks_at_once)

    @cached_property
    def area_checks_at_once(self) -> tuple[Check, ...]:
        """The same, with what would let an edge off the lawn lie elsewhere still to be told."""
        limits = self.limits
        return (
            *survey_checks(self.site, self.ground, limits, self.places),
            *level_checks(self.site, Maker(limits, self.places)),
            *(
                check
                for area in self.areas
                for check in checks_of(area, limits, self.places, self.uncertainty, freed=False)
            ),
        )

    @cached_property
    def checks(self) -> tuple[Check, ...]:
        """Every check: those of the areas, of the water, and of what the advice found."""
        limits = self.limits
        let_out = underdrained(self)
        water = water_checks(self.water, limits, self.places, rests(self.site), let_out)
        advice = advice_checks(self, self.advice)
        unused, guards = unused_checks(self, self.advice), guard_checks(self)
        led = drain_checks(self)
        doors, steps = door_place_checks(self), step_checks(self)
        holding = holding_checks(self)
        # First what was left out: every other check was made without it.
        return (
            *unused, *doors, *self.area_checks, *holding, *steps, *guards, *water, *led, *advice
        )  # fmt: skip

    @property
    def bases(self) -> Mapping[str, str]:
        """The base system that each area was advised to be planned on, where the site gives none.

        One that has no advice, on the least work, is not in it.
        """
        return {
            area.name: base
            for area in self.areas
            if area.area.base is None
            and (base := area.group.group.bases.get(area.name)) is not None
        }

    @property
    def failed(self) -> bool:
        """Whether a check failed."""
        return any(check.status == "fail" for check in self.checks)


def plan(site: Site, kept: Kept | None = None) -> Plan:
    """Compute the plan of a site: ground, finish, dig of every base system, and checks.

    Parameters
    ----------
    site : Site
    kept : Kept, optional
        What plans of this site share, from one to the next: what is made of the same as before is
        not made again. The plan is the same to the last bit with it and without.

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
    if kept is None:
        alone = Kept()
        made = plan(site, alone)
        # Mends and other ways are tried with what it was made of; nobody asks for itself again.
        alone.forget("plan")
        return made
    making = _making(site, kept)
    given = {area.name: area.base for area in site.areas if area.base}
    made = _plan_on(making, given)
    if len(given) < len(site.areas):
        made = on_advised_bases(
            made, lambda bases: _plan_on(making, {**given, **bases}), lambda plan: plan.advice
        )
    kept.advised = dict(made.bases)
    _refuse_grates(made)
    if site.done is not None:
        refuse_done(made, made.order)
    return made


class FirstWave(Struct, frozen=True):
    """What can be told of a changed site at once, before what is advised for it is known.

    Attributes
    ----------
    plan : Plan
        Its finish, its digs on every base and its `area_checks` are at hand. What else it tells it
        works out when asked, like any plan.
    on : "given", "advised before" or "least work"
        What its bases come from: the site gives them all; else they are those that the last whole
        plan was advised, or those that take the least work where there was none.

    Notes
    -----
    Where `plan` comes to the same bases, its plan has the same numbers to the last bit; where the
    change has turned the advice it has others, and `area.chosen` says so. Sites that give every
    base have no such turn.
    """

    plan: Plan
    on: Literal["given", "advised before", "least work"]


def first_wave(site: Site, kept: Kept) -> FirstWave:
    """Compute of a changed site what needs no advice: on the bases that it was last planned on.

    Parameters
    ----------
    site : Site
    kept : Kept
        That of the whole plans before and after it.

    Raises
    ------
    SiteError, NoFinish
        As `plan`; but whether what is dug already fits a plan is asked by `plan` alone.
    """
    making = _making(site, kept)
    given = {area.name: area.base for area in site.areas if area.base}
    open_areas = [area.name for area in site.areas if not area.base]
    known = {name: kept.advised[name] for name in open_areas if name in kept.advised}
    known = {name: base for name, base in known.items() if base in making.systems}
    made = _plan_on(making, {**given, **known})
    _refuse_grates(made)
    if not open_areas:
        return FirstWave(made, "given")
    return FirstWave(made, "advised before" if known else "least work")


def _making(site: Site, kept: Kept) -> Making:
    """Return what the plan of every area of a site is made with."""
    around = around_of(site, kept)
    yard = kept.once("yard", around, lambda: _yard_of(site, kept))
    surveyed = around, fingerprint(site.spots, site.ground)
    ground = kept.once("ground", surveyed, lambda: _ground_of(site, yard, kept), GROUNDS)
    read = read_crew(site.folder, site.unit, site.nominal)
    crew = kept.once(
        "crew", (Same(read), around), lambda: read.selling(yard.systems.values()), PLANS
    )
    return Making(
        site, site.in_force, yard.systems, yard.edged, ground, yard.house, yard.paving, crew,
        around, kept,
    )  # fmt: skip


class _Yard(Struct, frozen=True):
    """What is built on, and where: systems, edged, house and paving as `Making` has them.

    widest : how far the widest hole goes beyond its paving. [m]
    """

    systems: Mapping[str, BaseSystem]
    edged: Mapping[tuple[str, str], BaseSystem]
    house: shapely.Geometry
    paving: shapely.Geometry
    widest: float


def _yard_of(site: Site, kept: Kept) -> _Yard:
    limits = site.in_force
    systems = base_systems(site.systems, site.nominal)
    paving = shapely.union_all([area.polygon for area in site.areas])
    edged = kept.once("edges", _edges_by(site, systems), lambda: _edged(site, systems))
    widest = max(system.over_dig(limits) for system in edged.values())
    house = site.body(widest + NEARBY)
    return _Yard(systems, edged, house, paving, widest)


def _ground_of(site: Site, yard: _Yard, kept: Kept) -> Ground:
    """Return the ground of a site, carried on as far as any of its holes reaches."""
    margin = site.in_force["survey-margin"]
    ground = survey_to_ground(site, kept)
    for area in site.areas:
        ground = _reaching(ground, area, margin, kept)
    # The ground under the house is never dug, so it need not have been surveyed.
    holes = shapely.buffer(yard.paving, yard.widest, join_style="mitre")
    needed = shapely.difference(holes, yard.house)
    return ground.reaching(needed, margin + 2 * yard.widest, kept)


def _edges_by(site: Site, systems: Mapping[str, BaseSystem]) -> bytes:
    """Return what tells the edges apart that are laid on every base: all that they are chosen by.

    Areas are told whole, so that what else an edge may come to hang on is told too.
    """
    return fingerprint(site.areas, site.meets, site.holds, site.limits, site.unit, systems)


def _edged(site: Site, systems: Mapping[str, BaseSystem]) -> dict[tuple[str, str], BaseSystem]:
    """Return every base system with the edge that is laid on it, by area and system."""
    return {
        (area.name, name): system.with_edge(edge_laid(site, area, system))
        for area in site.areas
        for name, system in systems.items()
    }


def _plan_on(making: Making, bases: Mapping[str, str]) -> Plan:
    """Return the plan with these bases; an area that has none is on what takes least work.

    The whole plan of a site goes on with the very plan of its first wave: what was worked out of
    that is not worked out again.
    """
    key = making.site, tuple(sorted(bases.items()))
    made = making.kept.once("plan", key, lambda: _made_on(making, bases), PLANS)
    # Beside the site a plan is made of the crew's own files, which may be written meanwhile.
    return made if _alike(made.crew, making.crew) else _made_on(making, bases)


def _alike(one: Crew, other: Crew) -> bool:
    """Say whether two crews reckon alike in everything."""
    if one is other:
        return True
    books = [(crew.materials, crew.rates, crew.prices) for crew in (one, other)]
    rest = [replace(crew, materials={}, rates={}, prices={}) for crew in (one, other)]
    # Figures that are built in are the same objects, which are alike at a glance.
    return books[0] == books[1] and fingerprint(rest[0]) == fingerprint(rest[1])


def _made_on(making: Making, bases: Mapping[str, str]) -> Plan:
    site, ground = making.site, making.ground
    groups, areas = areas_made(making, bases)
    warnings = (*site.warnings, *ground.warnings, *unheld_finishes(groups, areas, site))
    missed = partial(near_misses, site.areas, site.unit)
    warnings = (*warnings, *making.kept.once("near misses", making.around, missed))
    return Plan(site, ground, areas, warnings, groups, making.crew, making.kept)


def _reaching(ground: Ground, area: Area, margin: float, kept: Kept) -> Ground:
    """Return ground that covers an area's paving; say which area it is that reaches too far."""
    try:
        return ground.reaching(area.polygon, margin, kept)
    except OutsideSurvey as error:
        where = f"site.toml, area {area.name!r}, key outline"
        raise OutsideSurvey([replace(each, where=where) for each in error.problems]) from None


def _refuse_grates(made: Plan) -> None:
    """Refuse drains whose grate stands above the finished surface: no water would reach them."""
    if not made.site.outfalls:
        return
    surfaces = [(plan.outline, plan.finish.surface.at) for plan in made.areas]
    ground, places = made.ground, made.places
    found = [grate_too_high(each, surfaces, ground, places) for each in made.site.outfalls]
    problems = [problem for problem in found if problem is not None]
    if problems:
        raise SiteError(problems)
