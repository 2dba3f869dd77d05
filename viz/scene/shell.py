"""Closed solids between two surfaces that share one triangulation."""

from __future__ import annotations

import itertools
from collections.abc import Callable, Iterable, Sequence
from functools import lru_cache
from typing import TYPE_CHECKING, TypeVar

import numpy as np
import shapely
from msgspec import Struct
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

from grading.geometry.arrays import Floats, Ints, Region
from grading.geometry.tolerances import SLIVER

if TYPE_CHECKING:
    import trimesh

Shape = BaseGeometry

Mesh = tuple[Floats, Ints]
"""Points in plan (n, 2) or in space (n, 3) [m], and triangles (m, 3)."""

Height = Callable[[Floats], Floats]
"""The level of a surface about an origin at points (k, 2). [m]"""

Polygons = NDArray[np.object_]
"""Shapely polygons (k,)."""

AnyShape = TypeVar("AnyShape", bound=BaseGeometry | Polygons)

WELD = 1e-9  # own: m: of points about an origin
"""Points nearer than this are one point. [m]"""

MEET = 1e-12  # own: m: of levels about an origin, to the last digits
"""Two surfaces nearer than this meet. [m]"""


class Solid(Struct, frozen=True):
    """A closed mesh: vertices (n, 3) [m] and triangles (m, 3), counter-clockwise from outside."""

    vertices: Floats
    faces: Ints

    @property
    def volume(self) -> float:
        """Volume by the divergence theorem. [m3]"""
        a, b, c = np.moveaxis(self.vertices[self.faces], 1, 0)
        return float(np.einsum("ij,ij->", a, np.cross(b, c)) / 6)

    def mesh(self) -> trimesh.Trimesh:
        """Return the same solid as a trimesh, its vertices neither merged nor moved."""
        import trimesh

        return trimesh.Trimesh(self.vertices, self.faces, process=False)


EMPTY = Solid(np.zeros((0, 3)), np.zeros((0, 3), np.int64))


class Sheet(Struct, frozen=True):
    """A triangulation in plan: points (n, 2) [m] and triangles (m, 3), counter-clockwise."""

    xy: Floats
    faces: Ints


def weld(points: Floats) -> tuple[Floats, Ints]:
    """Return the distinct points and, for each point given, which of them it is.

    Parameters
    ----------
    points : (n, d) float
        Points that were made apart and may differ by rounding. [m]
    """
    from scipy.spatial import cKDTree

    exact, place = np.unique(points, axis=0, return_inverse=True)
    pairs = cKDTree(exact).query_pairs(WELD, output_type="ndarray")
    if not len(pairs):
        return exact, place.reshape(-1).astype(np.int64)

    from scipy.sparse import coo_array
    from scipy.sparse.csgraph import connected_components

    links = coo_array((np.ones(len(pairs)), pairs.T), shape=(len(exact), len(exact)))
    _, group = connected_components(links, directed=False)
    _, first = np.unique(group, return_index=True)
    return exact[first], group[place.reshape(-1)].astype(np.int64)


def polygons(region: Shape, least: float = SLIVER) -> shapely.MultiPolygon:
    """Return only the polygons of a region larger than `least` [m2]."""
    parts = [part for part in shapely.get_parts(region) if part.geom_type == "Polygon"]
    return shapely.MultiPolygon([part for part in parts if part.area > least])


def about(shape: AnyShape, origin: Floats) -> AnyShape:
    """Return a shape of the site, or shapes (k,), as they lie about an origin. [m]"""
    return shapely.transform(shape, lambda xy: xy - origin[:2])  # type: ignore[type-var]


def used(points: Floats, faces: Ints) -> Mesh:
    """Return the points that some triangle has, and the triangles numbered anew."""
    kept, index = np.unique(faces, return_inverse=True)
    return points[kept], index.reshape(-1, 3).astype(np.int64)


def merged(meshes: Iterable[Mesh]) -> Mesh:
    """Return meshes, or lines between points, as one."""
    listed = list(meshes)
    starts = np.cumsum([0, *(len(points) for points, _ in listed[:-1])])
    cells = [cells + start for (_, cells), start in zip(listed, starts, strict=True)]
    return np.concatenate([points for points, _ in listed]), np.concatenate(cells)


def joined(solids: Sequence[Solid]) -> Solid:
    """Return solids as one, each still closed by itself."""
    if len(solids) == 1:
        return solids[0]
    return Solid(*merged((solid.vertices, solid.faces) for solid in (EMPTY, *solids)))


def segments_of(lines: Iterable[Floats]) -> Mesh:
    """Return lines through points (n, d) as points, and the segments (k, 2) between them."""
    counted = [(line, np.arange(len(line) - 1)) for line in lines]
    return merged((line, np.column_stack([first, first + 1])) for line, first in counted)


def edges_round(polygon: Region) -> Mesh:
    """Return the corners (n, 2) of a polygon or multipolygon, and the edges (k, 2) between them."""
    lines = shapely.get_rings(shapely.get_parts(polygon))
    rings = [shapely.get_coordinates(line)[:-1] for line in lines]
    index = [np.arange(len(ring)) for ring in rings]
    nothing = np.zeros((0, 2)), np.zeros((0, 2), np.int64)
    edges = [np.column_stack([each, np.roll(each, -1)]) for each in index]
    return merged([nothing, *zip(rings, edges, strict=True)])


def triangulate(
    polygon: Region,
    points: Floats | None = None,
    edges: Ints | None = None,
) -> tuple[Sheet, Ints]:
    """Triangulate a polygon so that its boundary and the edges given are edges of triangles.

    Parameters
    ----------
    polygon : shapely polygon or multipolygon
        With or without holes. [m]
    points : (n, 2) float, optional
        Further points. [m]
    edges : (k, 2) int, optional
        Edges between them.

    Returns
    -------
    Sheet
        The triangles inside the polygon.
    (n + r,) int
        Where each of `points`, then each point of the rings, went among the sheet's.

    Notes
    -----
    Constrained Delaunay: an edge that runs through a point is split there, so the triangles
    meet edge to edge whatever touches whatever.
    """
    if points is None and edges is None:
        return _alone(polygon)
    points = np.zeros((0, 2)) if points is None else points
    edges = np.zeros((0, 2), np.int64) if edges is None else edges
    return _triangulated(polygon, points, edges)


@lru_cache(maxsize=256)
def _alone(polygon: Region) -> tuple[Sheet, Ints]:
    """Triangulate a polygon with nothing in it: every layer over it has the same triangles."""
    sheet, place = _triangulated(polygon, np.zeros((0, 2)), np.zeros((0, 2), np.int64))
    for array in (sheet.xy, sheet.faces, place):
        array.flags.writeable = False
    return sheet, place


def _triangulated(polygon: Region, points: Floats, edges: Ints) -> tuple[Sheet, Ints]:
    import pythoncdt

    corners, sides = edges_round(polygon)
    xy, place = weld(np.concatenate([points, corners]))
    linked = place[np.concatenate([edges, sides + len(points)])]
    linked = np.unique(np.sort(linked[linked[:, 0] != linked[:, 1]], axis=1), axis=0)

    cdt = pythoncdt.Triangulation(
        pythoncdt.VertexInsertionOrder.AUTO,
        pythoncdt.IntersectingConstraintEdges.TRY_RESOLVE,
        WELD,
    )
    cdt.insert_vertices(np.ascontiguousarray(xy))
    cdt.insert_edges(np.ascontiguousarray(linked, dtype=np.uint32))
    cdt.erase_super_triangle()
    found = cdt.vertices_array()
    all_xy = np.column_stack([found["x"], found["y"]])
    faces = np.asarray(cdt.triangles_array()["vertices"], dtype=np.int64)
    shapely.prepare(polygon)
    middle = all_xy[faces].mean(axis=1)
    return Sheet(all_xy, faces[shapely.contains_xy(polygon, middle)]), place


def triangles_of(shapes: Polygons, apart: bool = False) -> tuple[Floats, Ints, Ints]:
    """Triangulate many small polygons: points (n, 2), triangles (m, 3), owner of each (m,).

    Polygons that meet share points, unless they are to be kept apart: then those of one come after
    those of the one before it.
    """
    parts, owner = shapely.get_parts(
        shapely.constrained_delaunay_triangles(shapes), return_index=True
    )
    corners = shapely.get_coordinates(parts).reshape(-1, 4, 2)[:, :3]
    first, second = corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0]
    turned = first[:, 0] * second[:, 1] < first[:, 1] * second[:, 0]
    corners[turned] = corners[turned][:, ::-1]
    xy: Floats = corners.reshape(-1, 2)
    told: Floats = np.column_stack([np.repeat(owner, 3), xy]) if apart else xy
    points: Floats
    points, index = np.unique(told, axis=0, return_inverse=True)
    return np.asarray(points[:, -2:]), np.asarray(index.reshape(-1, 3), np.int64), owner


def each_triangulated(shapes: Polygons) -> list[Mesh]:
    """Triangulate many small polygons, each by itself: points (n, 2), triangles (m, 3) of each."""
    if not len(shapes):
        return []
    points, faces, owner = triangles_of(shapes, apart=True)
    ends = np.searchsorted(owner, np.arange(len(shapes) + 1))
    found = []
    for first, last in itertools.pairwise(ends.tolist()):
        own = faces[first:last]
        start, end = (int(own.min()), int(own.max()) + 1) if len(own) else (0, 0)
        found.append((points[start:end], own - start))
    return found


def rings_of(shapes: Polygons) -> list[list[Floats]]:
    """Return the rings of many polygons, each closed and (n, 2), the outer one of each first."""
    if not len(shapes):
        return []
    rings, owner = shapely.get_rings(shapes, return_index=True)
    xy, of = shapely.get_coordinates(rings, return_index=True)
    ends = np.searchsorted(of, np.arange(len(rings) + 1)).tolist()
    found: list[list[Floats]] = [[] for _ in shapes]
    for each, (first, last) in zip(owner.tolist(), itertools.pairwise(ends), strict=True):
        found[each].append(xy[first:last])
    return found


def between(sheet: Sheet, top: Floats, bottom: Floats) -> Solid:
    """Close the space between two surfaces over one triangulation, with upright sides.

    Parameters
    ----------
    sheet : Sheet
        The triangulation in plan.
    top, bottom : (n,) float
        Elevations at its points, top nowhere below bottom. Where they touch, the solid runs
        out to an edge; triangles where they touch throughout are left out. [m]

    Notes
    -----
    Every triangle starts with corners of its own, above and below. Neighbours that share an
    edge share the corners at its ends; an edge where the surfaces touch joins upper to lower
    corner instead. So each edge of the result belongs to exactly two triangles, also where
    parts of the solid touch each other along a line or in a point.
    """
    touching = top - bottom <= MEET
    if not touching.any():
        prism = _prism(sheet, top, bottom)
        if prism is not None:
            return prism
    kept = np.zeros(0, np.int64)
    while True:
        solid, vertex = _closed(sheet, top, np.where(touching, top, bottom), touching, kept)
        crowded = _crowded(solid, vertex, len(sheet.xy))
        # An edge where the surfaces touch, with the solid closed round both its ends, cannot be
        # parted: its upper and lower side stay two edges in one place.
        if np.isin(crowded, kept).all():
            return solid
        kept = np.union1d(kept, crowded)


def _prism(sheet: Sheet, top: Floats, bottom: Floats) -> Solid | None:
    """Return the space between surfaces that touch nowhere: what `_closed` gives, only faster.

    None where triangles meet in a corner alone, or an edge has more than two: corners are to be
    parted there.
    """
    start = sheet.faces.reshape(-1)
    if not len(start):
        return EMPTY
    end = np.roll(sheet.faces, -1, axis=1).reshape(-1)
    edge = np.minimum(start, end) * len(sheet.xy) + np.maximum(start, end)
    _, place, shared = np.unique(edge, return_inverse=True, return_counts=True)
    walls = np.flatnonzero(shared[place] == 1)
    if shared.max() > 2 or np.bincount(start[walls], minlength=1).max() > 1:
        return None
    _, first, which = np.unique(start, return_index=True, return_inverse=True)
    rank = np.empty(len(first), np.int64)
    rank[np.argsort(first)] = np.arange(len(first))
    corner = rank[which.reshape(-1)]
    upper = corner.reshape(-1, 3)
    lower = upper + len(first)
    of = start[np.sort(first)]
    a, b = corner[walls], corner[(walls // 3) * 3 + (walls % 3 + 1) % 3]
    sides = [np.column_stack([a + len(first), b + len(first), b]),
             np.column_stack([a + len(first), b, a])]  # fmt: skip
    vertices = np.concatenate(
        [np.column_stack([sheet.xy[of], top[of]]), np.column_stack([sheet.xy[of], bottom[of]])]
    )
    return Solid(vertices, np.concatenate([upper, lower[:, ::-1], *sides]))


def _crowded(solid: Solid, vertex: Ints, count: int) -> Ints:
    """Return the edges of the sheet, low * count + high, that more than two triangles share."""
    faces = solid.faces
    pairs = np.sort(np.concatenate([faces[:, [0, 1]], faces[:, [1, 2]], faces[:, [2, 0]]]), axis=1)
    # One number to an edge: those are sorted many times as fast as rows are.
    edges, shared = np.unique(pairs[:, 0] * len(vertex) + pairs[:, 1], return_counts=True)
    crowded = edges[shared > 2]
    ends = np.sort(np.column_stack([vertex[crowded // len(vertex)], vertex[crowded % len(vertex)]]))
    return np.unique(ends[:, 0] * count + ends[:, 1])


def _closed(
    sheet: Sheet, top: Floats, bottom: Floats, touching: NDArray[np.bool_], kept: Ints
) -> tuple[Solid, Ints]:
    """Return the solid, and for each of its vertices the sheet's; `kept` edges are not parted."""
    from scipy.sparse import coo_array
    from scipy.sparse.csgraph import connected_components

    faces = sheet.faces[~touching[sheet.faces].all(axis=1)]
    if not len(faces):
        return EMPTY, np.zeros(0, np.int64)
    count = 3 * len(faces)
    start = np.arange(count)
    end = (start // 3) * 3 + (start % 3 + 1) % 3
    vertex = faces.reshape(-1)
    a, b = vertex[start], vertex[end]
    closed = touching[a] & touching[b]

    # The two half-edges of an edge sort together; a half-edge without a partner is open.
    low, high = np.minimum(a, b), np.maximum(a, b)
    order = np.lexsort((high, low))
    twin = (low[order][1:] == low[order][:-1]) & (high[order][1:] == high[order][:-1])
    first, second = order[:-1][twin], order[1:][twin]
    edge = low[first] * len(sheet.xy) + high[first]
    joined = ~closed[first] | np.isin(edge, kept)
    first, second = first[joined], second[joined]
    is_open = np.ones(count, bool)
    is_open[first] = is_open[second] = False
    walls = np.flatnonzero(is_open)

    # A half-edge runs against its twin, so start meets end.
    one = np.concatenate([start[first], end[first]])
    two = np.concatenate([end[second], start[second]])
    corner = np.concatenate([start[walls], end[walls]])
    corner = corner[touching[vertex[corner]]]
    rows = np.concatenate([one, one + count, corner])
    columns = np.concatenate([two, two + count, corner + count])
    links = coo_array((np.ones(len(rows)), (rows, columns)), shape=(2 * count, 2 * count))
    size, group = connected_components(links, directed=False)

    of = np.zeros(size, np.int64)
    of[group] = np.concatenate([vertex, vertex])
    z = np.zeros(size)
    z[group] = np.concatenate([top[vertex], bottom[vertex]])
    upper, lower = group[:count], group[count:]
    sides = walls[~closed[walls]]
    a_up, b_up = upper[start[sides]], upper[end[sides]]
    a_down, b_down = lower[start[sides]], lower[end[sides]]
    quads = np.concatenate(
        [
            np.column_stack([a_down, b_down, b_up])[b_up != b_down],
            np.column_stack([a_down, b_up, a_up])[a_up != a_down],
        ]
    )
    result = np.concatenate([upper.reshape(-1, 3), lower.reshape(-1, 3)[:, ::-1], quads])
    return Solid(np.column_stack([sheet.xy[of], z]), result), of
