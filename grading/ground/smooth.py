"""A smooth surface through the spots, and how far it and the triangles miss a spot left out."""

from __future__ import annotations

import numpy as np
import shapely
from msgspec import Struct

from grading.geometry.arrays import Floats, Ints
from grading.geometry.triangulation import cross, triangulate

# A thin plate takes time as the cube of its spots; more spots are already finer than its grid.
MOST_SPOTS = 2000
_GRID_NODES = 3500
# Spots left out one at a time; enough for the RMS to be known within a few per cent.
_MOST_LEFT_OUT = 400
# For a survey too large for one plate, each spot left out is met by a plate through these many.
_LOCAL_SPOTS = 64


class SurfaceErrors(Struct, frozen=True):
    """How far each surface misses spots that it was not given.

    count : spots left out, of `interior` that have ground on all sides; fewer only when sampled.
    """

    count: int
    tin_rms: float
    tin_worst: float
    smooth_rms: float
    smooth_worst: float
    interior: int = 0


def thin_plate(spots: Floats, xy: Floats) -> Floats:
    """Return the elevation (k,) at points (k, 2) of a thin plate through spots (n, 3). [m]

    References
    ----------
    .. [1] J. Duchon, "Splines minimizing rotation-invariant semi-norms in Sobolev spaces",
       Lecture Notes in Mathematics 571, 1977, pp. 85-100.
    """
    from scipy.interpolate import RBFInterpolator

    centre = spots[:, :2].mean(axis=0)
    plate = RBFInterpolator(spots[:, :2] - centre, spots[:, 2], kernel="thin_plate_spline")
    found: Floats = plate(xy - centre)
    return found


def smoothed(points: Floats, edges: Ints, surveyed: shapely.Polygon) -> tuple[Floats, Ints]:
    """Return points and triangles of a smooth surface: the given points first, then a fine grid.

    Parameters
    ----------
    points : (n, 3) float
        Spots and breakline vertices, at most MOST_SPOTS. [m]
    edges : (e, 2) int
        Breakline edges; they stay edges, straight between their ends.
    surveyed : shapely.Polygon
        Where the grid is laid. [m]
    """
    node = _grid(points, edges, surveyed)
    new = np.column_stack((node, thin_plate(points, node)))
    points = np.concatenate((points, new))
    return points, triangulate(points[:, :2], edges).corners


def _grid(points: Floats, edges: Ints, surveyed: shapely.Polygon) -> Floats:
    step = float(np.sqrt(surveyed.area / _GRID_NODES))
    low, high = points[:, :2].min(axis=0), points[:, :2].max(axis=0)
    x, y = (np.arange(a + step / 2, b, step) for a, b in zip(low, high, strict=True))
    node = np.stack(np.meshgrid(x, y), axis=-1).reshape(-1, 2)
    place = shapely.points(node)
    shapely.prepare(surveyed)
    kept = np.atleast_1d(shapely.contains(surveyed, place))
    # clear of the spots, the edge and the breaklines, so that no needle arises beside them
    fixed: list[shapely.Geometry] = [surveyed.exterior, *map(shapely.Point, points[:, :2])]
    fixed += map(shapely.LineString, points[edges][..., :2])
    close = shapely.STRtree(fixed).query(place, predicate="dwithin", distance=step / 3)[0]
    kept[close] = False
    return node[kept]


def leave_one_out(xyz: Floats) -> SurfaceErrors:
    """Return how far the triangles and the thin plate miss each spot when it is left out.

    Parameters
    ----------
    xyz : (n, 3) float
        Distinct spots, not all on one line. [m]

    Returns
    -------
    SurfaceErrors
        Both surfaces on the same spots: those not on the boundary, as leaving one of these out
        would leave no ground there. Of more than 400 a fixed sample of 400 is taken. NaN when no
        spot is interior.

    References
    ----------
    .. [1] S. Rippa, "An algorithm for selecting a good value for the parameter c in radial basis
       function interpolation", Advances in Computational Mathematics 11, 1999, pp. 193-210: the
       error at a spot left out is its coefficient over the diagonal of the inverse matrix.
    """
    xyz = np.asarray(xyz, float)
    mesh = triangulate(xyz[:, :2])
    interior = np.setdiff1d(np.arange(len(xyz)), mesh.ring)
    chosen = interior
    if len(interior) > _MOST_LEFT_OUT:
        chosen = np.sort(np.random.default_rng(0).permutation(interior)[:_MOST_LEFT_OUT])
    if not len(chosen):
        return SurfaceErrors(0, np.nan, np.nan, np.nan, np.nan)
    tin = _tin_errors(xyz, mesh.corners, chosen)
    plate = _plate_errors(xyz)[chosen] if len(xyz) <= MOST_SPOTS else _local_errors(xyz, chosen)

    def rms(error: Floats) -> float:
        return float(np.sqrt(np.mean(error**2)))

    return SurfaceErrors(
        len(chosen),
        rms(tin),
        float(np.abs(tin).max()),
        rms(plate),
        float(np.abs(plate).max()),
        len(interior),
    )


def _tin_errors(xyz: Floats, corners: Ints, chosen: Ints) -> Floats:
    """Return spot less surface at each chosen spot; only its own star is triangulated anew.

    Taking a point out of a Delaunay triangulation changes nothing outside the triangles that
    meet in it.
    """
    order = np.argsort(corners.reshape(-1), kind="stable")
    start = np.searchsorted(corners.reshape(-1)[order], np.arange(len(xyz) + 1))
    error = np.zeros(len(chosen))
    for number, spot in enumerate(chosen.tolist()):
        star = corners[order[start[spot] : start[spot + 1]] // 3]
        after = {a: b for t in star.tolist() for a, b in zip(t, t[1:] + t[:1], strict=True)
                 if spot not in (a, b)}  # fmt: skip
        ring = [next(iter(after))]
        while (point := after[ring[-1]]) != ring[0]:
            ring.append(point)
        around = xyz[ring]
        closed = np.column_stack((np.arange(len(ring)), np.roll(np.arange(len(ring)), -1)))
        hole = triangulate(around[:, :2], closed)
        error[number] = xyz[spot, 2] - _height_at(around[hole.corners] - xyz[spot] * [1, 1, 0])
    return error


def _height_at(triangles: Floats) -> float:
    """Return z at the origin of the triangle (m, 3, 3) that holds it; for a few, no search."""
    a, b, c = triangles[:, 0], triangles[:, 1], triangles[:, 2]
    share = np.stack((cross(b, c), cross(c, a), cross(a, b)), axis=1)
    share = share / share.sum(axis=1, keepdims=True)
    holds = int(np.argmax(share.min(axis=1)))
    return float(share[holds] @ triangles[holds, :, 2])


def plate_matrix(xy: Floats) -> Floats:
    """Return the thin plate's matrix with its plane, (..., n + 3, n + 3), of points (..., n, 2)."""
    count = xy.shape[-2]
    square = ((xy[..., :, None, :] - xy[..., None, :, :]) ** 2).sum(axis=-1)
    matrix = np.zeros((*xy.shape[:-2], count + 3, count + 3))
    matrix[..., :count, :count] = 0.5 * square * np.log(np.where(square > 0, square, 1.0))
    matrix[..., :count, count] = matrix[..., count, :count] = 1.0
    matrix[..., :count, count + 1 :] = xy
    matrix[..., count + 1 :, :count] = np.swapaxes(xy, -1, -2)
    return matrix


def _plate_errors(xyz: Floats) -> Floats:
    """Return spot less thin plate without it, at every spot (n,)."""
    xy = xyz[:, :2] - xyz[:, :2].mean(axis=0)
    xy = xy / np.abs(xy).max()
    inverse = np.linalg.inv(plate_matrix(xy))[: len(xyz), : len(xyz)]
    error: Floats = (inverse @ (xyz[:, 2] - xyz[:, 2].mean())) / np.diag(inverse)
    return error


def _local_errors(xyz: Floats, chosen: Ints) -> Floats:
    from scipy.spatial import cKDTree

    found = cKDTree(xyz[:, :2]).query(xyz[chosen, :2], k=_LOCAL_SPOTS + 1)
    near = np.asarray(found[1])[:, 1:]  # the nearest is the spot itself
    local = xyz[near] - xyz[chosen, None, :]
    xy = local[..., :2] / np.abs(local[..., :2]).max(axis=(1, 2), keepdims=True)
    right = np.zeros((len(chosen), _LOCAL_SPOTS + 3, 1))
    right[:, :_LOCAL_SPOTS, 0] = local[..., 2]
    weight = np.linalg.solve(plate_matrix(xy), right)[..., 0]
    # at the spot itself, the origin, the plane is its constant
    square = (xy**2).sum(axis=2)
    plate = (weight[:, :_LOCAL_SPOTS] * 0.5 * square * np.log(square)).sum(axis=1)
    error: Floats = -(plate + weight[:, _LOCAL_SPOTS])
    return error
