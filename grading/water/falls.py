"""The fall away from every wall, foot by foot, over the finished paving and the ground beyond."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import shapely
from msgspec import Struct

from grading.geometry.arrays import Bools, Floats, Ints
from grading.geometry.tolerances import TOUCH
from grading.ground.model import Ground
from grading.site.walls import HAIR, LEAST_RUN, NamedWall, in_front, longest_run, stations
from grading.units import FOOT
from grading.water.grid.relief import Level

REACH = 10 * FOOT  # IRC R401.3: the first 10 ft from the foundation
STATIONS = FOOT
_TELLING = 3 * FOOT  # a strip of ground shorter than this tells no fall from its roughness
_ALIKE = 5e-3  # m: of stretches that fall alike and are as long, the first is told
_GROUND, _HOUSE = -1, -2


class Worst(Struct, frozen=True, eq=False):
    """The least fall found along the rays from a wall.

    fall : away from the wall, negative where it falls back to it. [ratio]
    at : where the stretch with that fall begins, (2,). [m]
    distance : from the wall to there. [m]
    length : of the stretch. [m]
    """

    fall: float
    at: Floats
    distance: float
    length: float


class FallAway(Struct, frozen=True, eq=False):
    """How the finished site falls away from one wall within reach.

    wall : its name.
    paved : the worst of the paving, None where no stretch in reach is long enough; of those that
        fall alike the longest, as a fold cuts the others short of the edge.
    ground : the worst of the ground, each strip from end to end, None where none is long enough.
    """

    wall: str
    paved: Worst | None
    ground: Worst | None


class _Rays(Struct, frozen=True, eq=False):
    """Stretches of the rays from one wall: (k,) each, distances from the wall."""

    ray: Ints
    start: Floats
    end: Floats
    kind: Ints
    high: Floats
    low: Floats


def falls_away(
    walls: Sequence[NamedWall],
    ground: Ground,
    surfaces: Sequence[tuple[shapely.Geometry, Level]],
    house: shapely.Geometry,
    reach: float = REACH,
) -> tuple[FallAway, ...]:
    """Return the worst fall away from each wall, looked at every foot along it.

    Parameters
    ----------
    walls : sequence of (name, start (2,), end (2,), outward (2,))
        Ends [m], and the unit vector from the wall into the yard.
    ground : Ground
        Existing ground, where nothing is finished.
    surfaces : sequence of (polygon, level)
        As `grading.water.grid.relief.relief` takes them, each level straight along any line. [m]
    house : shapely geometry
        Its body in plan: a ray ends where it meets another wing. [m]
    reach : float
        How far out from a wall is looked. [m]

    Notes
    -----
    Exact along each ray: levels are taken where it crosses the side of a surface or of a triangle
    of the ground, and it is straight between.
    """
    return tuple(_fall_away(wall, ground, surfaces, house, reach) for wall in walls)


def _fall_away(
    wall: NamedWall,
    ground: Ground,
    surfaces: Sequence[tuple[shapely.Geometry, Level]],
    house: shapely.Geometry,
    reach: float,
) -> FallAway:
    name, start, end, outward = wall
    origins = stations(start, end, STATIONS)
    rays = _stretches(origins, outward, ground, surfaces, house, reach)
    missed = _between(rays, wall, surfaces, house, reach)
    if len(missed):
        origins = np.concatenate([origins, missed])
        rays = _stretches(origins, outward, ground, surfaces, house, reach)
    known = np.isfinite(rays.high) & np.isfinite(rays.low)
    paved = _worst(_joined(rays, (rays.kind >= 0) & known), origins, outward, LEAST_RUN)
    strips = _joined(rays, (rays.kind == _GROUND) & known)
    open_ground = _worst(strips, origins, outward, _TELLING)
    return FallAway(name, paved, open_ground)


def _between(
    rays: _Rays, wall: NamedWall, surfaces: Sequence[tuple[shapely.Geometry, Level]],
    house: shapely.Geometry, reach: float,
) -> Floats:  # fmt: skip
    """Return where along a wall (k, 2) to look for planes that lie between the rays. [m]"""
    _, start, end, outward = wall
    paved = _joined(rays, rays.kind >= 0)
    seen = set(paved.kind[paved.end - paved.start > LEAST_RUN - TOUCH].tolist())
    found = []
    for number, (polygon, _) in enumerate(surfaces):
        if number in seen:
            continue
        run, begins = longest_run(in_front(start, end, outward, reach, polygon, house), outward)
        if run >= LEAST_RUN:
            found.append(begins - ((begins - start) @ outward) * outward)
    return np.array(found).reshape(-1, 2)


def _stretches(
    origins: Floats, outward: Floats, ground: Ground,
    surfaces: Sequence[tuple[shapely.Geometry, Level]], house: shapely.Geometry, reach: float,
) -> _Rays:  # fmt: skip
    edges = [_edges(geometry) for geometry in (house, *(polygon for polygon, _ in surfaces))]
    edges.append(ground.points[ground.tin.edges][:, :, :2])
    ray, met = _crossed(np.concatenate(edges), origins, outward, reach)
    each = np.arange(len(origins))
    ray = np.concatenate([ray, each, each])
    met = np.concatenate([met, np.zeros(len(each)), np.full(len(each), reach)])
    order = np.lexsort((met, ray))
    ray, met = ray[order], met[order]
    kept = np.flatnonzero((ray[1:] == ray[:-1]) & (np.diff(met) > TOUCH))
    ray, start, end = ray[kept], met[kept], met[kept + 1]
    middle = origins[ray] + ((start + end) / 2)[:, None] * outward
    kind = np.full(len(ray), _GROUND)
    for number, (polygon, _) in enumerate(surfaces):
        kind[shapely.contains_xy(polygon, middle)] = number
    kind[shapely.contains_xy(house, middle)] = _HOUSE
    ends = np.full(len(origins), np.inf)
    # The body of the house may lie a hair outside the wall that a ray starts from.
    blocked = (kind == _HOUSE) & (end - start > HAIR)
    np.minimum.at(ends, ray[blocked], start[blocked])
    seen = start < ends[ray]
    ray, start, end, kind = ray[seen], start[seen], end[seen], kind[seen]
    levels = np.empty((2, len(ray)))
    for row, distance in enumerate((start, end)):
        at = origins[ray] + distance[:, None] * outward
        levels[row] = ground.elevation(at)
        for number, (_, level) in enumerate(surfaces):
            own = kind == number
            levels[row, own] = level(at[own])
    return _Rays(ray, start, end, kind, levels[0], levels[1])


def _edges(geometry: shapely.Geometry) -> Floats:
    """Return the sides of polygons, (k, 2, 2). [m]"""
    rings = shapely.get_rings(shapely.get_parts(geometry))
    xy, ring = shapely.get_coordinates(rings, return_index=True)
    same = ring[1:] == ring[:-1]
    return np.stack([xy[:-1][same], xy[1:][same]], axis=1)


def _crossed(edges: Floats, origins: Floats, outward: Floats, reach: float) -> tuple[Ints, Floats]:
    """Return which ray crosses a side, and how far out. [m]"""
    across = np.array([-outward[1], outward[0]])
    beside = (edges - origins[0]) @ across
    away = (edges - origins[0]) @ outward
    near = (away.max(axis=1) >= 0) & (away.min(axis=1) <= reach)
    beside, away = beside[near], away[near]
    offset = (origins - origins[0]) @ across
    order = np.argsort(offset)
    # A corner counts to one of its two sides. A side is met by few rays, and pairs of every ray
    # with every side would be too many to hold.
    begins = np.searchsorted(offset[order], beside.min(axis=1), side="right")
    count = np.searchsorted(offset[order], beside.max(axis=1), side="right") - begins
    edge = np.repeat(np.arange(len(beside)), count)
    place = np.arange(len(edge)) - np.repeat(np.cumsum(count) - count, count)
    ray = order[begins[edge] + place]
    first, second = (beside[edge] - offset[ray, None]).T
    share = first / (first - second)
    met = away[edge, 0] + share * (away[edge, 1] - away[edge, 0])
    within = (met > 0) & (met < reach)
    return ray[within], met[within]


def _joined(rays: _Rays, chosen: Bools) -> _Rays:
    """Return stretches that follow on each other as one.

    Two finished surfaces are one stretch where one goes on as the other falls.
    """
    ray, start, end = rays.ray[chosen], rays.start[chosen], rays.end[chosen]
    kind, high, low = rays.kind[chosen], rays.high[chosen], rays.low[chosen]
    fall = (high - low) / (end - start)
    gap = start[1:] - end[:-1]
    goes_on = np.abs(low[:-1] - fall[:-1] * gap - high[1:]) <= TOUCH
    straight = goes_on & (np.abs(np.diff(fall)) <= TOUCH) & (kind[1:] >= 0) & (gap <= HAIR)
    alike = (np.diff(kind) == 0) & (gap <= TOUCH)
    follows = np.append(False, (ray[1:] == ray[:-1]) & (alike | straight))[: len(ray)]
    first = np.flatnonzero(~follows)
    final = np.append(first[1:] - 1, len(ray) - 1) if len(ray) else first
    return _Rays(ray[first], start[first], end[final], kind[first], high[first], low[final])


def _worst(rays: _Rays, origins: Floats, outward: Floats, least: float) -> Worst | None:
    length = rays.end - rays.start
    kept = np.flatnonzero(length > least - TOUCH)
    if not len(kept):
        return None
    fall = (rays.high - rays.low)[kept] / length[kept]
    kept = kept[fall <= fall.min() + TOUCH]
    worst = int(kept[length[kept] >= length[kept].max() - _ALIKE][0])
    at = origins[rays.ray[worst]] + rays.start[worst] * outward
    return Worst(float(fall.min()), at, float(rays.start[worst]), float(length[worst]))
