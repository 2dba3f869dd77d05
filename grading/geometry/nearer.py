"""Which of two areas a place beside both lies nearer to: ground that both would dig is parted so.

The line between them is that of equal distance to the two outlines: straight between straight
sides, a parabola between a side and a corner. Going out square from a side of one outline, and
round its corners, the distance to the other grows by no more than the way gone, so that each way
meets the line once; it is halved down to that place, and ways are added where the line bends.
"""

from __future__ import annotations

import math

import numpy as np
import shapely
from msgspec import Struct
from numpy.typing import NDArray

from grading.geometry.arrays import Bools, Floats

_SHARED = 5e-4  # own: m, what lies so near to the other outline is of both
_CLEAR = 1e-2  # m: and what lies so near to that parts nothing
_AT_CORNER = 1e-3  # m: the line begins in a corner that it begins so near to
_BENT = 5e-5  # own: m, how far the line may leave its chord
_FINEST = 2e-5  # own: of a piece, or m; ways are set no closer
_FIRST = np.linspace(0.0, 1.0, 9)  # ways from each side, and round each corner
_HALVINGS = 26
_SMOOTHED = 2e-4  # own: m, corners of the line that enclose less than its square are left out


def parted(
    ground: shapely.Geometry, one: shapely.Polygon, other: shapely.Polygon
) -> tuple[shapely.Geometry, shapely.Geometry]:
    """Return the part of some ground that lies nearer to one outline, and that nearer to another.

    Parameters
    ----------
    ground : shapely geometry
        Beside both, in neither. [m]
    one, other : shapely polygon
        [m]

    Returns
    -------
    tuple of two shapely geometries
        They cover the ground and do not overlap. Ground as near to both, round a corner that they
        share, is parted evenly. [m]
    """
    none = shapely.Polygon()
    if shapely.area(ground) <= 0:
        return none, none
    # Near the origin, whatever the coordinates of the site.
    middle = shapely.get_coordinates(shapely.centroid(ground))[:1]
    near, first, second = (
        shapely.transform(each, lambda xy: xy - middle) for each in (ground, one, other)
    )
    edges = _alone(first, second), _alone(second, first)
    if any(shapely.is_empty(edge) for edge in edges):
        return (none, ground) if shapely.is_empty(edges[0]) else (ground, none)
    mine = shapely.union_all(_reached(near, first, *edges))
    # Where the line begins at a corner it begins in it, and leaves no thread beside a side there.
    corners = shapely.get_coordinates([first, second])
    began = shapely.make_valid(shapely.snap(mine, shapely.MultiPoint(corners), _AT_CORNER))
    parts = [_flat(shapely.intersection(near, began)), _flat(shapely.difference(near, began))]
    if not any(shapely.is_empty(part) for part in parts):
        parts = list(shapely.coverage_simplify(parts, _SMOOTHED, simplify_boundary=False))
    back = [shapely.transform(part, lambda xy: xy + middle) for part in parts]
    return back[0], back[1]


def _alone(shape: shapely.Geometry, other: shapely.Geometry) -> shapely.Geometry:
    """Return the outline of a shape but for what lies at another.

    Round a corner of both all places are as near to both. Both outlines begin as far from it, so
    that what parts them there is the line half way between their sides.
    """
    edge = shapely.boundary(shape)
    shared = shapely.intersection(edge, shapely.buffer(other, _SHARED))
    if not shapely.is_empty(shared):
        # As far along the edge, however sharp the corner is between it and what is shared.
        lines = [part for part in shapely.get_parts(shared) if part.length > 0]
        ends = shapely.boundary(shapely.line_merge(shapely.multilinestrings(lines)))
        edge = shapely.difference(edge, shapely.buffer(other, _SHARED))
        edge = shapely.difference(edge, shapely.buffer(ends, _CLEAR))
    shapely.prepare(edge)
    return edge


class _Pieces(Struct, frozen=True):
    """Sides and corners of an outline, k of them: where they start and end, and the way out there.

    starts, ends : (k, 2) [m]; first, last : (k,) angle of the way out at both. [rad]
    """

    starts: Floats
    ends: Floats
    first: Floats
    last: Floats

    def way(self, piece: NDArray[np.intp], share: Floats) -> tuple[Floats, Floats]:
        """Return the points (n, 2) [m] and directions (n, 2) at shares (n,) along pieces (n,)."""
        along = share[:, None]
        at = self.starts[piece] + along * (self.ends[piece] - self.starts[piece])
        angle = self.first[piece] + share * (self.last[piece] - self.first[piece])
        return at, np.column_stack([np.cos(angle), np.sin(angle)])


def _pieces_of(shape: shapely.Geometry, ground: shapely.Geometry, reach: float) -> _Pieces:
    """Return the sides of an outline near some ground, and the corners that point outwards."""
    turned = shapely.orient_polygons(shape)
    starts, ends, first, last = [], [], [], []
    for ring in shapely.get_rings(turned):
        corners = shapely.get_coordinates(ring)[:-1]
        after = np.roll(corners, -1, axis=0)
        side = after - corners
        # The paving lies to the left, and the way out to the right.
        out = np.arctan2(-side[:, 0], side[:, 1])
        before = np.roll(out, 1)
        turn = (out - before + math.pi) % (2 * math.pi) - math.pi
        outward = turn > 0
        starts += [corners, corners[outward]]
        ends += [after, corners[outward]]
        first += [out, before[outward]]
        last += [out, (before + turn)[outward]]
    pieces = [np.concatenate(part) for part in (starts, ends, first, last)]
    lines = shapely.linestrings(np.stack(pieces[:2], axis=1))
    beside = shapely.distance(lines, ground) <= reach
    return _Pieces(*(part[beside] for part in pieces))


def _reached(
    ground: shapely.Geometry,
    shape: shapely.Geometry,
    own: shapely.Geometry,
    other: shapely.Geometry,
) -> list[shapely.Geometry]:
    """Return what is nearer to an outline than to another, piece by piece, over some ground."""
    corners = shapely.points(shapely.get_coordinates(ground))
    reach = float(shapely.distance(shape, corners).max())
    pieces = _pieces_of(shape, ground, reach)
    count = len(pieces.starts)
    piece = np.repeat(np.arange(count), len(_FIRST))
    share = np.tile(_FIRST, count)
    far = _met(*pieces.way(piece, share), own, other, 2 * reach)
    begin = np.flatnonzero(piece[1:] == piece[:-1])
    ends = np.column_stack([begin, begin + 1])
    while len(ends):
        middle = share[ends].mean(axis=1)
        met = _met(*pieces.way(piece[ends[:, 0]], middle), own, other, 2 * reach)
        # Beyond the ground it does not matter where the line runs.
        bent = np.abs(met - far[ends].mean(axis=1)) > _BENT
        bent &= np.minimum(met, far[ends].min(axis=1)) < reach
        bent &= np.ptp(share[ends], axis=1) > _FINEST
        new = len(share) + np.arange(len(middle))
        piece = np.concatenate([piece, piece[ends[:, 0]]])
        share, far = np.concatenate([share, middle]), np.concatenate([far, met])
        halves = np.column_stack([ends[:, 0], new]), np.column_stack([new, ends[:, 1]])
        ends = np.concatenate([half[bent] for half in halves])
    order = np.lexsort([share, piece])
    piece, share, far = piece[order], share[order], far[order]
    at, ahead = pieces.way(piece, share)
    tips = at + far[:, None] * ahead
    found: list[shapely.Geometry] = []
    for k in range(count):
        mine = piece == k
        ring = shapely.Polygon(np.vstack([at[mine], tips[mine][::-1]]))
        found.append(ring if ring.is_valid else shapely.make_valid(ring))
    return found


def _met(
    at: Floats, ahead: Floats, own: shapely.Geometry, other: shapely.Geometry, most: float
) -> Floats:
    """Return how far ways (n, 2) go until the other outline is nearer, `most` at the most. [m]"""

    def nearer(far: Floats, which: NDArray[np.intp]) -> Bools:
        points = shapely.points(at[which] + far[:, None] * ahead[which])
        # The way itself is how far its own outline is, or farther than that.
        gone = np.maximum(far, shapely.distance(own, points))
        return np.asarray(gone <= shapely.distance(other, points))

    every = np.arange(len(at))
    low, high = np.zeros(len(at)), np.full(len(at), most)
    low[nearer(high, every)] = most
    left = np.flatnonzero(low < most)
    for _ in range(_HALVINGS):
        middle = (low[left] + high[left]) / 2
        good = nearer(middle, left)
        low[left[good]], high[left[~good]] = middle[good], middle[~good]
    return low


def _flat(shape: shapely.Geometry) -> shapely.Geometry:
    """Return the parts of a geometry that have an area."""
    parts = shapely.get_parts(shape)
    return shapely.union_all(parts[shapely.area(parts) > 0])
