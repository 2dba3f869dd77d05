"""The plan of each area made: areas that hang together solved, every base system dug.

What is made is kept by what it is made of (`grading.kept`), so that planning a site anew after a
change solves and digs again only what the change touches.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from functools import cached_property, partial

import numpy as np
import shapely
from msgspec import Struct, field

from grading.catalogue.bases import BaseSystem
from grading.catalogue.rules import Limits
from grading.crew.model import Crew
from grading.design.area import AreaPlan, BaseFrom, GroupPlan
from grading.dig.drainage import GroundBeyond, beyond_paving, wall_fall
from grading.dig.hole import Dig, dug_region, met_side, over_dug
from grading.dig.lawn import TieIn, tie_in
from grading.finish.cutting import cut_out
from grading.finish.fit import Fit
from grading.finish.fold_search import with_best_folds
from grading.finish.layout import Block
from grading.finish.model import Solved, given_finish
from grading.finish.sills import GroupSolved, with_steps
from grading.finish.together import Group, components, shape_of
from grading.finish.wishes.seams import seams_of
from grading.geometry.arrays import Floats, Region
from grading.geometry.facets import Surface
from grading.geometry.nearer import parted
from grading.ground.model import Ground
from grading.kept import AREAS, DIGS, Kept, Same, fingerprint
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
    around : bytes
        What tells apart all of the site that finishes are asked, but the levels of sills.
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
    around: bytes
    kept: Kept = field(default_factory=Kept)
    _wide: dict[tuple[str, float], shapely.Geometry] = field(default_factory=dict)
    _parted: dict[tuple[str, str, float, float], tuple[shapely.Geometry, shapely.Geometry]] = field(
        default_factory=dict
    )

    @cached_property
    def _lie(self) -> bytes:
        """What tells how house and paving lie, and what they meet."""
        areas = [(area.name, area.polygon) for area in self.site.areas]
        made = partial(fingerprint, self.house, areas, self.site.meets)
        return self.kept.once("how it lies", self.around, made)

    @cached_property
    def walls(self) -> Mapping[str, tuple[Wall, ...]]:
        """The foundation walls in reach of each area, by its name."""

        def found() -> Mapping[str, tuple[Wall, ...]]:
            house, reach = self.site.house, self.limits["foundation-reach"]
            return {
                area.name: self.kept.once(
                    "walls of one", fingerprint(house, area.polygon, reach),
                    partial(walls_in_reach, house, area.polygon, reach), AREAS,
                )
                for area in self.site.areas
            }  # fmt: skip

        return self.kept.once("walls", self.around, found)

    def beyond(
        self, area: Area, walls: Sequence[Wall]
    ) -> tuple[tuple[GroundBeyond | None, bool], ...]:
        """Return the ground beyond the paving before each wall: see `beyond_paving`.

        It lies there whatever the finish is.
        """
        beside = self.ground, self.paving, self.house, self.limits["foundation-reach"]

        def found() -> tuple[tuple[GroundBeyond | None, bool], ...]:
            return tuple(beyond_paving(wall, *beside) for wall in walls)

        key = self.ground, self.around, area.name
        return self.kept.once("ground beyond", key, found, AREAS)

    def beyond_survey(self, region: Region) -> tuple[float, Floats]:
        """Return how far a hole reaches beyond the survey [m], and its farthest point (2,)."""
        key, found = (self.ground, Same(region)), partial(self.ground.beyond_survey, region)
        return self.kept.once("hole beyond survey", key, found, AREAS)

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


class Digs(Mapping[str, Dig]):
    """The digs of an area by base system, each dug when it is first asked for.

    A plan is told on the one base that it is on: the others are looked at beside it, or not at all.

    Parameters
    ----------
    making : Making
    area : Area
    finish : Surface
    chosen : mapping of str to str
        The base system of every area, by its name.
    """

    def __init__(
        self, making: Making, area: Area, finish: Surface, chosen: Mapping[str, str]
    ) -> None:
        self._making, self._area, self._finish, self._chosen = making, area, finish, chosen
        self._dug: dict[str, Dig] = {}

    def __getitem__(self, name: str) -> Dig:
        if name not in self._dug:
            self._dug[name] = self._of(self._making.under(self._area, name))
        return self._dug[name]

    def __contains__(self, name: object) -> bool:
        return name in self._making.systems

    def __iter__(self) -> Iterator[str]:
        return iter(self._making.systems)

    def __len__(self) -> int:
        return len(self._making.systems)

    def region(self, name: str) -> Region:
        """Return the hole that is dug for a base system, in plan. [m]"""
        making = self._making
        return making.region(self._area, making.under(self._area, name), self._chosen)

    @cached_property
    def _own(self) -> bytes:
        return fingerprint(self._finish, self._swells)

    @property
    def _swells(self) -> tuple[float, float]:
        making = self._making
        return making.crew[f"{making.site.ground.soil}-swell"], making.crew["organics-swell"]

    def _of(self, system: BaseSystem) -> Dig:
        name, region = self._area.name, self.region(system.name)
        ground = self._making.ground.under(name)
        key = ground, self._making.around, name, system.name, Same(region), self._own
        dug = partial(self._dig, ground, system, region)
        return self._making.kept.once("dig", key, dug, DIGS)

    def _dig(self, ground: Ground, system: BaseSystem, region: Region) -> Dig:
        kept, outline, finish = self._making.kept, self._area.polygon, self._finish
        domains = [facet.domain for facet in finish.facets]
        paved = cut_out(kept, ground, outline, domains)
        # Base systems with the same over-dig share one hole, so it is cut out once.
        hole = cut_out(kept, ground, region, domains)
        lowered = finish.lowered(system.build_up)
        return Dig(system, outline, region, finish, lowered, paved, hole, *self._swells)


def _solved(making: Making, group: Group) -> GroupSolved:
    """Return the finishes of areas that hang together, and the problem that they are of."""
    shapes = {
        area.name: making.kept.once(
            "shape", (making.around, area.name), partial(shape_of, group.site, area), AREAS
        )
        for area in group.areas
    }
    known = with_best_folds(group, shapes)
    if any(area.plane is None for area in group.areas):
        return GroupSolved(group, known, *group.solved(known))
    fit = group.fit_again(known)
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
    digs = Digs(making, area, finish.surface, chosen)
    advised: BaseFrom = "advised" if area.name in group.group.bases else group.group.aim.weighed
    return AreaPlan(
        area=area,
        finish=finish,
        wishes=(
            *group.group.asked(block),
            *seams,
        ),
        unknowns=solved.unknowns,
        walls=tuple(
            wall_fall(wall, finish.surface, *beyond)
            for wall, beyond in zip(walls, making.beyond(area, walls), strict=True)
        ),
        digs=digs,
        chosen=finish.system,
        base_from="given" if area.base else advised,
        beyond_survey=making.beyond_survey(digs.region(finish.system)),
        paving_beyond_survey=making.kept.once(
            "paving beyond survey",
            (ground, making.around, area.name),
            lambda: ground.beyond_survey(area.polygon),
            AREAS,
        ),
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
    site, ground = making.site, making.ground
    walls = making.walls
    seams = making.kept.once("seams", making.around, partial(seams_of, site.areas, site.steps))
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
