"""Drains in the paving: a channel along a line, a basin at a point, the pipe that leaves them."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from functools import partial

import numpy as np
import shapely
from msgspec.structs import replace

from grading.conditions.outlets import built_at, points_of
from grading.crew.model import Crew
from grading.design.area import AreaPlan
from grading.design.model import Design
from grading.design.underfoot import between
from grading.dig.hole import Dig
from grading.geometry.arrays import Floats, distances_along
from grading.site.water_tables import AT_PAVING, Outfall
from grading.structures.drains.leading import Yard, run_of
from grading.structures.drains.model import Capacity, Drain, Led, PipeRun
from grading.structures.drains.pieces import Parts
from grading.structures.drains.sized import (
    basin_width,
    channel_takes,
    channel_width,
    coming,
    roughness,
    sold,
)
from grading.structures.drains.trench import NONE, trench_of, turns_of
from grading.structures.drains.words import LOCAL, LOCATE, takes_words, way_words
from grading.structures.model import Dug, Solid
from grading.units import percent, run, size
from grading.water.hydraulics.dry_well import figures
from grading.water.hydraulics.grate import grate_flow
from grading.water.hydraulics.pipe import PIPE_SIZES, pipe_flow, pipe_for


def paved_drains(plan: Design, area: AreaPlan, dig: Dig, crew: Crew) -> Iterator[Drain]:
    """Yield the drains that are built in or beside the paving of an area.

    Parameters
    ----------
    plan : Design
    area : AreaPlan
    dig : Dig
        Of this area.
    crew : Crew
    """
    yard = Yard(plan, area, dig)
    for outfall in plan.site.outfalls:
        if built_at(plan, outfall) == area.name:
            make = _basin if len(outfall.at) == 1 else _channel
            yield make(plan, yard, outfall, crew)


def grate_level(plan: Design, area: AreaPlan, outfall: Outfall) -> float:
    """Return the level of a drain's grate: as given, or a little below what lies round it. [m]"""
    if outfall.z is not None:
        return outfall.z
    if float(area.outline.distance(outfall.geometry)) > AT_PAVING:
        around = plan.ground.elevation(points_of(outfall))
    else:
        around = area.finish.surface.at(points_of(outfall))
    return float(around.min()) - float(np.mean(plan.limits.pair("drain-grate")))


def _channel(plan: Design, yard: Yard, outfall: Outfall, crew: Crew) -> Drain:
    unit, area = plan.site.unit, yard.area
    line = np.array(outfall.at, dtype=float)
    long = float(shapely.LineString(line).length)
    deep, fall = crew["channel-depth"], outfall.fall or 0.0
    grate = grate_level(plan, area, outfall)
    bottom = grate - crew["channel-grate"] - deep
    most = bottom - fall * long
    comes = coming(plan, outfall)
    width = channel_width(plan, outfall, crew)
    least = _pipe_of(plan, outfall, plan.limits["drain-slope"], comes)
    # Water leaves it at the end from which the shorter way goes down to an outlet.
    led, line = yard.led_from_either(
        (line, line[::-1]), outfall.via, most, least, outlet=outfall.outlet, own=outfall.name
    )
    channel = PipeRun("channel", line, bottom - fall * distances_along(line), width)
    clear, open_ = figures()["grate-clear"].value, figures()["grate-open"].value
    parts = (
        ("grate", grate_flow(long, width * long * open_, figures()["grate-water"].value, clear)),
        ("channel", channel_takes(width, deep, fall, long)),
    )
    wall, bed = crew["channel-wall"], crew["channel-bed"]
    body, tall = width + 2 * wall, deep + crew["channel-grate"]
    outer = body + 2 * bed
    thick = next((layer.thickness for layer in yard.dig.system.layers), 0.0)
    # Under it, and beside it up to the underside of the pavers.
    haunch = outer * bed + 2 * bed * max(wall + tall + fall * long / 2 - thick, 0.0)
    trench = trench_of(yard, channel, outer, bed + wall, filled=outer * tall)
    level = "level" if not fall else f"its bottom falling {percent(fall)}"
    said = (
        f"{outfall.name}: {run(long, unit)} of channel, {size(width, unit)} wide inside, {level}, "
        f"{size(grate - bottom, unit)} from grate to bottom"
    )
    footing = channel.solids("concrete", outer, below=wall + bed, above=-wall)
    made = Parts(
        outfall.name, channel=long, width=width, ends=2, concrete=haunch * long,
        under=_stone_below(yard, footing), under_of=yard.dig.stone,
        stone_how="the bed of its pipe, and its trench under paving",
    )  # fmt: skip
    under = grate - crew["channel-grate"]
    bodies = (
        *footing,
        *channel.solids("concrete", outer, grate - thick, below=wall, without=body),
        *channel.solids("channel", body, under, below=wall),
        *(Solid("grate", each.footprint, under, grate) for each in channel.solids("grate", width)),
    )
    drain = Drain(
        kind="channel drain", name=outfall.name, area=area.name, solids=bodies, dug=trench.dug,
        said=said, plain=f"A drain in the paving ({outfall.name})", runs=(channel,),
    )  # fmt: skip
    return _in_paving(yard, outfall, crew, drain, made, Capacity(parts, comes), led, most)


def _basin(plan: Design, yard: Yard, outfall: Outfall, crew: Crew) -> Drain:
    unit, area = plan.site.unit, yard.area
    at = np.array(outfall.at[0], dtype=float)
    side, wall, bed = basin_width(outfall, crew), crew["channel-wall"], crew["channel-bed"]
    grate, tall = grate_level(plan, area, outfall), crew["basin-depth"]
    comes = coming(plan, outfall)
    least = _pipe_of(plan, outfall, plan.limits["drain-slope"], comes)
    most = grate - crew["basin-outlet"] - least
    led = yard.led(at, outfall.via, most, least, outlet=outfall.outlet, own=outfall.name)
    clear, open_ = figures()["grate-clear"].value, figures()["grate-open"].value
    water = figures()["grate-water"].value
    parts = (("grate", grate_flow(4 * side, side**2 * open_, water, clear)),)
    body, outer = side + 2 * wall, side + 2 * wall + 2 * bed
    top, _ = yard.tops(at[None])
    dug = outer**2 * max(float(top[0]) - (grate - tall - bed), 0.0)
    square = shapely.box(*(at - body / 2), *(at + body / 2))
    concrete = outer**2 * bed + (outer**2 - body**2) * bed  # a foot, and a collar as high
    foot = shapely.box(*(at - outer / 2), *(at + outer / 2))
    floor, under = grate - tall, grate - crew["channel-grate"]
    bodies = (
        Solid("concrete", foot, floor - bed, floor),
        Solid("concrete", shapely.Polygon(foot.exterior, [square.exterior]), floor, floor + bed),
        Solid("channel", square, floor, under),
        Solid("grate", shapely.box(*(at - side / 2), *(at + side / 2)), under, grate),
    )
    said = (
        f"{outfall.name}: a basin {size(side, unit)} wide under its grate, {size(tall, unit)} deep"
    )
    made = Parts(
        outfall.name, basins=1, concrete=concrete,
        stone_how="the bed of its pipe, and its trench under paving",
    )  # fmt: skip
    drain = Drain(
        kind="drain basin", name=outfall.name, area=area.name, solids=bodies, dug=Dug(bank=dug),
        said=said, plain=f"A drain in the paving ({outfall.name})",
    )  # fmt: skip
    return _in_paving(yard, outfall, crew, drain, made, Capacity(parts, comes), led, most)


def with_pipe(
    yard: Yard, crew: Crew, drain: Drain, made: Parts, takes: Capacity, led: Led, most: float,
    bore: float, pipe_called: str, ends: tuple[str, str],
) -> Drain:  # fmt: skip
    """Return a drain with the pipe that leaves it, where that comes out low enough.

    Parameters
    ----------
    yard : Yard
    crew : Crew
    drain : Drain
        As far as its pipe: its sentences are without their ends.
    made : Parts
        Of it without the pipe.
    takes : Capacity
        Of it without the pipe.
    led : Led
        Where the pipe is led to.
    most : float
        How high the pipe may begin. [m]
    bore : float
        Its diameter. [m]
    pipe_called : str
    ends : (str, str)
        How the sentence for who pays ends before the place that it is led to, and without one.
    """
    unit, way = yard.plan.site.unit, way_words(led)
    pipe, trench, parts = run_of(led, most, bore), NONE, takes.parts
    runs, solids = drain.runs, drain.solids
    cautions: tuple[str, ...] = (LOCAL,)
    said, plain = f"{drain.said}; its pipe leads {way}", drain.plain + ends[1]
    not_counted: tuple[str, ...] = (f"the pipe of {drain.called}, which leads {way}",)
    if led.reached:
        trench = trench_of(yard, pipe, crew["trench-width"], crew["pipe-bed"])
        parts = (*parts, ("outlet pipe", pipe_flow(bore, led.slope, roughness("pipe"))))
        runs, solids = (*runs, pipe), (*solids, *pipe.solids("pipe", bore))
        cautions = (LOCATE, *cautions) if trench.lawn else cautions
        made = made._replace(
            solid=pipe.length, diameter=bore, way=way, stone=made.stone + trench.stone,
            bends=1 + len(turns_of(pipe.line)), cleanouts=1, sod=trench.lawn,
            screens=int(led.kind != "dry well"),
        )  # fmt: skip
        said = f"{drain.said}; {run(pipe.length, unit)} of {pipe_called} {way}"
        plain = f"{drain.plain}{ends[0]} to {led.outlet}."
        not_counted = ()
    capacity, dug = Capacity(parts, takes.coming), drain.dug
    return replace(
        drain, solids=solids, makers=(made.maker(unit),), works=made.works(crew),
        dug=Dug(dug.bank + trench.dug.bank, dug.topsoil + trench.dug.topsoil,
                trench.dug.put_back),
        said=f"{said}; {takes_words(capacity, unit)}.", plain=plain, cautions=cautions,
        not_counted=not_counted, runs=runs, led=led, capacity=capacity, cover=trench.cover,
    )  # fmt: skip


def _in_paving(
    yard: Yard, outfall: Outfall, crew: Crew, drain: Drain, made: Parts, takes: Capacity, led: Led,
    most: float,
) -> Drain:  # fmt: skip
    bore = _pipe_of(yard.plan, outfall, led.fall, takes.coming)
    ends = (" takes the water", " has no place yet to go to.")
    called = f"{size(bore, yard.plan.site.unit)} pipe"
    return with_pipe(yard, crew, drain, made, takes, led, most, bore, called, ends)


def _stone_below(yard: Yard, footing: Iterable[Solid]) -> float:
    """Return the stone of the base that is left under the concrete of a channel, compacted. [m3]

    Nothing of the base is counted where the concrete lies; where it does not go down to the bottom
    of the hole, what is below it is.
    """
    return sum(
        (
            between(
                shapely.intersection(each.footprint, yard.dig.polygon),
                yard.dig.formation.at,
                partial(_underside, each),
            )
            for each in footing
        ),
        0.0,
    )


def _underside(body: Solid, xy: Floats) -> Floats:
    return body.between(xy)[0]


def _pipe_of(plan: Design, outfall: Outfall, slope: float, comes: float | None) -> float:
    """Return the diameter of a pipe: as given, or the least that takes what comes. [m]"""
    return outfall.pipe or pipe_for(comes or 0.0, slope, roughness("pipe"), sold(PIPE_SIZES, plan))
