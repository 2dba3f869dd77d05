"""The loose fill by the foundation, dug out and filled up again in compacted stone."""

from __future__ import annotations

from collections.abc import Iterator

import shapely

from grading.conditions.backfill import CAUTION, dug_out
from grading.crew.lines import Line, Maker, stone_line, with_more
from grading.crew.model import Crew
from grading.design.area import AreaPlan
from grading.design.model import Design
from grading.dig.hole import Dig
from grading.geometry.arrays import polygons
from grading.geometry.tolerances import TOLD_EARTH
from grading.structures.model import Dug, Solid, Structure
from grading.units import Unit, area, size, volume


def backfill_treated(plan: Design, area_plan: AreaPlan, dig: Dig, _: Crew) -> Iterator[Structure]:
    """Give the treatment of the backfill that the site chose, where it digs any out.

    Parameters
    ----------
    plan : Design
    area_plan : AreaPlan
    dig : Dig
    """
    out = dug_out(plan, area_plan, dig)
    if out is None or out.bank <= TOLD_EARTH:
        return
    unit, house = plan.site.unit, "the foundation"
    deep = size(out.depth, unit)
    grid = " on fabric and geogrid" if out.grid else ""
    down = "" if out.grid else " to firm ground"
    zone = float(shapely.area(out.zone))
    solids = tuple(
        Solid("refill", part, facet.plane.lowered(dig.build_up + out.depth),
              facet.plane.lowered(dig.build_up))
        for facet in area_plan.finish.surface.facets
        if not (part := polygons(shapely.intersection(out.zone, facet.domain))).is_empty
    )  # fmt: skip
    yield Structure(
        kind="backfill treatment",
        name=f"backfill by {house} under {area_plan.name}",
        area=area_plan.name,
        solids=solids,
        makers=(Maker(_lines, (dig.stone, out.bank, zone, out.grid, deep, unit)),),
        dug=Dug(out.bank),
        said=(
            f"the backfill by {house} under {area_plan.name} is dug out{down}, {deep} below the "
            f"build-up, {volume(out.bank, unit)} of it, and filled up in lifts of compacted "
            f"stone{grid}"
        ),
        plain=(
            f"the loose soil along {house} is dug out and replaced by compacted stone, so that "
            f"{area_plan.name} settles less there"
        ),
        cautions=(CAUTION,),
    )


def _lines(
    stone: str, filled: float, over: float, grid: float, deep: str, unit: Unit, crew: Crew
) -> Iterator[Line]:
    how = f"{deep} below the build-up over {area(over, unit)}"
    yield stone_line(stone, "stone in the backfill", filled, how, crew)
    if grid:
        how = f"{area(over, unit)} of backfill and its lap onto firm ground"
        yield Line("geotextile", "geotextile under the backfill", "m2", grid, grid, how)
        title = "geogrid under the backfill"
        yield with_more("geogrid", title, "m2", grid, how, crew["geogrid-waste"])
