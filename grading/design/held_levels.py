"""Which fitted finishes nothing ties to a level: no door, siding or paving that exists."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from grading.catalogue.rules import CLEARANCE_RULES
from grading.design.area import AreaPlan, GroupPlan
from grading.signs import listed
from grading.site.model import Site
from grading.units import size

_LEVELS = frozenset({"door-step", "meeting-gap", "given-plane", *CLEARANCE_RULES.values()})
"""Rules of wishes that tie a finish to what stands already. An edge shared ties two finishes to
each other alone: it passes a level on, and has none."""

_LIES = {
    "least dig and refill": "where the least is dug and refilled",
    "least earth": "where the least earth is moved",
    "least spoil": "where the least is left over",
    "gentlest fall": "where it falls the least",
    "elevation": "as near as it can be to the mean level of the survey",
}


def unheld_finishes(
    groups: Sequence[GroupPlan], areas: Sequence[AreaPlan], site: Site
) -> Iterator[str]:
    """Say which fitted finishes nothing ties to the house or to existing paving.

    Areas that share an edge, flush or by a step, hold each other: one level holds them all.

    Parameters
    ----------
    groups : sequence of GroupPlan
        The areas solved together.
    areas : sequence of AreaPlan
        All of them.
    site : Site
    """
    wished = site.finish
    if wished.objective == "elevation" and wished.elevation is not None:
        return
    for group in groups:
        if any(wish.rule in _LEVELS for wish in group.solved.held.wishes):
            continue
        names = [area.name for area in group.group.areas]
        raised = max(each.max_raise for each in areas if each.name in names)
        beside, lies = ("it", "it lies") if len(names) == 1 else ("them", "they lie")
        aimed = _LIES.get(group.aimed_at, "as near to the lawn as it can be")
        yield (
            f"nothing holds the finish of {listed(names)} to a level: no door, siding or existing "
            f"paving beside {beside} was given, so {lies} {aimed}, up to "
            f"{size(raised, site.unit)} above the ground"
        )
