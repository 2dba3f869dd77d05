"""The membrane that keeps water in clean stone off a foundation: up the wall, under the stone."""

from __future__ import annotations

from collections.abc import Iterator

import shapely

from grading.conditions.underdrain import underdrain_of
from grading.crew.lines import Line, Maker, Work, with_more
from grading.crew.model import Crew
from grading.design.area import AreaPlan
from grading.design.model import Design
from grading.dig.hole import Dig
from grading.geometry.tolerances import SLIVER
from grading.structures.drains.model import strips_along
from grading.structures.model import Solid, Structure
from grading.units import INCH, Unit, area, run, size
from grading.water.site import water_of_design

_THICK = INCH / 4  # as it is drawn, with its cushion
_PIECE = 1.0  # m: its bottom is drawn straight over so much of a wall, though the formation folds


def membranes(plan: Design, paving: AreaPlan, dig: Dig, crew: Crew) -> Iterator[Structure]:
    """Yield the membrane that the stone of an area asks for, where it does.

    Parameters
    ----------
    plan : Design
    paving : AreaPlan
    dig : Dig
        Of this area.
    crew : Crew

    Notes
    -----
    Practice of a conservation authority (wiki.sustainabletechnologies.ca, Liner): HDPE or EPDM
    between sand or cushion fabric, a boot at each pipe that goes through it.
    """
    asked = underdrain_of(plan, paving, dig)
    if asked is None or asked.wall <= 0:
        return
    unit = plan.site.unit
    up, down = crew["membrane-up"], crew["membrane-down"]
    high, floor = asked.stone + up + down, float(shapely.area(asked.near))
    reach = plan.limits["open-by-foundation"]
    yield Structure(
        kind="membrane",
        name=f"membrane of {paving.name}",
        area=paving.name,
        solids=tuple(_by_the_walls(dig, asked.walls, asked.stone)),
        makers=(Maker(_lines, (asked.wall, high, floor, reach, unit)),),
        works=(Work("lay membrane under the stone", floor, "m2", "lay-membrane"),),
        said=(
            f"Membrane of {paving.name}: {run(asked.wall, unit)} of foundation wall, from "
            f"{size(up, unit)} above the clean stone to {size(down, unit)} under it, and on under "
            f"the stone within {run(reach, unit)} of the foundation; cushion fabric on both sides, "
            "a boot at each pipe."
        ),
        plain=f"A membrane keeps the water in the stone under {paving.name} off the foundation.",
        cautions=(
            "It keeps the water of the paving off, and says nothing of the basement's own "
            "waterproofing, which is a licensed trade's.",
            *_other_water(plan, paving),
        ),
    )


def _by_the_walls(dig: Dig, walls: shapely.Geometry, stone: float) -> Iterator[Solid]:
    """Yield it as it stands before walls: on the formation as that falls, as high as the stone."""
    for wall in shapely.get_parts(shapely.line_merge(walls)):
        line = shapely.get_coordinates(shapely.segmentize(wall, _PIECE))
        for bottom, strip in strips_along(line, dig.formation.at(line), 2 * _THICK):
            yield Solid("membrane", strip, bottom, bottom.lowered(-stone))


def _other_water(plan: Design, paving: AreaPlan) -> Iterator[str]:
    """Say how far from the foundation stone lies that takes water of roofs or lawns as well."""
    water = water_of_design(plan)
    roofs = [spout.name for spout in water.downspouts if paving.name in spout.crosses]
    sources = [*roofs, *(["the lawn above it"] if water.of(paving).told_run_on else [])]
    if sources:
        apart = run(plan.limits["other-water"], plan.site.unit)
        yield (
            f"Water of {' and '.join(sources)} runs onto this paving too: stone that takes it "
            f"keeps {apart} from a foundation, or that water is led past it."
        )


def _lines(
    wall: float, high: float, floor: float, reach: float, unit: Unit, crew: Crew
) -> Iterator[Line]:
    more, laps, net = crew["waterproofing-waste"], " for laps", wall * high
    how = (
        f"{run(wall, unit)} of foundation wall before the stone, {size(high, unit)} high with what "
        "goes up and under"
    )
    yield with_more("waterproofing", "membrane by the wall", "m2", net, how, more, laps)
    if floor > SLIVER:
        how = f"{area(floor, unit)} of stone within {run(reach, unit)} of the foundation"
        yield with_more("membrane", "membrane under the stone", "m2", floor, how, more, laps)
    both, title = 2 * (net + floor), "cushion of the membrane"
    how = f"both sides of {area(net + floor, unit)} of membrane"
    yield with_more("geotextile", title, "m2", both, how, more, laps)
