"""Cutting an outline out of the ground's triangles: once, for all planes that are tried there."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import shapely
from msgspec.structs import replace
from shapely.geometry.base import BaseGeometry

from grading.finish.earthwork import Clip, counter_clockwise
from grading.geometry.arrays import Bools, Floats
from grading.geometry.triangulation import touching
from grading.ground.model import Ground
from grading.kept import DIGS, Kept, fingerprint

_SMALL = 2000  # triangles; below this shapely's own predicates beat the grid of cells
_CELLS = 512  # cells along the longer side of the outline's frame


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
        region = _areal(shapely.intersection(polygon, domain))
        if region.area > 0:
            pieces = clip(ground, region)
            parts.append(replace(pieces, facet=np.full(len(pieces.xy), number, dtype=np.intp)))
    return Clip(
        *(
            np.concatenate([getattr(part, name) for part in parts])
            for name in ("xy", "ground", "organics", "facet")
        )
    )


def _areal(shape: BaseGeometry) -> shapely.MultiPolygon:
    parts = [part for part in shapely.get_parts(shape) if isinstance(part, shapely.Polygon)]
    return shapely.MultiPolygon(parts)


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
        Triangles wholly inside as they are; those on the boundary cut by shapely and cut up
        again into triangles.
    """
    found = touching(ground.points, ground.triangles, polygon.bounds)
    triangle = ground.triangles[found]
    corners = ground.points[triangle]
    flat = corners[:, :, :2]
    inside, on_boundary = _sides(flat, polygon)
    # Cutting is done about a near origin: far ones cost digits.
    origin = np.array(polygon.bounds[:2])
    near = shapely.transform(polygon, lambda xy: xy - origin)
    if not shapely.is_valid(near):
        # Moved, what is a hair wide may by rounding come to cross itself.
        near = shapely.make_valid(near)
    shapely.prepare(near)
    triangles = shapely.polygons(flat[on_boundary] - origin)
    pieces = shapely.intersection(triangles, near)
    parts, owner = shapely.get_parts(pieces, return_index=True)
    polygonal = shapely.get_dimensions(parts) == 2
    parts, owner = parts[polygonal], owner[polygonal]
    simple = shapely.get_num_coordinates(parts) == 4
    shapes, shape_owner = [parts[simple]], [owner[simple]]
    if not simple.all():
        cut_up = shapely.constrained_delaunay_triangles(parts[~simple])
        small, source = shapely.get_parts(cut_up, return_index=True)
        shapes.append(small)
        shape_owner.append(owner[~simple][source])
    cut = np.concatenate(shapes)
    source = np.flatnonzero(on_boundary)[np.concatenate(shape_owner)]
    xy = shapely.get_coordinates(cut).reshape(-1, 4, 2)[:, :3] + origin
    organics = ground.organics[triangle]
    weights = _weights(xy, flat[source])
    clipped = np.concatenate([flat[inside], xy])
    heights = np.concatenate([corners[inside][:, :, 2], _at(weights, corners[source][:, :, 2])])
    depths = np.concatenate([organics[inside], _at(weights, organics[source])])
    return counter_clockwise(clipped, heights, depths)


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


def _sides(flat: Floats, polygon: BaseGeometry) -> tuple[Bools, Bools]:
    """Say which triangles lie wholly inside the outline and which may meet its boundary.

    flat : (k, 3, 2) float, those whose boxes meet that of the outline. [m]
    """
    shapely.prepare(polygon)
    inside, near = np.zeros(len(flat), bool), np.ones(len(flat), bool)
    if len(flat) > _SMALL:
        one, two, three = flat.transpose(1, 0, 2)  # far faster than along an axis of three
        low = np.minimum(np.minimum(one, two), three)
        high = np.maximum(np.maximum(one, two), three)
        near = _near_boundary(low, high, polygon)
        inside[~near] = shapely.contains_xy(polygon, ((one + two + three) / 3)[~near])
    # To ask takes a fraction of the time of cutting, so none is cut that need not be.
    triangles = shapely.polygons(flat[near])
    covered = np.asarray(shapely.covers(polygon, triangles))
    inside[near] = covered
    meets = np.zeros(len(flat), bool)
    meets[near] = ~covered & shapely.intersects(polygon, triangles)
    return inside, meets


def _near_boundary(low: Floats, high: Floats, polygon: BaseGeometry) -> Bools:
    """Say which boxes touch a cell of a grid that the boundary passes through or beside.

    Prefix sums over the grid count the marked cells under each box in constant time.
    """
    left, bottom, right, top = polygon.bounds
    cell = max(right - left, top - bottom) / _CELLS
    origin = np.array([left - cell, bottom - cell])
    shape = np.array([int((right - left) / cell), int((top - bottom) / cell)]) + 4
    boundary = shapely.segmentize(polygon.boundary, cell / 2)
    marked = np.zeros(shape, np.int64)
    column, row = ((shapely.get_coordinates(boundary) - origin) / cell).astype(int).T
    for i in (-1, 0, 1):
        for j in (-1, 0, 1):
            marked[np.clip(column + i, 0, shape[0] - 1), np.clip(row + j, 0, shape[1] - 1)] = 1
    sums = np.zeros(shape + 1, np.int64)
    sums[1:, 1:] = marked.cumsum(axis=0).cumsum(axis=1)
    x0, y0 = np.clip(((low - origin) / cell).astype(int), 0, shape - 1).T
    x1, y1 = (np.clip(((high - origin) / cell).astype(int), 0, shape - 1) + 1).T
    counted = sums[x1, y1] - sums[x0, y1] - sums[x1, y0] + sums[x0, y0]
    return np.asarray(counted > 0)
