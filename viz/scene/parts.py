"""Merge the bodies of scenes into the few meshes that a renderer is handed."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Set
from typing import Any

import numpy as np
from msgspec import Struct
from msgspec.structs import replace

from grading.geometry.arrays import Floats, Ints
from viz.scene.model import IN_WORDS, TRUE_SCALE, Body, Lines, Scene, Slices
from viz.scene.shell import Mesh, merged
from viz.scene.slicing import CUT_WALLS, before_of

Seen = tuple[int, str]
"""Which scene, by its place in the list, and which of its views."""


Key = tuple[Any, ...]

HOUSE = ("foundation", "siding", "door", "membrane")
"""What would hide the paving from inside the house, and what is laid on its foundation; the sills
stay, for they are pointed at."""


class Face(Struct, frozen=True):
    """The face of a closed body where it is cut: its colour, the layer of the legend that it is of,
    if it is of any, and in how many steps it is drawn before the faces of what it lies in.
    """

    colour: str
    layer: str
    before: int


class Part(Struct, frozen=True):
    """One mesh of one colour, in drawn space, heights `factor` times larger than lengths.

    cells are triangles (m, 3), or with `width` [pixels] above 0 segments (m, 2); pattern lies on
    the surface of another part; house marks what would hide the paving from inside the house,
    and words letters that stand on their head from there; a view of `TRUE_SCALE` draws the
    heights `factor` times smaller;
    seen says in which scenes and views it is visible; lift and cap are as for `scene.Body`.
    face is what is seen of it where it is cut open, of a closed body that may be;
    clip, in a still, is a unit vector (2,) and the distances along it between which it is kept.
    """

    points: Floats
    cells: Ints
    colour: str
    width: float
    pattern: bool
    house: bool
    seen: frozenset[Seen]
    lift: float = 0.0
    cap: bool = False
    clip: tuple[Floats, float, float] | None = None
    words: bool = False
    factor: float = 1.0
    face: Face | None = None


def parts_of(scenes: Iterable[Scene], faces: bool = False) -> list[Part]:
    """Return the meshes of some scenes; what is the same in several of them comes once.

    Parameters
    ----------
    scenes : iterable of Scene
    faces : bool
        Tell apart what has another face where it is cut, for whoever cuts it.
    """
    where: dict[Key, set[Seen]] = {}
    shapes: dict[Key, Mesh] = {}
    for index, scene in enumerate(scenes):
        walls = {body.name for body in scene.bodies if body.material in HOUSE}
        meshes: list[tuple[Floats, Ints, str, float, bool, Body | Lines]] = [
            (b.vertices, b.faces, b.colour, 0.0, b.pattern, b) for b in scene.bodies
        ]
        meshes += [(x.points, x.segments, x.colour, x.width, False, x) for x in scene.lines]
        factor = scene.exaggeration
        layers = {entry.name for entry in scene.legend}
        for vertices, cells, colour, width, pattern, of in meshes:
            words = of.name.endswith(IN_WORDS)
            face = _face(of, layers) if faces else None
            house = of.name in walls
            look = (colour, width, pattern, house, of.lift, of.cap, None, words, factor, face)
            for points, views in _drawn(scene, vertices, of):
                key = (points.tobytes(), cells.tobytes(), *look)
                shapes[key] = points, cells
                where.setdefault(key, set()).update((index, view) for view in views)
    gathered: dict[tuple[Any, ...], list[Mesh]] = {}
    for key, seen in where.items():
        look_of = (*key[2:6], frozenset(seen), *key[6:])  # as `Part` has them after its mesh
        gathered.setdefault(look_of, []).append(shapes[key])
    return [Part(*merged(found), *look_of) for look_of, found in gathered.items()]


def _face(of: Body | Lines, layers: Set[str]) -> Face | None:
    if isinstance(of, Lines) or of.pattern or "slice" not in of.shown:
        return None
    name = of.name if of.name in layers else ""
    return Face(CUT_WALLS.get(of.material, of.colour), name, before_of(of))


def true_scale(view: str) -> bool:
    """Say whether a view, or one of its letters read from behind, is drawn at true scale."""
    return view.partition(":")[0] in TRUE_SCALE


def _drawn(
    scene: Scene, vertices: Floats, of: Body | Lines
) -> Iterator[tuple[Floats, frozenset[str]]]:
    """Give the points of a body in drawn space, and the views that they belong to.

    What stands at its true height keeps it where the views of true scale shrink all heights.
    """
    true = frozenset(view for view in of.shown if true_scale(view))
    factor = scene.exaggeration
    if of.stands is None or factor == 1 or not true:
        yield scene.drawn(vertices, of.stands), of.shown
        return
    yield vertices * np.array([1.0, 1.0, factor]), true
    if true != of.shown:
        yield scene.drawn(vertices, of.stands), of.shown - true


CAP = 0.004
"""How far from its station a face of the cut may lie, and be seen with it. [m]"""


def only(
    parts: Iterable[Part], seen: Seen, slices: Slices | None = None, at: int = 0
) -> list[Part]:
    """Return the parts that are visible in one view of one scene, where they stand in it.

    Parameters
    ----------
    parts : iterable of Part
    seen : (int, str)
        The scene's place in its list, and the view.
    slices : Slices, optional
        Where the scene is cut in the view "slice", and `at` which of its stations.
    """
    shown = [part for part in parts if seen in part.seen]
    if seen[1] == "apart":
        return [replace(part, points=part.points + np.array([0, 0, part.lift])) for part in shown]
    if true_scale(seen[1]):
        return [replace(part, points=part.points / np.array([1, 1, part.factor])) for part in shown]
    if seen[1] == "slice" and slices is not None:
        station = float(slices.stations[at])
        cut = (slices.direction, -np.inf, station)
        face = (slices.direction, station - CAP, station + CAP)
        return [replace(part, clip=face if part.cap else cut) for part in shown]
    return shown
