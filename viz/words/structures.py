"""What is built beside and below the paving, told in one place: to the crew, and to who pays."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from grading.order.model import Order
from grading.pipeline import Plan
from grading.structures.model import Structure


@dataclass(frozen=True)
class Told:
    """What is told of a structure: what it is, whom to ask, and what it still needs."""

    said: str
    cautions: tuple[str, ...]
    not_counted: tuple[str, ...]


def structures_in(order: Order) -> tuple[Structure, ...]:
    """Return every structure of a site on the bases chosen, area by area."""
    return tuple(one for area in order.areas for one in area.takeoffs[area.area.chosen].structures)


def structures_told(plan: Plan, plain: bool = False) -> tuple[Told, ...]:
    """Return what is told of each structure of a plan.

    Parameters
    ----------
    plan : Plan
    plain : bool
        For who pays for it, in everyday words.
    """
    return tuple(
        Told(one.plain if plain else one.said, one.cautions, one.not_counted)
        for one in structures_in(plan.order)
        if (one.plain if plain else one.said)
    )


def structure_lines(plan: Plan) -> Iterator[str]:
    """Yield what is built beside and below the paving for a report: its cautions are set in."""
    for told in structures_told(plan):
        yield told.said
        yield from (f"  {caution}" for caution in told.cautions)


def still_needed(plan: Plan) -> Iterator[str]:
    """Yield what structures still need that is neither ordered nor in the hours."""
    for one in structures_in(plan.order):
        yield from one.not_counted
