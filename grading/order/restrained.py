"""What holds the free edges of paving: what stands beside them, or an edge restraint."""

from __future__ import annotations

from collections.abc import Iterator
from functools import cached_property
from math import inf

import shapely
from msgspec import Struct, field
from shapely.geometry.base import BaseGeometry

from grading.catalogue.edge_kinds import WALL
from grading.conditions.features import pad_of, things_on
from grading.conditions.outlets import built_at
from grading.conditions.seats import stands_on
from grading.design.area import AreaPlan
from grading.design.model import Design
from grading.dig.edge_runs import edge_runs
from grading.dig.hole import Dig
from grading.finish.lawn_steps import holders_and_steps
from grading.geometry.free_edges import BESIDE, SHORTEST_RUN, free_edges
from grading.geometry.tolerances import TOUCH
from grading.structures.drains.sized import openings_in
from grading.structures.holding.holds import BLOCK_WALL, CURB, SLOPE, STEPS, holding_of
from grading.structures.pads import left_out_for
from grading.structures.step_drains import stone_behind_steps

BY_CHANNEL = 0.2
"""The concrete round a channel drain holds paving that ends so near to its middle: common practice,
no source. [m]"""


class Standing(Struct, frozen=True, dict=True):
    """What stands in an area where nothing of its own base is laid, in plan. [m]

    Attributes
    ----------
    feet : shapely geometry
        Where no paver lies: things on bases of their own, steps, grates of drains.
    pads : shapely geometry
        Where nothing below the pavers lies: those bases, and the concrete of drains.
    drains : shapely geometry
        Of `pads`, the concrete of drains.
    drained : shapely geometry
        Where clean stone behind steps takes the place of a base that is not clean.
    """

    feet: shapely.Geometry
    pads: shapely.Geometry
    drains: shapely.Geometry = field(default_factory=shapely.Polygon)
    drained: shapely.Geometry = field(default_factory=shapely.Polygon)

    @cached_property
    def none(self) -> bool:
        """Whether there is no such thing."""
        return bool(shapely.is_empty(self.feet))


def standing_in(plan: Design, area: AreaPlan, base: str | None = None) -> Standing:
    """Return what stands on bases of its own in an area.

    Parameters
    ----------
    plan : Design
    area : AreaPlan
    base : str, optional
        One of the area's base systems; left out, the one that it is planned on.
    """
    feet: list[shapely.Geometry] = []
    pads: list[shapely.Geometry] = []
    for feature in things_on(plan, area):
        if stands_on(plan, area, feature, base or area.chosen) == "own base":
            pad = pad_of(plan, feature)
            feet.append(feature.polygon)
            pads += [feature.polygon, *([] if pad is None else [pad])]
    stands, left_out = left_out_for(plan, area)
    grates, concrete = openings_in(plan, area)
    return Standing(
        shapely.union_all([*feet, stands, grates]),
        shapely.union_all([*pads, left_out, concrete]),
        concrete,
        stone_behind_steps(plan, area),
    )


def restrained_edges(
    plan: Design, area: AreaPlan, base: str | None = None
) -> tuple[shapely.LineString, ...]:
    """Return the free edges that take an edge restraint.

    An edge that stands higher than `raised-edge` over the ground is a wall's or a slope's to
    hold, and one along a thing on a base of its own is held by that. Where the edge given is a
    wall, all of it is.

    Parameters
    ----------
    plan : Design
    area : AreaPlan
    base : str, optional
        As for `standing_in`.
    """
    dig = area.digs[base or area.chosen]
    return restrained_beside(plan, area, standing_in(plan, area, base), dig)


def restrained_beside(
    plan: Design, area: AreaPlan, standing: Standing, dig: Dig
) -> tuple[shapely.LineString, ...]:
    """Return the free edges that take an edge restraint, what stands in the area given."""
    if dig.system.edge == WALL:
        return ()
    runs = area.edge_runs
    if not standing.none:
        lines, bodies = holders_and_steps(plan.site, area.area, plan.limits)
        lines.append(shapely.boundary(standing.feet))
        free = free_edges(area.outline, lines, [*bodies, standing.feet])
        runs = edge_runs(free, area.finish.surface, plan.ground)
    holding = holding_of(plan, area, dig.system.name)
    limit = plan.limits["raised-edge"]
    held = holding.lines(BLOCK_WALL, CURB, STEPS)
    if holding.lines(SLOPE):
        # Beside a slope of soil the raised edge is restrained like all the rest.
        limit = inf
        held = (*held, *holding.lines(""))
    restrained = [line for run in runs for line in run.lower(limit)]
    channels = [
        shapely.buffer(each.geometry, BY_CHANNEL, cap_style="flat")
        for each in plan.site.outfalls
        if len(each.at) > 1 and built_at(plan, each) == area.name
    ]
    if held or channels:
        along = [part for line in restrained for each in channels for part in _along(line, each)]
        beside = shapely.union_all([*map(_alongside, held), *map(_alongside, along)])
        restrained = [
            part for line in restrained for part in _long_enough(shapely.difference(line, beside))
        ]
    return tuple(restrained)


def _along(line: shapely.LineString, strip: shapely.Geometry) -> list[BaseGeometry]:
    """Return the parts of a line that run along a strip, not those that only come up to it. [m]"""
    corners = shapely.get_coordinates(line)
    sides = [shapely.LineString(corners[k : k + 2]) for k in range(len(corners) - 1)]
    parts = [shapely.intersection(side, strip) for side in sides]
    return [part for part in parts if part.length > BY_CHANNEL + TOUCH]


def _alongside(line: BaseGeometry) -> shapely.Geometry:
    """Return a line a little wider, and no longer: what runs along it lies in it. [m]"""
    return line.buffer(BESIDE / 100, cap_style="flat", join_style="mitre")


def _long_enough(line: shapely.Geometry) -> Iterator[shapely.LineString]:
    merged = shapely.line_merge(line)
    for part in shapely.get_parts(merged):
        if isinstance(part, shapely.LineString) and part.length >= SHORTEST_RUN:
            yield part
