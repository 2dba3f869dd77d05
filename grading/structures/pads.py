"""Level pads that are dug below or beside the paving's hole: one union with it, never a sum."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import shapely

from grading.conditions.backfill import dug_out
from grading.conditions.features import own_base_of, stands_on, things_on
from grading.design.area import AreaPlan
from grading.design.model import Design
from grading.design.underfoot import Earth, dug_under, flat, level_at, overlap, polygons
from grading.dig.hole import Dig
from grading.finish.cutting import clip

_REACH = 0.01  # own: m, beyond what must be covered, so that rounding leaves nothing out


@dataclass(frozen=True, eq=False)
class Pad:
    """One pad.

    Attributes
    ----------
    name : str
        Whose it is.
    where : shapely geometry
        In plan. [m]
    bottom, top : float
        Levels. [m]
    of : object
        The thing or the flight of steps that stands on it.
    """

    name: str
    where: shapely.Geometry
    bottom: float
    top: float
    of: object


def pads_of(plan: Design, area: AreaPlan, dig: Dig) -> tuple[Pad, ...]:
    """Return every pad of an area on a base system: what stands on bedding there has none.

    Parameters
    ----------
    plan : Design
    area : AreaPlan
    dig : Dig
        One of the area's.
    """
    return tuple(_pads(plan, area, dig))


def _pads(plan: Design, area: AreaPlan, dig: Dig) -> Iterator[Pad]:
    for feature in things_on(plan, area):
        if stands_on(plan, area, feature, dig.system.name) == "own base":
            own = own_base_of(plan, area, feature, dig)
            if own is not None:
                yield Pad(feature.name or feature.kind, own.pad, own.bottom, own.top, feature)


def dug_for(plan: Design, area: AreaPlan, dig: Dig, pads: Sequence[Pad]) -> tuple[Earth, ...]:
    """Return what is dug for each pad beyond the hole, the backfill dug out and deeper pads.

    Parameters
    ----------
    plan : Design
    area : AreaPlan
    dig : Dig
        One of the area's.
    pads : sequence of Pad
        All of the area's, so that no ground is dug twice where they overlap.
    """
    out = dug_out(plan, area, dig)
    earlier = None
    if out is not None:
        below = dig.build_up + out.depth
        earlier = (out.zone, lambda xy: level_at(area, xy) - below)
    found = [Earth(0.0, 0.0)] * len(pads)
    taken: shapely.Geometry = shapely.Polygon()
    for number in sorted(range(len(pads)), key=lambda k: pads[k].bottom):
        pad = pads[number]
        where = polygons(shapely.difference(pad.where, taken))
        if not where.is_empty:
            ground = plan.ground.under(area.name)
            ground = ground.reaching(where, ground.beyond_survey(where)[0] + _REACH)
            found[number] = dug_under(ground, area, dig, where, flat(pad.bottom), earlier)
        taken = shapely.union(taken, pad.where)
    return tuple(found)


def refilled_in(plan: Design, area: AreaPlan, dig: Dig, pad: Pad) -> float:
    """Return the refill of the hole that a pad takes the place of. [m3]

    Between the stripped ground, or the pad's bottom where that is higher, and the formation.

    Parameters
    ----------
    plan : Design
    area : AreaPlan
    dig : Dig
    pad : Pad
    """
    shape = polygons(shapely.intersection(pad.where, dig.polygon))
    if shape.is_empty:
        return 0.0
    piece = clip(plan.ground.under(area.name), shape)
    corners = piece.xy.reshape(-1, 2)
    formation = (level_at(area, corners) - dig.build_up).reshape(-1, 3)
    return overlap(formation - (piece.ground - piece.organics), formation - pad.bottom, piece.areas)
