"""A vertical cut through one area of paving: which solids it meets, in distance and elevation."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
import shapely
from numpy.typing import NDArray

from grading.catalogue.rules import Limits
from grading.design.door_steps import door_steps
from grading.geometry.tolerances import TOGETHER
from viz.drawings.section.profile import Profile, profile_along
from viz.drawings.section.standing import DEEP, Standing, cut_round, standing_in_cut
from viz.drawings.section.stripped import bottom_of_organics
from viz.words.edges import shared_edges, tread_level, treads_of
from viz.words.edging import NO_EDGING, Edging, edging_of, raised_limit

Floats = NDArray[np.float64]
Interval = tuple[float, float]

BESIDE = 1.0  # m of ground shown beyond the dig
WALL = 0.2  # m: drawn thickness of a foundation wall, which no survey gives
NEAR_WALL = 2.5  # m: a wall farther than this from the paving is not drawn
HALF_DOOR = 0.6  # m: a door this near the line is cut by it
EDGE = 1e-6  # m
BIT = 1e-3  # m: over so much of an edge its way is read
FLATTEST = 0.2  # sine of the flattest angle at which an edge is cut as wide as it is there


@dataclass(frozen=True)
class Solid:
    """One body in the cut: name, material, role, and its shape in distance and elevation [m]."""

    name: str
    material: str
    role: str
    shape: Any


@dataclass(frozen=True)
class OtherCut:
    """Paving of another area in the cut, as it is planned on its own base.

    Its name, where it lies and the shape of its layers; its finish, its formation, what it digs,
    its solids, and what stands in it on bases of its own. [m]
    """

    name: str
    span: Interval
    shape: Any
    finish: Profile
    formation: Profile
    dug: tuple[Interval, ...]
    solids: tuple[Solid, ...]
    standing: tuple[Standing, ...] = ()


@dataclass(frozen=True)
class Hole:
    """A stretch that is dug: from where to where [m], down to which formation, and whose it is."""

    start: float
    end: float
    formation: Profile
    own: bool


@dataclass(frozen=True)
class WallCut:
    """A house wall in the cut: where its face is [m], and on which side the house lies."""

    at: float
    side: float  # -1: the house is before the face along the line, +1: after it
    sill: float | None = None
    door: str = ""
    risers: int = 1  # how many steps lead down from the sill


@dataclass(frozen=True)
class FreeEnd:
    """Where along the cut the paving ends free [m], and how much wider its edge is cut there."""

    at: float
    slant: float


@dataclass(frozen=True)
class Cut:
    """All that a line meets, in distance along it and elevation. [m]

    `ground` and `organics` (bottom of them) are (n, 2); `paved` and `dug` are intervals;
    `treads` are the shapes of those of a step between areas, from the lowest up; `edging`
    tells of the edge, `free_ends` where along the line it is free, and `held` how high it may
    stand above the ground before a wall or a slope has to hold it; `standing` are the things on
    bases of their own in this paving.
    """

    mark: str
    title: str
    start: Floats
    along: Floats
    ends: Interval
    ground: Floats
    organics: Floats
    paved: tuple[Interval, ...]
    dug: tuple[Interval, ...]
    finish: Profile
    formation: Profile
    solids: tuple[Solid, ...]
    walls: tuple[WallCut, ...]
    others: tuple[OtherCut, ...] = ()
    treads: tuple[Any, ...] = ()
    edging: Edging = NO_EDGING
    free_ends: tuple[FreeEnd, ...] = ()
    held: float = np.inf
    standing: tuple[Standing, ...] = ()

    @property
    def things(self) -> tuple[Standing, ...]:
        """Every thing on a base of its own, in this paving or in other."""
        return self.standing + tuple(thing for other in self.others for thing in other.standing)

    @property
    def paving(self) -> Interval:
        """First and last edge of the paving [m]."""
        return self.paved[0][0], self.paved[-1][1]

    @property
    def has_organics(self) -> bool:
        """Whether there are organics to strip along the line."""
        return bool(np.any(self.ground_at(self.organics[:, 0]) - self.organics[:, 1] > EDGE))

    def finish_at(self, s: Any) -> Any:
        """Return the finish at distances s [m]."""
        return self.finish.at(s)

    def formation_at(self, s: Any) -> Any:
        """Return the subgrade level that the lowest layer stands on, at distances s [m]."""
        return self.formation.at(s)

    def ground_at(self, s: Any) -> Any:
        """Return the existing ground at distances s [m]."""
        return np.interp(s, self.ground[:, 0], self.ground[:, 1])

    def organics_at(self, s: Any) -> Any:
        """Return the bottom of the organics at distances s [m]."""
        return np.interp(s, self.organics[:, 0], self.organics[:, 1])

    def dug_at(self, s: Any) -> Any:
        """Return the dug surface at distances s, which lie within the dig [m]."""
        return np.minimum(self.formation_at(s), self.organics_at(s))

    @property
    def holes(self) -> tuple[Hole, ...]:
        """Every stretch that is dug, of this area and of others, with its dug surface."""
        own = [Hole(a, b, self.formation, True) for a, b in self.dug]
        every = own + [Hole(a, b, other.formation, False)
                       for other in self.others for a, b in other.dug]  # fmt: skip
        return tuple(sorted(every, key=lambda hole: hole.start))

    def floor_of(self, hole: Hole, s: Any) -> Any:
        """Return the dug surface of a hole at distances s within it [m]."""
        return np.minimum(hole.formation.at(s), self.organics_at(s))

    @property
    def undug(self) -> tuple[Interval, ...]:
        """Every stretch between the ends that nothing is dug in [m]."""
        s, found = self.ends[0], []
        for hole in self.holes:
            if hole.start - s > EDGE:
                found.append((s, hole.start))
            s = max(s, hole.end)
        if self.ends[1] - s > EDGE:
            found.append((s, self.ends[1]))
        return tuple(found)

    @property
    def deepest(self) -> float:
        """The lowest level of the ground, of the organics and of every dug surface [m]."""
        s = self.stops(*self.ends)
        floors = [float(self.ground_at(s).min()), float(self.organics_at(s).min())]
        for hole in self.holes:
            floors.append(float(self.floor_of(hole, self.stops(hole.start, hole.end)).min()))
        # A footing may go on below the picture.
        feet = [float(thing.base.bounds[1]) for thing in self.things if not thing.base.is_empty]
        return min([*floors, max(min([*feet, np.inf]), min(floors) - DEEP)])

    @property
    def highest(self) -> float:
        """The highest level of the ground and of every finish [m]."""
        tops = [float(self.ground_at(self.stops(*self.ends)).max()),
                float(self.finish_at(self.along_finish(*self.paving)).max())]  # fmt: skip
        tops += [float(other.shape.bounds[3]) for other in self.others]
        tops += [float(thing.body.bounds[3]) for thing in self.things if not thing.body.is_empty]
        return max(tops)

    def plan_point(self, s: float) -> tuple[float, float]:
        """Return the place in plan (2,) of a distance along the line [m]."""
        x, y = self.start + self.along * s
        return float(x), float(y)

    def stops(self, low: float, high: float) -> Floats:
        """Return every distance between two others at which something bends [m]."""
        edges = [e for pair in (*self.paved, *self.dug) for e in pair]
        edges += [e for other in self.others for pair in other.dug for e in pair]
        formations = [self.formation, *(other.formation for other in self.others)]
        folds = [self.finish.bends, *(formation.bends for formation in formations)]
        every = np.concatenate([self.ground[:, 0], self.organics[:, 0], *folds, edges, (low, high)])
        kept = np.unique(every[(every >= low) & (every <= high)])
        more = [crossings(kept, each.at(kept) - self.organics_at(kept)) for each in formations]
        return np.unique(np.concatenate([kept, *more]))

    def along_finish(self, low: float, high: float) -> Floats:
        """Return two distances and those of the folds between them [m]."""
        return np.array([low, *(end for _, end, _ in self.finish.stretches(low, high))])

    def raised_at(self, edge: float) -> bool:
        """Return whether the paving's edge at a distance [m] stands so high that it is held."""
        if self.edging.of_wall:
            return self.free_at(edge)
        rise = float(self.finish_at(edge) - self.ground_at(edge))
        return rise > self.held and self.other_at(edge) is None

    def free_at(self, edge: float) -> bool:
        """Return whether the paving's edge at a distance [m] is one that nothing lies along."""
        return any(abs(edge - end.at) < EDGE for end in self.free_ends)

    def slant_at(self, edge: float) -> float:
        """Return how much wider than it is what lies along the edge at a distance [m] is cut."""
        return next((end.slant for end in self.free_ends if abs(edge - end.at) < EDGE), 1.0)

    def other_at(self, s: float, within: float = 0.05) -> OtherCut | None:
        """Return the other paving that lies at a distance, or so near to it [m]."""
        for other in self.others:
            if other.span[0] - within <= s <= other.span[1] + within:
                return other
        return None


def crossings(s: Floats, gap: Floats) -> Floats:
    """Return where a piecewise linear gap (n,) over s (n,) passes through zero."""
    a, b = gap[:-1], gap[1:]
    turns = a * b < 0
    share = a[turns] / (a[turns] - b[turns])
    return np.asarray(s[:-1][turns] + share * np.diff(s)[turns])


def between(s: Floats, upper: Floats, lower: Floats) -> Any:
    """Return the area where the upper line is above the lower one, both linear between s (n,)."""
    more = crossings(s, upper - lower)
    every = np.unique(np.concatenate([s, more]))
    high, low = np.interp(every, s, upper), np.interp(every, s, lower)
    open_ = (high - low > EDGE * 0.1).astype(int)
    pieces = []
    for k in range(len(every) - 1):
        if open_[k] or open_[k + 1]:
            corners = [
                (every[k], low[k]), (every[k + 1], low[k + 1]),
                (every[k + 1], max(high[k + 1], low[k + 1])), (every[k], max(high[k], low[k])),
            ]  # fmt: skip
            pieces.append(shapely.Polygon(corners))
    return shapely.union_all(shapely.make_valid(pieces)) if pieces else shapely.Polygon()


def intervals(line: Any, region: Any) -> tuple[Interval, ...]:
    """Return where a line from distance 0 lies within a region, as pairs of distances [m]."""
    inside = shapely.intersection(line, region)
    start = np.asarray(line.coords[0])
    out: list[Interval] = []
    for part in shapely.get_parts(inside):
        if part.geom_type == "LineString" and part.length > EDGE:
            near, far = sorted(
                float(np.hypot(*(np.asarray(p) - start))) for p in (part.coords[0], part.coords[-1])
            )
            if out and near - out[-1][1] < EDGE:
                near = out.pop()[0]
            out.append((near, far))
    return tuple(sorted(out))


def cut_through(
    plan: Any, area: Any, dig: Any, through: Any, along: Any, mark: str, title: str
) -> Cut:
    """Return the cut through an area under one base system.

    Parameters
    ----------
    plan, area, dig : Plan, AreaPlan, Dig.
    through : (2,) A point within the outline that the line passes. [m]
    along : (2,) Unit vector of the line.
    mark, title : What it is called on the sheets.
    """
    through, along = np.asarray(through, float), np.asarray(along, float)
    x0, y0, x1, y1 = dig.polygon.union(area.outline).bounds
    reach = float(np.hypot(x1 - x0, y1 - y0)) + NEAR_WALL + BESIDE
    start = through - along * reach
    line = shapely.LineString([start, through + along * reach])
    paved = intervals(line, area.outline)
    dug = intervals(line, dig.polygon)
    ground = np.asarray(plan.ground.section(np.array(line.coords)))
    organics = bottom_of_organics(plan, area, line, intervals)
    walls = _walls(plan, start, along, paved)
    low = min(dug[0][0], paved[0][0]) - BESIDE
    high = max(dug[-1][1], paved[-1][1]) + BESIDE
    for wall in walls:
        low, high = (wall.at, high) if wall.side < 0 else (low, wall.at)
    low, high = max(low, float(ground[0, 0])), min(high, float(ground[-1, 0]))
    finish = profile_along(area.finish.surface, start, along, 2 * reach)
    formation = profile_along(dig.formation, start, along, 2 * reach)
    cut = Cut(
        mark, title, start, along, (low, high), ground, organics, paved, dug, finish, formation,
        (), walls, (), (), edging_of(dig.system, Limits(plan.site.limits)),
        _free_ends(area, line, paved), raised_limit(plan),
    )  # fmt: skip
    others = tuple(_others(plan, area, line, cut, 2 * reach))
    treads = tuple(_treads(plan, area, line, cut, 2 * reach))
    standing = tuple(_standing(plan, area, dig, line, cut))
    solids = tuple(cut_round(solids_of(cut, dig.system), standing))
    return replace(cut, solids=solids, others=others, treads=treads, standing=standing)


def _free_ends(area: Any, line: Any, paved: Sequence[Interval]) -> tuple[FreeEnd, ...]:
    """Return the ends of the paving along a line that lie on its free edge."""
    found = []
    (x0, y0), (x1, y1) = line.coords[0], line.coords[-1]
    for end in (end for span in paved for end in span):
        at = line.interpolate(end)
        for free in area.free_edges:
            if shapely.distance(free, at) < EDGE:
                s = free.project(at)
                a, b = (free.interpolate(max(s + step, 0.0)) for step in (-BIT, BIT))
                turn = (x1 - x0) * (b.y - a.y) - (y1 - y0) * (b.x - a.x)
                sine = abs(turn) / (line.length * max(a.distance(b), EDGE))
                found.append(FreeEnd(end, 1 / max(sine, FLATTEST)))
                break
    return tuple(found)


def _standing(plan: Any, area: Any, dig: Any, line: Any, cut: Cut) -> Iterator[Standing]:
    """Yield what stands on bases of its own along the part of the line that is drawn."""
    yield from standing_in_cut(
        plan, area, dig, lambda shape: _within(intervals(line, shape), *cut.ends)
    )


def _others(plan: Any, area: Any, line: Any, cut: Cut, length: float) -> Iterator[OtherCut]:
    """Yield the paving of other areas along the part of the line that is drawn."""
    low, high = cut.ends
    for other in plan.areas:
        if other is area:
            continue
        dig = other.chosen_dig
        paved = _within(intervals(line, other.outline), low, high)
        if not paved:
            continue
        dug = _within(intervals(line, dig.polygon), low, high)
        finish = profile_along(other.finish.surface, cut.start, cut.along, length)
        formation = profile_along(dig.formation, cut.start, cut.along, length)
        own = replace(cut, finish=finish, formation=formation, paved=paved, dug=dug)
        standing = tuple(_standing(plan, other, dig, line, cut))
        solids = tuple(cut_round(solids_of(own, dig.system), standing))
        for span in paved:
            s = own.along_finish(*span)
            yield OtherCut(
                other.area.name, span, between(s, finish.at(s), finish.at(s) - dig.build_up),
                finish, formation, dug if span is paved[0] else (),
                solids if span is paved[0] else (), standing if span is paved[0] else (),
            )  # fmt: skip


def paving_there(area: Any, dig: Any, cut: Cut, span: Interval, name: str) -> OtherCut:
    """Return paving that is there already beside an area, on the base that it is said to have.

    Nothing of it is surveyed but where it is met: it is drawn as the finish of the area goes on.

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
    own = replace(cut, finish=finish, formation=formation, paved=(span,), dug=(span,))
    s = own.along_finish(*span)
    return OtherCut(
        name, span, between(s, finish.at(s), finish.at(s) - dig.build_up), finish, formation,
        (span,), tuple(solids_of(own, dig.system)),
    )  # fmt: skip


def _within(spans: tuple[Interval, ...], low: float, high: float) -> tuple[Interval, ...]:
    kept = ((max(a, low), min(b, high)) for a, b in spans)
    return tuple((a, b) for a, b in kept if b - a > EDGE)


def _treads(plan: Any, area: Any, line: Any, cut: Cut, length: float) -> Iterator[Any]:
    """Yield the shapes of the treads of this area's steps where the line crosses them. [m]"""
    areas = {each.area.name: each for each in plan.areas}
    for edge in shared_edges(plan):
        if area.area.name not in (edge.upper, edge.lower):
            continue
        upper, lower = (
            profile_along(areas[name].finish.surface, cut.start, cut.along, length)
            for name in (edge.upper, edge.lower)
        )
        for number, shape in treads_of(edge, areas[edge.lower]):
            for span in _within(intervals(line, shape), *cut.ends):
                bends = [end for _, end, _ in (*upper.stretches(*span), *lower.stretches(*span))]
                s = np.unique([span[0], *bends])
                low, high = lower.at(s), upper.at(s)
                yield between(s, tread_level(edge, number, low, high),
                              tread_level(edge, number - 1, low, high))  # fmt: skip


def _walls(
    plan: Any, start: Floats, along: Floats, paved: tuple[Interval, ...]
) -> tuple[WallCut, ...]:
    """Return the nearest house wall before the paving and after it, with its door where cut."""
    if plan.site.house is None:
        return ()
    met: dict[float, float] = {}
    for p, q, outward in plan.site.house.segments():
        p, q, outward = (np.asarray(v, float) for v in (p, q, outward))
        facing = float(along @ outward)
        if abs(facing) < 0.1:
            continue
        s = float((p - start) @ outward) / facing
        share = float((start + along * s - p) @ (q - p)) / float((q - p) @ (q - p))
        past = TOGETHER / float(np.hypot(*(q - p)))
        if -past <= share <= 1 + past:
            met[s] = -1.0 if facing > 0 else 1.0
    before = [s for s, side in met.items() if side < 0 and s <= paved[0][0] + 0.05]
    after = [s for s, side in met.items() if side > 0 and s >= paved[-1][1] - 0.05]
    out = []
    if before and paved[0][0] - max(before) <= NEAR_WALL:
        out.append(_with_door(plan, WallCut(max(before), -1.0), start, along))
    if after and min(after) - paved[-1][1] <= NEAR_WALL:
        out.append(_with_door(plan, WallCut(min(after), 1.0), start, along))
    return tuple(out)


def _with_door(plan: Any, wall: WallCut, start: Floats, along: Floats) -> WallCut:
    foot = start + along * wall.at
    near = [
        (float(np.hypot(*(np.asarray(door.at, float) - foot))), door) for door in plan.site.doors
    ]
    near = [pair for pair in near if pair[0] <= HALF_DOOR]
    if not near:
        return wall
    door = min(near, key=lambda pair: pair[0])[1]
    steps = {step.door.name: step.risers for area in plan.areas for step in door_steps(area)}
    risers = steps.get(door.name, 1)
    return replace(wall, sill=float(door.sill), door=door.name, risers=risers)


def solids_of(cut: Cut, system: Any) -> list[Solid]:
    """Layers from the top down, then refill below them, then backfill beside the paving."""
    out, below = [], 0.0
    highest = None  # depth of the top of the highest layer that spreads
    for layer in system.layers:
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
    pit = shapely.union_all(beside).difference(laid)
    paved = shapely.union_all([shapely.box(a, -1e6, b, 1e6) for a, b in cut.paved])
    for name, shape in (
        ("compacted refill", shapely.union_all(refill)),
        ("backfill", pit.difference(paved)),
    ):
        if shape.area > 1e-6:
            out.append(Solid(name, name.split()[-1], name.split()[-1], shape))
    return out
