"""Cuts square to what they show: the wall at a door, a step, a free edge, a join of two bases."""

from __future__ import annotations

from collections.abc import Iterable
from itertools import pairwise

import numpy as np
import shapely
from msgspec import Struct
from msgspec.structs import replace

from grading.conditions.joins import Join
from grading.design.area import AreaPlan
from grading.design.door_steps import DoorStep
from grading.design.steps import SharedEdge
from grading.dig.hole import Dig
from grading.geometry.arrays import Floats
from grading.geometry.tolerances import TOUCH
from grading.section.cut import Cut, WallCut
from grading.section.line import Line
from grading.section.model import Sections
from grading.section.through import paving_there
from grading.structures.flights import StepFlight, Tread, flights_between
from grading.structures.model import Structure

_IN = 0.02  # m: how far inside its paving a cut begins
_REACH = 3.0  # m: paving is looked for so far out from a door
_SHORTEST = 0.05  # m: paving before a door that is shorter is none
_FROM_END = 0.5  # m: a step is cut so far from its end, clear of what holds or closes its side
_CORNER = 0.05  # m: a cut at a corner is moved so far along the edge
_STRAIGHT = 0.98  # cosine of a turn that is no corner
_RAISED = 1e-3  # m: an edge no higher than this over the ground is not

_CLEAR = 0.6  # m: so far from an edge that is cut stand no steps and no drain
_KEPT_OFF = ("steps", "channel drain", "drain basin", "dry well", "downspout extension")
"""Kinds of what is built that stand at a place of an edge, and are no part of how it is built."""


class EdgeCut(Struct, frozen=True, eq=False):
    """A cut square to an edge of paving.

    Attributes
    ----------
    cut : Cut
    at : float
        Where along it the edge is. [m]
    """

    cut: Cut
    at: float

    @property
    def top(self) -> float:
        """The finish at the edge. [m]"""
        return float(self.cut.finish_at(self.at))

    @property
    def ground(self) -> float:
        """The existing ground there. [m]"""
        return float(self.cut.ground_at(self.at))


class HighEdgeCut(EdgeCut, frozen=True):
    """A cut square to a free edge where it stands highest over the ground.

    Attributes
    ----------
    height : float
        How high it stands there: at a corner the cut is a hand's breadth beside it. [m]
    aside : bool
        Whether it stands higher beside steps or a drain, which the cut keeps off.
    """

    height: float
    aside: bool


class Side(Struct, frozen=True, eq=False):
    """One side of what is cut: what it is called, its base, and its finish."""

    name: str
    dig: Dig
    area: AreaPlan

    def finish(self, cut: Cut, s: float) -> float:
        """Return its finish at a distance along a cut, both in m."""
        return float(self.area.finish.surface.at(np.array([cut.plan_point(s)]))[0])

    def subgrade(self, cut: Cut, s: float) -> float:
        """Return the underside of its build-up there. [m]"""
        return self.finish(cut, s) - self.dig.build_up


class StepCut(EdgeCut, frozen=True):
    """A cut square to a step between areas, where it is greatest.

    Attributes
    ----------
    edge : SharedEdge
    lower : Side
    flight : StepFlight
    """

    edge: SharedEdge
    lower: Side
    flight: StepFlight

    @property
    def foot(self) -> float:
        """The finish of the lower area at the edge. [m]"""
        return self.lower.finish(self.cut, self.at)

    @property
    def going(self) -> float:
        """From the edge to the lowest riser. [m]"""
        return self.flight.going

    @property
    def faces(self) -> tuple[tuple[float, float, float], ...]:
        """Where each riser stands and from which level to which it goes, lowest first. [m]"""
        out, foot = self.going, self.lower.finish(self.cut, self.at + self.going)
        found = []
        for tread in reversed(self.flight.treads):
            found.append((self.at + out, foot, self._tread_at(tread, out)))
            out -= self.flight.tread
            foot = self._tread_at(tread, out)
        return (*found, (self.at, foot, self.top))

    def _tread_at(self, tread: Tread, out: float) -> float:
        """Return the level of a tread so far out from the edge. [m]"""
        at = np.array([self.cut.plan_point(self.at + out)])
        return float(tread.top.at(at)[0])


class JoinCut(EdgeCut, frozen=True):
    """A cut square to a join, out of the side with the shallower build-up or what is laid.

    Attributes
    ----------
    left, right : Side
    taper : float
        Over how much of the left side the stone goes down to the right's subgrade. [m]
    """

    left: Side
    right: Side
    taper: float

    @property
    def subgrades(self) -> tuple[float, float]:
        """Where the subgrade of either side ends against the other. [m]"""
        return self.left.subgrade(self.cut, self.at), self.right.subgrade(self.cut, self.at)


class Lawn(Struct, frozen=True):
    """The lawn brought to an edge: its level there, and how far that is below the finish. [m]

    It leaves at a slope [ratio], upwards where the ground beside it `rises` over its start.
    """

    start: float
    lip: float
    slope: float
    rises: bool

    def at(self, out: float) -> float:
        """Return its level so far out from the edge. [m]"""
        return self.start + (self.slope if self.rises else -self.slope) * out


def lawn_beside(made: EdgeCut, area: AreaPlan) -> Lawn | None:
    """Return the lawn brought to an edge that is cut; None where it stays as it lies."""
    tie, lip = area.tie_in, area.lawn_lip
    if tie is None or lip is None:
        return None
    start = made.top - lip
    return Lawn(start, lip, tie.slope, start < made.ground)


def door_cut(sections: Sections, area: AreaPlan, step: DoorStep) -> tuple[Cut, WallCut] | None:
    """Return the cut out from a door, and its wall; None where no wall or paving is near."""
    house = sections.design.site.house
    if house is None:
        return None
    wall = house.wall_of(np.asarray(step.door.at, float))
    at, outward = wall.foot, np.asarray(wall.outward, float)
    reach = shapely.LineString([at, at + outward * _REACH]).intersection(area.outline)
    if reach.is_empty or reach.length < _SHORTEST:
        return None
    near = shapely.get_coordinates(reach)
    through = near[int(np.argmin((near - at) @ outward))] + outward * _IN
    cut = sections.along(area, Line(through, outward))
    found = [each for each in cut.walls if each.side < 0 and each.sill is not None]
    return (cut, found[0]) if found else None


def step_cut(sections: Sections, edge: SharedEdge) -> StepCut | None:
    """Return the cut square to a step between two areas, where it is greatest."""
    upper, lower = (sections.design.area(name) for name in (edge.upper, edge.lower))
    start, end = longest_side(edge.lines)
    ends = np.array([start, end])
    drops = upper.finish.surface.at(ends) - lower.finish.surface.at(ends)
    if drops[1] > drops[0]:
        start, end = end, start
    long = float(np.hypot(*(end - start)))
    along = (end - start) / long
    found = _square(
        sections, upper, start + along * min(_FROM_END, long / 2), _out(upper, start, end)
    )
    if found is None:
        return None
    flights = flights_between(sections.design, edge)
    middle = shapely.Point((start + end) / 2)
    near = min(flights, key=lambda each: shapely.distance(each.taken, middle), default=None)
    if near is None:
        return None
    return StepCut(found.cut, found.at, edge, Side(edge.lower, lower.chosen_dig, lower), near)


def high_edge_cut(
    sections: Sections, area: AreaPlan, built: Iterable[Structure] = ()
) -> HighEdgeCut | None:
    """Return the cut where the free edge stands highest over the ground; None where nowhere.

    Parameters
    ----------
    sections : Sections
    area : AreaPlan
    built : iterable of Structure
        What is built on the site: the cut keeps off its steps and drains, where any of the edge
        is clear of them.
    """
    if area.edge_extremes is None:
        return None
    run, k = area.edge_extremes[1]
    if run.height[k] <= _RAISED:
        return None
    off = shapely.union_all(
        [solid.footprint for each in built if each.kind in _KEPT_OFF for solid in each.solids]
    )
    clear = [
        (float(one.height[j]), -number, -j)
        for number, one in enumerate(area.edge_runs)
        for j in np.flatnonzero(one.height > _RAISED).tolist()
        if shapely.distance(shapely.Point(one.points[j]), off) > _CLEAR
    ]
    aside = False
    if clear and shapely.distance(shapely.Point(run.points[k]), off) <= _CLEAR:
        _, number, j = max(clear)
        run, k, aside = area.edge_runs[-number], -j, True
    at, ahead = _beside_corner(run.points, k)
    found = _square(sections, area, at, np.array([ahead[1], -ahead[0]]))
    if found is None or not any(a <= found.at <= b + TOUCH for a, b in found.cut.dug):
        return None
    return HighEdgeCut(found.cut, found.at, float(run.height[k]), aside)


def join_cut(sections: Sections, join: Join) -> JoinCut | None:
    """Return the cut across a join, on its right the deeper build-up or what is there.

    None where the edge runs so that no line square to it goes from one side to the other.
    """
    plan = sections.design
    one = plan.area(join.areas[0])
    other = one if join.there else plan.area(join.areas[1])
    if not join.there and one.chosen_dig.build_up > other.chosen_dig.build_up:
        one, other = other, one
    start, end = longest_side(shapely.get_coordinates(p) for p in shapely.get_parts(join.edge))
    # What is met may have been drawn a little off the paving.
    boundary = one.outline.boundary
    foot = boundary.interpolate(boundary.project(shapely.Point((start + end) / 2)))
    middle = np.asarray(foot.coords[0])
    out = _out(one, start, end, middle)
    beyond = shapely.Point(middle + out * _IN)
    if not join.there and not other.outline.buffer(TOUCH).contains(beyond):
        return None
    found = _square(sections, one, middle, out)
    if found is None:
        return None
    left, right = (Side(each.area.name, each.chosen_dig, each) for each in (one, other))
    if join.there:
        right = Side(join.areas[1], one.digs[join.bases[1]], one)
    deeper = right.dig.build_up > left.dig.build_up
    taper = plan.limits["join-taper"] if deeper else 0.0
    return JoinCut(found.cut, found.at, left, right, taper)


def with_what_is_there(made: JoinCut, high: float) -> JoinCut:
    """Return a cut across a join with the paving that is there already, up to a distance. [m]"""
    cut, at, right = made.cut, made.at, made.right
    there = paving_there(right.area, right.dig, cut, (at, high), right.name)
    dug = tuple((low, min(end, at)) for low, end in cut.dug if low < at)
    return replace(made, cut=replace(cut, others=(*cut.others, there), dug=dug))


def longest_side(lines: Iterable[Floats]) -> tuple[Floats, Floats]:
    """Return both ends of the longest straight side of some lines, (k, 2) each. [m]"""
    sides = [pair for line in lines for pair in pairwise(np.asarray(line))]
    return max(sides, key=lambda pair: float(np.hypot(*(pair[1] - pair[0]))))


def _out(area: AreaPlan, start: Floats, end: Floats, at: Floats | None = None) -> Floats:
    """Return the unit vector square to a side of paving, away from it."""
    along = (end - start) / float(np.hypot(*(end - start)))
    normal = np.array([-along[1], along[0]])
    at = (start + end) / 2 if at is None else at
    return -normal if area.outline.contains(shapely.Point(at + normal * _IN)) else normal


def _square(sections: Sections, area: AreaPlan, at: Floats, out: Floats) -> EdgeCut | None:
    """Return a cut out of paving over its edge, and where it crosses that; None where it cannot."""
    through = at - out * _IN
    if not area.outline.buffer(TOUCH).contains(shapely.Point(through)):
        return None
    cut = sections.along(area, Line(through, out))
    here = float((through - cut.start) @ out)
    ends = [last for first, last in cut.paved if first - TOUCH <= here <= last + TOUCH]
    return EdgeCut(cut, ends[0]) if ends else None


def _beside_corner(points: Floats, k: int) -> tuple[Floats, Floats]:
    """Return where to cut near a point of an edge, and the unit vector along the edge there.

    A corner shows two edges at once: a little along the edge it is one again.
    """
    ways = [points[j + 1] - points[j] for j in (k - 1, k) if 0 <= j < len(points) - 1]
    ways = [way / float(np.hypot(*way)) for way in ways]
    if len(ways) == 2 and float(ways[0] @ ways[1]) > _STRAIGHT:
        along = ways[0] + ways[1]
        return points[k], along / float(np.hypot(*along))
    if k + 1 < len(points):
        long = float(np.hypot(*(points[k + 1] - points[k])))
        return points[k] + ways[-1] * min(_CORNER, long / 2), ways[-1]
    long = float(np.hypot(*(points[k] - points[k - 1])))
    return points[k] - ways[0] * min(_CORNER, long / 2), ways[0]
