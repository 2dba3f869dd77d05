"""Everything that leads water away from an area, in the order in which it is built."""

from __future__ import annotations

from collections.abc import Iterator

from grading.crew.model import Crew
from grading.design.area import AreaPlan
from grading.design.model import Design
from grading.dig.hole import Dig
from grading.structures.drains.downspout import extensions
from grading.structures.drains.dry_well import dry_wells
from grading.structures.drains.membrane import membranes
from grading.structures.drains.paved import paved_drains
from grading.structures.drains.underdrain import underdrains
from grading.structures.model import Structure


def drains(plan: Design, area: AreaPlan, dig: Dig, crew: Crew) -> Iterator[Structure]:
    """Yield what leads water away from an area.

    Parameters
    ----------
    plan : Design
    area : AreaPlan
    dig : Dig
        Of this area.
    crew : Crew
        Sizes of pieces.
    """
    yield from membranes(plan, area, dig, crew)
    yield from underdrains(plan, area, dig, crew)
    yield from paved_drains(plan, area, dig, crew)
    yield from extensions(plan, area, dig, crew)
    yield from dry_wells(plan, area, dig, crew)
