"""Clean stone, fabric and pipe behind masonry that holds a paved edge: walls and steps alike."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
import shapely
from msgspec import Struct

from grading.crew.lines import Line, Maker, stone_line, with_more
from grading.crew.model import Crew
from grading.design.area import AreaPlan
from grading.dig.hole import Dig
from grading.geometry.arrays import Region, polygons
from grading.geometry.plane import Plane
from grading.geometry.tolerances import LEVEL, SLIVER
from grading.structures.model import Solid
from grading.units import FOOT, Unit, round_metric, run, size

OUTLET_EVERY = 50 * FOOT
"""How far apart the ways out of the pipe behind a wall are: common practice, no source. [m]"""

FABRIC_LAP = FOOT
"""How far fabric laps over the stone behind a wall: common practice, no source. [m]"""

DRAIN = "open-graded"
"""Material of the stone behind masonry."""

_PIPE = "pipe"


class Behind(Struct, frozen=True):
    """What lies behind masonry that holds an edge.

    Attributes
    ----------
    stone : float
        Clean stone that the paving's own does not fill, compacted. [m3]
    pipe : float
        Along it. [m]
    outlets : int
        How many ways out that pipe has.
    fabric : float
        Between stone and soil. [m2]
    """

    stone: float
    pipe: float
    outlets: int
    fabric: float


def under_bedding(dig: Dig) -> float:
    """Return how far the underside of the bedding lies below the finish. [m]"""
    return sum(layer.thickness for layer in dig.system.layers if layer.role in ("paver", "bedding"))


def clean_base(dig: Dig) -> bool:
    """Say whether the base of a system is of clean, open-graded stone."""
    base = [layer for layer in dig.system.layers if layer.role == "base"]
    return bool(base) and all(layer.material == "open-graded" for layer in base)


def stone_height(finish: float, dig: Dig, pad_top: float) -> float:
    """Return how high the stone is, from the pad to the underside of the bedding. [m]

    Parameters
    ----------
    finish : float
        Over it, in the middle. [m]
    dig : Dig
        Of the paving whose edge is held.
    pad_top : float
        [m]
    """
    return max(finish - under_bedding(dig) - pad_top, 0.0)


def stone_behind(
    line: shapely.LineString, near: float, wide: float, pad_top: float, high: float,
    area_plan: AreaPlan, dig: Dig,
) -> float:  # fmt: skip
    """Return the stone behind masonry, less what the paving's own clean stone fills of it. [m3]

    Parameters
    ----------
    line : shapely line
        The edge that it holds, the paving on its left. [m]
    near, wide : float
        How far inside the edge the stone begins, and how wide it is. [m]
    pad_top : float
        [m]
    high : float
        As `stone_height`. [m]
    area_plan : AreaPlan
        Of the paving whose edge is held.
    dig : Dig
        The same area's.

    Notes
    -----
    Where the base is of clean stone, so is what its hole is refilled with below it: what is left
    is below the hole. What the hole was dug to is read in the middle of the strip.
    """
    if not clean_base(dig):
        return high * wide * float(line.length)
    inside = line.parallel_offset(near + wide / 2, "left", join_style="mitre")
    points = shapely.get_coordinates(shapely.segmentize(inside, wide))
    points = points if len(points) else shapely.get_coordinates(line)
    formation = area_plan.finish.surface.at(points) - dig.build_up
    ground = area_plan.group.group.ground.under(area_plan.name)
    stripped = ground.elevation(points) - ground.organics_at(points)
    left = np.clip(np.fmin(formation, stripped) - pad_top, 0.0, high)
    return float(np.mean(left)) * wide * float(line.length)


def fabric_behind(high: float, deep: float, long: float) -> float:
    """Return the fabric between stone and soil, over the stone and lapped. [m2]

    Parameters
    ----------
    high : float
        Of the stone. [m]
    deep : float
        Of the masonry, face to back. [m]
    long : float
        [m]
    """
    return (high + deep + FABRIC_LAP) * long


def behind_makers(
    name: str, of: Behind, wide: float, pipe: float, out: float | None, to: str, unit: Unit
) -> Iterator[Maker]:
    """Yield what makes the lines of what lies behind masonry.

    Parameters
    ----------
    name : str
        Of the masonry.
    of : Behind
    wide : float
        Of the stone. [m]
    pipe : float
        Its inner diameter. [m]
    out : float or None
        From its low end to where it comes out; None where no such place is known. [m]
    to : str
        What that place is called.
    unit : "ft" or "m"
    """
    if of.stone > SLIVER:
        yield Maker(_stone, (name, of.stone, wide, unit))
    yield Maker(_pipe, (name, pipe, of.pipe, of.outlets, out, to, unit))
    yield Maker(_cloth, (name, of.fabric, unit))


def _stone(name: str, compacted: float, wide: float, unit: Unit, crew: Crew) -> Iterator[Line]:
    how = (
        f"{size(wide, unit)} wide from its pad to the bedding, less what the paving's own clean "
        "stone fills"
    )
    yield stone_line("open-graded", f"drain stone behind {name}", compacted, how, crew)


def _pipe(
    name: str, pipe: float, along: float, outlets: int, out: float | None, to: str, unit: Unit,
    crew: Crew,
) -> Iterator[Line]:  # fmt: skip
    long = along + (out or 0.0)
    how = f"{size(pipe, unit)} perforated on the pad, {run(along, unit)}"
    if out is None:
        how += "; no place low enough to lead it to is named, so the way to one is not counted"
    elif out > 0:
        how += f" and {run(out, unit)} to {to}"
    else:
        how += f", into {to}"
    if outlets > 1:
        every = round_metric(OUTLET_EVERY) if unit == "m" else OUTLET_EVERY
        how += f"; {outlets} ways out, one in {run(every, unit)} at the most"
    yield with_more("underdrain", f"pipe behind {name}", "m", long, how, crew["underdrain-waste"])


def _cloth(name: str, covered: float, unit: Unit, crew: Crew) -> Iterator[Line]:
    lap = round_metric(FABRIC_LAP) if unit == "m" else FABRIC_LAP
    how = f"between stone and soil, over the stone below the bedding; {size(lap, unit)} of lap"
    yield Line("geotextile", f"fabric behind {name}", "m2", covered, covered, how)


def no_way_out(name: str) -> str:
    """Say that the pipe behind something comes out nowhere that is known."""
    return (
        f"the way out of the pipe behind {name}: no place is named that lies low enough; without "
        "one water stands behind it"
    )


def finish_over(area: AreaPlan, shape: Region) -> Iterator[tuple[Region, Plane]]:
    """Yield the parts of a shape, each with the plane of the finish over it. [m]"""
    facets = area.finish.surface.facets
    for facet in facets:
        part = shape if len(facets) == 1 else polygons(shapely.intersection(shape, facet.domain))
        if not part.is_empty:
            yield part, facet.plane


def stone_solids(area: AreaPlan, dig: Dig, strip: Region, pad_top: float) -> Iterator[Solid]:
    """Yield the stone behind masonry as it is drawn: below the hole where the base is clean.

    Parameters
    ----------
    area : AreaPlan
        Of the paving whose edge is held.
    dig : Dig
        The same area's.
    strip : shapely polygon or multipolygon
        Where it lies. [m]
    pad_top : float
        [m]
    """
    lower = dig.build_up if clean_base(dig) else under_bedding(dig)
    for domain, plane in finish_over(area, strip):
        under = Plane(plane.z0 - lower, plane.dzdx, plane.dzdy)
        if float(np.min(under.at(shapely.get_coordinates(domain)))) > pad_top + LEVEL:
            yield Solid(DRAIN, domain, pad_top, under)


def pipe_solid(strip: Region, low: float, pipe: float) -> Solid:
    """Return the pipe behind masonry as it is drawn.

    Parameters
    ----------
    strip : shapely polygon or multipolygon
        As wide as the pipe. [m]
    low : float
        Level of its bottom. [m]
    pipe : float
        Its diameter. [m]
    """
    return Solid(_PIPE, strip, low, low + pipe)
