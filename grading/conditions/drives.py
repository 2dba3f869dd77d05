"""The driveway that a front walk ties into, and what it stands on: as said, never guessed.

A walk in several pieces is one walk: what meets one of them meets it.
"""

from __future__ import annotations

from collections.abc import Iterator

import shapely
from msgspec import Struct

from grading.conditions.one_base import joined_areas
from grading.design.area import AreaPlan
from grading.design.model import Design
from grading.geometry.outline import shared_edge
from grading.site.model import Meet

MET = 0.1
"""What is drawn this near to the paving meets it. [m]"""


class Drive(Struct, frozen=True):
    """What an area ties into.

    Attributes
    ----------
    met : bool or None
        Whether it meets a driveway; None where that is not said.
    name : str
        Of the driveway.
    base : str or None
        The base system that the driveway stands on; None where it is not given.
    """

    met: bool | None
    name: str = ""
    base: str | None = None


def drive_met(plan: Design, area: AreaPlan) -> Drive:
    """Return the driveway that an area, or the walk that it is a piece of, ties into.

    Parameters
    ----------
    plan : Design
    area : AreaPlan

    Notes
    -----
    An area of the site that is a driveway is one; a [[meet]] is one where its kind says so. It is
    not known where something is met whose kind is not said, or nothing at all.
    """
    pieces = _walk(plan, area)
    for other in plan.areas:
        if other.use != "driveway" or other in pieces:
            continue
        if any(shared_edge(one.outline, other.outline) for one in pieces):
            return Drive(True, other.name, other.chosen)
    met = [meet for one in pieces for meet in meets_of(plan, one)]
    for meet in met:
        if meet.kind == "driveway":
            return Drive(True, meet.name, meet.base)
    return Drive(False if met and all(meet.kind for meet in met) else None)


def _walk(plan: Design, area: AreaPlan) -> list[AreaPlan]:
    """Return an area with the pieces of front walk that hang together with it."""
    pieces = [area]
    if area.use != "front walkway":
        return pieces
    pairs = [pair for pair in joined_areas(plan) if {p.area.use for p in pair} == {area.use}]
    for _ in plan.areas:
        for pair in pairs:
            names = {one.name for one in pieces}
            if any(one.name in names for one in pair):
                pieces += [one for one in pair if one.name not in names]
    return pieces


def meets_of(plan: Design, area: AreaPlan) -> Iterator[Meet]:
    """Give what an area meets of what the site says is there."""
    for meet in plan.site.meets:
        where = shapely.MultiPoint(meet.at).convex_hull
        if meet.area in (None, area.name) and area.outline.distance(where) < MET:
            yield meet
