"""What holds the raised edge of an area: the way that its site gives, else the one advised."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from functools import cached_property, lru_cache

import numpy as np
import shapely

from grading.catalogue.edge_kinds import WALL
from grading.catalogue.suitability import Fact, judged, options, verdict
from grading.catalogue.verdicts import Choice, Verdict
from grading.design.area import AreaPlan
from grading.design.edge_holding import WALLED, kerbed
from grading.design.model import Design
from grading.dig.edge_runs import EdgeRun
from grading.finish.wishes import NEARBY
from grading.geometry.arrays import Floats
from grading.geometry.free_edges import SHORTEST_RUN
from grading.geometry.tolerances import SLIVER
from grading.site.hold_table import Hold
from grading.structures.holding.block_wall import BlockWall, WallUnit, block_wall, unit_of
from grading.structures.holding.slope import REACH, Slope, slope_along
from grading.units import percent, run, size

BLOCK_WALL, SLOPE, CURB, SHOULDER, STEPS = (
    "block wall", "grass slope", "curb", "shoulder", "steps",
)  # fmt: skip

_BEFORE = 0.3  # m: how far before an edge the fall of the ground is read
_TUB = "hot tub"


@dataclass(frozen=True, eq=False)
class Stretch:
    """A stretch of free edge that something has to hold.

    Attributes
    ----------
    run : EdgeRun
    low, high : float
        Where it begins and ends along the run. [m]
    """

    run: EdgeRun
    low: float
    high: float

    @property
    def length(self) -> float:
        """[m]"""
        return self.high - self.low

    @cached_property
    def line(self) -> shapely.LineString:
        """Along the edge, the paving on its left. [m]"""
        return self.run.part(self.low, self.high)

    @cached_property
    def heights(self) -> Floats:
        """How far the paving stands above the ground along it. [m]"""
        along = self.run.along
        inner = along[(along > self.low) & (along < self.high)]
        at = np.concatenate([[self.low], inner, [self.high]])
        return np.interp(at, along, self.run.height)


@dataclass(frozen=True, eq=False)
class Holding:
    """What holds the raised edge of an area on a base system.

    Attributes
    ----------
    area : str
    kind : str
        What is built along `raised`; empty where nothing is raised, or nothing may be built.
    given : bool
        Whether that is what the site gives.
    asked : Hold or None
        What the site gives.
    choice : Choice or None
        The ways there are, judged; None where nothing is raised.
    raised, low : tuple of Stretch
        What stands higher than the limit from which a wall holds it; and what stands lower, but
        higher than a shoulder of soil holds.
    walls : tuple of BlockWall
        None but where `kind` is "block wall".
    slopes : tuple of Slope
        The same of a slope of grass.
    """

    area: str
    kind: str
    given: bool
    asked: Hold | None
    choice: Choice | None
    raised: tuple[Stretch, ...]
    low: tuple[Stretch, ...]
    walls: tuple[BlockWall, ...] = ()
    slopes: tuple[Slope, ...] = ()

    @property
    def refused(self) -> Verdict | None:
        """What rules out the way that the site gives, where something does."""
        if self.asked is None or self.choice is None:
            return None
        asked = self.choice.of(self.asked.kind)
        return asked if asked.level == "rules out" else None

    @property
    def restrained(self) -> bool:
        """Whether the raised edge takes an edge restraint of its own all the same."""
        return self.kind in (SLOPE, SHOULDER)


@lru_cache(maxsize=64)
def holding_of(plan: Design, area: AreaPlan, base: str) -> Holding:
    """Return what holds the raised edge of an area.

    Parameters
    ----------
    plan : Design
    area : AreaPlan
    base : str
        One of its base systems: on some the edge given is no wall.
    """
    limits, unit = plan.limits, plan.site.unit
    walled = area.digs[base].system.edge == WALL
    asked = plan.site.hold_of(area.name)
    raised = tuple(_raised(area, 0.0 if walled else limits["raised-edge"], walled))
    low = () if walled else tuple(_between(area, plan, asked))
    if not raised:
        return Holding(area.name, "", False, asked, None, (), low)
    pieces = _unit(plan, asked)
    slopes = _slopes(plan, area)
    facts = hold_facts(plan, area, asked, raised, slopes, pieces)
    verdicts = [verdict(each, "hold", facts, limits, unit) for each in options("hold", unit)]
    choice = judged("hold", verdicts, {})
    wish = BLOCK_WALL if walled else None if asked is None else asked.kind
    kind, given = "", False
    if wish is not None and choice.of(wish).level != "rules out":
        kind, given = wish, True
    elif choice.advised is not None:
        kind = choice.advised.option.name
    walls: tuple[BlockWall, ...] = ()
    if kind == BLOCK_WALL:
        names = _names(area.name, len(raised))
        walls = tuple(
            block_wall(name, area.name, each.run, each.low, each.high, pieces)
            for name, each in zip(names, raised, strict=True)
        )
    return Holding(
        area.name, kind, given, asked, choice, raised, low, walls,
        slopes if kind == SLOPE else (),
    )  # fmt: skip


def _names(area: str, count: int) -> tuple[str, ...]:
    if count == 1:
        return (f"wall of {area}",)
    return tuple(f"wall {number} of {area}" for number in range(1, count + 1))


def _unit(plan: Design, asked: Hold | None) -> WallUnit:
    own = None if asked is None else asked.unit
    if own is None:
        return unit_of(plan.crew)
    given = {
        name: value
        for name, value in (
            ("height", own.height), ("depth", own.depth), ("length", own.length),
            ("setback", own.setback), ("cap_height", own.cap),
        )
        if value is not None
    }  # fmt: skip
    return unit_of(plan.crew, given)


def _raised(area: AreaPlan, limit: float, all_of_it: bool) -> Iterator[Stretch]:
    for each in area.edge_runs:
        if not all_of_it:
            yield from (Stretch(each, low, high) for low, high in each.above(limit))
            continue
        known = np.isfinite(each.height)
        for part in np.split(np.arange(len(known)), np.flatnonzero(np.diff(known)) + 1):
            low, high = float(each.along[part[0]]), float(each.along[part[-1]])
            if known[part[0]] and high - low >= SHORTEST_RUN:
                yield Stretch(each, low, high)


def _between(area: AreaPlan, plan: Design, asked: Hold | None) -> Iterator[Stretch]:
    """Yield what stands higher than a shoulder of soil holds, and lower than a wall's work is."""
    limits = plan.limits
    if not kerbed(area, limits) and (asked is None or asked.kind not in (CURB, SLOPE)):
        return
    for each in area.edge_runs:
        high = each.above(limits["raised-edge"])
        for start, end in each.above(limits["lawn-shoulder"]):
            at = start
            for low, top in (*high, (end, end)):
                if top < start or low > end:
                    continue
                if low - at >= min(WALLED, SHORTEST_RUN):
                    yield Stretch(each, at, low)
                at = max(at, top)


def _slopes(plan: Design, area: AreaPlan) -> tuple[Slope, ...]:
    limits = plan.limits
    return tuple(
        slope_along(each, low, high, plan.ground, limits, area.lawn_lip or limits["lawn-least"])
        for each in area.edge_runs
        for low, high in each.above(limits["lawn-shoulder"])
    )


def hold_facts(
    plan: Design, area: AreaPlan, asked: Hold | None, raised: Iterable[Stretch],
    slopes: Iterable[Slope], pieces: WallUnit,
) -> Mapping[str, Fact]:  # fmt: skip
    """Return what the rules of `suitability.toml` ask of an edge that something has to hold.

    Parameters
    ----------
    plan : Design
    area : AreaPlan
    asked : Hold or None
        What the site gives.
    raised : iterable of Stretch
    slopes : iterable of Slope
        As slopes of grass would come out along it.
    pieces : WallUnit
        What a wall would be built of.
    """
    unit, raised, slopes = plan.site.unit, tuple(raised), tuple(slopes)
    heights = np.concatenate([each.heights for each in raised] or [np.zeros(1)])
    high, low = float(heights.max()), float(heights.min())
    tub = _tub_near(plan, raised, high + pieces.buried(max(high, 0.0)))
    steep = max((_ground_before(plan, each) for each in raised), default=0.0)
    toe = max((each.widest for each in slopes), default=0.0)
    beside = _in_the_way(plan, area, slopes)
    behind = None if asked is None else asked.behind
    return {
        "use": Fact(area.use, area.use),
        "hold_height": Fact(high, size(high, unit)),
        "hold_range": Fact(high - low, size(high - low, unit)),
        "hold_tub": Fact(bool(tub), tub),
        "hold_behind": Fact(behind, behind or ""),
        "hold_steep": Fact(steep > plan.limits["slope-steepest"], ""),
        "hold_ground": Fact(steep, percent(steep, 0)),
        "hold_room": Fact(not beside, ""),
        "hold_toe": Fact(toe, run(toe, unit, 1)),
        "hold_beside": Fact(beside, beside),
    }


def _tub_near(plan: Design, raised: Iterable[Stretch], within: float) -> str:
    for feature in plan.site.features:
        if feature.kind == _TUB and any(
            shapely.distance(feature.polygon, each.line) < within for each in raised
        ):
            return feature.name or feature.kind
    return ""


def _ground_before(plan: Design, stretch: Stretch) -> float:
    """Return how steep the ground falls away before a stretch at the most. [ratio]"""
    points = shapely.get_coordinates(shapely.segmentize(stretch.line, _BEFORE))
    ahead = np.gradient(points, axis=0)
    out = np.column_stack([ahead[:, 1], -ahead[:, 0]])
    out /= np.maximum(np.hypot(*out.T), SLIVER)[:, None]
    near, far = (plan.ground.elevation(points + step * out) for step in (0.0, 2 * _BEFORE))
    falls = (near - far) / (2 * _BEFORE)
    falls = falls[np.isfinite(falls)]
    return float(falls.max()) if len(falls) else 0.0


def _in_the_way(plan: Design, area: AreaPlan, slopes: Iterable[Slope]) -> str:
    """Say why a slope has no room, after how far it reaches out; empty where it has."""
    slopes = tuple(slopes)
    if not all(each.comes_out for each in slopes):
        return f"and nowhere comes out of the ground within {run(REACH, plan.site.unit)}"
    region = shapely.union_all([each.region for each in slopes])
    for name, body in _bodies(plan, area):
        if shapely.intersects(region, body):
            return f"where {name} is in its way"
    if not plan.ground.surveyed.buffer(NEARBY).covers(region):
        return "beyond the ground that was surveyed"
    return ""


def _bodies(plan: Design, area: AreaPlan) -> Iterator[tuple[str, shapely.Geometry]]:
    site = plan.site
    if site.house is not None:
        yield "the house", site.house.polygon(NEARBY).buffer(-_BEFORE / 3)
    for other in plan.areas:
        if other.name != area.name:
            yield other.name, other.outline.buffer(-_BEFORE / 3)
    yield "the paving itself", area.outline.buffer(-_BEFORE / 3)
    for meet in site.meets:
        if len(meet.at) > 1 and meet.area in (None, area.name):
            line = shapely.LineString(meet.at)
            if shapely.distance(line, area.outline) > _BEFORE:
                yield meet.name, line
    for feature in site.features:
        if not shapely.intersects(feature.polygon, area.outline):
            yield feature.name or feature.kind, feature.polygon
