"""The points of an area that are told by a letter: corners of the paving, ends of folds, arcs."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import shapely
from msgspec import Struct

from grading.design.area import AreaPlan
from grading.design.folds import fold_ends, folds_of
from grading.geometry.arrays import Floats, unit_vector
from grading.geometry.outline import Curve, Edge, curves_of
from grading.geometry.tolerances import FLAT, ON_ARC, TOGETHER, TOUCH

MOST = 20  # points told
FOLD_ENDS = 14  # of them ends of folds
TURN = np.radians(20)  # a corner turns more than this; an arc's chords turn less
_LONG = 1.0  # m: a shorter arc, as of a corner that is rounded off, has no middle of its own
_BESIDE = 1e-3  # own: m


class Points(Struct, frozen=True, eq=False):
    """Points (n, 2) [m] with their names, and unit vectors (n, 2) away from the paving.

    The first `corners` of them are corners, where arcs begin and end among them; then come ends of
    folds, then the `middles` of long arcs of the outline, then the corners of holes.
    """

    names: tuple[str, ...]
    xy: Floats
    away: Floats
    corners: int
    middles: int = 0

    def nearest(self, at: Floats) -> str:
        """Return the name of the point nearest to a place (2,). [m]"""
        return self.names[int(np.argmin(np.hypot(*(self.xy - at).T)))]


def corners_of(outline: shapely.Polygon, most: int = 20) -> list[tuple[Floats, Floats]]:
    """Return the corners of an outline (2,) [m], each with a unit vector away from the paving.

    On a long arc the points between its ends are thinned; at most `most` are given.
    """
    ring = np.asarray(shapely.geometry.polygon.orient(outline).exterior.coords)[:-1]
    before, after = ring - np.roll(ring, 1, axis=0), np.roll(ring, -1, axis=0) - ring
    turn = np.abs(np.angle((after @ (1, 1j)) / (before @ (1, 1j))))
    short = np.minimum(np.hypot(*before.T), np.hypot(*after.T))
    uneven = np.maximum(np.hypot(*before.T), np.hypot(*after.T)) > 4 * short
    kept = [k for k in range(len(ring)) if turn[k] > TURN or (uneven[k] and turn[k] > FLAT)]
    if len(kept) < 3:
        kept = list(range(0, len(ring), max(1, len(ring) // 8)))
    chosen = sorted(sorted(kept, key=lambda k: (-round(float(turn[k]), 6), k))[:most])
    out = []
    for k in chosen:
        normals = np.array([[v[1], -v[0]] / np.hypot(*v) for v in (before[k], after[k])])
        away = normals.sum(axis=0)
        out.append((ring[k], unit_vector(away)))
    return out


def area_corners(plan: AreaPlan, most: int = MOST) -> list[tuple[Floats, Floats]]:
    """Return the corners of an area's paving as `corners_of` does, ends of its arcs among them.

    Where an arc runs on from a straight edge nothing turns, but a crew begins to bend there.
    """
    return outline_corners(plan.outline, plan.area.outline, most)


def outline_corners(
    outline: shapely.Polygon, edges: Sequence[Edge], most: int = MOST
) -> list[tuple[Floats, Floats]]:
    """Return the corners of paving that need not be planned yet, as `area_corners` does.

    Parameters
    ----------
    outline : shapely polygon
        The paving. [m]
    edges : sequence of Edge
        Its outline as it is written. [m]
    most : int
    """
    found = corners_of(outline, most)
    ring = shapely.geometry.polygon.orient(outline).exterior
    for curve in curves_of(edges):
        for end in (np.array(curve.start), np.array(curve.end)):
            near = any(float(np.hypot(*(at - end))) <= TOGETHER for at, _ in found)
            if near or ring.distance(shapely.Point(end)) > ON_ARC:
                continue
            found.append((end, _away(outline, curve, end)))
    found.sort(key=lambda each: float(ring.project(shapely.Point(each[0]))))
    return found


def _away(outline: shapely.Polygon, curve: Curve, at: Floats) -> Floats:
    """Return the unit vector away from the paving at a point of an arc."""
    centre, middle = np.array(curve.centre), np.array(curve.middle)
    beyond = middle + _BESIDE * (middle - centre) / curve.radius
    hollow = shapely.contains_xy(outline, *beyond)
    way: Floats = (at - centre) / curve.radius
    return -way if hollow else way


def middles_of(plan: AreaPlan) -> list[tuple[Floats, Floats]]:
    """Return the middles of the long arcs of an outline (2,) [m], each with a unit vector away."""
    ring = plan.outline.exterior
    found = []
    for curve in curves_of(plan.area.outline):
        middle = np.array(curve.middle)
        rise = float(np.hypot(*(middle - (np.array(curve.start) + curve.end) / 2)))
        chord = float(np.hypot(*(np.array(curve.end) - curve.start)))
        if max(chord, 2 * rise) < _LONG or ring.distance(shapely.Point(middle)) > ON_ARC:
            continue
        found.append((middle, _away(plan.outline, curve, middle)))
    return found


def letters(count: int) -> list[str]:
    """Return names for points: a, b, ... z, aa, ab ..."""
    alphabet = "abcdefghijklmnopqrstuvwxyz"
    names = list(alphabet) + [a + b for a in alphabet for b in alphabet]
    return names[:count]


def named_points(plan: AreaPlan) -> Points:
    """Return the corners of an area's paving, the ends of its folds, the middles of its arcs.

    Lettered in that order, on every drawing and sheet alike.
    """
    ends = fold_ends(plan, folds_of(plan))[:FOLD_ENDS]
    corners = area_corners(plan, MOST - len(ends))
    arcs = [
        (at, way)
        for at, way in middles_of(plan)
        if all(np.hypot(*(at - one)) > TOGETHER for one in [each for each, _ in corners] + ends)
    ]
    xy = np.array([at for at, _ in corners] + ends + [at for at, _ in arcs])
    middle = np.asarray(plan.outline.centroid.coords[0])
    aside = [unit_vector(at - middle) for at in ends]
    away = np.array([way for _, way in corners] + aside + [way for _, way in arcs])
    return Points(tuple(letters(len(xy))), xy, away, len(corners), len(arcs))


def with_holes(plan: AreaPlan, points: Points) -> Points:
    """Return an area's points, then the corners of its holes, lettered on.

    A round hole has no corners: its centre and radius tell it.
    """
    found = [
        (at, -away)
        for hole in plan.outline.interiors
        if not _round(plan, hole)
        for at, away in corners_of(shapely.Polygon(hole))
    ]
    if not found:
        return points
    xy = np.vstack([points.xy, [at for at, _ in found]])
    away = np.vstack([points.away, [way for _, way in found]])
    return Points(tuple(letters(len(xy))), xy, away, points.corners, points.middles)


def _round(plan: AreaPlan, hole: shapely.LinearRing) -> bool:
    ring = np.asarray(hole.coords)
    return any(
        np.abs(np.hypot(*(ring - curve.centre).T) - curve.radius).max() < ON_ARC
        for curve in circles_of(plan)
    )


def circles_of(plan: AreaPlan) -> list[Curve]:
    """Return the arcs of an area's outline, then of its holes; one of those on one circle."""
    found: list[Curve] = []
    for edges in (plan.area.outline, *plan.area.holes):
        for curve in curves_of(edges):
            mark = np.array([*curve.centre, curve.radius])
            # A circle is written as two arcs: one radius tells it.
            if all(np.abs(mark - (*one.centre, one.radius)).max() >= TOUCH for one in found):
                found.append(curve)
    return found
