"""The extension of a downspout: a pipe under lawn and paving to where it comes out."""

from __future__ import annotations

import math
from collections.abc import Iterator

import numpy as np
import shapely

from grading.conditions.outlets import well_top
from grading.crew.model import Crew
from grading.design.area import AreaPlan
from grading.design.model import Design
from grading.dig.hole import Dig
from grading.site.water_tables import Downspout, Outfall
from grading.structures.drains.leading import Yard, run_of
from grading.structures.drains.model import Capacity, Drain
from grading.structures.drains.pieces import Parts
from grading.structures.drains.trench import trench_of, turns_of
from grading.structures.drains.words import (
    LOCAL,
    LOCATE,
    short_words,
    takes_words,
    unknown_words,
    way_words,
)
from grading.units import percent, run, size
from grading.water.destinations import PLACE_REACH
from grading.water.hydraulics.pipe import pipe_flow
from grading.water.runoff import coefficients, rational_flow, roughnesses

_CLEANED = math.radians(45)  # a turn of more than this has a cleanout; common practice, no source


def extensions(plan: Design, area: AreaPlan, dig: Dig, crew: Crew) -> Iterator[Drain]:
    """Yield the extensions of the downspouts that are built with an area.

    Parameters
    ----------
    plan : Design
    area : AreaPlan
    dig : Dig
        Of this area.
    crew : Crew
    """
    yard = Yard(plan, area, dig)
    for spout in plan.site.downspouts:
        if spout.to is not None and not spout.existing and nearest(plan, spout.at) == area.name:
            yield _extension(plan, yard, spout, spout.to, crew)


def nearest(plan: Design, at: np.ndarray) -> str:
    """Return the name of the area that a point (2,) is nearest to."""
    return min(plan.areas, key=lambda area: float(area.outline.distance(shapely.Point(at)))).name


def well_at(plan: Design, at: np.ndarray) -> Outfall | None:
    """Return the dry well that a pipe ends in at a point (2,); None where there is none."""
    here = shapely.Point(at)
    for each in plan.site.outfalls:
        if each.kind == "dry well" and shapely.distance(each.geometry, here) <= PLACE_REACH:
            return each
    return None


def _extension(plan: Design, yard: Yard, spout: Downspout, to: np.ndarray, crew: Crew) -> Drain:
    unit, storm = plan.site.unit, plan.site.storm
    bore = spout.pipe or crew["downspout-pipe"]
    ends = np.array([spout.at, to], dtype=float)
    top, paved = yard.tops(ends)
    most = float(top[0]) - bore
    well = well_at(plan, to)
    # Ground that was not surveyed is not known to be low.
    here = float(plan.ground.elevation(ends[1:])[0]) if not paved[1] else float(top[1])
    z = here if well is None else well_top(plan, well)
    name = "its outlet" if well is None else well.name
    led = yard.to(spout.at, spout.via, to, most, bore, z, name, "" if well is None else "dry well")
    pipe = run_of(led, most, bore)
    trench = trench_of(yard, pipe, crew["trench-width"], crew["pipe-bed"])
    comes = None
    if storm is not None:
        comes = rational_flow(coefficients()["roof"].value, storm.intensity, spout.roof)
    takes = pipe_flow(bore, max(led.fall, 0.0), roughnesses()["pipe"].value)
    capacity = Capacity((("pipe", takes),), comes)
    turns = turns_of(pipe.line)
    pop_up = int(well is None)
    stone = trench.stone + pop_up * crew["pop-up-stone"]
    made = Parts(
        spout.name, solid=pipe.length, diameter=bore,
        way=way_words(led) if led.reached else "that comes out below the ground",
        adapters=1, bends=1 + len(turns), pop_ups=pop_up,
        cleanouts=1 + sum(angle > _CLEANED for angle in turns), stone=stone, sod=trench.lawn,
        stone_how="the bed of its pipe, and its trench under paving"
        if well is not None
        else "the bed of its pipe, its trench under paving, and under its pop-up",
    )  # fmt: skip
    where = "to its pop-up" if well is None else f"into {well.name}"
    said = (
        f"{spout.name}: {run(pipe.length, unit)} of {size(bore, unit)} pipe from its adapter "
        f"{where}, "
    )
    said += (
        f"falling {percent(led.slope)}"
        if led.reached
        else f"which has no outlet: {short_words(led, unit)}"
        if led.known
        else f"whose outlet is not known to lie low enough: {unknown_words(led, named=True)}"
    )
    said += f"; {takes_words(capacity, unit)}."
    return Drain(
        kind="downspout extension", name=f"extension of {spout.name}", area=yard.area.name,
        solids=pipe.solids("pipe", bore), makers=(made.maker(unit),),
        works=made.works(crew), dug=trench.dug, said=said,
        plain=f"A buried pipe takes the roof's water from {spout.name} away from the house"
        + (f" to {led.outlet}." if led.reached and well is not None else
           "." if led.reached else "; where it comes out is still to be settled."),
        cautions=(LOCATE, LOCAL) if trench.lawn else (LOCAL,), runs=(pipe,), led=led,
        capacity=capacity, cover=trench.cover,
    )  # fmt: skip
