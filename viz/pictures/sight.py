"""Which labelled points of a picture can be seen, and which lie behind something."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
import shapely
from numpy.typing import NDArray

from grading.geometry.arrays import Floats, Ints
from grading.geometry.tolerances import NOTHING
from viz.pictures.camera import Eye
from viz.scene.model import Label, Scene

SHORT = 0.08
"""How far before a point sight may end: it lies on a surface, or just under one. [m]"""

_ASIDE = 0.05
"""Cosine of the angle to the picture's axis from which on a ray has no place in the picture."""

_CLOSE = 1e-3
"""What lies so near the plane of the eye has no place in the picture. [m]"""

_ROUNDED = 1e-9  # own: of how far off a thing is
"""How much rounding may move what is thrown on a picture, of its distance from the middle."""

_AT_ONCE = 100_000
"""Pairs of a ray and a triangle that are looked at together: some 30 MB."""


def in_sight(
    points: Floats, eye: Floats, triangles: Floats, cut: tuple[Floats, float] | None = None
) -> NDArray[np.bool_]:
    """Return whether nothing stands between each point and the eye, (n,).

    Parameters
    ----------
    points : (n, 3) float
        [m]
    eye : (3,) float
        [m]
    triangles : (m, 3, 3) float
        What may stand between. [m]
    cut : (2,) float and float, optional
        A direction in plan, and the distance along it beyond which all is cut away. [m]

    Notes
    -----
    Möller and Trumbore, Fast, minimum storage ray-triangle intersection (1997): the ray and the
    plane of a triangle meet inside it where both barycentric coordinates and their sum are
    within 0 and 1.
    """
    seen = np.ones(len(points), bool)
    if not len(triangles) or not len(points):
        return seen
    corner = triangles[:, 0]
    one, two = triangles[:, 1] - corner, triangles[:, 2] - corner
    start = eye - corner
    turned = np.cross(start, one)
    turned_two = np.einsum("ij,ij->i", turned, two)
    ways = points - eye
    reach = 1 - SHORT / np.maximum(np.linalg.norm(ways, axis=1), SHORT)
    for rays, met_by in _near_each_other(ways, triangles - eye):
        way = ways[rays]
        across = np.cross(way, two[met_by])
        scale = np.einsum("ij,ij->i", one[met_by], across)
        flat = np.abs(scale) < NOTHING
        per = 1 / np.where(flat, 1.0, scale)
        u = np.einsum("ij,ij->i", start[met_by], across) * per
        v = np.einsum("ij,ij->i", turned[met_by], way) * per
        share = turned_two[met_by] * per
        met = ~flat & (u >= 0) & (v >= 0) & (u + v <= 1) & (share > 0) & (share < reach[rays])
        if cut is not None:
            direction, station = cut
            met &= eye[:2] @ direction + share * (way[:, :2] @ direction) < station
        seen[rays[met]] = False
    return seen


def _near_each_other(ways: Floats, triangles: Floats) -> Iterator[tuple[Ints, Ints]]:
    """Yield pairs of a ray and a triangle, all that may meet and few that do not, by their places.

    Parameters
    ----------
    ways : (n, 3) float
        From the eye.
    triangles : (m, 3, 3) float
        About the eye.

    Notes
    -----
    What lies before the eye is thrown on a picture, where a ray is a point, and meets no triangle
    whose frame it is not in. Rays aside, and triangles that reach behind the eye, have no place in
    a picture: they are held against all.
    """
    axis = ways.mean(axis=0)
    long = float(np.linalg.norm(axis))
    axis = axis / long if long > 0 else np.array([0.0, 1.0, 0.0])
    side = np.cross(axis, np.eye(3)[int(np.argmin(np.abs(axis)))])
    side = side / np.linalg.norm(side)
    picture = np.stack([side, np.cross(axis, side), axis], axis=1)
    thrown, corners = ways @ picture, triangles @ picture
    before = thrown[:, 2] > _ASIDE * np.linalg.norm(ways, axis=1)
    deep = corners[:, :, 2]
    behind, placed = (deep <= 0).all(axis=1), (deep > _CLOSE).all(axis=1)

    rays, framed = np.flatnonzero(before), np.flatnonzero(placed)
    if len(rays) and len(framed):
        at = thrown[rays, :2] / thrown[rays, 2:]
        flat = corners[framed, :, :2] / corners[framed, :, 2:]
        low, high = flat.min(axis=1), flat.max(axis=1)
        room = _ROUNDED * (1 + np.maximum(np.abs(low), np.abs(high)))
        low, high = low - room, high + room
        boxes = shapely.box(low[:, 0], low[:, 1], high[:, 0], high[:, 1])
        which, met = shapely.STRtree(boxes).query(shapely.points(at))
        for k in range(0, len(which), _AT_ONCE):
            yield rays[which[k : k + _AT_ONCE]], framed[met[k : k + _AT_ONCE]]
    for some, others in (
        (rays, np.flatnonzero(~placed & ~behind)),
        (np.flatnonzero(~before), np.arange(len(triangles))),
    ):
        for ray in some if len(others) else ():
            yield np.full(len(others), ray), others


def labels_in_sight(scene: Scene, labels: list[Label], view: str, eye: Eye) -> list[Label]:
    """Return those of some labels whose points can be seen in a view.

    Parameters
    ----------
    scene : Scene
    labels : list of Label
        Of the view.
    view : str
        "slice:3" is the view "slice" at its fourth station.
    eye : Eye
    """
    kind = view.partition(":")[0]
    places = np.array([scene.place(label, kind) for label in labels]).reshape(-1, 3)
    seen = seen_at(scene, places, view, eye)
    return [label for label, kept in zip(labels, seen, strict=True) if kept]


def seen_at(scene: Scene, places: Floats, view: str, eye: Eye) -> NDArray[np.bool_]:
    """Return whether places (n, 3) in drawn space can be seen in a view, (n,).

    Parameters
    ----------
    scene, view, eye : as for `labels_in_sight`
    places : (n, 3) float
    """
    kind, _, station = view.partition(":")
    gathered = []
    for body in scene.bodies:
        if kind in body.shown and not body.pattern and not body.cap:
            points = scene.drawn(body.vertices, body.stands, kind)
            points[:, 2] += body.lift if kind == "apart" else 0.0
            gathered.append(points[body.faces])
    triangles = np.concatenate(gathered) if gathered else np.zeros((0, 3, 3))
    cut = None
    if kind == "slice":
        # What is cut away stands before nothing, and what lies in the cut is seen.
        cut = scene.slices.direction, float(scene.slices.stations[int(station)]) - SHORT
    return in_sight(places, eye.position, triangles, cut)
