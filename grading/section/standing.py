"""Level things on bases of their own in a vertical cut, and what the paving leaves out for them.

As the order counts it: no paver lies under the thing, and nothing of the paving below the pavers
where its base lies. What is left between the two is filled in with stone.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence

import numpy as np
import shapely
from msgspec import Struct
from msgspec.structs import replace
from shapely.geometry.base import BaseGeometry

from grading.conditions.seats import Seat, stands_on
from grading.design.area import AreaPlan
from grading.design.model import Design
from grading.dig.hole import Dig
from grading.geometry.tolerances import SLIVER
from grading.section.line import Interval

TALL = 0.15  # m shown of a thing above the finish
FILL = "dense-graded"
"""What fills in round a base of its own, up to the pavers."""


class Solid(Struct, frozen=True):
    """One body in the cut: name, material, role, and its shape in distance and elevation. [m]"""

    name: str
    material: str
    role: str
    shape: BaseGeometry


class Standing(Struct, frozen=True):
    """One thing in the cut: its name, and shapes in distance and elevation. [m]

    Attributes
    ----------
    name : str
    body : shapely geometry
        The thing itself, as high as it is shown.
    base : shapely geometry
        Its base; where nobody says how deep that goes, a column to no depth in particular.
    foot, column : shapely geometry
        All that lies above and below the thing, and its base.
    material : str
        What its base is of; empty where its depth is not known.
    """

    name: str
    body: BaseGeometry
    base: BaseGeometry
    foot: BaseGeometry
    column: BaseGeometry
    material: str


def columns(spans: Iterable[tuple[float, float]], low: float, high: float) -> BaseGeometry:
    """Return upright boxes over stretches, from one level to another. [m]"""
    return shapely.union_all([shapely.box(a, low, b, high) for a, b in spans])


def standing_in_cut(
    plan: Design, seats: Sequence[Seat], area: AreaPlan, dig: Dig,
    met: Callable[[shapely.Geometry], tuple[Interval, ...]],
) -> Iterator[Standing]:  # fmt: skip
    """Yield the things of an area that stand on bases of their own where a line meets them.

    Parameters
    ----------
    plan : Design
    seats : sequence of Seat
        How the things of the site stand.
    area : AreaPlan
    dig : Dig
        One of its.
    met : callable
        Takes a shape in plan, gives the stretches of the line within it. [m]
    """
    for seat in seats:
        if seat.area != area.area.name:
            continue
        if stands_on(plan, area, seat.feature, dig.system.name) != "own base":
            continue
        own = seat.own_base
        feet = met(seat.feature.polygon)
        under = feet if own is None else met(own.pad)
        if not under and not feet:
            continue
        corners = shapely.get_coordinates(seat.feature.polygon)
        levels = np.asarray(area.finish.surface.at(corners))
        foot = float(levels.min()) if own is None else own.top
        top = float(levels.max()) + min(seat.feature.height or TALL, TALL)
        bottom = foot - dig.build_up if own is None else own.bottom
        yield Standing(
            seat.name,
            columns(feet, foot, top),
            columns(under, bottom, foot),
            columns(feet, -1e6, 1e6),
            columns(under, -1e6, 1e6),
            "" if own is None else seat.base_material,
        )


def cut_round(solids: list[Solid], things: tuple[Standing, ...]) -> list[Solid]:
    """Return the solids of a cut without what is left out for things, and with what fills in.

    Parameters
    ----------
    solids : list of Solid
        Layers from the top down, then refill and backfill.
    things : tuple of Standing
    """
    if not things:
        return solids
    feet = shapely.union_all([thing.foot for thing in things])
    bodies = shapely.union_all([thing.body for thing in things])
    bases = shapely.union_all([thing.base for thing in things])
    across = shapely.union_all([thing.column for thing in things])
    kept, open_ = [], []
    for solid in solids:
        # Where a base reaches as high as the pavers beside the thing, they lie on it.
        gone = feet if solid.role == "paver" else across
        if solid.role in ("refill", "backfill"):
            gone = bodies.union(bases)
        shape = solid.shape.difference(gone)
        open_.append(solid.shape.intersection(gone))
        kept.append(replace(solid, shape=shape))
    pavers = shapely.union_all([solid.shape for solid in kept if solid.role == "paver"])
    fill = shapely.union_all(open_).difference(shapely.union_all([bodies, bases, pavers]))
    if fill.area > SLIVER:
        kept.append(Solid("fill round a base", FILL, "fill", fill))
    return kept


def cut_for_steps(
    solids: Sequence[Solid], feet: BaseGeometry, pads: BaseGeometry
) -> Iterator[Solid]:
    """Yield the solids of a cut without what is left out for steps, and with what fills in.

    Parameters
    ----------
    solids : sequence of Solid
    feet, pads : shapely geometry
        Columns over where steps stand, and where the base is left out for them.
    """
    layers = [solid for solid in solids if solid.role not in ("refill", "backfill", "fill")]
    gone = {True: feet, False: pads}
    kept = {id(each): each.shape.difference(gone[each.role == "paver"]) for each in layers}
    for solid in solids:
        yield replace(solid, shape=kept.get(id(solid), solid.shape))
    whole = shapely.union_all([each.shape for each in layers])
    fill = whole.difference(shapely.union_all(list(kept.values())))
    if fill.area > SLIVER:
        yield Solid("bed of steps", FILL, "fill", fill)
