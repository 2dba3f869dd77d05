"""Cutting through what is designed along a line, under one base system, the topsoil too."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence

import numpy as np
import shapely
from msgspec.structs import replace
from shapely.geometry.base import BaseGeometry

from grading.conditions.seats import Seat
from grading.design.area import AreaPlan
from grading.design.door_steps import door_steps
from grading.design.model import Design
from grading.dig.beds import REFILL
from grading.dig.hole import Dig
from grading.geometry.arrays import Floats
from grading.geometry.facets import Surface
from grading.geometry.tolerances import SLIVER, TOGETHER, TOUCH
from grading.ground.model import Ground
from grading.section.cut import NEAR, Cut, FreeEnd, Paving, WallCut, crossings
from grading.section.line import Interval, Line, intervals, within
from grading.section.profile import Profile, profile_along
from grading.section.standing import Solid, columns, cut_for_steps, cut_round, standing_in_cut
from grading.structures.flights import flights_of
from grading.structures.pads import left_out_for

_JUMP = 1e-6  # own: m: how far apart the depths of two areas stand where they meet


Along = Callable[[Surface], Profile]

BESIDE = 1.0
"""So much of the ground is cut beyond the dig. [m]"""

NEAR_WALL = 2.5
"""A wall farther than this from the paving is not in the cut. [m]"""

_HALF_DOOR = 0.6  # m: a door this near the line is cut by it
_BIT = 1e-3  # m: over so much of an edge its way is read
_FLATTEST = 0.2  # sine of the flattest angle at which an edge is cut as wide as it is there
_ALONG = 0.1  # cosine: a wall that runs more along the line than this is not cut


def cut_through(plan: Design, seats: Sequence[Seat], area: AreaPlan, dig: Dig, line: Line) -> Cut:
    """Return the cut through an area under one base system.

    Parameters
    ----------
    plan : Design
    seats : sequence of Seat
        How the things of the site stand.
    area : AreaPlan
    dig : Dig
        One of its.
    line : Line
        Passes a point within the outline.
    """
    through, along = np.asarray(line.through, float), np.asarray(line.along, float)
    # Under every base distances count from the same place.
    holes = [each.polygon for each in area.digs.values()]
    x0, y0, x1, y1 = shapely.total_bounds([area.outline, *holes]).tolist()
    reach = float(np.hypot(x1 - x0, y1 - y0)) + NEAR_WALL + BESIDE
    start = through - along * reach
    drawn = shapely.LineString([start, through + along * reach])
    paved, dug = intervals(drawn, area.outline), intervals(drawn, dig.polygon)
    ground = np.asarray(plan.ground.section(np.array(drawn.coords)))
    walls = _walls(plan, start, along, paved)
    low = min(dug[0][0], paved[0][0]) - BESIDE
    high = max(dug[-1][1], paved[-1][1]) + BESIDE
    for wall in walls:
        low, high = (wall.at, high) if wall.side < 0 else (low, wall.at)
    ends = max(low, float(ground[0, 0])), min(high, float(ground[-1, 0]))

    def profile(surface: Surface) -> Profile:
        return profile_along(surface, start, along, 2 * reach)

    cut = Cut(
        area.area.name, dig.system, paved, dug, profile(area.finish.surface),
        profile(dig.formation), ground, bottom_of_organics(plan, area, drawn), start=start,
        along=along, ends=ends, edging=area.edging(dig.system.name),
        held=plan.limits["raised-edge"], walls=walls, free_ends=_free_ends(area, drawn, paved),
    )  # fmt: skip
    own = _laid(plan, seats, area, dig, drawn, cut, ends)
    return replace(
        cut,
        solids=own.solids,
        standing=own.standing,
        others=tuple(_others(plan, seats, area, drawn, cut, profile)),
        treads=tuple(_treads(plan, area, drawn, cut, profile)),
    )


def _laid(
    plan: Design, seats: Sequence[Seat], area: AreaPlan, dig: Dig, line: shapely.LineString,
    paving: Paving, ends: Interval,
) -> Paving:  # fmt: skip
    """Return paving with its solids, and what stands in it along the part that is cut."""
    standing = tuple(
        standing_in_cut(plan, seats, area, dig, lambda shape: within(intervals(line, shape), ends))
    )
    solids = tuple(cut_round(solids_of(paving), standing))
    left_out = [within(intervals(line, shape), ends) for shape in left_out_for(plan, area)]
    if any(left_out):
        feet, pads = (columns(spans, -1e6, 1e6) for spans in left_out)
        solids = tuple(cut_for_steps(solids, feet, pads))
    return replace(paving, solids=solids, standing=standing)


def _free_ends(
    area: AreaPlan, line: shapely.LineString, paved: Sequence[Interval]
) -> tuple[FreeEnd, ...]:
    """Return the ends of the paving along a line that lie on its free edge."""
    found = []
    (x0, y0), (x1, y1) = line.coords[0], line.coords[-1]
    for end in (end for span in paved for end in span):
        at = line.interpolate(end)
        for free in area.free_edges:
            if shapely.distance(free, at) < TOUCH:
                s = free.project(at)
                a, b = (free.interpolate(max(s + step, 0.0)) for step in (-_BIT, _BIT))
                turn = (x1 - x0) * (b.y - a.y) - (y1 - y0) * (b.x - a.x)
                sine = abs(turn) / (line.length * max(a.distance(b), TOUCH))
                found.append(FreeEnd(end, 1 / max(sine, _FLATTEST)))
                break
    return tuple(found)


def _others(
    plan: Design, seats: Sequence[Seat], area: AreaPlan, line: shapely.LineString, cut: Cut,
    profile: Along,
) -> Iterator[Paving]:  # fmt: skip
    """Yield the paving of other areas along the part of the line that is cut."""
    for other in plan.areas:
        dig = other.chosen_dig
        paved = within(intervals(line, other.outline), cut.ends)
        if other is area or not paved:
            continue
        own = Paving(
            other.area.name, dig.system, paved, within(intervals(line, dig.polygon), cut.ends),
            profile(other.finish.surface), profile(dig.formation), cut.ground, cut.organics,
        )  # fmt: skip
        yield _laid(plan, seats, other, dig, line, own, cut.ends)


def paving_there(area: AreaPlan, dig: Dig, cut: Cut, span: Interval, name: str) -> Paving:
    """Return paving that is there already beside an area, on the base that it is said to have.

    Nothing of it is surveyed but where it is met: it lies as the finish of the area goes on.

    Parameters
    ----------
    area : AreaPlan
        That meets it.
    dig : Dig
        Of the area on the base of what is there.
    cut : Cut
        Through the area.
    span : (float, float)
        Where it lies along the cut. [m]
    name : str
    """
    length = float(cut.ends[1]) + 1.0
    finish = profile_along(area.finish.surface, cut.start, cut.along, length)
    formation = profile_along(dig.formation, cut.start, cut.along, length)
    own = Paving(name, dig.system, (span,), (span,), finish, formation, cut.ground, cut.organics)
    return replace(own, solids=tuple(solids_of(own)))


def _treads(
    plan: Design, area: AreaPlan, line: shapely.LineString, cut: Cut, profile: Along
) -> Iterator[BaseGeometry]:
    """Yield the shapes of the treads of steps onto, off and beside an area, where a line cuts. [m]

    From the lowest up; each down to what lies at its foot.
    """
    for flight in flights_of(plan):
        if area.name not in (flight.upper, flight.lower):
            continue
        lawn = flight.kind == "to the lawn"
        below = None if lawn else profile(plan.area(flight.area).finish.surface)
        for tread in reversed(flight.treads):
            for span in within(intervals(line, tread.polygon), cut.ends):
                bends = [] if below is None else [end for _, end, _ in below.stretches(*span)]
                s = np.unique([*span, *bends])
                foot = cut.ground_at(s) if below is None else below.at(s)
                at = np.array([cut.plan_point(each) for each in s])
                yield between(s, tread.top.at(at), np.asarray(foot, float))


def _walls(
    plan: Design, start: Floats, along: Floats, paved: tuple[Interval, ...]
) -> tuple[WallCut, ...]:
    """Return the nearest house wall before the paving and after it, with its door where cut."""
    if plan.site.house is None:
        return ()
    met: dict[float, float] = {}
    for p, q, outward in plan.site.house.segments():
        p, q, outward = (np.asarray(v, float) for v in (p, q, outward))
        facing = float(along @ outward)
        if abs(facing) < _ALONG:
            continue
        s = float((p - start) @ outward) / facing
        share = float((start + along * s - p) @ (q - p)) / float((q - p) @ (q - p))
        past = TOGETHER / float(np.hypot(*(q - p)))
        if -past <= share <= 1 + past:
            met[s] = -1.0 if facing > 0 else 1.0
    before = [s for s, side in met.items() if side < 0 and s <= paved[0][0] + NEAR]
    after = [s for s, side in met.items() if side > 0 and s >= paved[-1][1] - NEAR]
    out = []
    if before and paved[0][0] - max(before) <= NEAR_WALL:
        out.append(_with_door(plan, WallCut(max(before), -1.0), start, along))
    if after and min(after) - paved[-1][1] <= NEAR_WALL:
        out.append(_with_door(plan, WallCut(min(after), 1.0), start, along))
    return tuple(out)


def _with_door(plan: Design, wall: WallCut, start: Floats, along: Floats) -> WallCut:
    foot = start + along * wall.at
    near = [
        (float(np.hypot(*(np.asarray(door.at, float) - foot))), door) for door in plan.site.doors
    ]
    near = [pair for pair in near if pair[0] <= _HALF_DOOR]
    if not near:
        return wall
    door = min(near, key=lambda pair: pair[0])[1]
    steps = {step.door.name: step for area in plan.areas for step in door_steps(area)}
    made = replace(wall, sill=float(door.sill), door=door.name)
    step = steps.get(door.name)
    return made if step is None else replace(made, risers=step.risers, riser=step.riser)


def between(s: Floats, upper: Floats, lower: Floats) -> BaseGeometry:
    """Return the area where the upper line is above the lower one, both linear between s (n,)."""
    more = crossings(s, upper - lower)
    every = np.unique(np.concatenate([s, more]))
    high, low = np.interp(every, s, upper), np.interp(every, s, lower)
    open_ = high - low > TOUCH * 0.1
    pieces = []
    for k in range(len(every) - 1):
        if open_[k] or open_[k + 1]:
            corners = [
                (every[k], low[k]), (every[k + 1], low[k + 1]),
                (every[k + 1], max(high[k + 1], low[k + 1])), (every[k], max(high[k], low[k])),
            ]  # fmt: skip
            pieces.append(shapely.Polygon(corners))
    return shapely.union_all(shapely.make_valid(pieces)) if pieces else shapely.Polygon()


def solids_of(cut: Paving) -> list[Solid]:
    """Return layers from the top down, then refill below them, then backfill beside the paving."""
    layers = cut.system.layers
    out, below = [], 0.0
    highest = None  # depth of the top of the highest layer that spreads
    for layer in layers:
        spans = cut.dug if layer.spreads else cut.paved
        if layer.spreads and highest is None:
            highest = below
        shapes = [
            between(s := cut.along_finish(*span), cut.finish_at(s) - below,
                    cut.finish_at(s) - below - layer.thickness)
            for span in spans
        ]  # fmt: skip
        out.append(Solid(layer.name, layer.material, layer.role, shapely.union_all(shapes)))
        below += layer.thickness
    refill, beside = [], []
    for low, high in cut.dug:
        s = cut.stops(low, high)
        refill.append(between(s, cut.formation_at(s), cut.dug_at(s)))
        depth = below if highest is None else highest
        beside.append(between(s, cut.finish_at(s), cut.finish_at(s) - depth))
    laid = shapely.union_all([solid.shape for solid in out])
    paved = shapely.union_all([shapely.box(a, -1e6, b, 1e6) for a, b in cut.paved])
    pit = shapely.union_all(beside).difference(laid)
    for name, kind, shape in (
        (REFILL, "refill", shapely.union_all(refill)),
        ("backfill", "backfill", pit.difference(paved)),
    ):
        if shape.area > SLIVER:
            out.append(Solid(name, kind, kind, shape))
    return out


def bottom_of_organics(plan: Design, area: AreaPlan, line: shapely.LineString) -> Floats:
    """Return the level of the bottom of the organics along a line, (n, 2): distance and z. [m]

    Parameters
    ----------
    plan : Design
    area : AreaPlan
        Beside the areas it lies as under this one.
    line : shapely line
        [m]
    """
    found = _along(plan.ground.under(area.area.name), line)
    for other in plan.areas if plan.ground.own else ():
        if other is area:
            continue
        theirs = _along(plan.ground.under(other.area.name), line)
        for a, b in intervals(line, other.chosen_dig.polygon):
            found = _with_part(found, theirs, a, b)
    return found


def _along(ground: Ground, line: shapely.LineString) -> Floats:
    stripped = ground.points.copy()
    stripped[:, 2] -= ground.organics
    return np.asarray(replace(ground, points=stripped).section(np.array(line.coords)))


def _with_part(found: Floats, theirs: Floats, a: float, b: float) -> Floats:
    """Return a profile with the part between two distances taken from another. [m]"""
    ends = np.array([a + _JUMP, b - _JUMP])
    inner = theirs[(theirs[:, 0] > ends[0]) & (theirs[:, 0] < ends[1])]
    edge = np.column_stack([ends, np.interp(ends, *theirs.T)])
    outer = np.column_stack([(a, b), np.interp((a, b), *found.T)])
    before, after = found[found[:, 0] < a], found[found[:, 0] > b]
    return np.concatenate([before, outer[:1], edge[:1], inner, edge[1:], outer[1:], after])
