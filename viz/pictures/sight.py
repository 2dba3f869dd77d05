"""Which labelled points of a picture can be seen, and which lie behind something."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from viz.pictures.camera import Eye
from viz.scene.model import Label, Scene
from viz.scene.shell import Floats

SHORT = 0.08
"""How far before a point sight may end: it lies on a surface, or just under one. [m]"""


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
    if not len(triangles):
        return np.ones(len(points), bool)
    corner = triangles[:, 0]
    one, two = triangles[:, 1] - corner, triangles[:, 2] - corner
    seen = np.ones(len(points), bool)
    for k, point in enumerate(points):
        way = point - eye
        reach = 1 - SHORT / max(float(np.linalg.norm(way)), SHORT)
        across = np.cross(way, two)
        scale = np.einsum("ij,ij->i", one, across)
        flat = np.abs(scale) < 1e-12
        per = 1 / np.where(flat, 1.0, scale)
        start = eye - corner
        u = np.einsum("ij,ij->i", start, across) * per
        turned = np.cross(start, one)
        v = turned @ way * per
        share = np.einsum("ij,ij->i", turned, two) * per
        met = ~flat & (u >= 0) & (v >= 0) & (u + v <= 1) & (share > 0) & (share < reach)
        if cut is not None:
            direction, station = cut
            met &= eye[:2] @ direction + share * (way[:2] @ direction) < station
        seen[k] = not met.any()
    return seen


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
    places = np.array([scene.place(label, kind) for label in labels]).reshape(-1, 3)
    seen = in_sight(places, eye.position, triangles, cut)
    return [label for label, kept in zip(labels, seen, strict=True) if kept]
