"""What a wall of blocks takes: units, caps, pad, drain stone, pipe, fabric, cuts, and the work."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import pairwise
from math import ceil

import numpy as np
import shapely
from msgspec import Struct

from grading.crew.lines import Line, Maker, Work
from grading.crew.model import Crew
from grading.design.area import AreaPlan
from grading.dig.hole import Dig
from grading.geometry.arrays import Region, polygons
from grading.geometry.tolerances import ROUNDING, whole_down, whole_up
from grading.structures.behind import (
    OUTLET_EVERY,
    Behind,
    behind_makers,
    fabric_behind,
    stone_behind,
    stone_height,
)
from grading.structures.holding.block_wall import BlockWall, WallSegment, curved, strip_along
from grading.structures.holding.earth import Trench
from grading.structures.masonry import cap_line, glue_line, level_pad, masonry_works, unit_line
from grading.units import INCH, Unit, area, counted, run, size

_LEAST_WEDGE = INCH / 2  # m: less between caps and paving is taken up by the joint below the caps


class WallCount(Struct, frozen=True):
    """What a wall takes, before waste.

    Attributes
    ----------
    face : float
        Of its courses, along the edge that it holds, caps left out. [m2]
    units, halves : float
        Units of the length of its courses, those at its corners among them; and half units that
        begin every other course at a free end, two to a unit.
    caps : float
        Pieces of the caps.
    cuts : int
        Units that are sawn: every other course at each end and step, every course at an inside
        corner, every unit of a curve tighter than they go round, the wedge under paving that falls
        along it.
    length, courses : float
        Of its base course, as of its caps, and of all its courses together. [m]
    pad : float
        Volume of the pad, compacted. [m3]
    behind : Behind
        Stone, pipe and fabric behind it.
    before : float
        Soil put back before its face, in the bank. [m3]
    """

    face: float
    units: float
    halves: int
    caps: float
    cuts: int
    length: float
    courses: float
    pad: float
    behind: Behind
    before: float

    @property
    def pieces(self) -> float:
        """Units, halves among them."""
        return self.units + self.halves / 2


def wall_count(wall: BlockWall, area_plan: AreaPlan, dig: Dig) -> WallCount:
    """Return what a wall takes.

    Parameters
    ----------
    wall : BlockWall
    area_plan : AreaPlan
        The area whose edge it holds.
    dig : Dig
        One of the area's: its own stone fills some of what the drain stone would.
    """
    unit, segments = wall.unit, wall.segments
    turned = sum(wall.at(place).courses for place, _ in wall.corners)
    courses = sum(each.courses * each.length for each in segments)
    ends = _free_ends(wall)
    wedge = sum(each.length for each in segments if each.wedge > _LEAST_WEDGE)
    cuts = float(sum(ends) // 2)
    cuts += sum(abs(a.courses - b.courses) // 2 + 1 for a, b in pairwise(segments))
    cuts += sum(wall.at(place).courses for place, way in wall.corners if way < 0)
    cuts += whole_up(wedge / unit.length)
    for low, high in curved(wall.line, unit.radius):
        cuts += wall.at((low + high) / 2).courses * (high - low) / unit.length
    highs = [_stone_height(each, dig) for each in segments]
    drain = sum(
        stone_behind(each.line, 0.0, unit.drain, each.pad_top, high, area_plan, dig)
        for each, high in zip(segments, highs, strict=True)
    )
    drain += sum(
        (top - bottom) * out * each.length
        for each in segments for bottom, top, out in wall.courses_of(each)
    )  # fmt: skip
    fabric = sum(
        fabric_behind(high, unit.depth, each.length)
        for each, high in zip(segments, highs, strict=True)
    )
    return WallCount(
        face=courses * unit.height,
        units=courses / unit.length + turned,
        halves=sum(whole_down(each / 2) for each in ends),
        caps=wall.length / unit.cap_length + len(wall.corners),
        cuts=whole_up(cuts),
        length=wall.length,
        courses=courses,
        pad=sum(float(shapely.area(shape)) * unit.pad for shape in pads(wall)),
        behind=Behind(
            drain, wall.length, max(ceil(wall.length / OUTLET_EVERY - ROUNDING), 1), fabric
        ),
        before=sum(
            unit.spread * max((each.ground[0] + each.ground[1]) / 2 - each.pad_top, 0.0)
            * (long.length)
            for each, long in zip(segments, _lengthened(wall), strict=True)
        ),
    )  # fmt: skip


def _free_ends(wall: BlockWall) -> tuple[int, ...]:
    """Return how many courses end free, at each end of a wall."""
    return () if wall.closed else (wall.segments[0].courses, wall.segments[-1].courses)


def _lengthened(wall: BlockWall) -> tuple[shapely.LineString, ...]:
    """Return the line of each segment, carried on past the wall's free ends by its pad's spread."""
    lines = [each.line for each in wall.segments]
    if not wall.closed:
        lines[0] = _carried_on(lines[0], wall.unit.spread, first=True)
        lines[-1] = _carried_on(lines[-1], wall.unit.spread, first=False)
    return tuple(lines)


def _carried_on(line: shapely.LineString, by: float, first: bool) -> shapely.LineString:
    points = shapely.get_coordinates(line)
    if not first:
        points = points[::-1]
    back = points[0] - points[1]
    points = np.vstack([points[0] + by * back / np.hypot(*back), points[1:]])
    return shapely.LineString(points if first else points[::-1])


def base_offset(wall: BlockWall, segment: WallSegment) -> float:
    """Return how far the back of a segment's base course stands outside the paving's edge. [m]"""
    return (segment.courses - 1) * wall.unit.setback


def pads(wall: BlockWall) -> tuple[Region, ...]:
    """Return the pad of each segment in plan. [m]"""
    unit, found = wall.unit, []
    for segment, line in zip(wall.segments, _lengthened(wall), strict=True):
        out = base_offset(wall, segment)
        found.append(strip_along(line, out - unit.spread, out + unit.depth + unit.spread))
    return tuple(found)


def trenches(wall: BlockWall) -> tuple[Trench, ...]:
    """Return what is dug for each segment: before its face, for it, and for the stone behind."""
    unit, found = wall.unit, []
    for segment, line in zip(wall.segments, _lengthened(wall), strict=True):
        out = base_offset(wall, segment)
        where = strip_along(line, out - unit.drain, out + unit.depth + unit.spread)
        found.append((where, segment.pad_top - unit.pad))
    return tuple(found)


def bodies_of(wall: BlockWall) -> tuple[Region, ...]:
    """Return where the courses of each segment stand, its lowest one among them. [m]"""
    return tuple(
        strip_along(each.line, 0.0, base_offset(wall, each) + wall.unit.depth)
        for each in wall.segments
    )


def foot(wall: BlockWall) -> Region:
    """Return where nothing of the paving's own base goes on beyond its edge. [m]"""
    unit = wall.unit
    shapes = [
        strip_along(each.line, 0.0, base_offset(wall, each) + unit.depth + unit.spread)
        for each in wall.segments
    ]
    return polygons(shapely.union_all(shapes), 0.0)


def _stone_height(segment: WallSegment, dig: Dig) -> float:
    """Return how high the stone behind a segment is, from its pad to the bedding. [m]"""
    return stone_height((segment.finish[0] + segment.finish[1]) / 2, dig, segment.pad_top)


def wall_makers(
    count: WallCount, wall: BlockWall, out: float | None, to: str, unit: Unit
) -> Iterator[Maker]:
    """Yield what makes the lines of a wall.

    Parameters
    ----------
    count : WallCount
    wall : BlockWall
    out : float or None
        From its low end to where the pipe comes out; None where no such place is known. [m]
    to : str
        What that place is called.
    unit : "ft" or "m"
    """
    block = wall.unit
    sizes = (block.product, block.height, block.depth, block.length)
    courses = tuple(sorted({each.courses for each in wall.segments}))
    yield Maker(_units, (wall.name, count, sizes, courses, wall.length, len(wall.corners), unit))
    yield Maker(_caps, (wall.name, count, block.cap_height, unit))
    yield Maker(level_pad, (wall.name, count.pad, block.pad, unit))
    yield from behind_makers(wall.name, count.behind, block.drain, block.pipe, out, to, unit)


def _units(
    name: str, count: WallCount, sizes: tuple[str, float, float, float], courses: Sequence[int],
    long: float, corners: int, unit: Unit, crew: Crew,
) -> Iterator[Line]:  # fmt: skip
    called = f"{sizes[0]}, " if sizes[0] else ""
    high, deep, along = (size(each, unit) for each in sizes[1:])
    many = " to ".join(str(each) for each in sorted({min(courses), max(courses)}))
    how = (
        f"{called}{high} high, {deep} deep, {along} long: {many} "
        f"course{'s' if max(courses) > 1 else ''} along {run(long, unit)}, "
        f"{area(count.face, unit)} of face"
    )
    if corners:
        how += f"; one more in each course at {counted(corners, 'corner')}"
    if count.halves:
        how += f"; {counted(count.halves, 'half', 'halves')} at its ends"
    yield unit_line(name, count.pieces, how, crew)


def _caps(name: str, count: WallCount, high: float, unit: Unit, crew: Crew) -> Iterator[Line]:
    yield cap_line(
        name, count.caps, f"{size(high, unit)} high, {run(count.length, unit)} of it", crew
    )
    yield glue_line(name, 2 * count.length, "the caps and the top course", unit, crew)


def wall_works(count: WallCount) -> tuple[Work, ...]:
    """Return the work of a wall, but digging, carrying, placing stone, pipe and fabric."""
    cuts = float(count.cuts)
    return masonry_works("the wall", count.length, count.courses, cuts, "cut wall units")
