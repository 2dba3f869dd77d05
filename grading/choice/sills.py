"""A high sill planned both ways: paving raised to the door, and on grade with steps down to it."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Literal, Protocol

import numpy as np
from msgspec import Struct
from msgspec.structs import replace

from grading.design.area import AreaPlan, GroupPlan
from grading.design.door_steps import DoorStep, door_steps
from grading.design.model import Design
from grading.errors import NoFinish
from grading.finish.sills import high_sills
from grading.order.model import Order
from grading.site.model import Site
from grading.units import Unit, size

Kind = Literal["raised to the door", "on grade with steps"]

_GAINS: dict[Kind, float] = {"raised to the door": 1e3, "on grade with steps": 0.0}
"""How much nearer to the lawn steps have to bring the edge, for each way to be the one planned."""

STEPS_COUNTED = "steps and what holds the edge counted"
"""What stands beside the cost of the ways."""


class SillWay(Struct, frozen=True):
    """One way to plan the areas at a high sill.

    Attributes
    ----------
    kind : "raised to the door" or "on grade with steps"
    areas : tuple of str
        The areas solved together.
    planned : bool
        Whether it is the one that is planned.
    doors : tuple of DoorStep
        The doors with high sills.
    edge : (float, float, float)
        Least, mean and greatest height of the free edge over the lawn. [m]
    work : float
        Dug and refilled in the outlines, topsoil to its bottom included. [m3]
    trips : int
    time : float
        Of one person. [s]
    cost, material : float
        What it costs the crew, and of that what is bought. [money]
    """

    kind: Kind
    areas: tuple[str, ...]
    planned: bool
    doors: tuple[DoorStep, ...]
    edge: tuple[float, float, float]
    work: float
    trips: int
    time: float
    cost: float
    material: float


class Counted(Protocol):
    """A design with its order."""

    @property
    def areas(self) -> tuple[AreaPlan, ...]:
        """In the order of the site."""

    @property
    def order(self) -> Order:
        """What it takes."""


def sill_ways(plan: Design, order: Order, again: Callable[[Site], Counted]) -> tuple[SillWay, ...]:
    """Return both ways to plan areas at high sills, that planned first; none without such a sill.

    Parameters
    ----------
    plan : Design
    order : Order
        What it takes.
    again : callable
        Plans a site.

    Notes
    -----
    The bases are those of the plan, so that nothing but the way differs. A way for which no finish
    meets every wish is left out.
    """
    found = []
    for group in plan.groups:
        high = high_sills(replace(group.group, stepped={}))
        if not high:
            continue
        for kind in _GAINS:
            made = _planned((plan, order), group, kind, list(high), again)
            if made is not None:
                found.append(made)
    return tuple(sorted(found, key=lambda way: not way.planned))


def _planned(
    known: tuple[Design, Order], group: GroupPlan, kind: Kind, high: list[str],
    again: Callable[[Site], Counted],
) -> SillWay | None:  # fmt: skip
    plan, order = known
    names = tuple(area.name for area in group.group.areas)
    stepped = bool(group.group.stepped)
    planned = stepped == (kind == "on grade with steps")
    total, all_areas = order.total, plan.areas
    if not planned:
        other = _again(plan, kind, again)
        if other is None:
            return None
        total, all_areas = other.order.total, other.areas
    areas = [area for area in all_areas if area.name in names]
    doors = [step for area in areas for step in door_steps(area) if step.door.name in high]
    if not planned and (kind == "on grade with steps") == all(one.risers == 1 for one in doors):
        return None  # it comes out the same
    work = sum(area.finish.work for area in areas)
    return SillWay(
        kind, names, planned, tuple(doors), _edge(areas), work, total.haul.trips,
        total.time.mean, total.cost.total, total.cost.of("material"),
    )  # fmt: skip


def _again(plan: Design, kind: Kind, again: Callable[[Site], Counted]) -> Counted | None:
    """Return the site planned on the same bases the one way or the other."""
    site = plan.site
    areas = plan.areas_on_their_bases
    limits = {**site.limits, "high-sill-gain": _GAINS[kind]}
    try:
        return again(replace(site, areas=areas, limits=limits))
    except NoFinish:
        return None


def _edge(areas: list[AreaPlan]) -> tuple[float, float, float]:
    height, length = [np.zeros(0)], [np.zeros(0)]
    for run in (run for area in areas for run in area.edge_runs):
        height.append((run.height[:-1] + run.height[1:]) / 2)
        length.append(np.diff(run.along))
    heights, lengths = np.concatenate(height), np.concatenate(length)
    known = np.isfinite(heights)
    if not known.any():
        return 0.0, 0.0, 0.0
    mean = float(heights[known] @ lengths[known] / lengths[known].sum())
    # The same two as the checks of the edge tell.
    most, deepest = np.array([area.edge_heights for area in areas]).max(axis=0)
    return float(-deepest), mean, float(most)


def edge_words(way: SillWay, unit: Unit) -> str:
    """Say how the free edge lies to the lawn, least to greatest."""
    low, _, high = (f"{size(abs(z), unit)}{' below' if z < 0 else ''}" for z in way.edge)
    return low if low == high else f"{low} to {high}"


def doors_words(way: SillWay, unit: Unit) -> str:
    """Say the step or the steps at each door with a high sill."""
    return ", ".join(
        f"{step.words(lambda metres: size(metres, unit))} at {step.door.name}" for step in way.doors
    )


def ways_words(ways: Sequence[SillWay], unit: Unit, dearer: str = "") -> str:
    """Say what is planned at a high sill and what the other way would take; empty for one way.

    Parameters
    ----------
    ways : sequence of SillWay
        Those of one area, that planned first.
    unit : "ft" or "m"
    dearer : str
        What the price of the other is more or less, "$1,200 more"; never what it costs the crew.
        Empty where no price is told: the loads carried are told then.
    """
    if len(ways) != 2:
        return ""
    planned, other = ways
    more = other.trips - planned.trips
    loads = "load" if abs(more) == 1 else "loads"
    said = f"{abs(more)} {loads} {'more' if more > 0 else 'fewer'} of soil and stone"
    takes = f"takes {said if more else 'as much'}"
    if dearer:
        takes = f"its price is {dearer}"
    return (
        f"Planned {planned.kind}: {doors_words(planned, unit)}, the free edge "
        f"{edge_words(planned, unit)} above the lawn. {other.kind.capitalize()} it would be "
        f"{doors_words(other, unit)}, the free edge {edge_words(other, unit)} above the lawn, and "
        f"{takes} ({STEPS_COUNTED})."
    )
