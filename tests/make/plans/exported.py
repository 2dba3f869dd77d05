"""Plans of the sample sites, and readers of what they are exported as that are not ours."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any

import numpy as np
import pygltflib

import sample_sites

SITES = sample_sites.names()


@dataclass(frozen=True)
class Node:
    """A node of a model: name, extras of its mesh, material, points (n, 3), triangles (m, 3)."""

    name: str
    extras: dict[str, Any]
    material: Any
    points: np.ndarray
    faces: np.ndarray

    @property
    def volume(self) -> float:
        a, b, c = np.moveaxis(self.points[self.faces].astype(float), 1, 0)
        return float(np.einsum("ij,ij->", a, np.cross(b, c)) / 6)

    @property
    def normals(self) -> np.ndarray:
        """Twice the area of each triangle along its normal, (m, 3)."""
        a, b, c = np.moveaxis(self.points[self.faces].astype(float), 1, 0)
        return np.cross(b - a, c - a)


# By the glTF 2.0 specification, section 3.6.2: component types and their sizes.
_TYPES = {5121: np.uint8, 5123: np.uint16, 5125: np.uint32, 5126: np.float32}
_WIDTHS = {"SCALAR": 1, "VEC2": 2, "VEC3": 3, "VEC4": 4}


def accessor(file: Any, number: int) -> np.ndarray:
    """Decode an accessor of a binary glTF by the words of the specification."""
    found = file.accessors[number]
    view = file.bufferViews[found.bufferView]
    start = (view.byteOffset or 0) + (found.byteOffset or 0)
    wide = _WIDTHS[found.type]
    values = np.frombuffer(
        file.binary_blob(), _TYPES[found.componentType], found.count * wide, start
    )
    return values.reshape(-1, wide) if wide > 1 else values


@cache
def nodes_of(path: Path) -> tuple[Any, list[Node]]:
    """Return a glTF file as pygltflib reads it, and the nodes that have a mesh."""
    file = pygltflib.GLTF2().load(str(path))
    found = []
    for node in file.nodes:
        if node.mesh is None:
            continue
        assert not node.rotation
        assert not node.scale
        assert node.matrix in (None, np.eye(4).ravel().tolist())
        mesh = file.meshes[node.mesh]
        for primitive in mesh.primitives:
            points = accessor(file, primitive.attributes.POSITION)
            faces = accessor(file, primitive.indices).reshape(-1, 3)
            material = file.materials[primitive.material]
            found.append(Node(node.name, mesh.extras, material, points, faces))
    return file, found


def interpolated(points: np.ndarray, faces: np.ndarray, xy: np.ndarray) -> np.ndarray:
    """Return the level of triangles at points (k, 2) by matplotlib's own search, nan outside."""
    from matplotlib.tri import LinearTriInterpolator, Triangulation

    middle = points[:, :2].mean(axis=0)
    x, y = (points[:, :2] - middle).T
    read = LinearTriInterpolator(Triangulation(x, y, faces), points[:, 2])
    return np.ma.filled(read(*(xy - middle).T), np.nan)


def plan_area(points: np.ndarray, faces: np.ndarray) -> np.ndarray:
    """Return the area in plan of each triangle, positive counter-clockwise, (m,)."""
    a, b, c = np.moveaxis(points[faces][:, :, :2], 1, 0)
    one, two = b - a, c - a
    return (one[:, 0] * two[:, 1] - one[:, 1] * two[:, 0]) / 2


def between(points: np.ndarray, faces: np.ndarray, upper: np.ndarray) -> float:
    """Return the volume between triangles and levels above their points (n,)."""
    depth = (upper - points[:, 2])[faces].mean(axis=1)
    return float((np.abs(plan_area(points, faces)) * depth).sum())
