"""Where paving on one base system meets paving on another, laid with it or there already."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import combinations

import shapely
from msgspec import Struct

from grading.catalogue.bases import BaseSystem
from grading.catalogue.rules import Limits
from grading.conditions.drives import meets_of
from grading.design.model import Design
from grading.design.steps import shared_edges
from grading.geometry.outline import LEAST_EDGE
from grading.units import Unit, run, size


class Join(Struct, frozen=True):
    """Two areas on different base systems that share an edge, or an area and what it meets.

    Attributes
    ----------
    areas, bases : (str, str)
    there : bool
        Whether the second is not laid with it, but there already: a [[meet]] whose base is given.
    edge : shapely geometry
        What they share, a line or lines. [m]
    length : float
        [m]
    below : float
        How much deeper the second's build-up goes than the first's. [m]
    step : float
        The greatest gap in height between the two finishes along it. [m]
    at_step : bool
        Whether that is a step, at which the change is made.
    where : str
        From where to where it runs, in words that a tape follows.
    detail : str
        What to build there, in a sentence.
    """

    areas: tuple[str, str]
    bases: tuple[str, str]
    there: bool
    edge: shapely.Geometry
    length: float
    below: float
    step: float
    at_step: bool
    where: str
    detail: str


def _materials(system: BaseSystem) -> set[str]:
    return {layer.material for layer in system.layers}


def _detail(one: BaseSystem, other: BaseSystem, step: float, limits: Limits, unit: Unit) -> str:
    place = (
        "at the step between them"
        if step > limits["meeting-gap"]
        else "under a soldier course along the edge"
    )
    said = [f"make the change {place}"]
    apart = abs(one.build_up - other.build_up)
    if apart > 0:
        said.append(
            f"taper the {size(apart, unit)} between the two subgrades over at least "
            f"{run(limits['join-taper'], unit)} where it can be done"
        )
    materials = _materials(one), _materials(other)
    open_and_fine = [
        ("open-graded" in mine and "open-graded" not in theirs)
        for mine, theirs in (materials, materials[::-1])
    ]
    if any(open_and_fine):
        said.append("hang geotextile on the face between clean stone and what has fines")
    if one.on_panels != other.on_panels:
        said.append("end the panels on a full board, its edge held by the stone beside it")
    return "; ".join(said)


def joins_of(plan: Design) -> Iterator[Join]:
    """Give each edge along which two areas on different base systems meet, or what is met."""
    edges = {frozenset((each.upper, each.lower)): each for each in shared_edges(plan)}
    for one, other in combinations(plan.areas, 2):
        shared = edges.get(frozenset((one.name, other.name)))
        if one.chosen != other.chosen and shared is not None:
            systems = one.chosen_dig.system, other.chosen_dig.system
            edge = shapely.MultiLineString(shared.lines)
            yield _join(plan, (one.name, other.name), systems, edge, shared.greatest)
    for area in plan.areas:
        for meet in meets_of(plan, area):
            if meet.base in (None, area.chosen) or len(meet.at) < 2:
                continue
            met = shapely.LineString(meet.at)
            if shapely.length(met) >= LEAST_EDGE:
                systems = area.chosen_dig.system, area.digs[meet.base].system
                yield _join(plan, (area.name, meet.name), systems, met, there=True)


def _join(
    plan: Design, names: tuple[str, str], systems: tuple[BaseSystem, BaseSystem],
    edge: shapely.Geometry, step: float = 0.0, *, there: bool = False,
) -> Join:  # fmt: skip
    points = shapely.get_coordinates(edge)
    limits, places = plan.limits, plan.places
    return Join(
        areas=names,
        bases=(systems[0].name, systems[1].name),
        there=there,
        edge=edge,
        length=float(shapely.length(edge)),
        below=systems[1].build_up - systems[0].build_up,
        step=step,
        at_step=step > limits["meeting-gap"],
        where=f"from {places.at(points[0])} to {places.at(points[-1])}",
        detail=_detail(*systems, step, limits, plan.site.unit),
    )
