"""The underdrain of clean stone by a house: perforated along its low side, solid from there."""

from __future__ import annotations

from collections.abc import Iterator

from grading.conditions.underdrain import underdrain_of
from grading.crew.model import Crew
from grading.design.area import AreaPlan
from grading.design.model import Design
from grading.dig.hole import Dig
from grading.geometry.arrays import distances_along
from grading.structures.drains.leading import Yard
from grading.structures.drains.model import Capacity, Drain, PipeRun
from grading.structures.drains.paved import with_pipe
from grading.structures.drains.pieces import Parts, wrapped
from grading.structures.drains.trench import trench_of
from grading.structures.model import Dug
from grading.units import run, size
from grading.water.hydraulics.pipe import pipe_flow
from grading.water.runoff import roughnesses
from grading.water.site import water_of_design


def underdrains(plan: Design, area: AreaPlan, dig: Dig, crew: Crew) -> Iterator[Drain]:
    """Yield the underdrain that the stone of an area asks for, where it does.

    Parameters
    ----------
    plan : Design
    area : AreaPlan
    dig : Dig
        Of this area.
    crew : Crew

    Notes
    -----
    Its lower end lies at the lowest subgrade along the low side, and it rises from there at the
    least slope of a pipe: above its upper end water runs along the subgrade, in the stone.
    """
    asked = underdrain_of(plan, area, dig)
    if asked is None:
        return
    unit, yard = plan.site.unit, Yard(plan, area, dig, in_stone=True)
    bore, side = crew["underdrain-pipe"], crew["underdrain-trench"]
    slope, name = plan.limits["drain-slope"], f"underdrain of {area.name}"
    lines = [asked.line, asked.line[::-1]] if asked.level else [asked.line]
    led, line = yard.led_from_either(lines, None, asked.invert, bore)
    far = distances_along(line)
    along = PipeRun("perforated pipe", line, asked.invert + slope * (far[-1] - far), bore)
    under = trench_of(yard, along, side, crew["pipe-bed"])
    fabric = wrapped(side, crew["geotextile-overlap"], asked.along)
    made = Parts(
        name, perforated=asked.along, diameter=bore, along="along the low side of the stone",
        stone=under.stone, fabric=fabric,
        stone_how=(
            f"below the subgrade under the pipe, and round it where the base is not; the base's "
            f"own stone is the rest of the {size(side, unit)} round it"
        ),
        fabric_how=(
            f"{run(asked.along, unit)} of {size(side, unit)} x {size(side, unit)} of stone "
            f"wrapped, lapped {size(crew['geotextile-overlap'], unit)}"
        ),
    )  # fmt: skip
    takes = pipe_flow(bore, slope, roughnesses()["perforated"].value)
    said = (
        f"Underdrain of {area.name}: {run(asked.along, unit)} of {size(bore, unit)} perforated "
        "pipe, its holes down, along the low side of the stone at the subgrade"
    )
    drain = Drain(
        kind="underdrain", name=name, area=area.name, solids=along.solids("pipe", bore),
        dug=Dug(bank=under.dug.bank), said=said, runs=(along,),
        plain=f"A pipe in the stone under {area.name} lets its water out",
    )  # fmt: skip
    capacity = Capacity((("perforated pipe", takes),), _soaking(plan, area))
    ends = ("", "; where to is still to be found.")
    yield with_pipe(yard, crew, drain, made, capacity, led, asked.invert, bore, "solid pipe", ends)


def _soaking(plan: Design, area: AreaPlan) -> float | None:
    """Return what comes through the joints of an area in the storm at the most. [m3/s]"""
    storm = plan.site.storm
    if storm is None:
        return None
    joints = water_of_design(plan).of(area).joints
    through = 1.0 if joints is None else joints.soaks
    return through * storm.intensity * float(area.outline.area)
