"""A dry well: stone in the ground that holds the rain of a roof until the soil has taken it in."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
import shapely

from grading.conditions.outlets import WELL_COVER, built_at, well_top
from grading.crew.model import Crew
from grading.design.area import AreaPlan
from grading.design.model import Design
from grading.dig.hole import Dig
from grading.geometry.arrays import Floats, polygons
from grading.geometry.tolerances import THREAD, TOUCH
from grading.site.water_tables import Outfall
from grading.structures.drains.downspout import nearest, well_at
from grading.structures.drains.leading import Yard
from grading.structures.drains.model import Drain, Well
from grading.structures.drains.pieces import Parts
from grading.structures.drains.words import FROST, LOCAL, LOCATE_PIT, well_words
from grading.structures.model import Dug, Solid
from grading.units import MINUTE, Unit, run, size, volume
from grading.units.rates import water_volume
from grading.water.hydraulics.dry_well import hours_to_empty, soak_rate, stone_for
from grading.water.runoff import coefficients, void_ratio
from grading.water.site import water_of_design


def dry_wells(plan: Design, paving: AreaPlan, dig: Dig, crew: Crew) -> Iterator[Drain]:
    """Yield the dry wells that are built with an area.

    Parameters
    ----------
    plan : Design
    paving : AreaPlan
    dig : Dig
        Of this area.
    crew : Crew
    """
    yard = Yard(plan, paving, dig)
    for outfall in plan.site.outfalls:
        if outfall.kind == "dry well" and not outfall.existing:
            middle = shapely.get_coordinates(shapely.centroid(outfall.geometry))[0]
            if nearest(plan, middle) == paving.name:
                yield _well(plan, yard, outfall, middle, crew)


def drained(plan: Design, outfall: Outfall) -> float:
    """Return the roof and paving whose rain a dry well holds, a roof in full. [m2]

    Parameters
    ----------
    plan : Design
    outfall : Outfall

    Notes
    -----
    What runs into it over the ground, what downspouts lead into it, and what comes to the drains
    whose pipes go there.
    """
    water = water_of_design(plan)
    roofs = [
        spout.roof
        for spout in plan.site.downspouts
        if spout.to is not None and _into(plan, spout.to, outfall)
    ]
    # The water that starts at a roof is its whole area by the share that runs off: not twice.
    runs_in = water.arriving.get(outfall.name, 0.0)
    at_it = [
        spout.roof
        for spout, way in zip(plan.site.downspouts, water.downspouts, strict=True)
        if way.destination == outfall.name
    ]
    over = max(runs_in - coefficients()["roof"].value * sum(at_it), 0.0)
    piped = sum(
        water.arriving.get(drain.name, 0.0)
        for drain in plan.site.outfalls
        if drain.outlet == outfall.name and built_at(plan, drain) is not None
    )
    alone = sum(roofs) if not at_it else max(sum(at_it), sum(roofs))
    return over + piped + alone


def _into(plan: Design, to: Floats, outfall: Outfall) -> bool:
    well = well_at(plan, to)
    return well is not None and well.name == outfall.name


def _well(plan: Design, yard: Yard, outfall: Outfall, middle: Floats, crew: Crew) -> Drain:
    unit, site = plan.site.unit, plan.site
    holds = drained(plan, outfall)
    voids = void_ratio().value
    needed = stone_for(holds, plan.limits["dry-well-storm"], voids)
    deep = outfall.depth or crew["dry-well-depth"]
    if outfall.closed:
        shape: shapely.Geometry = outfall.geometry
        box = shapely.get_coordinates(shapely.oriented_envelope(shape))
        length, width = sorted(np.hypot(*np.diff(box[:3], axis=0).T).tolist(), reverse=True)
    else:
        length = width = max(needed / deep, THREAD) ** 0.5
        shape = shapely.box(*(middle - length / 2), *(middle + length / 2))
    plan_area, around = float(shapely.area(shape)), float(shapely.length(shape))
    stone = plan_area * deep
    test = outfall.soak_test
    soak = None
    if test is not None:
        soak = soak_rate(test.pit, test.minutes * MINUTE)
    elif site.storm is not None:
        soak = site.storm.infiltration
    held = min(stone, needed) * voids
    well = Well(
        drained=holds, needed=needed, stone=stone, sides=(length, width, deep), soak=soak,
        tested=test is not None,
        hours=None if soak is None else hours_to_empty(length, width, deep, held, soak),
        from_house=None if site.house is None else float(
            shapely.distance(shape, site.house.polygon(WELL_COVER))
        ),
        clay=site.ground.soil == "clay",
    )  # fmt: skip
    said, plain = _words(outfall, well, unit)
    waits: tuple[str, str, str] | None = None
    if well.clay and not well.tested:
        waits = (
            "clay takes no water in until a soak test shows that it does",
            "a test of the soil",
            "which waits for a soak test in clay",
        )
    elif not np.isfinite(plan.ground.elevation(middle[None])[0]):
        waits = (
            "the ground over it was not surveyed",
            "a survey of the ground over it",
            "whose ground was not surveyed",
        )
    if waits is not None:
        return Drain(
            kind="dry well", name=outfall.name, area=yard.area.name, cautions=(LOCAL,), well=well,
            said=f"{outfall.name} is not counted: {waits[0]}.",
            plain=f"{outfall.name} waits for {waits[1]}.",
            not_counted=(f"{outfall.name}, {waits[2]}",),
        )  # fmt: skip
    top = well_top(plan, outfall)
    grounds, paved = yard.tops(middle[None])
    over = max(float(grounds[0]) - top, 0.0)
    topsoil = 0.0 if paved[0] else plan_area * min(float(yard.organics(middle[None])[0]), over)
    lap = crew["geotextile-overlap"]
    made = Parts(
        outfall.name, solid=deep + over, diameter=crew["downspout-pipe"],
        way="upright, as its inspection riser", cleanouts=1, pop_ups=1, adapters=0,
        stone=stone, stone_how=f"{run(length, unit)} x {run(width, unit)} x {run(deep, unit)}",
        fabric=2 * plan_area + around * deep + around * lap,
        fabric_how=f"its six faces, lapped {size(lap, unit)}",
        sod=0.0 if paved[0] else plan_area,
    )  # fmt: skip
    return Drain(
        kind="dry well", name=outfall.name, area=yard.area.name,
        solids=(Solid("open-graded", polygons(shape).geoms[0], top - deep, top),),
        makers=(made.maker(unit),), works=made.works(crew),
        dug=Dug(plan_area * (deep + over), topsoil, max(plan_area * over - topsoil, 0.0)),
        said=said, plain=plain, cautions=(LOCATE_PIT, FROST, LOCAL), well=well,
    )  # fmt: skip


def _words(outfall: Outfall, well: Well, unit: Unit) -> tuple[str, str]:
    length, width, deep = well.sides
    said = (
        f"{outfall.name}: {volume(well.stone, unit)} of clean stone, {run(length, unit)} x "
        f"{run(width, unit)} x {run(deep, unit)}, wrapped in fabric, with an inspection riser and "
        f"an overflow; {well_words(well, unit)}"
    )
    if well.hours is not None and np.isfinite(well.hours):
        said += f", gone in {well.hours:.0f} h"
    return f"{said}.", _plain_words(outfall.name, well, unit)


def _plain_words(name: str, well: Well, unit: Unit) -> str:
    pit = f"A pit of stone in the ground ({name}) holds"
    if well.short <= TOUCH:
        return f"{pit} the rain that is led to it until the soil has taken it in."
    voids = void_ratio().value
    holds, comes = (water_volume(voids * each, unit) for each in (well.stone, well.needed))
    return (
        f"{pit} {holds} of the {comes} that one heavy rain brings to it, until the soil has taken "
        "them in; what is more runs over."
    )
