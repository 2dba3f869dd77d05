"""What holds the raised edge of an area: what its site gives, else what is advised, or nothing."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import shapely
from msgspec import Struct
from msgspec.structs import replace

from grading.catalogue.edge_kinds import WALL
from grading.catalogue.suitability import judged, options, verdict
from grading.catalogue.verdicts import Choice, Verdict
from grading.design.area import AreaPlan
from grading.design.edge_holding import WALLED, Holder, RaisedStretch, needs_no_curb
from grading.design.model import Design, kept
from grading.geometry.tolerances import TOGETHER, TOUCH
from grading.site.hold_table import Hold
from grading.structures.holding.block_wall import BlockWall, block_wall
from grading.structures.holding.hold_facts import hold_facts
from grading.structures.holding.slope import Slope, slope_along
from grading.structures.holding.stretches import Stretch, known_stretches, parted, stretches_above
from grading.structures.holding.wall_unit import WallUnit, unit_of
from grading.units import INCH

BLOCK_WALL, SLOPE, CURB, SHOULDER, STEPS, LOWER = (
    "block wall", "grass slope", "curb", "dense shoulder", "steps", "lower finish",
)  # fmt: skip


class Held(Struct, frozen=True, eq=False):
    """Stretches of raised edge that one thing holds.

    Attributes
    ----------
    kind : str
        What is built along them; empty where nothing may be built.
    given : bool
        Whether that is what the site gives.
    asked : Hold or None
        What the site gives.
    choice : Choice
        The ways there are, judged.
    high : bool
        Whether they stand higher than the limit from which an edge counts as raised; else than
        what a shoulder of soil holds.
    stretches : tuple of Stretch
    walls : tuple of BlockWall
        None but where `kind` is "block wall".
    slopes : tuple of Slope
        The same of a slope of grass.
    wish : str
        The way that the site gives, by its table or as the edge of the area; empty for none.
    beside_higher : bool
        Whether they are what is lower of an edge of which what is higher has its own way.
    """

    kind: str
    given: bool
    asked: Hold | None
    choice: Choice
    high: bool
    stretches: tuple[Stretch, ...]
    walls: tuple[BlockWall, ...] = ()
    slopes: tuple[Slope, ...] = ()
    wish: str = ""
    beside_higher: bool = False

    @property
    def refused(self) -> Verdict | None:
        """What rules out the way that the site gives, where something does."""
        if not self.wish or self.beside_higher:
            return None
        asked = self.choice.of(self.wish)
        return asked if asked.level == "rules out" else None

    @property
    def length(self) -> float:
        """[m]"""
        return sum(each.length for each in self.stretches)

    @property
    def height(self) -> float:
        """How far the paving stands above the ground along it at the most. [m]"""
        return max(float(each.heights.max()) for each in self.stretches)

    @property
    def lowest(self) -> float:
        """How far it stands above the ground along it at the least. [m]"""
        return min(float(each.heights.min()) for each in self.stretches)


class Holding(Struct, frozen=True, eq=False):
    """What holds the raised edge of an area on a base system.

    Attributes
    ----------
    area : str
    parts : tuple of Held
        The longest first; none where nothing is raised.
    """

    area: str
    parts: tuple[Held, ...]

    @property
    def unheld(self) -> float:
        """How much of it nothing holds that a crew builds by itself. [m]"""
        return sum(part.length for part in self.parts if not part.kind)

    @property
    def walls(self) -> tuple[BlockWall, ...]:
        """Every wall of blocks along it."""
        return tuple(wall for part in self.parts for wall in part.walls)

    def lines(self, *kinds: str) -> tuple[shapely.LineString, ...]:
        """Return the stretches that things of some kinds hold. [m]"""
        return tuple(
            each.line for part in self.parts if part.kind in kinds for each in part.stretches
        )

    @property
    def walled(self) -> tuple[RaisedStretch, ...]:
        """The stretches that a wall holds, or what is to be designed, the longest first."""
        found = [
            RaisedStretch(each.length, float(each.heights.max()), each.highest)
            for part in self.parts
            if part.kind in (BLOCK_WALL, "")
            for each in part.stretches
        ]
        return tuple(sorted(found, key=lambda part: -part.length))

    @property
    def others(self) -> tuple[Holder, ...]:
        """What else stands beside the edge, as it is called, and how much of it that holds."""
        found: dict[str, Holder] = {}
        for part in self.parts:
            if part.kind not in (BLOCK_WALL, ""):
                option = part.choice.of(part.kind).option
                long = part.length + (found[part.kind].length if part.kind in found else 0.0)
                found[part.kind] = Holder(part.kind, option.title, option.in_plain_words, long)
        return tuple(found.values())

    def of(self, hold: Hold) -> tuple[Held, ...]:
        """Return the parts that a table of the site speaks of."""
        return tuple(part for part in self.parts if part.asked is hold)


def holding_of(plan: Design, area: AreaPlan, base: str) -> Holding:
    """Return what holds the raised edge of an area.

    Parameters
    ----------
    plan : Design
    area : AreaPlan
    base : str
        One of its base systems: on some the edge given is no wall.
    """
    return _holding(plan, area, area.digs[base].system.edge == WALL)


@kept
def _holding(plan: Design, area: AreaPlan, walled: bool) -> Holding:
    """Return the same where the edge given is a wall, or is none: all bases alike share it."""
    holds = plan.site.holds_of(area.name)
    high, low = _stretches(plan, area, walled)
    held: list[Held] = []
    for hold in (*holds, None):
        of_it = [
            [part for each in some for part, own in parted(each, holds) if own is hold]
            for some in (high, low)
        ]
        above = _held(plan, area, hold, (True, walled), of_it[0], held) if of_it[0] else None
        if above is not None and above.kind and of_it[1]:
            # It runs on down to where soil holds the edge, and changes to no curb on the last yard.
            joined = list(_joined(of_it))
            on = [each for each in joined if any(map(each.covers, of_it[0]))]
            above = _held(plan, area, hold, (True, walled), on, held)
            of_it[1] = [each for each in joined if each not in on]
        if above is not None:
            held.append(above)
        if of_it[1]:
            held.append(_held(plan, area, hold, (False, walled), of_it[1], held))
    return Holding(area.name, tuple(sorted(held, key=lambda part: -part.length)))


def _joined(parts: Sequence[Sequence[Stretch]]) -> Iterator[Stretch]:
    """Yield stretches that meet as one; of a ring those over its start stay two."""
    found = [each for some in parts for each in some]
    # By the edge that came first, and never by where it lies in memory: walls are numbered so.
    runs = {id(each.run): place for place, each in reversed(list(enumerate(found)))}
    every = sorted(found, key=lambda one: (runs[id(one.run)], one.low))
    at = 0
    while at < len(every):
        first = last = every[at]
        while (
            at + 1 < len(every)
            and every[at + 1].run is first.run
            and (abs(every[at + 1].low - last.high) < TOUCH)
        ):
            at += 1
            last = every[at]
        yield Stretch(first.run, first.low, last.high)
        at += 1


def _held(
    plan: Design, area: AreaPlan, asked: Hold | None, known: tuple[bool, bool],
    stretches: Sequence[Stretch], before: Sequence[Held],
) -> Held:  # fmt: skip
    """Return what holds some stretches that one table, or none, speaks of.

    `known` is whether they stand higher than the limit from which an edge counts as raised, and
    whether the edge given is a wall; `before` what holds others of the area.
    """
    limits, unit = plan.limits, plan.site.unit
    high, walled = known
    pieces = wall_unit(plan, asked)
    lip = area.lawn_lip or limits["lawn-least"]
    allowed = limits["slope-steepest"], limits["grass-shoulder"]
    slopes = tuple(
        slope_along(each.run, each.low, each.high, plan.ground, allowed, lip) for each in stretches
    )
    facts = hold_facts(plan, area, asked, stretches, slopes, pieces, high)
    verdicts = [verdict(each, "hold", facts, limits, unit) for each in options("hold", unit)]
    choice = judged("hold", verdicts, {})
    asks = "" if asked is None or asked.kind == LOWER else asked.kind
    kind, given = "", False
    wish = BLOCK_WALL if walled else asks
    if wish and choice.of(wish).level != "rules out":
        kind, given = wish, True
    elif choice.advised is not None:
        kind = choice.advised.option.name
    built: tuple[BlockWall, ...] = ()
    if kind == BLOCK_WALL:
        walls = sum(len(part.walls) for part in before)
        names = _names(area.name, walls, len(stretches))
        built = tuple(
            block_wall(name, area.name, each.run, each.low, each.high, pieces)
            for name, each in zip(names, stretches, strict=True)
        )
    beside = not high and any(part.asked is asked and part.high for part in before)
    return Held(
        kind, given, asked, choice, high, tuple(stretches), built,
        slopes if kind == SLOPE else (), wish, beside,
    )  # fmt: skip


def _names(area: str, before: int, count: int) -> tuple[str, ...]:
    if count == 1 and not before:
        return (f"wall of {area}",)
    # By a number alone it would be told as a wall of the house is.
    numbers = range(before + 1, before + count + 1)
    return tuple(f"block wall {number} of {area}" for number in numbers)


def wall_unit(plan: Design, asked: Hold | None) -> WallUnit:
    """Return what a wall is built of: the units that the site gives, else the crew's."""
    if asked is None:
        return unit_of(plan.crew)
    given = {} if asked.unit is None else asked.unit.model_dump(exclude_none=True)
    if "cap" in given:
        given["cap_height"] = given.pop("cap")
    return replace(unit_of(plan.crew, given), product=asked.product or "")


def _stretches(plan: Design, area: AreaPlan, walled: bool) -> tuple[list[Stretch], list[Stretch]]:
    """Return what stands higher than the limit, and what is lower but too high for soil alone."""
    limits = plan.limits
    high: list[Stretch] = []
    low: list[Stretch] = []
    for each in area.edge_runs:
        if walled:
            high += known_stretches(each)
            continue
        raised = list(stretches_above(each, limits["raised-edge"]))
        high += raised
        if needs_no_curb(area) and not plan.site.holds_of(area.name):
            continue
        for one in stretches_above(each, limits["lawn-shoulder"]):
            at = one.low
            for start, end in (*((part.low, part.high) for part in raised), (one.high, one.high)):
                if end < one.low or start > one.high:
                    continue
                # What is left of less than that beside a wall ends in the wall.
                if start - at >= WALLED:
                    low.append(Stretch(each, at, start))
                at = max(at, end)
    return high, low


def unheld_edge(plan: Design, area: AreaPlan) -> float | None:
    """Return how high an edge stands over the lawn where nobody says what brings it there. [m]

    None where something holds each edge, where how the lawn meets it is given, or where it stands
    within a quarter of an inch of what grass takes by itself.

    Parameters
    ----------
    plan : Design
    area : AreaPlan
    """
    if area.area.lawn is not None:
        return None
    least = plan.limits["lawn-most"] + INCH / 4
    parts = holding_of(plan, area, area.chosen).parts
    held = shapely.union_all([one.line for part in parts for one in part.stretches])
    heights = [
        height
        for run in area.edge_runs
        for at, height in zip(run.points, run.height.tolist(), strict=True)
        if height > least and not shapely.dwithin(held, shapely.Point(at), TOGETHER)
    ]
    return max(heights, default=None)
