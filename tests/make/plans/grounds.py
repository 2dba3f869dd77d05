"""Grounds made by hand for the tests: the triangles are chosen here, not by the code under test."""

from __future__ import annotations

from collections.abc import Callable, Sequence

import numpy as np
import shapely
from numpy.typing import ArrayLike, NDArray

from grading.finish.cutting import clip
from grading.finish.earthwork import Clip, Volumes
from grading.ground.model import Ground

Floats = NDArray[np.float64]
Plane = tuple[float, float, float]  # z0 [m], dzdx, dzdy: z = z0 + dzdx x + dzdy y


def ground_of(
    points: ArrayLike, triangles: ArrayLike | None = None, organics: float = 0.0
) -> Ground:
    """Return a ground on these points (n, 3) [m]; without triangles, SciPy's Delaunay gives them.

    Triangles may be given in either turn; they are made counter-clockwise.
    """
    xyz = np.array(points, dtype=float).reshape(-1, 3)
    if triangles is None:
        from scipy.spatial import Delaunay

        triangles = Delaunay(xyz[:, :2] - xyz[:, :2].mean(axis=0)).simplices
    corners = np.array(triangles, dtype=np.int64).reshape(-1, 3)
    first = xyz[corners[:, 1], :2] - xyz[corners[:, 0], :2]
    second = xyz[corners[:, 2], :2] - xyz[corners[:, 0], :2]
    double = first[:, 0] * second[:, 1] - first[:, 1] * second[:, 0]
    corners, double = corners[double != 0], double[double != 0]
    corners[double < 0] = corners[double < 0][:, ::-1]
    return Ground(
        points=xyz,
        triangles=corners,
        organics=np.full(len(xyz), organics),
        spots=len(xyz),
        surveyed=shapely.MultiPoint(xyz[:, :2]).convex_hull,
        beyond=np.zeros(len(corners), dtype=bool),
        surface="tin",
        warnings=(),
    )


def gridded(
    xs: Sequence[float] | Floats,
    ys: Sequence[float] | Floats,
    heights: ArrayLike | Callable[[Floats, Floats], Floats],
    rising: bool = True,
) -> Ground:
    """Return a ground on a grid; each cell is cut by its rising (or its falling) diagonal.

    heights : (rows, columns) [m], row 0 at the first y; NaN where there is no corner, or a
    function of x and y.
    """
    x, y = np.meshgrid(np.asarray(xs, float), np.asarray(ys, float))
    z = np.asarray(heights(x, y) if callable(heights) else heights, dtype=float)
    number = np.arange(z.size).reshape(z.shape)
    low_left, low_right = number[:-1, :-1].ravel(), number[:-1, 1:].ravel()
    up_left, up_right = number[1:, :-1].ravel(), number[1:, 1:].ravel()
    if rising:
        halves = [(low_left, low_right, up_right), (low_left, up_right, up_left)]
    else:
        halves = [(low_left, low_right, up_left), (low_right, up_right, up_left)]
    cells = np.stack([low_left, low_right, up_left, up_right], axis=1)
    whole = np.isfinite(z.ravel()[cells]).all(axis=1)
    triangles = np.concatenate([np.column_stack(half)[whole] for half in halves])
    kept = np.flatnonzero(np.isfinite(z.ravel()))
    points = np.column_stack([x.ravel(), y.ravel(), z.ravel()])[kept]
    return ground_of(points, np.searchsorted(kept, triangles))


def earth(ground: Ground, outline: shapely.Polygon | shapely.MultiPolygon, plane: Plane) -> Volumes:
    """Return cut and fill between a ground and a plane inside an outline."""
    return clip(ground, outline).volumes(*plane)


def everything(ground: Ground) -> shapely.Polygon | shapely.MultiPolygon:
    """Return the plan of all the triangles of a ground."""
    return shapely.union_all(shapely.polygons(ground.points[ground.triangles][:, :, :2]))


def height(points: Floats, plane: Plane) -> Floats:
    """Return the height of a plane at points (k, 2). [m]"""
    return np.asarray(plane[0] + points[:, 0] * plane[1] + points[:, 1] * plane[2])


def corners_of(piece: Clip) -> Floats:
    """Return the corners of a clip as points in space, (k, 3, 3). [m]"""
    return np.concatenate([piece.xy, piece.ground[:, :, None]], axis=2)
