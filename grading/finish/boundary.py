"""The triangles that an outline's boundary passes through, cut along it all at once.

Nearly every such triangle is entered once and left once. What lies inside it is then bounded by
the corners of the outline in it and by its own corners from where it is left to where it is
entered, and all such triangles are cut in a few array expressions. The others, and all where a
corner lies on a line as far as rounding tells, are left to the polygon library's exact predicates.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from grading.geometry.arrays import Bools, Floats, Ints
from grading.geometry.cells import spread
from grading.geometry.triangulation import cross

# Twice the area of three points is off by some 16 units in the last place of the square of what
# they span; thirty times that is not told from nothing. [of the square]
_DOUBT = 2.0**-44
# A boundary that comes in and goes out on one side of a triangle nearer than this may do so either
# way round. [of what is spanned]
_BESIDE = 1e-9  # own: a share of what is spanned, not a length
_PAIRS = 2_000_000  # own: boxes against boxes, beyond which a tree of them is faster


class Edges(NamedTuple):
    """The edges of an outline, its inside on their left, ring by ring.

    start, end : (e, 2) float. [m]
    first, long : (e,) int, the first edge of its ring, and how many that has.
    """

    start: Floats
    end: Floats
    first: Ints
    long: Ints


class Crossed(NamedTuple):
    """How triangles (k,) lie to a boundary.

    doubtful : (k,) bool, the polygon library must say.
    met : (k,) bool, the boundary passes through; where it is neither, it lies on one side.
    pieces : (n, 3, 2) float, what lies inside of those that are met and not doubtful. [m]
    source : (n,) int, the triangle of each.
    """

    doubtful: Bools
    met: Bools
    pieces: Floats
    source: Ints


def untold(count: int) -> Crossed:
    """Return so many triangles of which the polygon library must say everything."""
    every = np.ones(count, bool)
    return Crossed(every, every, np.empty((0, 3, 2)), np.zeros(0, np.int64))


def edges_of(polygon: BaseGeometry, origin: Floats) -> Edges:
    """Return the edges of a polygon or multipolygon about an origin (2,). [m]"""
    rings = shapely.get_rings(shapely.orient_polygons(shapely.get_parts(polygon)))
    xy, ring = shapely.get_coordinates(rings, return_index=True)
    xy = xy - origin
    kept = (ring[1:] == ring[:-1]) & (xy[1:] != xy[:-1]).any(axis=1)
    number = np.bincount(ring[:-1][kept], minlength=len(rings))
    first = np.cumsum(number) - number
    return Edges(xy[:-1][kept], xy[1:][kept], np.repeat(first, number), np.repeat(number, number))


def crossed(flat: Floats, edges: Edges) -> Crossed:
    """Cut triangles (k, 3, 2) along the edges of an outline. [m]"""
    flat = _turned(flat)
    owner, edge = _boxes_that_meet(flat, edges)
    span = max((float(np.abs(each).max(initial=0.0)) for each in (flat, edges.start)), default=0.0)
    doubt = _DOUBT * span * span
    start, end = edges.start[edge], edges.end[edge]
    along = end - start
    corner = [flat[owner, i] for i in range(3)]
    beside = [cross(along, each - start) for each in corner]  # the corners, of the edge's line
    sides = [corner[(i + 1) % 3] - corner[i] for i in range(3)]
    came = [cross(sides[i], start - corner[i]) for i in range(3)]  # its ends, of the sides' lines
    went = [cross(sides[i], end - corner[i]) for i in range(3)]
    # Two convex shapes miss each other only if the line of an edge of one of them parts them.
    least = np.minimum(np.minimum(*beside[:2]), beside[2])
    most = np.maximum(np.maximum(*beside[:2]), beside[2])
    apart = (least > doubt) | (most < -doubt)
    nearest = np.abs(beside[0])
    for values in (*beside[1:], *came, *went):
        nearest = np.minimum(nearest, np.abs(values))
    for i in range(3):
        apart |= np.maximum(came[i], went[i]) < -doubt
    meet = np.flatnonzero(~apart)
    owner, edge, nearest = owner[meet], edge[meet], nearest[meet]
    lines = np.array([beside, came, went])[:, :, meet] if len(meet) else np.zeros((3, 3, 0))
    met = np.zeros(len(flat), bool)
    met[owner] = True
    doubtful = np.zeros(len(flat), bool)
    doubtful[owner[nearest <= doubt]] = True
    doubtful |= cross(flat[:, 1] - flat[:, 0], flat[:, 2] - flat[:, 0]) <= doubt
    return _cut(flat, edges, owner, edge, lines, met, doubtful, _BESIDE * span)


def _turned(flat: Floats) -> Floats:
    """Return triangles counter-clockwise."""
    other = cross(flat[:, 1] - flat[:, 0], flat[:, 2] - flat[:, 0]) < 0
    if other.any():
        flat = flat.copy()
        flat[other] = flat[other][:, ::-1]
    return flat


def _boxes_that_meet(flat: Floats, edges: Edges) -> tuple[Ints, Ints]:
    """Return triangle and edge of each pair whose boxes meet, in the order of both."""
    one, two, three = flat.transpose(1, 2, 0)
    low, high = np.minimum(np.minimum(one, two), three), np.maximum(np.maximum(one, two), three)
    least, most = np.minimum(edges.start, edges.end).T, np.maximum(edges.start, edges.end).T
    if low.shape[1] * least.shape[1] > _PAIRS:
        tree = shapely.STRtree(np.asarray(shapely.box(*least, *most)))
        owner, edge = tree.query(shapely.box(*low, *high))
        order = np.lexsort((edge, owner))
        return owner[order], edge[order]
    meet = (low[0][:, None] <= most[0]) & (high[0][:, None] >= least[0])
    meet &= low[1][:, None] <= most[1]
    meet &= high[1][:, None] >= least[1]
    owner, edge = np.nonzero(meet)
    return owner, edge


def _cut(
    flat: Floats,
    edges: Edges,
    owner: Ints,
    edge: Ints,
    lines: Floats,
    met: Bools,
    doubtful: Bools,
    least_gap: float,
) -> Crossed:
    """Cut the triangles that are entered once and left once.

    owner, edge : (p,) int, triangle and edge of each pair that meets.
    lines : (3, 3, p) float, twice the areas of corners, starts and ends against the three lines.
    """
    beside, came, went = lines
    size = len(flat)
    enters, leaves = (came < 0).any(axis=0), (went < 0).any(axis=0)
    number = np.bincount(owner, minlength=size)
    once = np.bincount(owner, enters, size) == 1
    once &= np.bincount(owner, leaves, size) == 1
    first, last = np.zeros(size, np.int64), np.zeros(size, np.int64)  # pairs
    first[owner[enters]], last[owner[leaves]] = np.flatnonzero(enters), np.flatnonzero(leaves)
    doubtful |= met & ~once
    whole = np.flatnonzero(met & ~doubtful)
    come, go = first[whole], last[whole]
    # All that pass lie in one chain from the first to the last, and no ring wholly inside.
    ring, count, passing = edges.first[edge[come]], edges.long[edge[come]], number[whole]
    place = edge[come] - ring
    chained = (passing <= count) & (ring + (place + passing - 1) % count == edge[go])
    in_side, out_side = _side(beside[:, come], came=True), _side(beside[:, go], came=False)
    entry = _on_side(edges, edge[come], came, went, come, in_side)
    exit_ = _on_side(edges, edge[go], came, went, go, out_side)
    ahead = flat[whole, (out_side + 1) % 3] - flat[whole, out_side]
    gap = ((entry - exit_) * ahead).sum(axis=1) / np.hypot(*ahead.T)
    corners = (in_side - out_side) % 3
    same = corners == 0
    corners[same & (gap < 0)] = 3
    sure = chained & ~(same & (np.abs(gap) <= least_gap))
    doubtful[whole[~sure]] = True
    whole, entry, exit_ = whole[sure], entry[sure], exit_[sure]
    ring, count, place = ring[sure], count[sure], place[sure]
    passing, corners, out_side = passing[sure], corners[sure], out_side[sure]
    # Rings, one after the other: entry, the outline's corners, exit, the triangle's corners.
    long = 1 + passing + corners
    base = np.cumsum(long) - long
    xy = np.empty((int(long.sum()), 2))
    xy[base], xy[base + passing] = entry, exit_
    of, at = spread(np.zeros_like(passing), passing - 1)
    xy[base[of] + 1 + at] = edges.end[ring[of] + (place[of] + at) % count[of]]
    of, at = spread(np.zeros_like(corners), corners)
    xy[(base + passing + 1)[of] + at] = flat[whole[of], (out_side[of] + 1 + at) % 3]
    # A ring is cut from a corner of its triangle to every other of its corners, or from where it is
    # entered if it has none: there it is no wider than a half turn, so that pieces which all turn
    # one way cover it once. What turns back behind itself is left to the library.
    apex = np.where(corners > 0, passing + 1, 0)
    of, at = spread(np.ones_like(long), long - 2)
    one, two = ((apex[of] + at + more) % long[of] + base[of] for more in (0, 1))
    pieces = np.stack([xy[(base + apex)[of]], xy[one], xy[two]], axis=1)
    back = cross(pieces[:, 1] - pieces[:, 0], pieces[:, 2] - pieces[:, 0]) < 0
    hollow = np.zeros(len(long), bool)
    hollow[of[back]] = True
    doubtful[whole[hollow]] = True
    if hollow.any():
        pieces, of = pieces[~hollow[of]], of[~hollow[of]]
    return Crossed(doubtful, met, pieces, whole[of])


def _side(beside: Floats, *, came: bool) -> Ints:
    """Return which side (p,) a line comes in by, or goes out by, of corners (3, p) beside it.

    Round a triangle that is counter-clockwise, the line comes in where its left ends.
    """
    left = beside > 0
    following = left[[1, 2, 0]]
    return np.asarray((left & ~following if came else ~left & following).argmax(axis=0))


def _on_side(
    edges: Edges, edge: Ints, came: Floats, went: Floats, pair: Ints, side: Ints
) -> Floats:
    """Return where edges cross the lines of sides, (p, 2). [m]"""
    one, other = came[side, pair], went[side, pair]
    share = (one / (one - other))[:, None]
    start, end = edges.start[edge], edges.end[edge]
    return np.asarray(start + share * (end - start))
