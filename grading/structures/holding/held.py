"""What holds the edges of an area, as structures."""

from __future__ import annotations

from collections.abc import Iterator

from grading.crew.model import Crew
from grading.design.area import AreaPlan
from grading.design.model import Design
from grading.dig.hole import Dig
from grading.structures.holding.curb import curb_structure
from grading.structures.holding.grass_slope import slope_structure
from grading.structures.holding.holds import CURB, SLOPE, STEPS, holding_of, wall_unit
from grading.structures.holding.step_edge import step_edge, step_edge_structure
from grading.structures.holding.wall import wall_structure
from grading.structures.model import Structure


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
    holding = holding_of(plan, area, dig.system.name)
    spared = dig.cut - dig.organics_volume - dig.backfill
    for kind in (CURB, STEPS, SLOPE):
        count = sum(len(part.stretches) for part in holding.parts if part.kind == kind)
        names = iter(_names(_CALLED[kind], area.name, count))
        for part in holding.parts:
            if part.kind != kind:
                continue
            for place, stretch in enumerate(part.stretches):
                name = next(names)
                if kind == CURB:
                    yield curb_structure(plan, area, dig, name, stretch)
                elif kind == STEPS:
                    pieces = wall_unit(plan, part.asked)
                    most = plan.limits["step-edge-riser"]
                    steps = step_edge(name, stretch, pieces, most)
                    yield step_edge_structure(plan, area, dig, steps)
                else:
                    made = slope_structure(plan, area, dig, name, part.slopes[place], spared)
                    spared -= made.dug.put_back
                    yield made
    for wall in holding.walls:
        yield wall_structure(plan, area, dig, wall)


_CALLED = {CURB: "curb", STEPS: "steps round", SLOPE: "slope"}


def _names(what: str, area: str, count: int) -> Iterator[str]:
    of = "" if what == "steps round" else " of"
    if count == 1:
        yield f"{what}{of} {area}"
        return
    head = "steps" if what == "steps round" else what
    tail = "round" if what == "steps round" else "of"
    yield from (f"{head} {number} {tail} {area}" for number in range(1, count + 1))
