"""What holds the free edge of an area: a wall where it is raised, the edge advised elsewhere."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from grading.catalogue.edge_kinds import WALL
from grading.catalogue.suitability import Choice
from grading.design.area import AreaPlan
from grading.design.places import Places
from grading.dig.edge_runs import EdgeRun
from grading.geometry.free_edges import SHORTEST_RUN
from grading.units import FOOT, Unit, run, size

Floats = NDArray[np.float64]

WALLED = FOOT
"""What is left of less than this beside a wall ends in the wall: common practice, no source. [m]"""

_PARTS = 1  # of an inch: a length of edge is told no finer


@dataclass(frozen=True)
class RaisedStretch:
    """A stretch of free edge that stands higher than a limit above the ground.

    Attributes
    ----------
    length : float
        [m]
    height : float
        The greatest. [m]
    at : (2,) float
        Where it is highest. [m]
    """

    length: float
    height: float
    at: Floats


@dataclass(frozen=True)
class Holder:
    """What holds a length of free edge: its name and title among the edges, the length [m].

    `plain` is the title in everyday words.
    """

    name: str
    title: str
    plain: str
    length: float


def raised_stretches(runs: Iterable[EdgeRun], limit: float) -> tuple[RaisedStretch, ...]:
    """Return the stretches of free edge that stand higher than a limit, the longest first.

    Parameters
    ----------
    runs : iterable of EdgeRun
        The free edges.
    limit : float
        Above the ground. [m]
    """
    found = [part for each in runs for part in _raised(each, limit)]
    return tuple(sorted(found, key=lambda part: -part.length))


def _raised(edge: EdgeRun, limit: float) -> Iterator[RaisedStretch]:
    for low, end in edge.above(limit):
        part = np.flatnonzero((edge.along >= low) & (edge.along <= end))
        top = part[np.argmax(edge.height[part])]
        yield RaisedStretch(end - low, float(edge.height[top]), edge.points[top])


def free_length(area: AreaPlan) -> float:
    """Return the length of an area's free edge. [m]"""
    return sum(each.length for each in area.edge_runs)


def holders(choice: Choice, laid: str, free: float, raised: float) -> tuple[Holder, ...]:
    """Return what holds an area's free edge, what holds most of it first.

    Parameters
    ----------
    choice : Choice
        Of the edges.
    laid : str
        The edge that is laid where it is not raised.
    free, raised : float
        The free edge, and how much of it is raised. [m]
    """
    if free < SHORTEST_RUN:
        return ()
    found = []
    if laid == WALL:
        raised = free
    if raised > 0:
        wall = choice.of(WALL).option
        found.append(Holder(WALL, wall.title, wall.in_plain_words, raised))
    if free - raised >= WALLED or not found:
        rest = choice.of(laid).option
        found.append(Holder(laid, rest.title, rest.in_plain_words, free - raised))
    return tuple(sorted(found, key=lambda each: -each.length))


def holding_words(
    held: Sequence[Holder],
    raised: Sequence[RaisedStretch],
    places: Places,
    unit: Unit,
    plain: bool = False,
) -> str:
    """Say what holds an area's free edge, with lengths and places where it is not one thing.

    Parameters
    ----------
    held : sequence of Holder
    raised : sequence of RaisedStretch
    places : Places
    unit : "ft" or "m"
    plain : bool
        For who pays for it, in everyday words.
    """
    if not held:
        return "nothing, for no edge of it is free"
    if len(held) == 1:
        return held[0].plain if plain else held[0].title
    said = []
    for each in held:
        words = f"along {run(each.length, unit, _PARTS)} of it "
        words += each.plain if plain else each.title
        if each.name == WALL:
            long = [
                f"{run(part.length, unit, _PARTS)} " if len(raised) > 1 else "" for part in raised
            ]
            where = [
                f"{length}up to {size(part.height, unit)} above the ground {places.at(part.at)}"
                for length, part in zip(long, raised, strict=True)
            ]
            words += f" ({'; '.join(where)})"
        said.append(words)
    return "; ".join(said)
