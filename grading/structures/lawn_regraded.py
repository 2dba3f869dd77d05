"""Lawn beside paving that is brought to it: what is cut off, what is filled up, and its grass."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
import shapely
from msgspec import Struct

from grading.crew.lines import Line, Maker, Work, with_more
from grading.crew.model import Crew
from grading.design.area import AreaPlan
from grading.design.model import Design
from grading.dig.hole import Dig
from grading.dig.lawn import FARTHEST, Level, lawn_level
from grading.geometry.arrays import Floats, Region, polygons
from grading.geometry.grids import cells_in
from grading.geometry.tolerances import SLIVER
from grading.structures.holding.block_wall import strip_along
from grading.structures.holding.holds import BLOCK_WALL, CURB, SLOPE, STEPS, holding_of
from grading.structures.model import Dug, Structure
from grading.units import Unit, area, percent, volume

_CELL = 0.04  # m: of the grid that it is reckoned on


class Regraded(Struct, frozen=True):
    """Earth moved to bring lawn to paving.

    Attributes
    ----------
    cut, topsoil : float
        Dug, and of it topsoil. [m3]
    filled, turfed : float
        Placed, and of it topsoil. [m3]
    grass : float
        Plan area whose grass is new. [m2]
    """

    cut: float
    topsoil: float
    filled: float
    turfed: float
    grass: float


def regraded(ground: Floats, organics: Floats, lawn: Floats, turf: float, cell: float) -> Regraded:
    """Return the earth moved to bring ground to the level of a lawn.

    Parameters
    ----------
    ground, organics, lawn : (k,) float
        Of each cell: level as it lies, depth of its topsoil, and level to be. [m]
    turf : float
        How deep topsoil lies under grass. [m]
    cell : float
        Plan area of one. [m2]

    Notes
    -----
    Where more than its topsoil is cut off, or too much of it, the cut goes deeper and topsoil goes
    back: as much as lay there, but no more than grass wants. Where it is filled up, the upper part
    is topsoil, on the lawn as it lies.
    """
    known = np.isfinite(ground) & np.isfinite(lawn)
    ground, lawn = ground[known], lawn[known]
    organics = np.nan_to_num(organics[known])
    down, up = np.maximum(ground - lawn, 0.0), np.maximum(lawn - ground, 0.0)
    back = np.minimum(organics, turf) - np.maximum(organics - down, 0.0)
    back = np.where(down > 0, np.maximum(back, 0.0), 0.0)
    dug = down + back
    over = np.minimum(up, turf)
    sums = (dug, np.minimum(dug, organics), back + up, back + over, (down + up) > SLIVER)
    cut, topsoil, filled, turfed, grass = (float(each.sum()) * cell for each in sums)
    return Regraded(cut, topsoil, filled, turfed, grass)


def lawn_regraded(plan: Design, area_plan: AreaPlan, dig: Dig, crew: Crew) -> Iterator[Structure]:
    """Give the lawn that is brought to an area, where the site says how.

    Parameters
    ----------
    plan : Design
    area_plan : AreaPlan
    dig : Dig
        One of the area's: over its hole soil is put back with the edge.
    crew : Crew
        How deep topsoil lies under grass.
    """
    beside, tie = lawn_beside(plan, area_plan, dig), area_plan.tie_in
    if beside is None or tie is None:
        return
    where, level = beside
    ground = plan.ground.under(area_plan.name)
    cells, cell = cells_in(where, _CELL)
    found = regraded(
        ground.elevation(cells), ground.organics_at(cells), level(cells), crew["lawn-topsoil"],
        cell,
    )  # fmt: skip
    if found.grass <= SLIVER:
        return
    unit, name = plan.site.unit, f"lawn brought to {area_plan.name}"
    repair = plan.site.access.repair
    bought = repair in ("sod", "seed")
    yield Structure(
        kind="regraded lawn",
        name=name,
        area=area_plan.name,
        makers=(Maker(_grass, (repair, name, found.grass, unit)),) if bought else (),
        works=(
            Work("place and level the soil of regraded lawn", found.filled, "m3", "place-slope"),
        ),
        dug=Dug(found.cut, found.topsoil, 0.0, found.filled, found.turfed),
        said=(
            f"{name}: {area(found.grass, unit)} of it beyond the hole, leaving at "
            f"{percent(tie.slope)}; {volume(found.cut, unit)} dug, {volume(found.filled, unit)} "
            f"placed, {volume(found.turfed, unit)} of it topsoil"
        ),
        plain=(
            f"The lawn beside {area_plan.name} is brought to the paving over "
            f"{area(found.grass, unit)}"
        ),
        not_counted=() if bought else (f"grass on the {name}: the owner sows it",),
    )


def lawn_beside(plan: Design, area_plan: AreaPlan, dig: Dig) -> tuple[Region, Level] | None:
    """Return where the lawn beside an area is regraded, and its level there; None if it is not.

    Parameters
    ----------
    plan, area_plan, dig : as for `lawn_regraded`
    """
    lip, tie = area_plan.lawn_lip, area_plan.tie_in
    if lip is None or tie is None:
        return None
    level = lawn_level(tie, area_plan.outline, area_plan.finish.surface, plan.ground, lip)
    return _beside(plan, area_plan, dig), level


def _beside(plan: Design, area_plan: AreaPlan, dig: Dig) -> Region:
    """Return where lawn is regraded: beyond the hole, and not along what holds the edge. [m]"""
    assert area_plan.tie_in is not None
    held = holding_of(plan, area_plan, dig.system.name).lines(BLOCK_WALL, CURB, SLOPE, STEPS)
    gone: list[shapely.Geometry] = [
        dig.polygon,
        plan.built_over(),
        *(strip_along(line, 0.0, FARTHEST) for line in held),
    ]
    return polygons(shapely.difference(area_plan.tie_in.outline, shapely.union_all(gone)))


def _grass(item: str, name: str, covered: float, unit: Unit, crew: Crew) -> Iterator[Line]:
    how = f"{area(covered, unit)} beyond the hole"
    yield with_more(item, f"grass of {name}", "m2", covered, how, crew[f"{item}-waste"])
