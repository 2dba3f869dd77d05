"""Steps of wall units all round a raised edge: the step is what holds it."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from math import ceil

import shapely
from msgspec import Struct

from grading.crew.lines import Line, Maker
from grading.crew.model import Crew
from grading.design.area import AreaPlan
from grading.design.model import Design
from grading.dig.hole import Dig
from grading.geometry.arrays import Region, polygons
from grading.geometry.plane import Plane
from grading.geometry.tolerances import ROUNDING, SAME, whole_up
from grading.structures.behind import (
    OUTLET_EVERY,
    Behind,
    behind_makers,
    clean_base,
    fabric_behind,
    finish_over,
    no_way_out,
    pipe_solid,
    stone_behind,
    stone_height,
    stone_solids,
)
from grading.structures.holding.block_wall import corners_of, strip_along
from grading.structures.holding.earth import Trench, dug_for
from grading.structures.holding.outlet import Outlet, outlet_from
from grading.structures.holding.stretches import Stretch
from grading.structures.holding.wall_unit import WallUnit
from grading.structures.masonry import cap_line, glue_line, level_pad, masonry_works, unit_line
from grading.structures.model import Solid, Structure
from grading.units import Unit, counted, run, size

_BLOCK, _CAP, _PAD = "block", "cap", "dense-graded"


class StepEdge(Struct, frozen=True, eq=False):
    """Steps all round a stretch of edge, row by row from the paving outward.

    Attributes
    ----------
    name : str
    stretch : Stretch
        The edge that they go round.
    unit : WallUnit
    rise : float
        From the ground to the paving at the most. [m]
    rows : tuple of (int, float)
        Of each row from the paving outward: courses under its caps, and its length [m].
    pad_top : float
        Level of the top of the pad, which is dead level. [m]
    """

    name: str
    stretch: Stretch
    unit: WallUnit
    rise: float
    rows: tuple[tuple[int, float], ...]
    pad_top: float

    @property
    def line(self) -> shapely.LineString:
        """The edge, the paving on its left. [m]"""
        return self.stretch.line

    @property
    def risers(self) -> int:
        """How many there are; the paving is the last tread."""
        return len(self.rows)

    @property
    def riser(self) -> float:
        """Each of them at the most. [m]"""
        return self.rise / self.risers

    @property
    def wide(self) -> float:
        """How far they stand out from the paving. [m]"""
        return self.risers * self.unit.depth

    @property
    def courses(self) -> float:
        """Length of all courses together. [m]"""
        return sum(count * long for count, long in self.rows)

    @property
    def caps(self) -> float:
        """Length of all caps together. [m]"""
        return sum(long for _, long in self.rows)


def step_edge(name: str, stretch: Stretch, unit: WallUnit, most: float) -> StepEdge:
    """Return steps all round a stretch of edge.

    Parameters
    ----------
    name : str
    stretch : Stretch
    unit : WallUnit
        What they are built of; each is as deep as a tread.
    most : float
        A riser at the most. [m]
    """
    rise = float(stretch.heights.max())
    count = max(whole_up(rise / most, SAME), 1)
    bury = unit.bury_at(rise)
    line, rows = stretch.line, []
    for k in range(count):
        shown = rise * (1 - k / count)
        courses = max(whole_up((shown - unit.cap_height + bury) / unit.height, SAME), 1)
        band = strip_along(line, k * unit.depth, (k + 1) * unit.depth)
        rows.append((courses, float(shapely.area(band)) / unit.depth))
    pad_top = float((stretch.finish - stretch.heights).min()) - bury
    return StepEdge(name, stretch, unit, rise, tuple(rows), pad_top)


def step_edge_structure(
    plan: Design, area: AreaPlan, dig: Dig, steps: StepEdge, plain: str
) -> Structure:
    """Return steps all round as they are built along an area on a base system.

    Parameters
    ----------
    plan : Design
    area : AreaPlan
    dig : Dig
        One of the area's.
    steps : StepEdge
    plain : str
        What is said of all such steps of the area to who pays for them.
    """
    unit, block = plan.site.unit, steps.unit
    under = strip_along(steps.line, -block.spread, steps.wide + block.spread)
    pad = float(shapely.area(under)) * block.pad
    behind = _behind(plan, area, dig, steps)
    outlet = None
    makers: tuple[Maker, ...] = ()
    if behind is not None:
        low = float((steps.stretch.finish - steps.stretch.heights).min())
        outlet = outlet_from(plan, area, steps.line, steps.pad_top, low)
        makers = tuple(
            behind_makers(
                steps.name, behind, block.drain, block.pipe, outlet.far, outlet.name, unit
            )
        )
    trenches: list[Trench] = [(under, steps.pad_top - block.pad)]
    if behind is not None:
        trenches.append((_strip_behind(steps), steps.pad_top))
    corners = len(corners_of(steps.line, bool(steps.line.is_ring)))
    ends = 0 if steps.line.is_ring else 2
    cuts = sum(ends * (count // 2) for count, _ in steps.rows) + corners * steps.risers
    said = (
        f"{steps.name}: {_risers(steps.risers)} of {size(steps.riser, unit)} at the most along "
        f"{run(float(steps.line.length), unit, 1)} of edge, rows of blocks "
        f"{size(block.depth, unit)} deep under caps of {size(block.cap_height, unit)} on a level "
        f"pad {size(block.pad, unit)} thick"
    )
    if behind is not None:
        said += f"; {size(block.drain, unit)} of clean stone, fabric and a pipe behind them"
    return Structure(
        kind="steps",
        name=steps.name,
        area=area.name,
        solids=(*_solids(steps, area), *_solids_behind(steps, area, dig, outlet)),
        makers=(
            Maker(_units, (steps, corners, unit)),
            Maker(_caps, (steps, unit)),
            Maker(level_pad, (steps.name, pad, block.pad, unit)),
            *makers,
        ),
        works=masonry_works(
            "steps all round", steps.caps, steps.courses, float(cuts), "cut step units"
        ),
        dug=dug_for(plan, area, dig, trenches),
        said=said,
        plain=plain,
        cautions=(
            f"{steps.name}: risers that are not alike trip people; whether a handrail or a "
            "landing is asked for is for the building department",
        ),
        not_counted=(
            (no_way_out(steps.name),) if outlet is not None and outlet.far is None else ()
        ),
        stands=polygons(strip_along(steps.line, 0.0, steps.wide + block.spread)),
        drained=polygons(
            shapely.Polygon() if behind is None or clean_base(dig) else _strip_behind(steps)
        ),
    )  # fmt: skip


def _strip_behind(steps: StepEdge) -> Region:
    """Return where the stone behind steps lies. [m]"""
    return strip_along(steps.line, -steps.unit.drain, 0.0)


def _behind(plan: Design, area: AreaPlan, dig: Dig, steps: StepEdge) -> Behind | None:
    """Return what lies behind steps, None where they are lower than any wall."""
    if steps.rise < plan.limits["wall-least"] - ROUNDING or dig.system.over:
        return None
    block, line = steps.unit, steps.line
    high = stone_height(float(steps.stretch.finish.mean()), dig, steps.pad_top)
    return Behind(
        stone_behind(line, 0.0, block.drain, steps.pad_top, high, area, dig),
        float(line.length),
        max(ceil(line.length / OUTLET_EVERY - ROUNDING), 1),
        fabric_behind(high, steps.wide, float(line.length)),
    )


def _solids_behind(
    steps: StepEdge, area: AreaPlan, dig: Dig, outlet: Outlet | None
) -> Iterator[Solid]:
    if outlet is None:
        return
    pipe = steps.unit.pipe
    yield from stone_solids(area, dig, _strip_behind(steps), steps.pad_top)
    yield pipe_solid(strip_along(steps.line, -pipe, 0.0), outlet.level, pipe)


def step_edges_plain(area: str, edges: Sequence[StepEdge], unit: Unit) -> str:
    """Say what all steps round an area are, to who pays for them."""
    least, most = (end(each.risers for each in edges) for end in (min, max))
    many = _risers(most) if least == most else f"{least} to {_risers(most)}"
    long = run(sum(float(each.line.length) for each in edges), unit, 1)
    return (
        f"Steps all round, {many}, lead from {area} down to the lawn along {long} and hold its edge"
    )


def _risers(count: int) -> str:
    return counted(count, "riser")


def _solids(steps: StepEdge, area: AreaPlan) -> Iterator[Solid]:
    block, line = steps.unit, steps.line
    under = strip_along(line, -block.spread, steps.wide + block.spread)
    yield Solid(_PAD, under, steps.pad_top - block.pad, steps.pad_top)
    for k in range(steps.risers):
        for band, plane in finish_over(
            area, strip_along(line, k * block.depth, (k + 1) * block.depth)
        ):
            # Each row lies a riser below the one above, and falls along the edge as the paving.
            top = Plane(plane.z0 - k * steps.riser, plane.dzdx, plane.dzdy)
            beneath = Plane(top.z0 - block.cap_height, plane.dzdx, plane.dzdy)
            yield Solid(_BLOCK, band, steps.pad_top, beneath)
            yield Solid(_CAP, band, beneath, top)


def _units(steps: StepEdge, corners: int, unit: Unit, crew: Crew) -> Iterator[Line]:
    block = steps.unit
    rows = ", ".join(f"{count}" for count, _ in steps.rows)
    called = f"{block.product}, " if block.product else ""
    how = (
        f"{called}{size(block.height, unit)} high, {size(block.depth, unit)} deep, "
        f"{size(block.length, unit)} long: courses {rows} in the rows from the paving outward"
    )
    if corners:
        how += f", round {corners} corner{'s' if corners > 1 else ''}"
    yield unit_line(steps.name, steps.courses / block.length, how, crew)


def _caps(steps: StepEdge, unit: Unit, crew: Crew) -> Iterator[Line]:
    block = steps.unit
    how = f"{size(block.cap_height, unit)} high, {run(steps.caps, unit)} of it in all rows"
    yield cap_line(steps.name, steps.caps / block.cap_length, how, crew)
    yield glue_line(steps.name, 2 * steps.caps, "the caps and the top courses", unit, crew)
