"""What was computed of areas: those solved together, and each with its finish, walls and digs."""

from __future__ import annotations

from collections.abc import Mapping
from functools import cached_property, partial
from typing import Literal

import numpy as np
import shapely
from msgspec import Struct
from msgspec.structs import replace

from grading.catalogue.edge_kinds import WALL
from grading.dig.drainage import WallFall
from grading.dig.edge_runs import EdgeRun, Place, edge_runs, extremes
from grading.dig.edge_sections import Edging, edging_of
from grading.dig.hole import Dig
from grading.dig.lawn import TieIn
from grading.dig.pockets import Pocket, pockets_of
from grading.finish.corner_ways import CornerWay, corner_ways
from grading.finish.earthwork import Clip
from grading.finish.lawn_steps import holders_and_steps
from grading.finish.model import Finish, Solved
from grading.finish.objectives import ON_GRADE, Outcome, Tradeoff, outcome, side_by_side, tradeoff
from grading.finish.shapes import Shape
from grading.finish.together import Group, lies
from grading.finish.wishes.model import Wish
from grading.geometry.arrays import Floats
from grading.geometry.facets import Surface
from grading.geometry.free_edges import free_edges
from grading.kept import AREAS, fingerprint
from grading.site.model import Area

BaseFrom = Literal["given", "advised", "least dig and refill", "least earth"]

FALLS = (0.01, 0.015, 0.02, 0.025, 0.03, 0.035, 0.04)
"""Falls away from the house that the least dig and refill is told for. [ratio]"""


class GroupPlan(Struct, frozen=True, dict=True):
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
        """The finish of each area as levels force it: that of one left free, put on grade.

        On the base that it is planned on.
        """
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
        bases = {name: finish.system for name, finish in self.solved.finishes.items()}
        _, solved = replace(group, site=site, areas=own, bases=bases).solved(self.shapes)
        return {name: finish.surface for name, finish in solved.finishes.items()}

    @cached_property
    def tradeoff(self) -> Tradeoff:
        """The least of what is counted, against the fall away from the house."""
        return tradeoff(self.solved.held.free, self.solved.build_ups, FALLS)


class AreaPlan(Struct, frozen=True, eq=False, dict=True):
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
    def name(self) -> str:
        """What the site calls it."""
        return self.area.name

    @property
    def use(self) -> str:
        """What it is for."""
        return self.area.use

    @property
    def grade(self) -> Literal["as it lies", "free", "given"]:
        """Whether its finish lies on grade, or where an objective puts it, or as it is given."""
        if self.area.plane is not None:
            return "given"
        return "as it lies" if lies(self.group.group.site, self.area) else "free"

    @property
    def corner_ways(self) -> tuple[CornerWay, ...]:
        """Both ways to drain an inside corner of the house, where the paving lies at one."""
        return self.group.corner_ways[self.name]

    @property
    def outline(self) -> shapely.Polygon:
        """The paving in plan, its holes left out. [m]"""
        return self.area.polygon

    @property
    def paving(self) -> float:
        """How much is paved, as it lies in plan. [m2]"""
        return float(self.outline.area)

    @property
    def chosen_dig(self) -> Dig:
        """The dig of the base system chosen."""
        return self.digs[self.chosen]

    @property
    def _paved(self) -> Clip:
        return self.chosen_dig.paved

    @cached_property
    def highest_raise(self) -> tuple[float, Floats]:
        """How far the finish stands above the existing ground at the most [m], and where (2,)."""
        depth = self._paved.depth_below(self.finish.surface.coefficients)
        most = int(depth.argmin())
        return -float(depth.min()), self._paved.xy.reshape(-1, 2)[most]

    @property
    def max_raise(self) -> float:
        """How far the finish stands above the existing ground at the most, or 0. [m]"""
        return max(self.highest_raise[0], 0.0)

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
        """The edges of its paving that nothing holds: no wall, no other paving, nothing met. [m]

        Steps down to the lawn hold what they go down from.
        """
        group = self.group.group
        held = holders_and_steps(group.site, self.area, group.limits)
        # They hang on no level: a finish that is moved up finds them as they were.
        found = partial(free_edges, self.outline, *held)
        return group.kept.once("free edges", fingerprint(self.outline, *held), found, AREAS)

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

    @cached_property
    def edge_extremes(self) -> tuple[Place, Place] | None:
        """Where the finish stands least and most above the ground along the free edges."""
        return extremes(self.edge_runs)

    @cached_property
    def raised_edges(self) -> tuple[shapely.LineString, ...]:
        """The stretches of free edge that a wall or a slope has to hold. [m]

        Those that stand higher than the limit; all of it where the edge given is a wall.
        """
        if self.chosen_dig.system.edge == WALL:
            return self.free_edges
        limit = self.group.group.limits["raised-edge"]
        return tuple(line for run in self.edge_runs for line in run.raised(limit))

    @property
    def lawn_lip(self) -> float | None:
        """How far below the finish the lawn is brought; None where it stays as it lies. [m]"""
        lawn = self.area.lawn
        if self.tie_in is None or lawn is None or self.tie_in.edge == "stepped":
            return None
        return lawn.lip

    def edging(self, base: str) -> Edging:
        """Return the edge that is laid on one of its base systems, in section."""
        return edging_of(self.digs[base].system, self.group.group.limits)

    def difference(self, name: str) -> float:
        """Return how much more a base system digs than the one chosen. [m3]"""
        return self.digs[name].cut - self.chosen_dig.cut
