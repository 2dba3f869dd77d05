"""Cutting an outline out of the ground's triangles: once, for all planes that are tried there."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import shapely
from msgspec.structs import replace
from shapely.geometry.base import BaseGeometry

from grading.finish.boundary import crossed, edges_of, untold
from grading.finish.earthwork import Clip, counter_clockwise
from grading.geometry.arrays import Bools, Floats, Ints, polygons
from grading.geometry.triangulation import touching
from grading.ground.model import Ground
from grading.kept import DIGS, Kept, fingerprint

_FEW = 64  # own: triangles; below this the library is done before the arrays are made
_SMALL = 2000  # own: triangles; below this the grid of cells takes longer than it saves
_CELLS = 512  # own: the most cells along the longer side of the outline's frame


def cut_out(
    kept: Kept, ground: Ground, polygon: BaseGeometry, domains: Sequence[shapely.Polygon]
) -> Clip:
    """Cut an outline out of the ground, where that was not done before; see `clip_facets`."""
    # One plane is over all of it, however wide its domain is.
    parted = domains if len(domains) > 1 else ()
    key = ground, fingerprint(polygon, tuple(parted))
    return kept.once("clip", key, lambda: clip_facets(ground, polygon, domains), DIGS)


def clip_facets(ground: Ground, polygon: BaseGeometry, domains: Sequence[shapely.Polygon]) -> Clip:
    """Cut an outline out of the ground, parted by the domains of a finish's facets.

    Parameters
    ----------
    ground : Ground
    polygon : shapely polygon or multipolygon
        The outline. [m]
    domains : sequence of shapely polygon
        They part it. [m]
    """
    if len(domains) == 1:
        return clip(ground, polygon)
    parts = []
    for number, domain in enumerate(domains):
        region = polygons(shapely.intersection(polygon, domain), 0.0)
        if region.area > 0:
            pieces = clip(ground, region)
            parts.append(replace(pieces, facet=np.full(len(pieces.xy), number, dtype=np.intp)))
    return Clip(
        *(
            np.concatenate([getattr(part, name) for part in parts])
            for name in ("xy", "ground", "organics", "facet")
        )
    )


def clip(ground: Ground, polygon: BaseGeometry) -> Clip:
    """Cut an outline out of the ground's triangles.

    Parameters
    ----------
    ground : Ground
        The surveyed surface.
    polygon : shapely polygon or multipolygon
        The outline; all of it lies on the ground. [m]

    Returns
    -------
    Clip
        Triangles wholly inside as they are; those on the boundary cut, and cut up again into
        triangles.
    """
    found = touching(ground.points, ground.triangles, polygon.bounds)
    corners = ground.triangles[found]
    inside, xy, source = _parted(ground.points, corners, polygon)
    count, cut = np.count_nonzero(inside), corners[source]
    weights = _weights(xy, ground.points[cut, :2])
    columns = np.empty((4, 3, count + len(xy)))
    values = *ground.points.T, ground.organics
    for corner in range(3):
        of = corners[:, corner][inside]
        for column, value in zip(columns, values, strict=True):
            column[corner, :count] = value.take(of)
    columns[:2, :, count:] = xy.transpose(2, 1, 0)
    columns[2, :, count:] = _at(weights, ground.points[cut, 2]).T
    columns[3, :, count:] = _at(weights, ground.organics[cut]).T
    return counter_clockwise(columns)


def _parted(points: Floats, corners: Ints, polygon: BaseGeometry) -> tuple[Bools, Floats, Ints]:
    """Return which triangles lie inside, and pieces (n, 3, 2) of others, each with its own. [m]

    points : (n, 3) float. [m]
    corners : (k, 3) int
    """
    # Cutting is done about a near origin: far ones cost digits.
    origin = np.array(polygon.bounds[:2])
    shapely.prepare(polygon)
    inside, near = np.zeros(len(corners), bool), np.arange(len(corners))
    if len(corners) > _SMALL:
        far, inside = _far_from_boundary(points, corners, polygon)
        near = np.flatnonzero(~far)
    close = points[corners[near], :2]
    if len(close) < _FEW:
        found = untold(len(close))
    else:
        found = crossed(close - origin, edges_of(polygon, origin))
    clear = np.flatnonzero(~found.met & ~found.doubtful)
    inside[near[clear]] = shapely.contains_xy(polygon, close[clear].mean(axis=1))
    doubtful = np.flatnonzero(found.doubtful)
    pieces, owner = found.pieces, found.source
    if len(doubtful):
        # To ask takes a fraction of the time of cutting, so none is cut that need not be.
        asked = shapely.polygons(close[doubtful])
        covered = np.asarray(shapely.covers(polygon, asked))
        inside[near[doubtful]] = covered
        meets = doubtful[~covered & shapely.intersects(polygon, asked)]
        xy, source = _by_library(close[meets], polygon, origin)
        pieces, owner = np.concatenate([pieces, xy]), np.concatenate([owner, meets[source]])
    return inside, pieces + origin, near[owner]


def _by_library(flat: Floats, polygon: BaseGeometry, origin: Floats) -> tuple[Floats, Ints]:
    """Return pieces (n, 3, 2) of triangles (k, 3, 2) about an origin, and of which each is. [m]"""
    near = shapely.transform(polygon, lambda xy: xy - origin)
    if not shapely.is_valid(near):
        # Moved, what is a hair wide may by rounding come to cross itself.
        near = shapely.make_valid(near)
    shapely.prepare(near)
    pieces = shapely.intersection(shapely.polygons(flat - origin), near)
    parts, owner = shapely.get_parts(pieces, return_index=True)
    polygonal = shapely.get_dimensions(parts) == 2
    parts, owner = parts[polygonal], owner[polygonal]
    simple = shapely.get_num_coordinates(parts) == 4
    cut_up = shapely.constrained_delaunay_triangles(parts[~simple])
    small, source = shapely.get_parts(cut_up, return_index=True)
    cut = np.concatenate([parts[simple], small])
    owner = np.concatenate([owner[simple], owner[~simple][source]])
    return shapely.get_coordinates(cut).reshape(-1, 4, 2)[:, :3], owner


def _weights(xy: Floats, triangle: Floats) -> Floats:
    """Return barycentric weights of points (k, 3, 2) in triangles (k, 3, 2): (k, 3, 3)."""
    base, first, second = triangle[:, 0], triangle[:, 1], triangle[:, 2]
    one, two = (first - base)[:, None], (second - base)[:, None]
    offset = xy - base[:, None]
    double = one[..., 0] * two[..., 1] - one[..., 1] * two[..., 0]
    along = (offset[..., 0] * two[..., 1] - offset[..., 1] * two[..., 0]) / double
    across = (one[..., 0] * offset[..., 1] - one[..., 1] * offset[..., 0]) / double
    return np.stack([1 - along - across, along, across], axis=-1)


def _at(weights: Floats, values: Floats) -> Floats:
    return np.asarray(np.einsum("kij,kj->ki", weights, values))


def _far_from_boundary(points: Floats, corners: Ints, polygon: BaseGeometry) -> tuple[Bools, Bools]:
    """Say which triangles (k, 3) are far from the boundary, and which of these lie inside.

    Far is what touches no cell of a grid that the boundary passes through or beside. Prefix sums
    over the grid count the marked cells under each box in constant time, and what lies in a cell
    without boundary lies on the side of its middle.
    """
    left, bottom, right, top = polygon.bounds
    cell = max(right - left, top - bottom) / min(_CELLS, 2 * len(corners) ** 0.5)
    origin = np.array([left - cell, bottom - cell])
    shape = np.array([int((right - left) / cell), int((top - bottom) / cell)]) + 4
    boundary = shapely.segmentize(polygon.boundary, cell / 2)
    marked = np.zeros(shape, np.int32)
    column, row = ((shapely.get_coordinates(boundary) - origin) / cell).astype(int).T
    for i in (-1, 0, 1):
        for j in (-1, 0, 1):
            marked[np.clip(column + i, 0, shape[0] - 1), np.clip(row + j, 0, shape[1] - 1)] = 1
    sums = np.zeros(shape + 1, np.int32)
    np.cumsum(marked, axis=0, out=sums[1:, 1:])
    np.cumsum(sums, axis=1, out=sums)
    spans = []
    for axis in (0, 1):
        # Of a point that lies in a cell, the corners of its triangles lie there too.
        own = ((points[:, axis] - origin[axis]) / cell).clip(0, shape[axis] - 1).astype(np.int32)
        one, two, three = (own.take(corners[:, corner]) for corner in range(3))
        low = np.minimum(np.minimum(one, two), three)
        spans.append((low, np.maximum(np.maximum(one, two), three) + 1))
    (x0, x1), (y0, y1) = spans
    counted = sums[x1, y1] - sums[x0, y1] - sums[x1, y0] + sums[x0, y0]
    far = counted == 0
    middle = _cells_inside(polygon, origin, cell, shape)
    return far, far & middle[x0, y0]


def _cells_inside(polygon: BaseGeometry, origin: Floats, cell: float, shape: Ints) -> Bools:
    """Say which cells of a grid have their middle inside: past an odd number of edges of a row."""
    edges = edges_of(polygon, origin)
    x, y = edges.start.T / cell
    end_x, end_y = edges.end.T / cell
    middle = np.arange(shape[1]) + 0.5
    edge, row = np.nonzero((y[:, None] <= middle) != (end_y[:, None] <= middle))
    share = (middle[row] - y[edge]) / (end_y - y)[edge]
    column = np.ceil(x[edge] + share * (end_x - x)[edge] - 0.5).astype(int)
    past = np.bincount(np.clip(column, 0, shape[0] - 1) * shape[1] + row, minlength=shape.prod())
    odd = (past % 2 == 1).reshape(shape)
    return np.logical_xor.accumulate(odd, axis=0)
