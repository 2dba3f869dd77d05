"""What is built beside and below the paving, told in one place: to the crew, and to who pays."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from grading.geometry.tolerances import TOLD_EARTH
from grading.order.model import Order
from grading.pipeline import Plan
from grading.structures.model import Structure
from grading.units import Unit, some_volume
from viz.words.plain import stopped


def structures_in(order: Order) -> tuple[Structure, ...]:
    """Return every structure of a site on the bases chosen, area by area."""
    return tuple(one for area in order.areas for one in area.takeoffs[area.area.chosen].structures)


def is_of(structure: Structure, words: Iterable[str]) -> bool:
    """Say whether a structure is of one of some kinds, each told by a word that is in it."""
    return any(word in structure.kind for word in words)


def plainly_told(plan: Plan, words: Iterable[str]) -> list[str]:
    """Return what is built of some kinds, told to who pays for it, a sentence each."""
    kinds = tuple(words)
    return [
        stopped(each.plain)
        for each in structures_in(plan.order)
        if each.plain and is_of(each, kinds)
    ]


def structure_lines(plan: Plan) -> Iterator[str]:
    """Yield what is built beside and below the paving for a report: its cautions are set in."""
    for one in (each for each in structures_in(plan.order) if each.said):
        yield one.said
        moved = "; ".join(_moved(one, plan.site.unit))
        if moved:
            yield f"  {moved}"
        yield from (f"  {caution}" for caution in one.cautions)


def _moved(one: Structure, unit: Unit) -> Iterator[str]:
    """Say what is dug for a structure, beside what is dug for the paving."""
    dug = one.dug
    parts = {
        "dug for it beyond the hole of the paving": dug.bank,
        "of that topsoil": dug.topsoil,
        "soil put back": dug.put_back,
        "soil placed in it": dug.filled,
    }
    for title, much in parts.items():
        if much > TOLD_EARTH:
            yield f"{title} {some_volume(much, unit)}"


def still_needed(plan: Plan) -> Iterator[str]:
    """Yield what structures still need that is neither ordered nor in the hours."""
    for one in structures_in(plan.order):
        yield from one.not_counted
