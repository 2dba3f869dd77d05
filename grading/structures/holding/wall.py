"""A wall of blocks as a structure: its bodies, its lines and work, its dig, and what is said."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import shapely

from grading.design.area import AreaPlan
from grading.design.model import Design
from grading.dig.hole import Dig
from grading.geometry.arrays import polygons
from grading.geometry.tolerances import LEVEL
from grading.structures.behind import (
    DRAIN,
    clean_base,
    finish_over,
    no_way_out,
    pipe_solid,
    stone_solids,
)
from grading.structures.holding.block_wall import BlockWall, WallSegment, strip_along
from grading.structures.holding.earth import dug_for
from grading.structures.holding.outlet import Outlet, outlet_for
from grading.structures.holding.wall_parts import (
    base_offset,
    foot,
    pads,
    trenches,
    wall_count,
    wall_makers,
    wall_works,
)
from grading.structures.model import Dug, Solid, Structure
from grading.units import Unit, run, size

_BLOCK, _CAP, _PAD = "block", "cap", "dense-graded"


def wall_structure(
    plan: Design, area: AreaPlan, dig: Dig, wall: BlockWall, plain: str
) -> Structure:
    """Return a wall of blocks as it is built along an area on a base system.

    Parameters
    ----------
    plan : Design
    area : AreaPlan
    dig : Dig
        One of the area's.
    wall : BlockWall
    plain : str
        What is said of all walls of the area to who pays for them.
    """
    unit = plan.site.unit
    count = wall_count(wall, area, dig)
    outlet = outlet_for(plan, area, wall)
    dug = dug_for(plan, area, dig, trenches(wall))
    back = min(count.before, dug.bank - dug.topsoil)
    behind = shapely.union_all(
        [strip_along(each.line, -wall.unit.drain, 0.0) for each in wall.segments]
    )
    return Structure(
        kind="block wall",
        name=wall.name,
        area=area.name,
        solids=tuple(wall_solids(wall, area, dig, outlet)),
        makers=tuple(wall_makers(count, wall, outlet.far, outlet.name, unit)),
        works=wall_works(count),
        dug=Dug(dug.bank, dug.topsoil, max(back, 0.0)),
        said=wall_said(wall, unit),
        plain=plain,
        cautions=wall_cautions(wall, unit),
        not_counted=tuple(_not_counted(wall, outlet)),
        stands=foot(wall),
        drained=polygons(shapely.Polygon() if clean_base(dig) else behind),
    )


def wall_solids(wall: BlockWall, area: AreaPlan, dig: Dig, outlet: Outlet) -> Iterator[Solid]:
    """Yield the bodies of a wall: pad, courses, caps, the wedge over them, drain stone, pipe.

    Parameters
    ----------
    wall : BlockWall
    area : AreaPlan
        Its finish is over the drain stone and the wedge.
    dig : Dig
        Of the area's: where its base is of clean stone, the drain stone ends below the hole.
    outlet : Outlet
        Says how high its pipe lies.
    """
    unit = wall.unit
    for segment, pad in zip(wall.segments, pads(wall), strict=True):
        yield Solid(_PAD, pad, segment.pad_top - unit.pad, segment.pad_top)
        for bottom, top, out in wall.courses_of(segment):
            yield Solid(_BLOCK, wall.strip(segment, out, out + unit.depth), bottom, top)
        under_cap = segment.cap - unit.cap_height
        yield Solid(_CAP, wall.strip(segment, 0.0, unit.depth), under_cap, segment.cap)
        yield from _wedge(wall, segment, area)
        out = base_offset(wall, segment)
        strip = wall.strip(segment, -unit.drain, 0.0)
        yield from stone_solids(area, dig, strip, segment.pad_top)
        # Each course stands behind the one below: what that leaves behind the lower ones.
        for bottom, top, back in wall.courses_of(segment):
            if back > LEVEL:
                yield Solid(DRAIN, wall.strip(segment, 0.0, back), bottom, top)
        pipe = wall.strip(segment, out - unit.pipe - unit.spread / 4, out - unit.spread / 4)
        low = max(segment.pad_top, outlet.level)
        yield pipe_solid(pipe, low, unit.pipe)


def _wedge(wall: BlockWall, segment: WallSegment, area: AreaPlan) -> Iterator[Solid]:
    """Yield what stands on the caps where the paving stands above them."""
    if segment.wedge <= LEVEL:
        return
    for domain, plane in finish_over(area, wall.strip(segment, 0.0, wall.unit.depth)):
        yield Solid(_BLOCK, domain, segment.cap, plane)


def wall_said(wall: BlockWall, unit: Unit) -> str:
    """Say what a wall is, to the crew."""
    block, segments = wall.unit, wall.segments
    courses = sorted({each.courses for each in segments})
    least, most = wall.shown
    shown = _span(least, most, unit)
    many = f"{courses[0]} to {courses[-1]}" if len(courses) > 1 else f"{courses[0]}"
    words = (
        f"{wall.name}: {run(wall.length, unit, 1)} of blocks, {shown} shown, {many} courses of "
        f"{size(block.height, unit)} under caps of {size(block.cap_height, unit)}, buried "
        f"{size(min(each.bury for each in segments), unit)} or more on a level pad "
        f"{size(block.pad, unit)} thick, each course {size(block.setback, unit)} behind the one "
        f"below; {size(block.drain, unit)} of clean stone, fabric and a pipe behind it"
    )
    steps = len({each.pad_top for each in segments}) - 1
    if steps:
        words += f"; its pad steps by a whole course {_times(len(segments) - 1)}"
    wedge = max(each.wedge for each in segments)
    if wedge > LEVEL:
        words += (
            f". Its caps are level: where the paving falls along it, it stands up to "
            f"{size(wedge, unit)} above them, held by units sawn to a wedge"
        )
    return words


def _span(least: float, most: float, unit: Unit) -> str:
    low, high = size(least, unit), size(most, unit)
    return high if low == high else f"{low} to {high}"


def _times(count: int) -> str:
    return "once" if count == 1 else "twice" if count == 2 else f"{count} times"


def walls_plain(walls: Sequence[BlockWall], unit: Unit) -> str:
    """Say what all walls of an area are, to who pays for them."""
    long = run(sum(each.length for each in walls), unit, 1)
    high = size(max(each.shown[1] for each in walls), unit)
    start = f"A low wall of blocks, {long} long and up to {high} high, holds"
    if len(walls) > 1:
        start = f"Low walls of blocks, {long} long in all and up to {high} high, hold"
    return f"{start} the raised edge of {walls[0].area}"


def wall_cautions(wall: BlockWall, unit: Unit) -> tuple[str, ...]:
    """Say what a wall must not be taken for, and whom to ask; the same to everybody."""
    return (
        f"{wall.name} is reckoned at a first look, and designed by nobody: ask the building "
        "department before it is sold, and a licensed engineer where it asks for one",
        "how deep frost lets a wall stacked dry stand is not said here: practice keeps it shallow "
        "on drained stone and lets it move; ask locally",
    )


def _not_counted(wall: BlockWall, outlet: Outlet) -> Iterator[str]:
    if outlet.far is None:
        yield no_way_out(wall.name)
