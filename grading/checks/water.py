"""What the way of the water is held to: every low edge, low spot, wall, spout and base."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Sequence

import numpy as np

from grading.catalogue.rules import Limits
from grading.checks.maker import Check, Maker, Status
from grading.design.places import Places
from grading.geometry.arrays import Floats
from grading.geometry.tolerances import SOLVED
from grading.units import Unit, length, run, size
from grading.units.rates import water_volume
from grading.units.shares import part_words
from grading.water import mend as watermend
from grading.water.course import EDGE, FOUNDATION, POOL, LowSpot
from grading.water.destinations import Destination
from grading.water.edges import LEAST_SHARE, LowEdge
from grading.water.joints import joint_water_words
from grading.water.margins import HEAVE, SETTLEMENT
from grading.water.model import AreaWater, Water, margins_of
from grading.water.runoff import drain_time
from grading.water.words import ground_words, low_spot_words, rain_words, run_on_words, spout_words
from grading.worded import Said, Worded


def water_checks(
    water: Water, limits: Limits, places: Places, rests: str = "",
    drained: Collection[str] = (),
) -> tuple[Check, ...]:  # fmt: skip
    """Return every check of a site's water, in the order that a person reads them.

    Parameters
    ----------
    water : Water
    limits : Limits
        Those of the site.
    places : Places
        Says where things are, in the unit that the sentences are written in.
    rests : str
        Why the paving need not bear settlement by the wall, as `grading.site.settling.rests`
        says it; empty where it must.
    drained : collection of str
        Names of the areas whose stone an underdrain empties, which comes out low enough.
    """
    make = Maker(limits, places)
    checks: list[Check] = []
    for area in water.areas:
        own = make.of(area.name)
        checks += _low_edge(area, water, own)
        checks += _foundation(area, water, own)
        checks += _under(area, water, own, area.name in drained)
        checks += _soak(area, own)
    for spot in water.low_spots:
        checks += _low_spot(spot, water, make)
    checks += _around(water, make)
    checks += _walls(water, make)
    checks += _margins(water, make, rests)
    checks += _downspouts(water, make)
    checks += _grates(water, make)
    return tuple(checks)


def _low_edge(area: AreaWater, water: Water, make: Maker) -> Iterator[Check]:
    rule = "low-edge"
    said_of_it = rain_words(water, area)

    def said(status: Status, more: str = "", mend: Said | Sequence[Said] = "") -> Check:
        text = f"{said_of_it}; {more}" if more else said_of_it
        return make.check(rule, status, area.named, text, unit="", mend=mend)

    ends = [edge.path[-1] for edge in area.edges if edge.kind == area.verdict]
    starts = [edge.at for edge in area.edges if edge.kind == area.verdict]
    last = ends[0] if ends else None
    high = next(filter(None, (_above(edge, water.destinations) for edge in area.edges)), None)
    if area.verdict == "foundation":
        # How is said once, where what reaches the foundation is checked.
        mend = "keep it off the foundation, as is told of what reaches that"
        yield said("fail" if area.share(FOUNDATION) >= LEAST_SHARE else "warn", mend=mend)
    elif area.verdict == "low spot":
        spot = _spot_of(area.stands_at, water)
        ways: Sequence[Said] = ("fill it, or drain it",)
        if spot is not None:
            out = f"give the low spot, {make.places.at(spot.at)}, a way out"
            # How is said once, where the low spot itself does not hold.
            first, *others = ("",) if _too_deep(spot, make) else _mend_low_spot(spot, water, make)
            ways = (f"{out}: " + first if first else out, *others)
        yield said("fail", mend=ways)
    elif not water.destinations:
        yield said("unknown", mend=Worded("add an [[outfall]] where it is meant to end",
                                          "settle one before you dig",
                                          "add a place where it is meant to end"))  # fmt: skip
    elif high is not None:
        edge, above = high
        name = edge.destination
        more = f"{name} is {size(above, make.unit)} above the low edge that drains to it"
        yield said("fail", more, watermend.place_too_high(above, name, edge.at, make.places))
    elif area.verdict == EDGE:
        near = f"it crosses that edge {make.places.at(last)}" if last is not None else ""
        yield said("warn", near, watermend.beyond_the_survey(last, make.places))
    elif area.verdict == "neighbour":
        at = starts[0] if starts else None
        yield said("warn", "", watermend.neighbour(water, at, make.places))
    elif unread := [place.name for place in _ends_of(area, water.destinations) if place.z is None]:
        have = "has no level" if len(unread) == 1 else "have no levels"
        more = f"whether it lies low enough is not known: {' and '.join(unread)} {have}"
        yield said(
            "unknown",
            more,
            Worded("give its z in its [[outfall]]", "shoot its level", "give its level"),
        )
    else:
        yield said("pass", "every low edge ends in a place below it")


def _soak(area: AreaWater, make: Maker) -> Iterator[Check]:
    """Check what soaks in through the paving beside the foundation."""
    joints, rule = area.joints, "foundation-soak-share"
    if joints is None or not joints.beside:
        return
    text = f"{area.name}: {joint_water_words(joints, make.unit)}"
    mend = "fill its joints with polymeric sand, or another that lets less through"
    fine = not make.passes(rule, joints.soaks)
    yield make.judged(rule, fine, "warn", joints.soaks, text, mend=mend)


def _spot_of(at: Floats | None, water: Water) -> LowSpot | None:
    """Return the low spot that water ends in: the nearest to where most of it does."""
    if at is None or not water.low_spots:
        return None
    return min(water.low_spots, key=lambda spot: float(np.hypot(*(spot.at - at))))


def _too_deep(spot: LowSpot, make: Maker) -> bool:
    """Return whether water stands deeper in a low spot than its own check allows."""
    rule = "low-spot-paving" if spot.on_paving > 0 else "low-spot-ground"
    return make.passes(rule, spot.on_paving or spot.depth)


def _mend_low_spot(spot: LowSpot, water: Water, make: Maker) -> tuple[Said, ...]:
    return watermend.low_spot(
        water, spot.at, spot.spill, spot.depth, spot.level, spot.on_paving, make.places
    )  # fmt: skip


def _strays(kind: str, water: Water) -> tuple[Status, Said]:
    """Judge water that ends at a place of a kind, where none was made for it; say what is wrong."""
    if kind == "neighbour":
        return "warn", "runs onto the neighbour's lot"
    if kind != EDGE:
        return "pass", ""
    if not water.destinations:
        return "unknown", "the site names no place for it: " + Worded(
            "add an [[outfall]]", "settle one before you dig", "add one"
        )
    return "warn", "leaves the survey where no place is named"


def _ends_of(area: AreaWater, destinations: tuple[Destination, ...]) -> list[Destination]:
    reached = {part.destination for part in area.shares if part.share >= LEAST_SHARE}
    return [place for place in destinations if place.name in reached]


def _above(edge: LowEdge, destinations: tuple[Destination, ...]) -> tuple[LowEdge, float] | None:
    """Return how far the place that an edge drains to stands above it, None where it does not."""
    for place in destinations:
        if place.name == edge.destination and place.z is not None and place.z > edge.z + SOLVED:
            return edge, place.z - edge.z
    return None


def _foundation(area: AreaWater, water: Water, make: Maker) -> Iterator[Check]:
    if not water.walls:
        return
    rule, share = "foundation-water", area.share(FOUNDATION)
    if not share:
        text = f"no rain on {area.name} reaches the foundation"
        yield make.check(rule, "pass", share, text, unit="")
        return
    text = f"{part_words(share, f'the rain on {area.name}')} reaches the foundation"
    # What is less than the grid's own roughness is looked at, and neither sure nor nothing.
    status: Status = "fail" if share >= LEAST_SHARE else "warn"
    mend = watermend.foundation(water, area, make.limits["fall-away"], make.places)
    yield make.check(rule, status, share, text, unit="", mend=mend)


def _around(water: Water, make: Maker) -> Iterator[Check]:
    """Check what the ground around does: to each wall, and to each area's paving."""
    rule, told = "ground-water", dict(ground_words(water, make.places))
    least, reach = make.limits["ground-fall-away"], make.limits["foundation-reach"]
    for wall in water.at_walls:
        name = wall.wall
        if name not in told or wall.at is None:
            if wall.fall is not None:
                text = f"no water of the ground around runs to the foundation at {name}"
                yield make.check(rule, "pass", wall.area, text, where=name, unit="m2")
            continue
        mend = watermend.ground_to_wall(water, name, wall.at, least, reach, make.places)
        yield make.check(
            rule, "fail" if wall.reaches else "warn", wall.area, told[name], where=name,
            unit="m2", mend=mend,
        )  # fmt: skip
    rule = "run-on"
    for area in water.areas:
        found, own = area.run_on, make.of(area.name)
        if found is None or not area.told_run_on:
            text = f"no water of the ground around runs onto {area.name}"
            yield own.judged(rule, True, "pass", 0.0, text)
            continue
        ratio = found.area / area.paved
        mend = watermend.run_on(water, found.at, make.places)
        fine, text = not make.passes(rule, ratio), run_on_words(area, make.places)
        yield own.judged(rule, fine, "warn", ratio, text, mend=mend)


def _plotted(xy: Floats, unit: Unit) -> str:
    """Return the coordinates of a place as the site has them."""
    return ", ".join(length(float(value), unit) for value in xy)


def _low_spot(spot: LowSpot, water: Water, make: Maker) -> Iterator[Check]:
    rule = "low-spot-paving" if spot.on_paving > 0 else "low-spot-ground"
    depth = spot.on_paving or spot.depth
    limit = make.limits[rule]
    text = low_spot_words(spot, make.places)
    near = spot.from_house is not None and spot.from_house <= make.limits["foundation-reach"]
    bad = _too_deep(spot, make)
    status: Status = "pass" if not bad else "fail" if spot.on_paving > 0 or near else "warn"
    area = spot.touching[0] if spot.touching else ""
    mend = _mend_low_spot(spot, water, make) if bad else ()
    yield make.of(area).check(
        rule, status, depth, text, limit=limit, where=_plotted(spot.at, make.unit), mend=mend
    )


def _walls(water: Water, make: Maker) -> Iterator[Check]:
    for wall in water.walls:
        if wall.paved is None:
            continue
        rule, fall = "every-foot-fall", wall.paved.fall
        text = (
            f"the paving in front of {wall.wall} falls "
            + _way(fall, make)
            + f" where it falls least, {make.places.at(wall.paved.at, wall.wall)}"
        )
        out = wall.paved.distance + wall.paved.length
        mend = watermend.fall_short(fall, make.limits[rule], out, make.places)
        fine = make.reaches(rule, fall)
        yield make.judged(rule, fine, "fail", fall, text, where=wall.wall, mend=mend)


def _margins(water: Water, make: Maker, rests: str) -> Iterator[Check]:
    """Check what settlement by each wall, and frost at the outer edge, leave of the fall."""
    for name, left in margins_of(water):
        rule = "settled-fall"
        moved = f"{size(SETTLEMENT, make.unit)} of settlement at {name}"
        used = f"{size(left.used_up, make.unit)} would use all of it up"
        if left.used_up <= 0:
            used = "there is none for it to use up"
        if rests:
            text = f"not held to settlement: {rests}. {moved} would leave a fall of " + (
                _way(left.settled, make) + f"; {used}"
            )
            yield make.check(rule, "pass", left.settled, text, where=name)
        else:
            text = f"after {moved} the paving falls " + _way(left.settled, make) + f"; {used}"
            more = _more(left.fall, rule, left.settled, make)
            mend = "treat the backfill, or turn the paving so that it falls " + more + " away"
            yield _left_of(name, rule, left.settled, text, mend, make)
        text = (
            f"after {size(HEAVE, make.unit)} of frost heave at the outer edge in front of {name} "
            "the paving falls " + _way(left.heaved, make)
        )
        more = _more(left.fall, "heaved-fall", left.heaved, make)
        mend = "turn the paving so that it falls " + more + " away, or drain what lies under it"
        yield _left_of(name, "heaved-fall", left.heaved, text, mend, make)


def _more(now: float, rule: str, fall: float, make: Maker) -> Worded:
    """Say how much paving would have to fall for enough of it to be left."""
    return make.rate(max(now + make.limits[rule] - fall, make.limits["fall-away"]))


def _left_of(name: str, rule: str, fall: float, text: Said, mend: Said, make: Maker) -> Check:
    """Check what is left of a fall before a wall."""
    fine = make.reaches(rule, fall)
    return make.judged(rule, fine, "warn", fall, text, where=name, mend=mend)


def _way(fall: float, make: Maker) -> Worded:
    """Say how much paving falls, and whether away from the house or back to it."""
    return make.rate(abs(fall), 2) + (" away" if fall >= 0 else " BACK to the house")


def _downspouts(water: Water, make: Maker) -> Iterator[Check]:
    rule = "downspout-reach"
    limit = make.limits[rule]
    for spout in water.downspouts:
        text: Said = spout_words(spout, make.unit)
        status: Status = "pass"
        if spout.from_house is not None:
            text += f"; it is let go {run(spout.from_house, make.unit)} from the house"
            if not make.reaches(rule, spout.from_house):
                status = "warn"
        astray, words = _strays(spout.kind, water)
        if astray != "pass":
            text += ("; " if astray == "unknown" else "; it ") + words
            status = "warn" if status == "warn" else astray
        if spout.kind in (FOUNDATION, POOL):
            status = "fail"
        area = spout.crosses[0] if spout.crosses else ""
        mend = ""
        if status in ("warn", "fail"):
            mend = watermend.downspout(limit, water.destinations, make.places)
        yield make.of(area).check(
            rule, status, spout.from_house, text, limit=limit, where=spout.name, mend=mend
        )


def _grates(water: Water, make: Maker) -> Iterator[Check]:
    """Check each drain in paving: its grate a little below the pavers, never above them."""
    rule = "drain-grate"
    least, greatest = make.limits.pair(rule)
    for place in water.destinations:
        if place.kind != "drain" or place.z is None or not place.given:
            continue
        cells = water.relief.inside(place.reached(water.relief.spacing))
        paved = water.relief.z[cells & (water.relief.kind >= 0)]
        if not paved.size:
            continue
        # The grid's lowest cell beside the grate is within its slope over half a cell of it.
        below = float(paved.min()) - place.z
        held = least - SOLVED <= below <= greatest + SOLVED
        status: Status = "fail" if below < 0 else "pass" if held else "warn"
        way = "below" if below >= 0 else "above"
        text = f"the grate of {place.name} is {size(abs(below), make.unit)} {way} the paving"
        limit = greatest if below > greatest else least
        way = "raise" if below > greatest else "lower"
        by = abs(below - limit)
        mend = "" if held else f"{way} the grate by {size(by, make.unit)}, or the paving beside it"
        yield make.check(rule, status, below, text, limit=limit, where=place.name, mend=mend)


def _under(area: AreaWater, water: Water, make: Maker, drained: bool) -> Iterator[Check]:
    under = area.under
    if under is None:
        return
    surface = {"open": "subgrade", "panel": "top of the panels"}.get(under.base, "top of the base")
    if under.falls_away is not None:
        rule = "under-fall"
        limit, fall = make.limits[rule], under.falls_away
        way = "away from the foundation" if fall >= 0 else "BACK to the house"
        text = (
            f"the {surface} under {area.name} falls "
            + make.rate(abs(fall), 2)
            + f" {way}; its low end is {make.places.at(under.low)}"
        )
        if under.from_house is not None:
            text += f"; {run(under.from_house, make.unit)} from the house"
        status: Status = "pass" if make.reaches(rule, fall) else "fail" if fall < 0 else "warn"
        mend = "" if status == "pass" else (
            f"turn the {surface}, or set a drain along its low end, {make.places.at(under.low)}, "
            "so that it falls " + make.rate(limit) + " away"
        )  # fmt: skip
        yield make.check(rule, status, fall, text, limit=limit, mend=mend)
    if under.held is None:
        return
    rule = "stone-reservoir"
    depth, reach = under.held.depth, make.limits["foundation-reach"]
    near = under.from_house is not None and under.from_house <= reach
    holds = (
        f"the stone under {area.name} holds {water_volume(under.held.volume, make.unit)}, "
        f"{size(depth, make.unit)} deep at its low end"
    )
    if drained:
        holds += "; its underdrain lets it out"
        yield make.check(rule, "pass", depth, holds, limit=make.limits[rule])
        return
    slow = False
    if under.hours is not None:
        slow = under.hours > drain_time().value
        holds += (
            f", gone in {under.hours:.0f} h" if under.hours != float("inf") else ", with no way out"
        )
    elif depth > 0:
        holds += "; how long it stands is not known without the soil's infiltration"
    stands = make.passes(rule, depth)
    status = "warn" if stands and (near or slow) else "pass"
    if near and status == "warn":
        holds += "; its low end is within reach of the foundation"
    lets_out: Said = ""
    if status == "warn":
        to = watermend.led_to(water, under.z, under.low, make.places)
        lets_out = f"give it a drain at the subgrade, {make.places.at(under.low)}, led " + to
    elif stands and under.hours is None:
        # It was not looked at how long, and what was not looked at does not pass.
        status = "unknown"
        lets_out = Worded(
            "give the soil's infiltration, in [storm]",
            "have it tested how fast the soil takes water in",
            "give what the subgrade takes in",
        )
    yield make.check(rule, status, depth, holds, limit=make.limits[rule], mend=lets_out)
