"""What holds the free edge of an area: a wall where it is raised, the edge advised elsewhere."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence

import numpy as np
from msgspec import Struct

from grading.catalogue.edge_kinds import WALL
from grading.catalogue.verdicts import Choice
from grading.crew.model import Crew
from grading.design.area import AreaPlan
from grading.design.places import Places
from grading.dig.edge_runs import EdgeRun
from grading.geometry.arrays import Floats
from grading.geometry.free_edges import SHORTEST_RUN
from grading.units import FOOT, Unit, run, size

WALLED = FOOT
"""What is left of less than this beside a wall ends in the wall: common practice, no source. [m]"""

PARTS = 1
"""Of an inch: a length of edge is told no finer."""


class RaisedStretch(Struct, frozen=True):
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


class Holder(Struct, frozen=True):
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


def fixed_words(area: AreaPlan, crew: Crew, unit: Unit) -> str:
    """Say how the edge that is laid on an area's base is fixed, after its name; empty for none.

    Spikes as the order counts them, and the panel that ends at concrete.
    """
    system = area.chosen_dig.system
    kind = system.edge_kind
    if kind is None:
        return ""
    if kind.fixing == "concrete":
        return ", the panel cut flush with it" if system.on_panels else ""
    if kind.fixing != "spikes":
        return ""
    spacing = crew["spike-spacing-wheels" if area.use == "driveway" else "spike-spacing"]
    return f", spikes every {size(spacing, unit)}, closer on curves"


def needs_no_curb(area: AreaPlan) -> bool:
    """Whether what stands a little too high for a shoulder of soil needs nothing beside the edge.

    Where the edge is of concrete or a wall itself, or the finish is not to lie on grade.
    """
    kind = area.chosen_dig.system.edge_kind
    return (
        kind is None or kind.name == WALL or kind.fixing == "concrete" or area.grade != "as it lies"
    )


def holders(
    choice: Choice,
    laid: str,
    free: float,
    raised: float,
    fixed: str = "",
    others: Sequence[Holder] = (),
) -> tuple[Holder, ...]:
    """Return what holds an area's free edge, what holds most of it first.

    Parameters
    ----------
    choice : Choice
        Of the edges.
    laid : str
        The edge that is laid where it is not raised.
    free, raised : float
        The free edge, and how much of it a wall holds. [m]
    fixed : str
        How the edge that is laid is fixed, after its name.
    others : sequence of Holder
        What else stands beside it, where it is raised.
    """
    if free < SHORTEST_RUN:
        return ()
    found = []
    if laid == WALL:
        raised = free
    if raised > 0:
        wall = choice.of(WALL).option
        found.append(Holder(WALL, wall.title, wall.in_plain_words, raised))
    found += others
    left = free - sum(each.length for each in found)
    if left >= WALLED or not found:
        rest = choice.of(laid).option
        title, plain = f"{rest.title}{fixed}", f"{rest.in_plain_words}{fixed}"
        found.append(Holder(laid, title, plain, left))
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
        words = f"along {run(each.length, unit, PARTS)} of it "
        words += each.plain if plain else each.title
        if each.name == WALL:
            long = [
                f"{run(part.length, unit, PARTS)} " if len(raised) > 1 else "" for part in raised
            ]
            where = [
                f"{length}up to {size(part.height, unit)} above the ground {places.at(part.at)}"
                for length, part in zip(long, raised, strict=True)
            ]
            words += f" ({'; '.join(where)})"
        said.append(words)
    return "; ".join(said)
