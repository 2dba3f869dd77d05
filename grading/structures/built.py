"""Every structure of an area on a base system, in the order in which they are built."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator

from grading.crew.model import Crew
from grading.design.area import AreaPlan
from grading.design.model import Design
from grading.dig.hole import Dig
from grading.structures.backfilled import backfill_treated
from grading.structures.drains.downspout import extensions
from grading.structures.drains.dry_well import dry_wells
from grading.structures.drains.membrane import membranes
from grading.structures.drains.paved import paved_drains
from grading.structures.drains.underdrain import underdrains
from grading.structures.holding.held import held_edges
from grading.structures.lawn_regraded import lawn_regraded
from grading.structures.model import Structure
from grading.structures.own_bases import standing_things
from grading.structures.steps_built import steps_built


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


Builder = Callable[[Design, AreaPlan, Dig, Crew], Iterable[Structure]]

_BUILDERS: tuple[Builder, ...] = (
    backfill_treated, held_edges, drains, standing_things, steps_built, lawn_regraded,
)  # fmt: skip
"""What gives the structures of an area, in the order in which they are built and told."""


def structures_of(plan: Design, area: AreaPlan, dig: Dig, crew: Crew) -> tuple[Structure, ...]:
    """Return what is built beside and below the paving of an area.

    Parameters
    ----------
    plan : Design
    area : AreaPlan
    dig : Dig
        Of this area.
    crew : Crew
        Sizes of pieces.
    """
    return tuple(each for builder in _BUILDERS for each in builder(plan, area, dig, crew))
