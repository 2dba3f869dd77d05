"""What holds the edges of an area, as structures."""

from __future__ import annotations

from collections.abc import Iterator

import shapely
from msgspec.structs import replace

from grading.crew.model import Crew
from grading.design.area import AreaPlan
from grading.design.model import Design
from grading.dig.hole import Dig
from grading.structures.holding.curb import curb_structure, curbs_plain
from grading.structures.holding.grass_slope import slope_structure
from grading.structures.holding.holds import CURB, SLOPE, STEPS, holding_of, wall_unit
from grading.structures.holding.step_edge import step_edge, step_edge_structure, step_edges_plain
from grading.structures.holding.wall import wall_structure, walls_plain
from grading.structures.model import Structure
from grading.structures.pads import pads_of


def held_edges(plan: Design, area: AreaPlan, dig: Dig, crew: Crew) -> Iterator[Structure]:
    """Yield what holds the edges of an area on a base system.

    Parameters
    ----------
    plan : Design
    area : AreaPlan
    dig : Dig
        One of the area's.
    crew : Crew
        Sizes of pieces.
    """
    holding, unit = holding_of(plan, area, dig.system.name), plan.site.unit
    curbs = [each for part in holding.parts if part.kind == CURB for each in part.stretches]
    for name, stretch in zip(_names("curb", area.name, len(curbs)), curbs, strict=True):
        plain = curbs_plain(area.name, curbs, unit)
        made = curb_structure(plan, area, dig, name, stretch, plain)
        yield replace(made, alone=curbs_plain(area.name, [stretch], unit))
    round_it = [
        (wall_unit(plan, part.asked), each)
        for part in holding.parts
        if part.kind == STEPS
        for each in part.stretches
    ]
    names = _names("steps round", area.name, len(round_it))
    edges = [
        step_edge(name, stretch, pieces, plan.limits["step-edge-riser"])
        for name, (pieces, stretch) in zip(names, round_it, strict=True)
    ]
    for steps in edges:
        plain = step_edges_plain(area.name, edges, unit)
        made = step_edge_structure(plan, area, dig, steps, plain)
        yield replace(made, alone=step_edges_plain(area.name, [steps], unit))
    slopes = [
        (part.asked, each) for part in holding.parts if part.kind == SLOPE for each in part.slopes
    ]
    if slopes:
        pads = shapely.union_all([each.where for each in pads_of(plan, area, dig)])
        for name, (asked, slope) in zip(
            _names("slope", area.name, len(slopes)), slopes, strict=True
        ):
            yield slope_structure(plan, area, dig, name, slope, asked, pads)
    for wall in holding.walls:
        made = wall_structure(plan, area, dig, wall, walls_plain(holding.walls, unit))
        yield replace(made, alone=walls_plain([wall], unit))


def _names(what: str, area: str, count: int) -> Iterator[str]:
    of = "" if what == "steps round" else " of"
    if count == 1:
        yield f"{what}{of} {area}"
        return
    head = "steps" if what == "steps round" else what
    tail = "round" if what == "steps round" else "of"
    yield from (f"{head} {number} {tail} {area}" for number in range(1, count + 1))
