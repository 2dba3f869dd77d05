"""Gather bodies: solids with crisp edges, and patterns that lie on a surface."""

from __future__ import annotations

from collections.abc import Iterable

import numpy as np
from msgspec import Struct, field

from grading.geometry.arrays import Floats, Ints
from grading.geometry.facets import Surface
from viz.look.materials import EDGE, material
from viz.scene.grain import grains
from viz.scene.model import Body, Label, Lines
from viz.scene.shell import AnyShape, Height, Mesh, Shape, Solid, about, polygons
from viz.scene.solids import slab

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


class Collected(Struct, frozen=True):
    """Bodies, lines and labels as they are gathered; the scene is made from them at the end.

    What is added lies about the origin (3,) [m]; regions, points of labels and surfaces of the
    plan are given on the site's axes.
    """

    origin: Floats
    bodies: list[Body] = field(default_factory=list)
    lines: list[Lines] = field(default_factory=list)
    labels: list[Label] = field(default_factory=list)

    def near(self, shape: AnyShape) -> AnyShape:
        """Return a shape of the site as it lies about the origin."""
        return about(shape, self.origin)

    def level(self, surface: Surface, depth: float = 0.0) -> Height:
        """Return a function that reads a surface, or so far below it, about the origin. [m]"""

        def height(xy: Floats) -> Floats:
            origin = self.origin
            return np.asarray(surface.at(xy + origin[:2]) - origin[2] - depth)

        return height

    def add_solid(
        self, name: str, kind: str, solid: Solid, shown: Iterable[str], lift: float = 0.0,
        stands: float | None = None, before: int = 0, edged: bool = True,
    ) -> None:  # fmt: skip
        """Add a closed solid of a material, with its edges; nothing where it is empty.

        before is as for `Body`; sod that meets lawn is not edged.
        """
        if not len(solid.faces):
            return
        views, colour = frozenset(shown), material(kind).colour
        body = Body(
            name, kind, solid.vertices, solid.faces, colour, views, False, lift, False, stands,
            before,
        )  # fmt: skip
        self.bodies.append(body)
        if not edged:
            return
        points, segments = edges_of(solid)
        if len(segments):
            self.lines.append(Lines(name, points, segments, EDGE, 1.0, views, lift, False, stands))

    def add_slab(
        self, name: str, kind: str, region: Shape, finish: Surface, depth: tuple[float, float],
        shown: Iterable[str], lift: float = 0.0,
    ) -> None:  # fmt: skip
        """Add a layer of even thickness over a region: depth is of its top and of its thickness."""
        self.add_solid(name, kind, slab(polygons(region), finish, *depth, self.origin), shown, lift)

    def add_pattern(
        self, name: str, kind: str, tones: Iterable[str], meshes: Iterable[Mesh], height: Height,
        shown: Iterable[str], over: float = LIFT, lift: float = 0.0,
    ) -> None:  # fmt: skip
        """Add flat meshes in plan, one for each tone, laid `over` [m] a surface of some height."""
        views = frozenset(shown)
        for tone, (xy, faces) in zip(tones, meshes, strict=False):
            if len(faces):
                vertices = np.column_stack([xy, height(xy) + over])
                self.bodies.append(Body(name, kind, vertices, faces, tone, views, True, lift))

    def add_grains(
        self, name: str, kind: str, near: Shape, height: Height, shown: Iterable[str], seed: int,
        most: int = 900, over: float = LIFT, lift: float = 0.0,
    ) -> None:  # fmt: skip
        """Scatter the grains of a material over a region about the origin."""
        look = material(kind)
        meshes = grains(near, look.size, look.share, len(look.grains), seed, most)
        self.add_pattern(name, kind, look.grains, meshes, height, shown, over, lift)

    def add_label(
        self, words: str, at: Floats, kind: str, shown: Iterable[str], rank: int = 0,
        brief: str = "", stands: float | None = None,
    ) -> None:  # fmt: skip
        """Add words at a point (3,) about the origin. [m]"""
        self.labels.append(
            Label(words, at, kind, frozenset(shown), rank=rank, brief=brief, stands=stands)
        )
