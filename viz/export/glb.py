"""The model of an area on a base system as glTF 2.0: metres, true scale, y up.

trimesh, because it writes binary glTF with materials, names and extras from plain arrays. It
does not turn anything, so the axes that glTF asks for are baked into the vertices.
"""

from __future__ import annotations

from collections.abc import Iterable
from pathlib import Path
from typing import Any

import numpy as np
from msgspec import Struct

from grading.design.area import AreaPlan
from grading.geometry.arrays import Floats, Ints
from grading.geometry.tolerances import ROUNDING
from grading.pipeline import Plan
from grading.units import Unit
from viz.export.signs import CARD, INK, PLATE, POST, plate_meshes, sign_meshes, signs_of
from viz.look.materials import EDGE
from viz.scene.model import Scene
from viz.scene.shell import Mesh, merged
from viz.scene.staging import stage

VIEWS = {"layers": "", "finished": "-finished"}
"""Which views of a scene become a model, and what the name of its file ends in."""

RIBBON = 0.006
"""How wide a line of one pixel is laid on the surface that it is drawn on. [m]"""

_LETTER = 0.0085  # height of letters, of the model's diagonal in plan
_LETTERS = (0.05, 0.16)  # m
_PLATE = 0.02  # m
_NAMED = ("layer", "level", "house", "ground")


class Axes(Struct, frozen=True):
    """The model's own axes: where its origin lies on the site, and which way x, y and z run.

    rows (3, 3) are x to the right of whoever looks, y up and z near, in site axes.
    """

    origin: Floats
    rows: Floats

    def model(self, site: Floats) -> Floats:
        """Return points (n, 3) about the scene's origin in the model. [m]"""
        return np.asarray((site - self.origin) @ self.rows.T)

    def to_site(self, origin: Floats) -> Floats:
        """Return the matrix (4, 4) from the model to the site's axes. [m]"""
        matrix = np.eye(4)
        matrix[:3, :3] = self.rows.T
        matrix[:3, 3] = self.origin + origin
        return matrix


def axes_of(scene: Scene, view: str) -> Axes:
    """Return axes that stand in the middle of a scene's underside and face whoever looks."""
    near = np.append(scene.near, 0.0)
    up = np.array([0.0, 0.0, 1.0])
    rows = np.stack([np.cross(up, near), up, near])
    points = np.concatenate([body.vertices for body in scene.bodies if view in body.shown])
    local = points @ rows.T
    low, high = local.min(axis=0), local.max(axis=0)
    middle = np.array([(low[0] + high[0]) / 2, low[1], (low[2] + high[2]) / 2])
    return Axes(middle @ rows, rows)


def write_models(plan: Plan, area: AreaPlan, base: str, stem: Path) -> None:
    """Write the model of an area on one base system, its layers opened and as it is finished.

    Parameters
    ----------
    plan, area : Plan, AreaPlan
    base : str
        Name of one of the area's base systems.
    stem : Path
        The file without its ending.
    """
    scene = stage(plan, area, base)
    for view, ending in VIEWS.items():
        stem.with_name(f"{stem.name}{ending}.glb").write_bytes(model(scene, view))


def model(scene: Scene, view: str) -> bytes:
    """Return one view of a scene as binary glTF."""
    import trimesh
    from trimesh.exchange.gltf import export_glb

    colours: dict[str, Any] = {}
    whole = trimesh.Scene()
    for node in nodes_of(scene, view):
        look = f"{node.material} {node.colour}"
        colours[look] = linear(node.colour)
        mesh = trimesh.Trimesh(node.vertices, node.faces, process=False)
        mesh.visual = trimesh.visual.TextureVisuals(
            material=trimesh.visual.material.PBRMaterial(
                name=look, baseColorFactor=colours[look], metallicFactor=0.0,
                roughnessFactor=1.0, doubleSided=False,
            )
        )  # fmt: skip
        mesh.metadata = {
            "material": node.material, "colour": node.colour, "pattern": node.pattern,
        }  # fmt: skip
        whole.add_geometry(mesh, node_name=node.name, geom_name=node.name)
    extras = extras_of(scene, view)

    def finish(tree: dict[str, Any]) -> None:
        # trimesh keeps colours in bytes, which a dark tone in linear light is too coarse for.
        for each in tree["materials"]:
            each["pbrMetallicRoughness"]["baseColorFactor"] = [*colours[each["name"]], 1.0]
        tree["asset"] = {"version": "2.0", "generator": "fallaway", "extras": extras}
        tree["scenes"][0]["name"] = f"{scene.area}, {scene.base_title}"
        tree["scenes"][0]["extras"] = extras

    return bytes(export_glb(whole, include_normals=False, tree_postprocessor=finish))


class Node(Struct, frozen=True, eq=False):
    """One mesh of a model: vertices (n, 3) [m] on its own axes, triangles (m, 3), how it looks."""

    name: str
    material: str
    colour: str
    pattern: bool
    vertices: Floats
    faces: Ints


def nodes_of(scene: Scene, view: str) -> tuple[Node, ...]:
    """Return the meshes of one view of a scene, its signs among them, for any format."""
    axes = axes_of(scene, view)
    gathered = _bodies(scene, view, axes)
    low, high = _box(meshes for meshes in gathered.values())
    for key, meshes in _words(scene, view, axes, low, high).items():
        gathered.setdefault(key, []).extend(meshes)
    return tuple(Node(*key, *merged(meshes)) for key, meshes in gathered.items() if meshes)


def extras_of(scene: Scene, view: str) -> dict[str, Any]:
    """Return what a model says of itself: what it is of, and where it lies on the site."""
    axes = axes_of(scene, view)
    return {
        "site": scene.site, "area": scene.area, "base": scene.base, "view": view,
        "unit": "m", "site unit": scene.unit, "vertical exaggeration": 1.0,
        "origin": (axes.origin + scene.origin).tolist(),
        "to site": axes.to_site(scene.origin).tolist(),
        "axes": "x right, y up, z near; to site: a matrix, row by row, from here to the site's "
        "x, y and elevation in metres",
        "caution": scene.caution,
    }  # fmt: skip


Key = tuple[str, str, str, bool]

_PARTS: dict[str, Key] = {
    POST: ("signs, posts", "sign", POST, False),
    CARD: ("signs, cards", "sign", CARD, False),
    INK: ("signs, words", "sign", INK, True),
}
_LYING: dict[str, Key] = {
    PLATE: ("plate", "sign", PLATE, False),
    CARD: ("plate, scale bar", "sign", CARD, True),
    INK: ("plate, words", "sign", INK, True),
}


def _bodies(scene: Scene, view: str, axes: Axes) -> dict[Key, list[Mesh]]:
    """Return the meshes of a view by node: its name, material, colour, and whether a pattern."""
    named: dict[Key, list[Mesh]] = {}
    tones: dict[str, list[str]] = {}
    for body in scene.bodies:
        # The plate in front has a scale bar of its own.
        if view not in body.shown or body.name.startswith("scale"):
            continue
        name, faces = body.name, body.faces
        if body.pattern:
            faces = _upward(body.vertices, faces)
            name = f"{body.name}, {body.material}" if body.name != body.material else body.name
            found = tones.setdefault(name, [])
            if body.colour not in found:
                found.append(body.colour)
            name = f"{name}, surface {found.index(body.colour) + 1}"
        elif any(
            other.name == body.name and other.material != body.material
            for other in scene.bodies
            if not other.pattern and view in other.shown
        ):
            name = f"{body.name}, {body.material}"
        key = (name, body.material, body.colour, body.pattern)
        named.setdefault(key, []).append((axes.model(body.vertices), faces))
    for lines in scene.lines:
        if view in lines.shown and lines.colour != EDGE:
            ribbon = _ribbon(lines.points, lines.segments, RIBBON * lines.width)
            if len(ribbon[1]):
                key = (f"{lines.name}, lines", "ink", lines.colour, True)
                named.setdefault(key, []).append((axes.model(ribbon[0]), ribbon[1]))
    return named


def _upward(vertices: Floats, faces: Ints) -> Ints:
    """Return the triangles of a pattern, those that face down turned over: one side is drawn."""
    a, b, c = np.moveaxis(vertices[faces], 1, 0)
    down = np.cross(b - a, c - a)[:, 2] < 0
    return np.where(down[:, None], faces[:, ::-1], faces)


def _ribbon(points: Floats, segments: Ints, wide: float) -> Mesh:
    """Return lines as strips that lie flat: viewers thin real lines to a hair, or drop them."""
    a, b = points[segments[:, 0]], points[segments[:, 1]]
    along = (b - a)[:, :2]
    long = np.hypot(*along.T)
    kept = long > ROUNDING
    a, b, along = a[kept], b[kept], along[kept] / long[kept, None]
    aside = np.column_stack([-along[:, 1], along[:, 0], np.zeros(len(along))]) * wide / 2
    vertices = np.stack([a - aside, b - aside, b + aside, a + aside], axis=1).reshape(-1, 3)
    start = 4 * np.arange(len(a))[:, None]
    faces = np.concatenate([start + np.array(half) for half in ((0, 1, 2), (0, 2, 3))])
    return vertices, faces


def _words(scene: Scene, view: str, axes: Axes, low: Floats, high: Floats) -> dict[Key, list[Mesh]]:
    """Return signs over what has a label in a view, and the plate in front of the model."""
    across = float(np.hypot(high[0] - low[0], high[2] - low[2]))
    letter = float(np.clip(_LETTER * across, *_LETTERS))
    labels = [label for label in scene.labels if view in label.shown and label.kind in _NAMED]
    named: dict[Key, list[Mesh]] = {}
    if labels:
        feet = axes.model(np.array([label.at for label in labels]))
        tops = signs_of([label.text for label in labels], feet, letter, 4 * letter, 0.0)
        for colour, meshes in sign_meshes(tops).items():
            named[_PARTS[colour]] = meshes
    title = [
        f"{scene.site}: {scene.area}",
        f"{scene.base_title}: {scene.size}",
        scene.fall,
        f"True scale, no exaggeration. Elevations on the site's own datum, in {scene.unit}",
    ]
    gap = 0.03 * across
    unit: Unit = "ft" if scene.unit == "ft" else "m"
    ground = (float(low[0]), float(high[0]), float(high[2]) + gap)
    for colour, meshes in plate_meshes(title, scene.caution, ground, _PLATE, unit).items():
        named.setdefault(_LYING[colour], []).extend(meshes)
    return named


def linear(colour: str) -> list[float]:
    """Return a colour "#rrggbb" as the linear light that glTF asks for, (3,).

    IEC 61966-2-1, the sRGB transfer function.
    """
    shares = np.array([int(colour[i : i + 2], 16) for i in (1, 3, 5)]) / 255
    bright = ((shares + 0.055) / 1.055) ** 2.4
    return [float(v) for v in np.where(shares <= 0.04045, shares / 12.92, bright)]


def _box(groups: Iterable[list[Mesh]]) -> tuple[Floats, Floats]:
    points = np.concatenate([vertices for meshes in groups for vertices, _ in meshes])
    return points.min(axis=0), points.max(axis=0)
