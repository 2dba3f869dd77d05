"""What holds the edges of an area, as structures."""

from __future__ import annotations

from collections.abc import Iterator

from grading.crew.model import Crew
from grading.design.area import AreaPlan
from grading.design.model import Design
from grading.dig.hole import Dig
from grading.structures.holding.holds import holding_of
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
    for wall in holding.walls:
        yield wall_structure(plan, area, dig, wall)
