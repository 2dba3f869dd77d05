"""Gather bodies: solids with crisp edges, and patterns that lie on a surface."""

from __future__ import annotations

from collections.abc import Callable, Iterable

import numpy as np

from viz.look.materials import EDGE, material
from viz.scene.model import Body, Collected, Lines
from viz.scene.shell import Floats, Ints, Solid

LIFT = 0.0015
"""How far a pattern is laid above the surface it belongs to. [m]"""

SHARP = np.cos(np.radians(35))


def edges_of(solid: Solid) -> tuple[Floats, Ints]:
    """Return the sharp edges of a solid: points (n, 3), pushed a hair outward, segments (k, 2)."""
    corners = solid.vertices[solid.faces]
    normal = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
    size = np.linalg.norm(normal, axis=1, keepdims=True)
    normal = np.divide(normal, size, out=np.zeros_like(normal), where=size > 0)
    count = len(solid.faces)
    pairs = np.sort(
        np.concatenate([solid.faces[:, [0, 1]], solid.faces[:, [1, 2]], solid.faces[:, [2, 0]]]),
        axis=1,
    )
    order = np.lexsort(pairs.T[::-1])
    owner = np.tile(np.arange(count), 3)[order]
    first, second = owner[0::2], owner[1::2]
    sharp = (normal[first] * normal[second]).sum(axis=1) < SHARP
    # A closed solid has two triangles to an edge, so every second row is the edge itself.
    segments = pairs[order][0::2][sharp]
    outward = np.zeros_like(solid.vertices)
    for side in range(3):
        np.add.at(outward, solid.faces[:, side], normal)
    length = np.linalg.norm(outward, axis=1, keepdims=True)
    outward = np.divide(outward, length, out=np.zeros_like(outward), where=length > 0)
    return solid.vertices + LIFT * outward, segments


def add_solid(
    collected: Collected, name: str, kind: str, solid: Solid, shown: Iterable[str],
    lift: float = 0.0, stands: float | None = None,
) -> None:  # fmt: skip
    """Add a closed solid of a material, with its edges; nothing where it is empty."""
    if not len(solid.faces):
        return
    views = frozenset(shown)
    look = material(kind)
    collected.bodies.append(
        Body(name, kind, solid.vertices, solid.faces, look.colour, views, lift=lift, stands=stands)
    )
    points, segments = edges_of(solid)
    if len(segments):
        collected.lines.append(Lines(name, points, segments, EDGE, 1.0, views, lift, stands=stands))


def add_pattern(
    collected: Collected,
    name: str,
    kind: str,
    tones: Iterable[str],
    meshes: Iterable[tuple[Floats, Ints]],
    height: Callable[[Floats], Floats],
    shown: Iterable[str],
    over: float = LIFT,
    lift: float = 0.0,
) -> None:
    """Add flat meshes in plan, one for each tone, laid `over` [m] a surface given by its height."""
    views = frozenset(shown)
    for tone, (xy, faces) in zip(tones, meshes, strict=False):
        if len(faces):
            vertices = np.column_stack([xy, height(xy) + over])
            collected.bodies.append(Body(name, kind, vertices, faces, tone, views, True, lift))
