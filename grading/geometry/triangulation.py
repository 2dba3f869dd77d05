"""Constrained Delaunay triangles of plan points, and the ring that bounds them."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import pythoncdt as cdt
from msgspec import Struct

from grading.geometry.arrays import Floats, Ints

# Rounding turns a straight row of spots on the edge of a survey into needles some 1e-16 m high
# whose gradient means nothing. One micrometre is a thousand times finer than any spot.
NEEDLE = 1e-6  # own: the height of a triangle

_NOBODY = -1


class Triangles(Struct, frozen=True):
    """Triangles that cover the hull of some points once.

    corners : (m, 3) int, counter-clockwise; neighbours : (m, 3) int, the triangle across the side
    from corner i to corner i + 1, -1 where there is none; ring : (r,) int, the points on the
    boundary, counter-clockwise, each once.
    """

    corners: Ints
    neighbours: Ints
    ring: Ints

    def sides(self) -> Ints:
        """Return the distinct sides (e, 2), lower point first, in no order."""
        number = np.arange(len(self.corners))
        pairs = []
        for i in range(3):
            once = self.neighbours[:, i] < number  # of two triangles, the later one; or nobody
            pairs.append(self.corners[once][:, [i, (i + 1) % 3]])
        pair = np.concatenate(pairs)
        pair.sort(axis=1)
        return pair


class CrossingEdgesError(ValueError):
    """Two edges that must both be kept cross between their ends."""


def triangulate(points: Floats, edges: Ints | None = None, *, snap: float = 0.0) -> Triangles:
    """Return the constrained Delaunay triangles of points.

    Parameters
    ----------
    points : (n, 2) float
        Distinct, finite, not all on one line. [m]
    edges : (k, 2) int, optional
        Pairs of points that must be joined, straight through any point on the way.
    snap : float
        An edge passes through every point nearer to it than this. [m]

    Raises
    ------
    ValueError
        A coordinate is not finite, or fewer than three points span an area.
    CrossingEdgesError
        Two edges cross between their ends.
    """
    points = np.asarray(points, float)
    if not np.isfinite(points).all():  # the library would fill all memory
        raise ValueError("a coordinate is not a finite number")
    if len(points) < 3:
        raise ValueError("fewer than three points")
    local = np.ascontiguousarray(points - points.mean(axis=0))
    mesh = cdt.Triangulation(
        cdt.VertexInsertionOrder.AUTO, cdt.IntersectingConstraintEdges.NOT_ALLOWED, snap
    )
    mesh.insert_vertices(local)
    if edges is not None and len(edges):
        try:
            mesh.insert_edges(np.ascontiguousarray(edges, dtype=np.uint32))
        except RuntimeError as error:
            raise CrossingEdgesError(str(error)) from error
    mesh.erase_super_triangle()
    found = mesh.triangles_array(copy=False)
    corners = found["vertices"].astype(np.int64)
    neighbours = found["neighbors"].astype(np.int64)
    neighbours[neighbours == cdt.NO_NEIGHBOR] = _NOBODY
    if not len(corners):
        raise ValueError("all points lie on one line")
    corners, neighbours = _without_needles(local, corners, neighbours)
    return Triangles(corners, neighbours, _ring(corners, neighbours))


def cross(a: Floats, b: Floats) -> Floats:
    """Return the z component of a x b for vectors (..., 2)."""
    product: Floats = a[..., 0] * b[..., 1] - a[..., 1] * b[..., 0]
    return product


def sides(corners: Ints) -> Ints:
    """Return the distinct sides (e, 2) of triangles (m, 3), lower point first."""
    pairs = corners[:, [0, 1, 1, 2, 2, 0]].reshape(-1, 2)
    low, high = pairs.min(axis=1), pairs.max(axis=1)
    span = int(corners.max()) + 1 if len(corners) else 1
    key = np.sort(low * span + high)  # np.unique hashes, which is 30 times slower at this size
    key = key[np.append(True, key[1:] != key[:-1])]
    return np.column_stack((key // span, key % span))


def touching(points: Floats, corners: Ints, bounds: Sequence[float]) -> Ints:
    """Return which triangles have a box that meets a frame, in their order.

    Parameters
    ----------
    points : (n, 2) or (n, 3) float
        [m]
    corners : (m, 3) int
    bounds : left, bottom, right, top. [m]

    Notes
    -----
    Each point is marked by the sides of the frame that it lies beyond, a bit for each; a box
    misses the frame where all corners lie beyond the same side. That is one byte for each point,
    where the boxes themselves would take 32 for each triangle.
    """
    left, bottom, right, top = bounds
    x, y = points[:, 0], points[:, 1]
    beyond = (x < left) * np.uint8(1) | (x > right) * np.uint8(2)
    beyond |= (y < bottom) * np.uint8(4) | (y > top) * np.uint8(8)
    a, b, c = (beyond.take(corners[:, i]) for i in range(3))
    return np.flatnonzero((a & b & c) == 0)


def _without_needles(xy: Floats, corners: Ints, neighbours: Ints) -> tuple[Ints, Ints]:
    """Peel triangles lower than NEEDLE from the boundary; no point loses its last triangle."""
    kept = np.ones(len(corners), bool)
    on_ring = np.zeros(len(xy), bool)
    triangle, side = np.nonzero(neighbours == _NOBODY)
    on_ring[corners[triangle, side]] = True
    while len(triangle):
        start = xy[corners[triangle, side]]
        along = xy[corners[triangle, (side + 1) % 3]] - start
        tip = corners[triangle, (side + 2) % 3]
        beyond = xy[tip] - start
        long = np.hypot(along[:, 0], along[:, 1])
        thin = (cross(along, beyond) < NEEDLE * long) & ~on_ring[tip]
        # a needle has its tip over the side it stands on
        run = (along * beyond).sum(axis=1)
        thin &= (run > 0) & (run < long * long)
        peeled = np.flatnonzero(thin)
        peeled = peeled[np.unique(tip[peeled], return_index=True)[1]]
        if not len(peeled):
            break
        on_ring[tip[peeled]] = True
        gone = triangle[peeled]
        kept[gone] = False
        opened = [(side[peeled] + 1) % 3, (side[peeled] + 2) % 3]
        next_triangle = np.concatenate([neighbours[gone, s] for s in opened])
        owner = np.concatenate([gone, gone])
        owner, next_triangle = owner[next_triangle >= 0], next_triangle[next_triangle >= 0]
        triangle = next_triangle
        side = np.argmax(neighbours[next_triangle] == owner[:, None], axis=1)
        neighbours[triangle, side] = _NOBODY
    if kept.all():
        return corners, neighbours
    number = np.append(np.cumsum(kept) - 1, _NOBODY)
    return corners[kept], number[neighbours[kept]]


def _ring(corners: Ints, neighbours: Ints) -> Ints:
    triangle, side = np.nonzero(neighbours == _NOBODY)
    start = corners[triangle, side].tolist()
    following = dict(zip(start, corners[triangle, (side + 1) % 3].tolist(), strict=True))
    ring = [min(start)]
    while (point := following[ring[-1]]) != ring[0]:
        ring.append(point)
    return np.array(ring)
