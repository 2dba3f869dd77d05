"""The underdrain of clean stone by a house: perforated along its low side, solid from there."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from grading.conditions.underdrain import underdrain_of
from grading.crew.model import Crew
from grading.design.area import AreaPlan
from grading.design.model import Design
from grading.dig.hole import Dig
from grading.structures.drains.leading import Yard, run_of
from grading.structures.drains.model import Capacity, Drain, PipeRun
from grading.structures.drains.pieces import Parts, wrapped
from grading.structures.drains.trench import NONE, trench_of, turns_of
from grading.structures.drains.words import LOCAL, LOCATE, takes_words, way_words
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
    ways = [(yard.led(line[-1], None, asked.invert, bore), line) for line in lines]
    led, line = min(
        ways,
        key=lambda one: (not one[0].reached, one[0].length if one[0].reached else one[0].short),
    )
    along = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(line, axis=0).T))])
    drain = PipeRun("perforated pipe", line, asked.invert + slope * (along[-1] - along), bore)
    bed = crew["pipe-bed"]
    under = trench_of(yard, drain, side, bed)
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
    runs: tuple[PipeRun, ...] = (drain,)
    bodies = drain.solids("pipe", bore)
    trench = NONE
    parts = [("perforated pipe", pipe_flow(bore, slope, roughnesses()["perforated"].value))]
    said = (
        f"Underdrain of {area.name}: {run(asked.along, unit)} of {size(bore, unit)} perforated "
        "pipe, its holes down, along the low side of the stone at the subgrade"
    )
    not_counted: tuple[str, ...] = ()
    cautions: tuple[str, ...] = (LOCAL,)
    if led.reached:
        pipe = run_of(led, asked.invert, bore)
        trench = trench_of(yard, pipe, crew["trench-width"], bed)
        parts.append(("outlet pipe", pipe_flow(bore, led.slope, roughnesses()["pipe"].value)))
        runs, bodies = (*runs, pipe), (*bodies, *pipe.solids("pipe", bore))
        made = made._replace(
            solid=pipe.length, way=way_words(led), bends=1 + len(turns_of(pipe.line)),
            cleanouts=1, screens=int(led.kind != "dry well"), sod=trench.lawn,
            stone=under.stone + trench.stone,
        )  # fmt: skip
        cautions = (LOCATE, *cautions) if trench.lawn else cautions
        said += f"; {run(pipe.length, unit)} of solid pipe {way_words(led)}"
    else:
        said += f"; its pipe leads {way_words(led)}"
        not_counted = (f"the pipe of the {name}, which leads {way_words(led)}",)
    capacity = Capacity(tuple(parts), _soaking(plan, area))
    plain = f"A pipe in the stone under {area.name} lets its water out"
    plain += f" to {led.outlet}." if led.reached else "; where to is still to be found."
    yield Drain(
        kind="underdrain", name=name, area=area.name, solids=bodies, makers=(made.maker(unit),),
        works=made.works(crew),
        dug=Dug(under.dug.bank + trench.dug.bank, trench.dug.topsoil, trench.dug.put_back),
        said=f"{said}; {takes_words(capacity, unit)}.", plain=plain, cautions=cautions,
        not_counted=not_counted, runs=runs, led=led, capacity=capacity, cover=trench.cover,
    )  # fmt: skip


def _soaking(plan: Design, area: AreaPlan) -> float | None:
    """Return what comes through the joints of an area in the storm at the most. [m3/s]"""
    storm = plan.site.storm
    if storm is None:
        return None
    joints = water_of_design(plan).of(area).joints
    through = 1.0 if joints is None else joints.soaks
    return through * storm.intensity * float(area.outline.area)
