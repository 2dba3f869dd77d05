"""One base under areas that join: what is paved as one piece is built as one.

Two base systems move differently, and the difference shows where they meet. So areas that share an
edge are advised the same base, that of most of their paving, unless a reason that divides stands
between them: what is advised for one cannot be built under the other, by a rule that is as strong
as wheels or the wall of a foundation. A step between them divides them too: they need not move
alike.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from itertools import combinations

from msgspec import Struct

from grading.catalogue.verdicts import Choice
from grading.design.area import AreaPlan
from grading.design.model import Design
from grading.finish.together import hanging_together
from grading.geometry.outline import shared_edge

Choices = Mapping[str, Choice]
Bases = Mapping[str, str]


class OneBase(Struct, frozen=True):
    """What is advised for an area with all that it joins.

    Attributes
    ----------
    base : str
    joined : tuple of str
        The areas that are built on the same base as one piece with it; none where it is alone.
    by_itself : str
        What would be advised for it alone.
    """

    base: str
    joined: tuple[str, ...]
    by_itself: str


def joined_areas(plan: Design) -> Iterator[tuple[AreaPlan, AreaPlan]]:
    """Give each two areas that share an edge, with no step between them."""
    steps = {frozenset(step.down) for step in plan.site.steps if step.down is not None}
    for one, other in combinations(plan.areas, 2):
        if frozenset((one.name, other.name)) in steps:
            continue
        if shared_edge(one.outline, other.outline):
            yield one, other


def one_bases(plan: Design, choices: Choices) -> dict[str, OneBase]:
    """Return the base that is advised for each area with all that it joins.

    Parameters
    ----------
    plan : Design
    choices : mapping of str to Choice
        The bases judged for each area alone, by its name.

    Notes
    -----
    An area whose base the site leaves open goes by the bases that are given to those that it
    joins. What is advised for an area with a base of its own does not: it is what would be built
    if nobody had chosen. An area for which every base is ruled out is left out.
    """
    alone = {
        name: choice.advised.option.name
        for name, choice in choices.items()
        if choice.advised is not None
    }
    given = {area.name: area.area.base for area in plan.areas if area.area.base}
    free = _one_bases(plan, choices, alone, {})
    held = _one_bases(plan, choices, alone, given) if given else free
    return {name: (free if name in given else held)[name] for name in alone}


def _one_bases(plan: Design, choices: Choices, alone: Bases, given: Bases) -> dict[str, OneBase]:
    own = {**alone, **given}
    pairs = [
        (one.name, other.name)
        for one, other in joined_areas(plan)
        if one.name in own and other.name in own
    ]
    whole = [pair for pair in pairs if not _divided(*pair, own, choices)]
    size = {area.name: float(area.outline.area) for area in plan.areas}
    found = {}
    for group in hanging_together(list(own), whole):
        base = _base_of(group, own, given, choices, size)
        for name in group:
            mine = base or own[name]
            alike = tuple(each for each in group if each != name and (base or own[each]) == mine)
            found[name] = OneBase(mine, alike, alone.get(name, mine))
    return found


def _divided(one: str, other: str, own: Bases, choices: Choices) -> bool:
    """Say whether what is advised for one area cannot be built under the other, by a rule."""
    if own[one] == own[other]:
        return False
    return (
        choices[other].of(own[one]).divided is not None
        or choices[one].of(own[other]).divided is not None
    )


def _base_of(
    group: tuple[str, ...], own: Bases, given: Bases, choices: Choices, size: Mapping[str, float]
) -> str | None:
    """Return the base that is advised for most of the paving of a group and can carry all of it."""
    wanted = {given[name] for name in group if name in given} or {own[name] for name in group}
    carries = [
        base
        for base in sorted(wanted)
        if all(choices[name].of(base).divided is None for name in group if name not in given)
    ]

    def worth(base: str) -> tuple[float, float]:
        paved = sum(size[name] for name in group if own[name] == base)
        against = sum(size[name] * choices[name].of(base).count("against") for name in group)
        return round(-paved, 6), round(against, 6)

    return min(carries, key=worth, default=None)
