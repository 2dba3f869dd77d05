"""What the way of the water is held to: every low edge, low spot, wall, spout and base."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from grading.checks import Check, Status
from grading.course import EDGE, FOUNDATION, POOL, LowSpot
from grading.descent import Floats
from grading.destinations import Destination
from grading.edges import LEAST_SHARE
from grading.margins import HEAVE, SETTLEMENT
from grading.places import Places
from grading.rates import flow, water_volume
from grading.rules import RULES, Limits
from grading.runoff import drain_time
from grading.units import Unit, length, percent, run, size
from grading.water import LEAST_TOLD, AreaWater, Water, margins_of

_ROUNDING = 1e-8  # m or ratio


@dataclass(frozen=True)
class _Maker:
    """Makes checks in the site's limits and unit."""

    limits: Limits
    places: Places

    @property
    def unit(self) -> Unit:
        """What the sentences are written in."""
        return self.places.unit

    def check(
        self, rule: str, area: str, status: Status, value: float | None, text: str, *,
        limit: float | None = None, where: str = "", unit: str | None = None,
    ) -> Check:  # fmt: skip
        own = RULES[rule].unit if unit is None else unit
        return Check(rule, area, status, value, limit, own, self.limits.source(rule), text, where)

    def at(self, xy: Floats) -> str:
        return self.places.at(xy)

    def plotted(self, xy: Floats) -> str:
        """Return the coordinates of a place as the site has them."""
        return ", ".join(length(float(value), self.unit) for value in xy)


def water_checks(
    water: Water, limits: Limits, places: Places, rests: str = ""
) -> tuple[Check, ...]:
    """Return every check of a site's water, in the order that a person reads them.

    Parameters
    ----------
    water : Water
    limits : Limits
        Those of the site.
    places : Places
        Says where things are, in the unit that the sentences are written in.
    rests : str
        Why the paving need not bear settlement by the wall, as `grading.settling.rests` says it;
        empty where it must.
    """
    make = _Maker(limits, places)
    checks: list[Check] = []
    for area in water.areas:
        checks += _low_edge(area, water, make)
        checks += _foundation(area, water, make)
        checks += _under(area, make)
    for spot in water.low_spots:
        checks += _low_spot(spot, make)
    checks += _walls(water, make)
    checks += _margins(water, make, rests)
    checks += _downspouts(water, make)
    checks += _grates(water, make)
    return tuple(checks)


def _low_edge(area: AreaWater, water: Water, make: _Maker) -> Iterator[Check]:
    rule = "low-edge"
    parts = ", ".join(
        f"{percent(part.share, 0)} to {part.destination}"
        for part in area.shares
        if part.share >= LEAST_TOLD
    )
    text = f"rain on {area.name} goes: {parts}"

    def said(status: Status, more: str) -> Check:
        return make.check(rule, area.name, status, area.named, f"{text}; {more}", unit="")

    if not water.destinations:
        yield said(*_strays(EDGE, water))
        return
    wrong = [_wrong(edge.z, edge.destination, water.destinations, make) for edge in area.edges]
    high = next((sentence for sentence in wrong if sentence), "")
    ends = [edge.path[-1] for edge in area.edges if edge.kind == area.verdict]
    near = f", {make.at(ends[0])}" if ends else ""
    if area.verdict == "foundation":
        yield said("fail", "some of it reaches the foundation")
    elif area.verdict == "low spot":
        yield said("fail", f"some of it ends in a low spot with no way out{near}")
    elif high:
        yield said("fail", high)
    elif area.verdict in (EDGE, "neighbour"):
        status, wrong_end = _strays(area.verdict, water)
        yield said(status, f"some of it {wrong_end}{near if area.verdict == EDGE else ''}")
    elif any(place.z is None for place in _ends_of(area, water.destinations)):
        yield said("unknown", "a place that it reaches has no level: give its z")
    else:
        yield said("pass", "every low edge ends in a named place below it")


def _strays(kind: str, water: Water) -> tuple[Status, str]:
    """Judge water that ends at a place of a kind, where none was made for it; say what is wrong."""
    if kind == "neighbour":
        return "warn", "runs onto the neighbour's lot"
    if kind != EDGE:
        return "pass", ""
    if not water.destinations:
        return "unknown", "the site names no place for it: add an [[outfall]]"
    return "warn", "leaves the survey where no place is named"


def _ends_of(area: AreaWater, destinations: tuple[Destination, ...]) -> list[Destination]:
    reached = {part.destination for part in area.shares if part.share >= LEAST_SHARE}
    return [place for place in destinations if place.name in reached]


def _wrong(z: float, name: str, destinations: tuple[Destination, ...], make: _Maker) -> str:
    """Say where the place that an edge drains to stands above the edge, or nothing."""
    for place in destinations:
        if place.name == name and place.z is not None and place.z > z + _ROUNDING:
            return f"{name} is {size(place.z - z, make.unit)} above the low edge that drains to it"
    return ""


def _foundation(area: AreaWater, water: Water, make: _Maker) -> Iterator[Check]:
    if not water.walls:
        return
    rule, share = "foundation-water", area.share(FOUNDATION)
    reaches = share >= LEAST_SHARE
    text = (
        f"{percent(share, 0)} of the rain on {area.name} reaches the foundation"
        if reaches
        else f"no rain on {area.name} reaches the foundation"
    )
    yield make.check(rule, area.name, "fail" if reaches else "pass", share, text, unit="")


def _low_spot(spot: LowSpot, make: _Maker) -> Iterator[Check]:
    rule = "low-spot-paving" if spot.on_paving > 0 else "low-spot-ground"
    depth = spot.on_paving or spot.depth
    limit = make.limits[rule]
    what = "paving" if spot.on_paving > 0 else "the ground"
    text = (
        f"water stands {size(spot.depth, make.unit)} deep on {what}, {make.at(spot.at)}, "
        f"{water_volume(spot.volume, make.unit)} of it, and spills {make.at(spot.spill)}"
    )
    near = spot.from_house is not None and spot.from_house <= make.limits["foundation-reach"]
    if near and spot.from_house is not None:
        text += f"; {run(spot.from_house, make.unit)} from the house"
    bad = depth > limit + _ROUNDING
    status: Status = "pass" if not bad else "fail" if spot.on_paving > 0 or near else "warn"
    area = spot.touching[0] if spot.touching else ""
    yield make.check(rule, area, status, depth, text, limit=limit, where=make.plotted(spot.at))


def _walls(water: Water, make: _Maker) -> Iterator[Check]:
    for wall in water.walls:
        if wall.paved is None:
            continue
        rule, limit = "every-foot-fall", make.limits["every-foot-fall"]
        fall = wall.paved.fall
        text = (
            f"the paving in front of {wall.wall} falls {percent(fall, 2)} away where it falls "
            f"least, {make.at(wall.paved.at)}"
        )
        # Past a valley the water already runs away from another wall: less is not back.
        status: Status = "pass" if fall >= limit - _ROUNDING else "warn"
        if fall < -_ROUNDING:
            status = "fail"
        yield make.check(rule, "", status, fall, text, limit=limit, where=wall.wall)


def _margins(water: Water, make: _Maker, rests: str) -> Iterator[Check]:
    """Check what settlement by each wall, and frost at the outer edge, leave of the fall."""
    for name, left in margins_of(water):
        rule = "settled-fall"
        limit = make.limits[rule]
        moved = f"{size(SETTLEMENT, make.unit)} of settlement at {name}"
        used = f"{size(left.used_up, make.unit)} would use all of it up"
        if rests:
            text = f"not held to settlement: {rests}. {moved} would leave {_left(left.settled)}"
            yield make.check(rule, "", "pass", left.settled, f"{text}; {used}", where=name)
        else:
            text = f"after {moved} the paving falls {_way(left.settled)}; {used}"
            status: Status = "pass" if left.settled >= limit - _ROUNDING else "warn"
            yield make.check(rule, "", status, left.settled, text, limit=limit, where=name)
        rule = "heaved-fall"
        limit = make.limits[rule]
        text = (
            f"after {size(HEAVE, make.unit)} of frost heave at the outer edge in front of {name} "
            f"the paving falls {_way(left.heaved)}"
        )
        status = "pass" if left.heaved >= limit - _ROUNDING else "warn"
        yield make.check(rule, "", status, left.heaved, text, limit=limit, where=name)


def _way(fall: float) -> str:
    """Say how much paving falls, and whether away from the house or back to it."""
    way = "away" if fall >= 0 else "BACK to the house"
    return f"{percent(abs(fall), 2)} {way}"


def _left(fall: float) -> str:
    return f"a fall of {_way(fall)}"


def _downspouts(water: Water, make: _Maker) -> Iterator[Check]:
    rule = "downspout-reach"
    limit = make.limits[rule]
    for spout in water.downspouts:
        text = f"{spout.name} runs to {spout.destination}"
        if spout.runoff is not None:
            text += f" with {flow(spout.runoff, make.unit)}"
        if spout.crosses:
            text += f", over {', '.join(spout.crosses)}"
        status: Status = "pass"
        if spout.from_house is not None:
            text += f"; it is let go {run(spout.from_house, make.unit)} from the house"
            if spout.from_house < limit - _ROUNDING:
                status = "warn"
        astray, words = _strays(spout.kind, water)
        if astray != "pass":
            text += f"; {words}" if astray == "unknown" else f"; it {words}"
            status = "warn" if status == "warn" else astray
        if spout.kind in (FOUNDATION, POOL):
            status = "fail"
        area = spout.crosses[0] if spout.crosses else ""
        yield make.check(rule, area, status, spout.from_house, text, limit=limit, where=spout.name)


def _grates(water: Water, make: _Maker) -> Iterator[Check]:
    """Check each drain in paving: its grate a little below the pavers, never above them."""
    rule = "drain-grate"
    least, greatest = make.limits.pair(rule)
    for place in water.destinations:
        if place.kind != "drain" or place.z is None:
            continue
        cells = water.relief.inside(place.reached(water.relief.spacing))
        paved = water.relief.z[cells & (water.relief.kind >= 0)]
        if not paved.size:
            continue
        # The grid's lowest cell beside the grate is within its slope over half a cell of it.
        below = float(paved.min()) - place.z
        held = least - _ROUNDING <= below <= greatest + _ROUNDING
        status: Status = "fail" if below < 0 else "pass" if held else "warn"
        way = "below" if below >= 0 else "above"
        text = f"the grate of {place.name} is {size(abs(below), make.unit)} {way} the paving"
        limit = greatest if below > greatest else least
        yield make.check(rule, "", status, below, text, limit=limit, where=place.name)


def _under(area: AreaWater, make: _Maker) -> Iterator[Check]:
    under = area.under
    if under is None:
        return
    surface = {"open": "subgrade", "panel": "top of the panels"}.get(under.base, "top of the base")
    if under.falls_away is not None:
        rule = "under-fall"
        limit, fall = make.limits[rule], under.falls_away
        text = (
            f"the {surface} under {area.name} falls {percent(fall, 2)} away from the foundation; "
            f"its low end is {make.at(under.low)}"
        )
        if under.from_house is not None:
            text += f"; {run(under.from_house, make.unit)} from the house"
        status: Status = "pass" if fall >= limit - _ROUNDING else "fail" if fall < 0 else "warn"
        yield make.check(rule, area.name, status, fall, text, limit=limit)
    if under.held is None:
        return
    rule = "stone-reservoir"
    depth, reach = under.held.depth, make.limits["foundation-reach"]
    near = under.from_house is not None and under.from_house <= reach
    text = (
        f"the stone under {area.name} holds {water_volume(under.held.volume, make.unit)}, "
        f"{size(depth, make.unit)} deep at its low end"
    )
    slow = False
    if under.hours is not None:
        slow = under.hours > drain_time().value
        text += (
            f", gone in {under.hours:.0f} h" if under.hours != float("inf") else ", with no way out"
        )
    elif depth > 0:
        text += "; how long it stands is not known without the soil's infiltration"
    status = "warn" if depth > make.limits[rule] + _ROUNDING and (near or slow) else "pass"
    if near and status == "warn":
        text += "; its low end is within reach of the foundation: give it a drain at the subgrade"
    yield make.check(rule, area.name, status, depth, text, limit=make.limits[rule])
