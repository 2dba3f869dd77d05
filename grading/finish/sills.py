"""High sills: paving raised to the door, or left on grade with steps down to it.

A sill that stands higher over the lawn than one riser and paving on grade are together cannot have
both. The areas are solved with its step held to one riser, and with as many as it takes; the steps
are planned where they bring the free edge so much nearer to the lawn that a crew would build them.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from typing import NamedTuple

import numpy as np
import shapely
from msgspec.structs import replace

from grading.errors import NoFinish
from grading.finish.fit import Fit
from grading.finish.model import Solved
from grading.finish.shapes import Shape
from grading.finish.together import Group, lies
from grading.finish.wishes.of_site import nearest_area
from grading.ground.model import Ground
from grading.site.around import around_of
from grading.site.model import Site


class GroupSolved(NamedTuple):
    """Areas solved together, with the doors that have steps, in the shapes that they have."""

    group: Group
    shapes: Mapping[str, Shape]
    fit: Fit
    solved: Solved

    @property
    def departure(self) -> float:
        """How far the finishes depart from the lawn, over all the free edge. [m]"""
        return self.solved.held.departure(self.solved.unknowns)


def high_sills(group: Group) -> dict[str, float]:
    """Return the lawn at each door with a high sill, the highest first, by the door's name. [m]

    A door whose step or steps are written is not asked again.
    """
    site, ground, limit = group.site, group.ground, group.limits["high-sill"]
    key = ground, around_of(site, group.kept)
    lawns = group.kept.once("lawn at doors", key, lambda: _lawns(site, ground))
    own = {area.name for area in group.areas}
    found = []
    for number, (area, lawn) in lawns.items():
        door = site.doors[number]
        if area in own and door.sill - lawn > limit:
            found.append((door.sill - lawn, door.name, lawn))
    return {name: lawn for _, name, lawn in sorted(found, reverse=True)}


def _lawns(site: Site, ground: Ground) -> dict[int, tuple[str, float]]:
    """Return the area and the lawn [m] at doors that may have steps, by their places on the site.

    At those of areas on grade: there alone a sill may be high.
    """
    found = {}
    for number, door in enumerate(site.doors):
        area = nearest_area(site, door.at)
        if area is None or not lies(site, area) or door.risers is not None:
            continue
        nearest = shapely.shortest_line(area.polygon, shapely.Point(door.at))
        lawn = float(ground.elevation(shapely.get_coordinates(nearest)[:1])[0])
        if np.isfinite(lawn):
            found[number] = area.name, lawn
    return found


def with_steps(group: Group, solve: Callable[[Group], GroupSolved]) -> GroupSolved:
    """Return areas solved with steps at the doors whose sills are too high without.

    Parameters
    ----------
    group : Group
    solve : callable

    Raises
    ------
    NoFinish
        Neither with steps nor without does a finish meet every wish.

    Notes
    -----
    Steps come to the highest sill first, and to no more than need them: those are planned beside
    which further ones would bring the edge nearer by less than `high-sill-gain`.
    """
    high = list(high_sills(group).items())
    found: list[GroupSolved] = []
    failed: NoFinish | None = None
    for count in range(len(high) + 1):
        try:
            found.append(solve(replace(group, stepped=dict(high[:count])) if count else group))
        except NoFinish as error:
            failed = failed or error
    if not found:
        assert failed is not None
        raise failed
    return _first_near(found, group.limits["high-sill-gain"])


def _first_near(found: Sequence[GroupSolved], gain: float) -> GroupSolved:
    if len(found) == 1:
        return found[0]
    best = min(each.departure for each in found)
    return next(each for each in found if each.departure <= best + gain)
