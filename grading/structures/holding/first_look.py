"""A first look at how a wall stands: at the worst and at the best of what is known of its ground.

Nothing is passed by default: where the worst and the best do not agree, and where something that
decides is not known at all, the answer is not known, and it says what would tell.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from functools import cache
from math import radians, tan
from typing import Any

import shapely
from msgspec import Struct

from grading.catalogue.tables import table
from grading.conditions.load import bearing, pressure, quantity
from grading.design.area import AreaPlan
from grading.design.model import Design
from grading.dig.hole import Dig
from grading.site.hold_table import Hold
from grading.structures.behind import clean_base
from grading.structures.holding.block_wall import BlockWall, WallSegment
from grading.structures.holding.gravity import (
    Body,
    Earth,
    Stability,
    drained_thrust,
    stability,
    thrust,
)
from grading.structures.holding.holds import holding_of
from grading.structures.holding.outlet import Outlet, outlet_for
from grading.units import CUBIC_FOOT, GRAVITY, POUND_FORCE, POUND_PER_SQUARE_FOOT, Unit, run
from grading.worded import Said, Worded, joined

_UNITS = {"pcf": POUND_FORCE / CUBIC_FOOT, "psf": POUND_PER_SQUARE_FOOT}  # N/m3, Pa


class Ground(Struct, frozen=True):
    """What is taken of the ground of a wall, at one end of what is known. SI; angles in degrees.

    Attributes
    ----------
    friction : float
        Of the soil behind it.
    stone : float
        Of the stone behind it.
    all_stone : bool
        Whether stone lies behind it as far as what thrusts reaches; else its strip alone.
    on_pad : float
        Friction of its units on the pad. [ratio]
    under_pad : float
        Of the pad on the soil. [ratio]
    cohesion : float
        What clay resists sliding, for each area. [Pa]
    load : float
        What stands on the paving. [Pa]
    """

    friction: float
    stone: float
    all_stone: bool
    on_pad: float
    under_pad: float
    cohesion: float
    load: float


class Look(Struct, frozen=True):
    """How a wall stands on one ground.

    Attributes
    ----------
    ground : Ground
    sliding : float
        The least of units on their pad and of the pad on the soil, with what stands on the paving
        and without. [ratio]
    overturning : float
        The least with what stands on the paving and without. [ratio]
    toe : float
        The greatest pressure under its face; infinite where it falls. [Pa]
    """

    ground: Ground
    sliding: float
    overturning: float
    toe: float


class FirstLook(Struct, frozen=True):
    """How a wall stands where it shows most, at the worst and at the best of what is known.

    Attributes
    ----------
    wall : BlockWall
    segment : WallSegment
        The one that shows most.
    worst, best : Look
    bearing : float
        What the soil is presumed to bear. [Pa]
    outlet : Outlet
        Where the pipe behind it comes out.
    unknown : tuple of str
        What decides and is not known at all; a sentence's end each. Where there is any, nothing
        may be said of how it stands.
    """

    wall: BlockWall
    segment: WallSegment
    worst: Look
    best: Look
    bearing: float
    outlet: Outlet
    unknown: tuple[Said, ...]


def first_look(
    plan: Design, area: AreaPlan, dig: Dig, wall: BlockWall, asked: Hold | None
) -> FirstLook:
    """Return a first look at how a wall stands.

    Parameters
    ----------
    plan : Design
    area : AreaPlan
    dig : Dig
        One of the area's: where its base is of clean stone, some of it lies behind the wall.
    wall : BlockWall
    asked : Hold or None
        What the site says of it.
    """
    soil, segment = plan.site.ground.soil, wall.tallest
    outlet = outlet_for(plan, area, wall)
    unit_weight = GRAVITY * plan.crew["wall-unit-mass"] / (
        plan.crew["wall-unit-height"] * plan.crew["wall-unit-depth"] * plan.crew["wall-unit-length"]
    )  # fmt: skip
    pad = plan.crew["dense-graded-compacted"]
    worst, best = (
        _look(wall, segment, ground, _earths(soil), unit_weight, pad)
        for ground in _grounds(soil, asked, clean_base(dig))
    )
    return FirstLook(
        wall, segment, worst, best, bearing(soil), outlet,
        (*_not_known(area, outlet), *_terraced(plan, area, wall)),
    )  # fmt: skip


def _not_known(area: AreaPlan, outlet: Outlet) -> Iterator[Said]:
    if outlet.far is None:
        yield (
            "no outlet that lies low enough is named for the pipe behind it, and without one water "
            "stands behind it. To tell: "
            + Worded("name one with [[floor]] or [[outfall]]", "find one that lies low enough")
        )
    if area.use == "driveway":
        yield "wheels stand beside it, and what they press is not reckoned here"


def _terraced(plan: Design, area: AreaPlan, wall: BlockWall) -> Iterator[str]:
    """Yield the walls of other areas that load this one, or that this one loads."""
    share = plan.limits["wall-terrace"]
    for other in plan.areas:
        if other.name == area.name:
            continue
        for beside in holding_of(plan, other, other.chosen).walls:
            away = float(shapely.distance(wall.line, beside.line))
            lower = min((wall, beside), key=lambda each: float(each.finish.mean()))
            # What joins end to end is one wall that goes on, and no terrace.
            if wall.unit.depth < away < share * lower.shown[1]:
                yield (
                    f"{beside.name} stands {run(away, plan.site.unit)} from it, nearer than "
                    f"{share:g} times the height of the lower: the two are one wall, and one for "
                    "a licensed professional to design"
                )


def _grounds(soil: str, asked: Hold | None, clean: bool) -> tuple[Ground, Ground]:
    """Return the worst and the best of what is known of the ground of a wall.

    Of the stone the least friction counts at the worst. Where the site says what lies behind the
    wall that is taken; else natural ground at the worst, and at the best the clean stone of a base
    that is of it.
    """
    known = _table()
    low, high = known["soil"][soil]["friction"]
    if asked is not None and asked.friction is not None:
        low = high = asked.friction
    slides = known["sliding"]
    presumed, cohesion = 0.0, 0.0
    if isinstance(slides[soil], str):
        cohesion = quantity(slides[soil], _UNITS)
    else:
        presumed = float(slides[soil])
    behind = None if asked is None else asked.behind
    pads = slides["pad"], tan(radians(slides["tested"]))
    if asked is not None and asked.pad_friction is not None:
        pads = asked.pad_friction, asked.pad_friction
    under = presumed
    if asked is not None and asked.friction is not None:
        # Where somebody tested the soil its own friction is what it holds by.
        under, cohesion = tan(radians(low)), 0.0
    loads = [quantity(each, _UNITS) for each in known["people"]["pressure"]]
    stones = known["stone"]["friction"]
    return (
        Ground(low, stones[0], behind == "clean stone", pads[0], under, cohesion,
               loads[1]),
        Ground(high, stones[1], behind == "clean stone" or (behind is None and clean), pads[1],
               max(presumed, tan(radians(high))), 0.0, loads[0]),
    )  # fmt: skip


@cache
def _table() -> Mapping[str, Any]:
    return table("structures/holding", "first_look")


def _earths(soil: str) -> tuple[float, float]:
    """Return what the soil and the stone behind a wall weigh. [N/m3]"""
    own, stone = _table()["soil"][soil], _table()["stone"]
    return quantity(own["weight"], _UNITS), quantity(stone["weight"], _UNITS)


def _look(
    wall: BlockWall, segment: WallSegment, ground: Ground, weights: tuple[float, float],
    block: float, pad_density: float,
) -> Look:  # fmt: skip
    unit = wall.unit
    height = segment.finish[1] - segment.pad_top
    soil = Earth(radians(ground.friction), weights[0])
    stone = Earth(radians(ground.stone), weights[1])

    def stands(body: Body, load: float, friction: float, cohesion: float) -> Stability:
        if ground.all_stone:
            push = thrust(stone, body, load)
        else:
            # All is weighed as soil, which is the heavier.
            push, _ = drained_thrust(stone, unit.drain, soil, body, load)
        return stability(body, push, friction, cohesion)

    body = Body(height, unit.depth, unit.lean, block)
    found = [stands(body, load, ground.on_pad, 0.0) for load in (ground.load, 0.0)]
    # The pad slides with what stands on it, and what is behind thrusts as far down as it.
    wide = unit.depth + 2 * unit.spread
    both = height + unit.pad
    weigh = (block * unit.depth * height + pad_density * GRAVITY * wide * unit.pad) / (wide * both)
    deep = Body(both, wide, unit.lean, weigh)
    under = [
        stands(deep, load, ground.under_pad, ground.cohesion).sliding for load in (ground.load, 0.0)
    ]
    return Look(
        ground,
        min(*(each.sliding for each in found), *under),
        min(each.overturning for each in found),
        max(each.toe for each in found),
    )


def ground_words(look: FirstLook, unit: Unit) -> str:
    """Say what a first look was reckoned with: friction, what lies behind it, what stands on it."""
    worst, best = look.worst.ground, look.best.ground
    soil = _span(worst.friction, best.friction)
    behind = "clean stone all the way"
    if not worst.all_stone:
        behind = "natural ground behind its strip of stone"
        if best.all_stone:
            behind += ", or clean stone all the way"
    loads = [pressure(each.load, unit) for each in (best, worst)]
    on_pad = _span(round(worst.on_pad, 2), round(best.on_pad, 2))
    slides = f"friction of its units on the pad {on_pad}"
    return (
        f"reckoned with soil of {soil} degrees, {behind}, {slides}, {loads[0]} to {loads[1]} on "
        "the paving, and no water behind it"
    )


def tells(look: FirstLook, slides: bool) -> Said:
    """Say what would tell how a wall stands, of what is not known.

    Parameters
    ----------
    look : FirstLook
    slides : bool
        Whether it is asked if it slides: what it stands on decides that too.
    """
    worst, best = look.worst.ground, look.best.ground
    found: list[Said] = []
    if worst.friction != best.friction and (slides or not worst.all_stone):
        found.append("have the soil tested" + Worded(" and write its `friction`", ""))
    if worst.all_stone != best.all_stone:
        found.append(Worded("write what lies `behind` it", "look what lies behind it"))
    if slides and worst.on_pad != best.on_pad:
        ask = "ask the maker of its units for their friction on the pad"
        found.append(ask + Worded(", `pad_friction`", ""))
    return joined([*found, "or take a deeper unit" if found else "take a deeper unit"], ", ")


def _span(low: float, high: float) -> str:
    return f"{low:g}" if low == high else f"{low:g} to {high:g}"
