"""The same cut and fill as solids, for the libraries that cut solids with solids."""

from __future__ import annotations

from typing import Any

import numpy as np
import shapely
from make.plans.grounds import Floats, Plane, height
from numpy.typing import NDArray

from grading.ground.model import Ground

Mesh = tuple[Floats, NDArray[np.int64]]  # vertices (n, 3) [m], triangles (m, 3) turned outwards


def earth_mesh(ground: Ground, below: float) -> Mesh:
    """Return the earth from the ground down to a level bottom `below` its lowest point."""
    top = ground.points
    used = np.unique(ground.triangles)
    number = np.full(len(top), -1)
    number[used] = np.arange(len(used))
    upper = top[used]
    lower = upper.copy()
    lower[:, 2] = upper[:, 2].min() - below
    faces = number[ground.triangles]
    return _closed(upper, lower, faces)


def prism_mesh(outline: shapely.Polygon, low: float, high: float) -> Mesh:
    """Return the upright prism on an outline between two levels."""
    return slab_mesh(outline, (low, 0.0, 0.0), (high, 0.0, 0.0))


def slab_mesh(outline: shapely.Polygon, lower: Plane, upper: Plane) -> Mesh:
    """Return the solid on an outline between two planes that do not cross within it."""
    import mapbox_earcut

    rings = [outline.exterior, *outline.interiors]
    xy = np.concatenate([shapely.get_coordinates(ring)[:-1] for ring in rings])
    ends = np.cumsum([len(ring.coords) - 1 for ring in rings]).astype(np.uint32)
    faces = mapbox_earcut.triangulate_float64(xy, ends).reshape(-1, 3).astype(np.int64)
    first, second = xy[faces[:, 1]] - xy[faces[:, 0]], xy[faces[:, 2]] - xy[faces[:, 0]]
    turned = first[:, 0] * second[:, 1] < first[:, 1] * second[:, 0]
    faces[turned] = faces[turned][:, ::-1]
    return _closed(
        np.column_stack([xy, height(xy, upper)]), np.column_stack([xy, height(xy, lower)]), faces
    )


def _closed(upper: Floats, lower: Floats, faces: NDArray[np.int64]) -> Mesh:
    """Close two sheets with the same plan into a solid: walls stand on the edges used once."""
    count = len(upper)
    edges = np.concatenate([faces[:, [0, 1]], faces[:, [1, 2]], faces[:, [2, 0]]])
    codes = edges[:, 0] * count + edges[:, 1]
    back = edges[:, 1] * count + edges[:, 0]
    start, end = edges[~np.isin(back, codes)].T
    walls = np.concatenate(
        [
            np.column_stack([end, start, start + count]),
            np.column_stack([end, start + count, end + count]),
        ]
    )
    return (
        np.concatenate([upper, lower]),
        np.concatenate([faces, faces[:, ::-1] + count, walls]),
    )


def manifold(mesh: Mesh) -> Any:
    """Return a mesh as a manifold3d solid in float64."""
    from manifold3d import Manifold, Mesh64

    vertices, faces = mesh
    solid = Manifold(
        Mesh64(
            np.ascontiguousarray(vertices, dtype=np.float64),
            np.ascontiguousarray(faces, dtype=np.uint64),
        )
    )
    assert not solid.is_empty(), solid.status()
    return solid


def manifold_volumes(ground: Ground, outline: shapely.Polygon, plane: Plane) -> tuple[float, float]:
    """Return cut and fill by booleans of solids: earth above the plane, air below it. [m3]"""
    levels = np.concatenate([ground.points[:, 2], height(shapely.get_coordinates(outline), plane)])
    low, high = float(levels.min()) - 1.0, float(levels.max()) + 1.0
    earth = manifold(earth_mesh(ground, float(ground.points[:, 2].min()) - low))
    column = manifold(prism_mesh(outline, low, high))
    ours = earth ^ column
    # Upward normal of the plane; its distance from the origin along that normal.
    normal = np.array([-plane[1], -plane[2], 1.0])
    offset = plane[0] / float(np.linalg.norm(normal))
    cut = ours.trim_by_plane(tuple(normal), offset)
    under = column.trim_by_plane(tuple(-normal), -offset)
    fill = under - ours
    return float(cut.volume()), float(fill.volume())


def trimesh_volumes(ground: Ground, outline: shapely.Polygon, plane: Plane) -> tuple[float, float]:
    """Return cut and fill by trimesh's booleans, which carry single precision. [m3]"""
    import trimesh

    levels = np.concatenate([ground.points[:, 2], height(shapely.get_coordinates(outline), plane)])
    low, high = float(levels.min()) - 1.0, float(levels.max()) + 1.0
    meshes = [
        earth_mesh(ground, float(ground.points[:, 2].min()) - low),
        slab_mesh(outline, plane, (high, 0.0, 0.0)),
        slab_mesh(outline, (low, 0.0, 0.0), plane),
    ]
    earth, above, under = (trimesh.Trimesh(v, f, process=False) for v, f in meshes)
    cut = trimesh.boolean.intersection([earth, above], engine="manifold", check_volume=False)
    fill = trimesh.boolean.difference([under, earth], engine="manifold", check_volume=False)
    return float(cut.volume), float(fill.volume)
