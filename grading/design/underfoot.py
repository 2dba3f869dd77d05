"""What lies under a piece of the paving: the finish over it, and what is dug below the dig.

Everything that the advice asks of a finish is asked here, and nowhere else.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import NamedTuple

import numpy as np
import shapely

from grading.design.area import AreaPlan
from grading.dig.hole import Dig
from grading.finish.cutting import clip
from grading.finish.earthwork import positive_and_negative
from grading.geometry.arrays import Floats, polygons
from grading.geometry.tolerances import REACH
from grading.ground.model import Ground

Levels = Callable[[Floats], Floats]  # points (k, 2) [m] to levels (k,) [m]


def flat(level: float) -> Levels:
    """Return the levels of a level surface. [m]"""

    def at(xy: Floats) -> Floats:
        return np.full(len(xy), level)

    return at


def level_at(plan: AreaPlan, xy: Floats) -> Floats:
    """Return the finish of an area at points (k, 2), carried on beyond its edge. [m]"""
    return plan.finish.surface.at(xy)


def fall_of(plan: AreaPlan) -> float:
    """Return the steepest fall of an area's finish. [ratio]"""
    return max(facet.plane.fall for facet in plan.finish.surface.paved)


def triangles(shape: shapely.Geometry) -> Floats:
    """Return a plan shape cut up into triangles, (k, 3, 2). [m]"""
    parts = shapely.get_parts(shapely.constrained_delaunay_triangles(shape))
    parts = parts[shapely.get_dimensions(parts) == 2]
    return shapely.get_coordinates(parts).reshape(-1, 4, 2)[:, :3]


def areas_of(xy: Floats) -> Floats:
    """Return the plan areas of triangles (k, 3, 2), each positive. [m2]"""
    first, second = xy[:, 1] - xy[:, 0], xy[:, 2] - xy[:, 0]
    return np.asarray(0.5 * np.abs(first[:, 0] * second[:, 1] - first[:, 1] * second[:, 0]))


def overlap(least: Floats, other: Floats, areas: Floats) -> float:
    """Integrate the positive part of the lesser of two heights that are linear on triangles.

    Parameters
    ----------
    least, other : (k, 3) float
        Heights at the corners. [m]
    areas : (k,) float
        Plan areas. [m2]

    Returns
    -------
    float
        Exact. [m3]

    Notes
    -----
    A triangle in which the two change places is cut in three along the line where they are
    equal; in each piece the lesser is one of them, and so linear.
    """
    apart = least - other
    mixed = (apart.min(axis=1) < 0) & (apart.max(axis=1) > 0)
    whole = positive_and_negative(np.minimum(least, other)[~mixed], areas[~mixed]).cut
    if not mixed.any():
        return whole
    apart, low = apart[mixed], np.minimum(least, other)[mixed]
    one_below = (apart < 0).sum(axis=1) == 1
    lone = np.where(one_below, apart.argmin(axis=1), apart.argmax(axis=1))
    row = np.arange(len(lone))
    order = (lone[:, None] + np.arange(3)) % 3
    apart, low = apart[row[:, None], order], low[row[:, None], order]
    # The corner alone on its side first; s and t where its two edges meet the line.
    s, t = (apart[:, 0] / (apart[:, 0] - apart[:, other_end]) for other_end in (1, 2))
    first = least[mixed][row[:, None], order]
    at_s = first[:, 0] + s * (first[:, 1] - first[:, 0])
    at_t = first[:, 0] + t * (first[:, 2] - first[:, 0])
    corner = np.stack([low[:, 0], at_s, at_t], axis=1)
    beside = np.stack([at_s, low[:, 1], low[:, 2]], axis=1)
    between = np.stack([at_s, low[:, 2], at_t], axis=1)
    share = areas[mixed]
    parts = [share * s * t, share * (1 - s), share * s * (1 - t)]
    heights = np.concatenate([corner, beside, between])
    return whole + positive_and_negative(heights, np.concatenate(parts)).cut


class Earth(NamedTuple):
    """What is dug, in the bank: all of it, and the topsoil in it. [m3]"""

    bank: float
    topsoil: float


NOTHING_DUG = Earth(0.0, 0.0)


def dug_under(
    ground: Ground,
    plan: AreaPlan,
    dig: Dig,
    where: shapely.Geometry,
    bottom: Levels,
    earlier: tuple[shapely.Geometry, Levels] | None = None,
    so_far: Earth = NOTHING_DUG,
) -> Earth:
    """Return what is dug beyond a hole, and what was dug under it, down to a lower bottom.

    Parameters
    ----------
    ground : Ground
        It is carried on beyond the survey as far as is dug outside the hole.
    plan : AreaPlan
    dig : Dig
        The area's own; outside its hole it is dug from the ground itself.
    where : shapely geometry
        Where it is dug. [m]
    bottom : callable
        Levels (k,) of the bottom at points (k, 2). [m]
    earlier : (shapely geometry, callable), optional
        Where it was dug before, to the formation or below, and the bottom of that.
    so_far : Earth
        What it is added to.
    """
    build_up = dig.build_up
    bank, topsoil = so_far
    parts = [(where, None)] if earlier is None else [
        (shapely.difference(where, earlier[0]), None),
        (shapely.intersection(where, earlier[0]), earlier[1]),
    ]  # fmt: skip
    for part, start in parts:
        inside, outside = (
            polygons(take(part, dig.polygon)) for take in (shapely.intersection, shapely.difference)
        )
        if not inside.is_empty:
            piece = clip(ground, inside)
            corners = piece.xy.reshape(-1, 2)
            low = bottom(corners).reshape(-1, 3)
            above = level_at(plan, corners) - build_up if start is None else start(corners)
            stripped = piece.ground - piece.organics
            bank += overlap(above.reshape(-1, 3) - low, stripped - low, piece.areas)
        if not outside.is_empty:
            piece = clip(
                ground.reaching(outside, ground.beyond_survey(outside)[0] + REACH), outside
            )
            corners = piece.xy.reshape(-1, 2)
            low = bottom(corners).reshape(-1, 3)
            depth = piece.ground - low
            if start is None:
                bank += positive_and_negative(depth, piece.areas).cut
                topsoil += overlap(depth, piece.organics, piece.areas)
            else:
                bank += overlap(start(corners).reshape(-1, 3) - low, depth, piece.areas)
    return Earth(bank, topsoil)


def between(where: shapely.Geometry, low: Levels, high: Levels) -> float:
    """Return what fills up from one level to a higher one, where it is higher. [m3]

    Parameters
    ----------
    where : shapely geometry
        In plan. [m]
    low, high : callable
        Levels (k,) at points (k, 2), each one plane on a triangle of `where`. [m]
    """
    if polygons(where).is_empty:
        return 0.0
    xy = triangles(polygons(where))
    corners = xy.reshape(-1, 2)
    height = (high(corners) - low(corners)).reshape(-1, 3)
    return positive_and_negative(height, areas_of(xy)).cut
