"""Pavers stacked while they are laid: on what they are laid on, or beside a bed not walked on."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
import shapely

from grading.geometry.arrays import Floats, unit_vector
from grading.order.sequence import BuildUp
from viz.scene.backdrop import Backdrop
from viz.scene.setting import others_in
from viz.scene.shell import Shape, Sheet, polygons

LONG, DEEP = 0.6, 0.45
"""Plan of a stack, along the edge and away from it: common practice, no source. [m]"""

TIERS, TIER = 3, 0.12
"""How many tiers are drawn of a stack, and how high each is: a stack is lifted from by hand. [m]"""

CLEAR = 0.15
"""How far stacks stay from a hole that is open beside them. [m]"""

PLACES = (0.5, 0.25, 0.75, 0.1, 0.9)
"""Where along an edge, or along the part that is laid next, a stack may stand: shares of it."""

MOST = 3
"""Stacks that are drawn at once: they tell where, not how many."""


def stacks_of(built: BuildUp, back: Backdrop, number: int) -> list[shapely.Polygon]:
    """Return where stacks of pavers stand at a step, in plan. [m]

    Parameters
    ----------
    built : BuildUp
    back : Backdrop
    number : int
        Of one of its steps; none stand there but while pavers are laid, and some are left to lay.
    """
    steps = built.steps
    left = [step for step in steps[number + 1 :] if step.phase == "pavers"]
    if steps[number].phase != "pavers" or not left:
        return []
    if built.stacks.walked_on:
        after = shapely.union_all([piece.footprint for step in left for piece in step.pieces])
        upcoming = shapely.union_all([piece.footprint for piece in left[0].pieces])
        where = after.intersection(back.cutaway.kept)
        places = _along_middle(upcoming.intersection(back.cutaway.kept))
    elif built.stacks.edge is not None:
        own = built.dig.polygon.union(built.dig.outline)
        around = shapely.intersection(back.region, back.cutaway.kept)
        where = around.difference(own.buffer(CLEAR)).difference(
            others_in(back.plan, back.area, back.region)
        )
        places = _beside(built.stacks.edge, own)
    else:
        return []
    found: list[shapely.Polygon] = []
    shapely.prepare(where)
    for box in places:
        free = all(box.distance(other) > 0 for other in found)
        if free and len(found) < MOST and where.contains(box):
            found.append(box)
    return found


def _along_middle(region: Shape) -> Iterator[shapely.Polygon]:
    """Give boxes along the middle of the largest part of a region."""
    parts = polygons(region).geoms
    if not parts:
        return
    around = max(parts, key=lambda part: part.area).minimum_rotated_rectangle
    corners = shapely.get_coordinates(around)[:4]
    sides = np.roll(corners, -1, axis=0) - corners
    first = int(np.argmax(np.hypot(*sides.T)))
    ahead = sides[first]
    middle = (corners[first] + corners[first - 1]) / 2
    for share in PLACES:
        yield _box(middle + share * ahead, ahead)


def _beside(edge: shapely.LineString, hole: Shape) -> Iterator[shapely.Polygon]:
    """Give boxes along an edge, its left the paving, on the ground beyond the hole beside it."""
    for share in PLACES:
        on = np.array(edge.interpolate(share, normalized=True).coords[0])
        ends = [
            np.array(edge.interpolate(each, normalized=True).coords[0])
            for each in (max(share - 0.01, 0.0), min(share + 0.01, 1.0))
        ]
        ahead = ends[1] - ends[0]
        out = unit_vector(np.array([ahead[1], -ahead[0]]))
        beyond = next(
            (far for far in np.arange(0.0, 3.0, 0.05) if not _box(on + far * out, ahead).buffer(
                CLEAR + 0.01).intersects(hole)),
            None,
        )  # fmt: skip
        if beyond is not None:
            yield _box(on + beyond * out, ahead)


def _box(middle: Floats, ahead: Floats) -> shapely.Polygon:
    along = unit_vector(ahead) * LONG / 2
    out = np.array([along[1], -along[0]]) / LONG * DEEP
    return shapely.Polygon([middle - along - out, middle + along - out, middle + along + out,
                            middle - along + out])  # fmt: skip


def flat(box: shapely.Polygon, origin: Floats) -> Sheet:
    """Return a box about the scene's origin as two triangles, counter-clockwise."""
    corners = shapely.get_coordinates(shapely.orient_polygons(box))[:4] - origin[:2]
    return Sheet(corners, np.array([[0, 1, 2], [0, 2, 3]]))
