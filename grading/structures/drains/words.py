"""What is said of drains that are built or led: the parts that their sentences share."""

from __future__ import annotations

from grading.structures.drains.model import Capacity, Led, Well
from grading.units import Unit, area, percent, run, size
from grading.units.rates import flow, water_volume
from grading.water.runoff import void_ratio
from grading.worded import Said, Worded

TO_NOWHERE = "to no place yet: none that is named lies low enough"
"""After the length of a pipe that has no outlet."""

LOCAL = "Where its water may be led is for the local code to say: never into a sanitary sewer."
"""Whom to ask, of whatever leads water away."""

LOCATE = (
    "Its trench leaves the paving: have buried lines located along all of it before anybody digs."
)
"""Of a trench beyond the hole."""

FROST = (
    "Where the ground freezes, its stone lies below the frost, or its inlet is taken off for the "
    "winter."
)
"""Of a dry well."""

LOCATE_PIT = "It is a pit in the yard: have buried lines located round it before anybody digs."
"""Of a dry well."""


def way_words(led: Led) -> str:
    """Say where a pipe goes and how it falls, after its length."""
    if not led.reached:
        return TO_NOWHERE
    return f"to {led.outlet}, falling {percent(led.slope)}"


def led_words(led: Led, unit: Unit) -> str:
    """Say the same with the length of its way, of a pipe that comes out low enough."""
    return f"{run(led.length, unit)} {way_words(led)} down to the level there"


def unknown_words(led: Led, named: bool) -> str:
    """Say why it is not known whether a pipe comes out low enough.

    Parameters
    ----------
    led : Led
    named : bool
        Whether the site names any place that a pipe may be led to.
    """
    if led.outlet:
        return f"the ground at {led.outlet} was not surveyed"
    return (
        "no place that it may be led to has a level, or none can be reached past the house"
        if named
        else "the site names no place that it may be led to"
    )


def outlet_mend(led: Led, unit: Unit, named: bool = True) -> tuple[Said, ...]:
    """Say in which ways a drain is given an outlet."""
    if led.known:
        return (
            f"lead it to a place that lies {size(led.short, unit)} lower, or to one as low and "
            "nearer",
            "to a dry well where the soil takes the water in",
        )
    if led.outlet or named:
        return ("shoot spots there" + Worded(", or give its z in its [[outfall]]", ""),)
    where = Worded("add an [[outfall]] where it is", "settle where it is")
    return (
        where + " to come out: a swale, a street, a lower lawn, a drain that is there, or a dry "
        "well",
    )


def capacity_mend(part: str) -> str:
    """Say how a drain is made to take more, by the part of it that takes the least."""
    return {
        "grate": "make it longer, or set a second one",
        "channel": "make it wider, let its bottom fall, or lead it out at both ends",
    }.get(part, "give it a wider pipe, or a steeper one")


def well_words(well: Well, unit: Unit) -> str:
    """Say what a dry well holds, and what it is to hold."""
    voids = void_ratio().value
    return (
        f"it holds {water_volume(voids * well.stone, unit)} and is to hold "
        f"{water_volume(voids * well.needed, unit)}, the rain of {area(well.drained, unit)}"
    )


def takes_words(capacity: Capacity, unit: Unit) -> str:
    """Say what a drain takes, what of it governs, and what comes to it."""
    part, takes = capacity.governing
    others = ", ".join(
        f"{name} {flow(value, unit)}" for name, value in capacity.parts if name != part
    )
    words = f"it takes {flow(takes, unit)}, as its {part} does"
    words += f" ({others})" if others else ""
    if capacity.coming is None:
        return f"{words}; what comes to it is not known"
    return f"{words}; {flow(capacity.coming, unit)} comes to it in the storm"


def short_words(led: Led, unit: Unit) -> str:
    """Say by how much the place that a pipe is led to lies too high."""
    return (
        f"{led.outlet} lies {size(led.short, unit)} too high for a pipe that falls "
        f"{percent(led.least, 2)}"
    )
