"""The plan of each area made: areas that hang together solved, every base system dug.

What is made is kept by what it is made of (`grading.kept`), so that planning a site anew after a
change solves and digs again only what the change touches.
"""

from __future__ import annotations

from collections.abc import Mapping
from functools import cached_property, partial

import numpy as np
import shapely
from msgspec import Struct, field

from grading.catalogue.bases import BaseSystem
from grading.catalogue.rules import Limits
from grading.crew.model import Crew
from grading.design.area import AreaPlan, BaseFrom, GroupPlan
from grading.dig.drainage import wall_fall
from grading.dig.hole import Dig, dug_region, met_side, over_dug
from grading.dig.lawn import TieIn, tie_in
from grading.finish.cutting import cut_out
from grading.finish.fit import Fit
from grading.finish.layout import Block
from grading.finish.model import Solved, given_finish
from grading.finish.sills import GroupSolved, with_steps
from grading.finish.together import Group, components, shape_of, with_best_folds
from grading.finish.wishes.seams import seams_of
from grading.geometry.arrays import Region
from grading.geometry.facets import Surface
from grading.geometry.nearer import parted
from grading.ground.model import Ground
from grading.kept import AREAS, DIGS, Kept, fingerprint
from grading.site.model import Area, Site
from grading.site.walls import Wall, walls_in_reach


class Making(Struct, frozen=True, dict=True):
    """What the plan of every area is made with.

    Attributes
    ----------
    site : Site
    limits : Limits
    systems : mapping of str to BaseSystem
    edged : mapping of (str, str) to BaseSystem
        Each with the edge that it is laid with, by the names of the area and of the base system.
    ground : Ground
    house, paving : shapely geometry
        The body of the house, and all paving of the site. [m]
    crew : Crew
    kept : Kept
        What was made before.
    """

    site: Site
    limits: Limits
    systems: Mapping[str, BaseSystem]
    edged: Mapping[tuple[str, str], BaseSystem]
    ground: Ground
    house: shapely.Geometry
    paving: shapely.Geometry
    crew: Crew
    kept: Kept = field(default_factory=Kept)
    _wide: dict[tuple[str, float], shapely.Geometry] = field(default_factory=dict)
    _parted: dict[tuple[str, str, float, float], tuple[shapely.Geometry, shapely.Geometry]] = field(
        default_factory=dict
    )

    @cached_property
    def _lie(self) -> bytes:
        """What tells how house and paving lie, and what they meet."""
        areas = [(area.name, area.polygon) for area in self.site.areas]
        return fingerprint(self.house, areas, self.site.meets)

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
        mixed = chosen.get(area.name) == system.name
        beside = {
            other.name: chosen[other.name] if mixed else system.name
            for other in self.site.areas
            if other is not area
        }
        theirs = [
            self.under(other, beside[other.name]).over_dig(self.limits)
            for other in self.site.areas
            if other is not area
        ]
        key = self._lie, area.name, over_dig, *theirs
        return self.kept.once(
            "region", key, lambda: self._region(area, system, over_dig, beside), DIGS
        )

    def _region(
        self, area: Area, system: BaseSystem, over_dig: float, beside: Mapping[str, str]
    ) -> Region:
        own = self.over_dug(area, over_dig)
        others = [other for other in self.site.areas if other is not area]
        met = [
            met_side(np.array(meet.at), area.polygon, 2 * over_dig)
            for meet in self.site.meets
            if meet.area in (None, area.name)
        ]
        lost = [
            self.nearer_to(other, area, (system.name, beside[other.name]))
            for other in others
            if shapely.intersects(
                self.over_dug(other, self.under(other, beside[other.name]).over_dig(self.limits)),
                own,
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


def _digs(making: Making, area: Area, finish: Surface, chosen: Mapping[str, str]) -> dict[str, Dig]:
    domains = [facet.domain for facet in finish.facets]
    ground = making.ground.under(area.name)
    paved = cut_out(making.kept, ground, area.polygon, domains)
    swells = making.crew[f"{making.site.ground.soil}-swell"], making.crew["organics-swell"]

    def dig(system: BaseSystem, region: Region) -> Dig:
        # Base systems with the same over-dig share one hole, so it is cut out once.
        hole = cut_out(making.kept, ground, region, domains)
        soil, organics = swells
        lowered = finish.lowered(system.build_up)
        return Dig(system, area.polygon, region, finish, lowered, paved, hole, soil, organics)

    own = fingerprint(area.polygon, finish, swells)
    digs = {}
    for name in making.systems:
        system = making.under(area, name)
        region = making.region(area, system, chosen)
        key = ground, own, fingerprint(system, region)
        digs[name] = making.kept.once("dig", key, partial(dig, system, region), DIGS)
    return digs


def _solved(making: Making, group: Group) -> GroupSolved:
    """Return the finishes of areas that hang together, and the problem that they are of."""
    known = with_best_folds(group, {area.name: shape_of(group.site, area) for area in group.areas})
    if any(area.plane is None for area in group.areas):
        return GroupSolved(group, known, *group.solved(known))
    fit = group.fit(known)
    unknowns = np.concatenate([wish.lower for wish in fit.wishes if wish.rule == "given-plane"])
    finishes = {}
    for block, paved in zip(fit.blocks, fit.clips, strict=True):
        area = block.area
        systems = [making.systems[block.base]] if block.base else list(making.systems.values())
        surface = block.surface(unknowns).over(area.polygon)
        finishes[area.name] = given_finish(surface, paved, systems, group.aim.measure)
    build_ups = tuple(making.systems[each.system].build_up for each in finishes.values())
    return GroupSolved(group, known, fit, Solved(finishes, unknowns, fit, build_ups, fit.counting))


def _area_plan(
    making: Making, group: GroupPlan, fit: Fit, block: Block, chosen: Mapping[str, str]
) -> AreaPlan:
    ground, area, solved = making.ground, block.area, group.solved
    finish = solved.finishes[area.name]
    walls = group.group.walls[area.name]
    seams = [
        wish
        for wish in fit.wishes
        if wish.rule in ("shared-edge", "riser", "riser-alike") and wish.area == area.name
    ]
    digs = _digs(making, area, finish.surface, chosen)
    advised: BaseFrom = "advised" if area.name in group.group.bases else group.group.aim.weighed
    reach = making.limits["foundation-reach"]
    return AreaPlan(
        area=area,
        finish=finish,
        wishes=(
            *group.group.asked(block),
            *seams,
        ),
        unknowns=solved.unknowns,
        walls=tuple(
            wall_fall(wall, finish.surface, ground, making.paving, making.house, reach, making.kept)
            for wall in walls
        ),
        digs=digs,
        chosen=finish.system,
        base_from="given" if area.base else advised,
        beyond_survey=ground.beyond_survey(digs[finish.system].polygon),
        paving_beyond_survey=ground.beyond_survey(area.polygon),
        tie_in=_tie_in(making, area, finish.surface),
        group=group,
    )


def _tie_in(making: Making, area: Area, finish: Surface) -> TieIn | None:
    if area.lawn is None:
        return None
    others = [other.polygon for other in making.site.areas if other is not area]
    kept_out = shapely.union_all([making.house, *others])
    wished = area.lawn
    return tie_in(
        area.polygon, finish, making.ground, kept_out, wished.edge, wished.lip, wished.slope
    )


def areas_made(
    making: Making, bases: Mapping[str, str]
) -> tuple[tuple[GroupPlan, ...], tuple[AreaPlan, ...]]:
    """Return the areas solved together, and the plan of each in the order of the site.

    Parameters
    ----------
    making : Making
    bases : mapping of str to str
        The base system of areas by their names; one that has none is on what takes least work.

    Raises
    ------
    NoFinish
        No plane meets every wish of an area.
    """
    site, limits, ground = making.site, making.limits, making.ground
    reach = limits["foundation-reach"]
    walls: dict[str, tuple[Wall, ...]] = {}
    for area in site.areas:
        found = partial(walls_in_reach, site.house, area.polygon, reach)
        walls[area.name] = making.kept.once("walls", fingerprint(*found.args), found, AREAS)
    seams = seams_of(site.areas, site.steps)
    groups: list[GroupPlan] = []
    fits: list[Fit] = []
    for areas in components(site.areas, seams):
        names = {area.name for area in areas}
        own = tuple(seam for seam in seams if seam.upper in names)
        group = Group(site, ground, areas, walls, own, making.systems, bases, kept=making.kept)
        chosen_way = with_steps(group, partial(_solved, making))
        groups.append(GroupPlan(chosen_way.group, chosen_way.shapes, chosen_way.solved))
        fits.append(chosen_way.fit)
    # What is dug beside one area hangs on what its neighbours are built on.
    chosen = {
        name: finish.system for each in groups for name, finish in each.solved.finishes.items()
    }
    made = {
        block.area.name: _area_plan(making, each, fit, block, chosen)
        for each, fit in zip(groups, fits, strict=True)
        for block in fit.blocks
    }
    return tuple(groups), tuple(made[area.name] for area in site.areas)
