"""What drains are held to: where their water comes out, what they take, how they lie."""

from __future__ import annotations

import math
from collections.abc import Iterator

from grading.checks.maker import Check, Maker, Status, maker_of
from grading.conditions.outlets import low_places
from grading.design.model import Design
from grading.geometry.tolerances import SOLVED, TOUCH
from grading.structures.built import drains
from grading.structures.drains.leading import DAYLIGHT
from grading.structures.drains.model import Capacity, Cover, Drain, Led, Well
from grading.structures.drains.underdrain import underdrains
from grading.structures.drains.words import (
    capacity_mend,
    led_words,
    outlet_mend,
    short_words,
    takes_words,
    unknown_words,
    well_words,
)
from grading.units import Unit, area, run, size, volume
from grading.units.rates import soak
from grading.water.hydraulics.dry_well import figures
from grading.worded import Said, Worded, in_plan


def drain_checks(plan: Design) -> tuple[Check, ...]:
    """Return every check of the drains of a plan, on the bases chosen.

    Parameters
    ----------
    plan : Design
    """
    every = maker_of(plan)
    checks: list[Check] = []
    for paving in plan.areas:
        make = every.of(paving.name)
        for drain in drains(plan, paving, paving.chosen_dig, plan.crew):
            if not isinstance(drain, Drain):
                continue
            if drain.led is not None:
                checks.append(_outlet(plan, drain, drain.led, make))
            if drain.capacity is not None:
                checks.append(_capacity(drain, drain.capacity, make))
            if drain.cover is not None:
                checks.append(_cover(drain, drain.cover, make))
            if drain.well is not None:
                checks += _well(drain.name, drain.well, make)
    return tuple(checks)


def underdrained(plan: Design) -> frozenset[str]:
    """Return the names of the areas whose underdrain comes out low enough, on the bases chosen."""
    return frozenset(
        paving.name
        for paving in plan.areas
        for drain in underdrains(plan, paving, paving.chosen_dig, plan.crew)
        if drain.led is not None and drain.led.reached
    )


def _outlet(plan: Design, drain: Drain, led: Led, make: Maker) -> Check:
    """Check where a pipe comes out: what was not found to lie low enough does not pass."""
    unit = make.unit
    status: Status = "unknown"
    value: float | None = None
    mend: tuple[Said, ...] = ()
    named = any(place.name != drain.name for place in low_places(plan, drain.area))
    if led.reached:
        status, value = "pass", led.slope
        text = f"the pipe of {drain.called} goes {led_words(led, unit)}"
    elif led.known:
        status, value = "fail", led.slope
        text = f"{drain.called} has no outlet: {short_words(led, unit)}"
        mend = outlet_mend(led, unit)
    else:
        text = f"where the water of {drain.called} comes out is not known: "
        text += unknown_words(led, named)
        mend = outlet_mend(led, unit, named)
    return make.check("drain-outlet", status, value, text, limit=led.least, unit="ratio",
                      where=drain.name, mend=mend)  # fmt: skip


def _capacity(drain: Drain, capacity: Capacity, make: Maker) -> Check:
    part, takes = capacity.governing
    status: Status = "unknown"
    mend: Said = Worded(
        "give the storm's intensity, in [storm]",
        "ask how hard it rains there, and have it counted before you dig",
        "give how hard it rains there",
    )
    if capacity.coming is not None:
        status = "pass" if takes >= capacity.coming else "warn"
        mend = "" if status == "pass" else capacity_mend(part)
    text = f"{drain.called}: {takes_words(capacity, make.unit)}"
    return make.check("drain-capacity", status, None, text, unit="", where=drain.name, mend=mend)


def _cover(drain: Drain, cover: Cover, make: Maker) -> Check:
    rule, unit = "pipe-cover", make.unit
    least = size(make.limits[rule], unit)
    fine = cover.shallow <= DAYLIGHT + SOLVED
    if fine:
        text = f"the pipe of {drain.called} has {least} of soil over it or more under lawn"
        text += f", but for its last {run(cover.shallow, unit)}" if cover.shallow else ""
    else:
        text = (
            f"the pipe of {drain.called} has less than {least} of soil over it within the last "
            f"{run(cover.shallow, unit)}"
        )
    mend = "lead it to a lower place, or sleeve it there"
    return make.judged(rule, fine, "warn", cover.least, text, where=drain.name, mend=mend)


def _well(name: str, well: Well, make: Maker) -> Iterator[Check]:
    unit = make.unit
    if well.from_house is not None:
        rule = "dry-well-distance"
        text = f"{name} lies {run(well.from_house, unit)} from the house"
        fine = make.reaches(rule, well.from_house)
        mend = f"move it {run(make.limits[rule], unit)} from the house at the least"
        yield make.judged(rule, fine, "fail", well.from_house, text, where=name, mend=mend)
    yield _well_size(name, well, make)
    yield _well_soil(name, well, make)


def _well_size(name: str, well: Well, make: Maker) -> Check:
    unit, most = make.unit, figures()["dry-well-takes"].value
    text = f"{name}: {well_words(well, unit)}"
    mend = ""
    if well.drained <= 0:
        return make.check("dry-well-size", "unknown", None, f"{text}; nothing is led to it that "
                          "the site names", unit="", where=name,
                          mend=in_plan("end the `to` of a downspout in it, or name it as the "
                                       "`outlet` of a drain",
                                       "end a downspout in it, or a drain"))  # fmt: skip
    if well.short > TOUCH:
        mend = f"give it {volume(well.short, unit)} more of stone"
    elif well.drained > most:
        mend = f"make two of it, for one holds the rain of {area(most, unit)} at the most"
    status: Status = "warn" if mend else "pass"
    return make.check("dry-well-size", status, None, text, unit="", where=name, mend=mend)


def _well_soil(name: str, well: Well, make: Maker) -> Check:
    status, text, mend = _soil_of(name, well, make.unit)
    return make.check("dry-well-soil", status, None, text, unit="", where=name, mend=mend)


def _soil_of(name: str, well: Well, unit: Unit) -> tuple[Status, Said, Said]:
    """Judge the soil of a dry well: clay and a soil not known do not pass."""
    known = figures()
    test = "make a soak test at its depth" + Worded(" and write it as `soak_test`", "")
    test += ", or lead the water to daylight"
    if well.clay and not well.tested:
        return "fail", f"{name} lies in clay, and no soak test shows that it takes water in", test
    if well.soak is None or well.hours is None:
        return "unknown", f"how fast the soil of {name} takes water in is not known", test
    least, most = known["dry-well-soak"].value, known["dry-well-time"].value
    how = Worded("by the infiltration in [storm]", "by how fast it is said to take water in")
    text: Said = f"the soil of {name} takes in {soak(well.soak, unit)} "
    text += "by its soak test" if well.tested else how
    if well.soak < least:
        return "fail", text + f", less than {soak(least, unit)}", "lead the water to daylight"
    if math.isfinite(well.hours):
        text += f"; a full one is empty in {well.hours:.0f} h"
    if well.hours > most:
        mend = f"make it longer and less deep, so that it is empty in {most:.0f} h"
        return "fail", text, f"{mend}, or lead the water to daylight"
    if not well.tested:
        return "unknown", text + ", which nobody tested at its depth", test
    return "pass", text, ""
