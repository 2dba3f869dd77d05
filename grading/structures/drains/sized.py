"""How large a drain in the paving is, and what of the paving it takes the place of."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from functools import lru_cache
from typing import NamedTuple

import numpy as np
import shapely

from grading.conditions.outlets import built_at
from grading.crew.model import Crew
from grading.design.area import AreaPlan
from grading.design.model import Design
from grading.geometry.arrays import Region
from grading.site.water_tables import Outfall
from grading.units import round_metric
from grading.water.hydraulics.channel import DRAIN_WIDTHS, Section, channel_flow, level_flow
from grading.water.runoff import roughnesses
from grading.water.site import water_of_design

_level_flow = lru_cache(maxsize=64)(level_flow)


class Opening(NamedTuple):
    """What a drain takes of the paving, in plan [m]: where no paver lies, and nothing below."""

    body: Region
    concrete: Region


def openings_in(plan: Design, area: AreaPlan) -> tuple[shapely.Geometry, shapely.Geometry]:
    """Return where drains are open to the sky in an area's paving, and where nothing is laid. [m]

    No paver lies over a grate nor over the walls that carry it; bedding and base end at the
    concrete round it, which is as high as the underside of the pavers.

    Parameters
    ----------
    plan : Design
    area : AreaPlan
    """
    found = list(_openings(plan, area))
    bodies, outer = (shapely.union_all([one[k] for one in found]) for k in (0, 1))
    return bodies, outer


def _openings(plan: Design, area: AreaPlan) -> Iterator[Opening]:
    for outfall in plan.site.outfalls:
        if built_at(plan, outfall) == area.name:
            yield opening_of(plan, outfall, plan.crew)


def opening_of(plan: Design, outfall: Outfall, crew: Crew) -> Opening:
    """Return what a drain takes of the paving that it lies in.

    Parameters
    ----------
    plan : Design
    outfall : Outfall
        A drain that is built with the paving.
    crew : Crew
        Thickness of its walls and of the concrete round them.
    """
    wall, bed = crew["channel-wall"], crew["channel-bed"]
    if len(outfall.at) == 1:
        at = np.array(outfall.at[0], dtype=float)
        half = basin_width(outfall, crew) / 2 + wall
        body = shapely.box(*(at - half), *(at + half))
        return Opening(body, shapely.box(*(at - half - bed), *(at + half + bed)))
    width = channel_width(plan, outfall, crew) / 2 + wall
    line = shapely.LineString(outfall.at)
    body, concrete = (
        line.buffer(half, cap_style="flat", join_style="mitre") for half in (width, width + bed)
    )
    return Opening(body, concrete)


def basin_width(outfall: Outfall, crew: Crew) -> float:
    """Return the inner width of a basin, as given or as the crew's own are. [m]"""
    return outfall.width or crew["basin-width"]


def channel_width(plan: Design, outfall: Outfall, crew: Crew) -> float:
    """Return the inner width of a channel: as given, or the least that takes what comes. [m]

    Parameters
    ----------
    plan : Design
    outfall : Outfall
    crew : Crew
        Depth of its channels.
    """
    if outfall.width:
        return outfall.width
    comes, length = coming(plan, outfall), float(shapely.LineString(outfall.at).length)
    deep, fall = crew["channel-depth"], outfall.fall or 0.0
    sizes = sold(DRAIN_WIDTHS, plan)
    fits = (
        width
        for width in sizes
        if comes is None or channel_takes(width, deep, fall, length) >= comes
    )
    return next(fits, sizes[-1])


def sold(sizes: Sequence[float], plan: Design) -> tuple[float, ...]:
    """Return sizes of channels or pipes as they are sold where the site is. [m]"""
    return tuple(round_metric(each) if plan.site.nominal == "m" else each for each in sizes)


def coming(plan: Design, outfall: Outfall) -> float | None:
    """Return what comes to a place in the storm; None where none is given. [m3/s]

    Parameters
    ----------
    plan : Design
    outfall : Outfall
    """
    storm = plan.site.storm
    if storm is None:
        return None
    return water_of_design(plan).arriving.get(outfall.name, 0.0) * storm.intensity


def channel_takes(width: float, depth: float, fall: float, length: float) -> float:
    """Return what a channel carries: level with a free end, or by its fall where that is more.

    Parameters
    ----------
    width, depth, length : float
        [m]
    fall : float
        Of its bottom. [ratio]

    Returns
    -------
    float
        [m3/s]
    """
    rough = roughness("concrete")
    # To the micrometre and millimetre, so that the same channel is not solved for again.
    level = _level_flow(round(width, 6), round(depth, 6), round(length, 3), rough)
    return max(level, channel_flow(Section(width, 0.0), depth, fall, rough)) if fall else level


def roughness(name: str) -> float:
    """Return Manning's number of a material. [s/m^(1/3)]"""
    return roughnesses()[name].value
