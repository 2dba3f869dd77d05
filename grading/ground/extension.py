"""Ground carried on beyond the survey, and how far an outline asks it to go."""

from __future__ import annotations

import numpy as np
import shapely

from grading.errors import OutsideSurvey, Problem
from grading.geometry.arrays import Floats, Ints, distances_along
from grading.geometry.cells import EDGE
from grading.geometry.triangulation import triangulate
from grading.units import FOOT, both, feet_inches

# How far ground may be guessed beyond the last spots. [m] Common practice, no source: room for
# the over-dig and the edge of the work, where a crew would trust its eye without another shot.
MARGIN = 3 * FOOT
# Spots that the slope at the edge is taken from.
_NEAREST = 8
_ARC_STEPS = 8


def beyond_survey(polygon: shapely.Geometry, surveyed: shapely.Polygon) -> tuple[float, Floats]:
    """Return how far a shape reaches beyond the surveyed ground, and its farthest point.

    Parameters
    ----------
    polygon : shapely geometry
        Area of work. [m]
    surveyed : shapely.Polygon
        Convex outline of the survey. [m]

    Returns
    -------
    float, (2,) float
        Distance, 0 when the shape is inside; NaN for the point of an empty shape. [m] Distance
        to a convex shape is largest at a vertex, so only vertices are looked at.
    """
    corner = shapely.get_coordinates(polygon)
    if not len(corner):
        return 0.0, np.full(2, np.nan)
    distance = np.atleast_1d(shapely.distance(surveyed, shapely.points(corner)))
    worst = int(np.argmax(distance))
    reach = float(distance[worst])
    return (reach if reach > EDGE else 0.0), corner[worst]


def check_reach(polygon: shapely.Geometry, surveyed: shapely.Polygon, margin: float) -> float:
    """Return how far a shape reaches beyond the survey; raise OutsideSurvey past the margin."""
    reach, worst = beyond_survey(polygon, surveyed)
    if reach > margin + EDGE:
        # in feet and metres both, as the person's unit is not known here
        feet = worst / FOOT
        far = f"{feet_inches(reach)} ({reach:.2f} m)"
        raise OutsideSurvey(
            [
                Problem(
                    "outline",
                    f"a reach of {far} beyond the surveyed ground at "
                    f"x = {worst[0]:.2f}, y = {worst[1]:.2f} m "
                    f"(x = {feet[0]:.2f}, y = {feet[1]:.2f} ft)",
                    f"no more than {both(margin)} beyond the outermost spots",
                    "Shoot spots out to there and past it, or draw the outline smaller.",
                )
            ]
        )
    return reach


def extended(
    points: Floats, organics: Floats, corners: Ints, margin: float
) -> tuple[Floats, Floats, Ints]:
    """Return points, organics and triangles with a ring of ground beyond the survey.

    Parameters
    ----------
    points, organics, corners
        The surveyed surface, (n, 3), (n,) and (m, 3); all stay as they are, in front.
    margin : float
        Least width of the ring. [m]

    Notes
    -----
    An outer point carries the elevation of the nearest boundary point on along the slope of the
    least-squares plane of the eight spots nearest to that point. This gives a plane back exactly.
    Organics go on as deep as at the boundary. From memory; no source: what lies beyond the last
    spot is a guess, and triangles made of it are marked.
    """
    ring = ring_of(corners)
    edge = points[ring]
    outer = _outer(edge[:, :2], margin)
    line = shapely.linearrings(edge[:, :2])
    spot = shapely.points(outer)
    distance = shapely.line_locate_point(line, spot)
    foot = shapely.get_coordinates(shapely.line_interpolate_point(line, distance))
    closed = np.append(ring, ring[0])
    run = distances_along(points[closed, :2])
    z = np.interp(distance, run, points[closed, 2])
    slope = _slope_near(points, foot)
    z = z + ((outer - foot) * slope).sum(axis=1)
    deep = np.interp(distance, run, organics[closed])

    around = np.concatenate((edge[:, :2], outer))
    sides = np.column_stack((np.arange(len(ring)), np.roll(np.arange(len(ring)), -1)))
    found = triangulate(around, sides).corners
    found = found[(found >= len(ring)).any(axis=1)]
    number = np.concatenate((ring, len(points) + np.arange(len(outer))))
    return (
        np.concatenate((points, np.column_stack((outer, z)))),
        np.concatenate((organics, deep)),
        np.concatenate((corners, number[found])),
    )


def _outer(edge: Floats, margin: float) -> Floats:
    """Return the points (o, 2) of a closed line that runs at least `margin` outside a ring."""
    # the arcs at corners are chords: widened so that no chord comes nearer than the margin
    wide = margin / np.cos(np.pi / (4 * _ARC_STEPS))
    around = shapely.buffer(shapely.Polygon(edge), wide, quad_segs=_ARC_STEPS)
    around = shapely.simplify(around, margin / 1000)
    around = shapely.buffer(around, 2 * margin / 1000, join_style="mitre")
    around = shapely.segmentize(around, max(2 * margin, around.length / 500))
    return shapely.get_coordinates(around)[:-1]


def _slope_near(points: Floats, foot: Floats) -> Floats:
    """Return the slope (k, 2) of the plane through the spots nearest to points (k, 2)."""
    from scipy.spatial import cKDTree

    count = min(_NEAREST, len(points))
    near = cKDTree(points[:, :2]).query(foot, k=count)[1].reshape(-1, count)
    local = points[near]
    local = local - local.mean(axis=1, keepdims=True)
    plan, z = local[..., :2], local[..., 2:]
    # the pseudo-inverse takes a row of spots on one line as level across that line
    slope: Floats = (np.linalg.pinv(plan, rcond=1e-3) @ z)[..., 0]
    return slope


def ring_of(corners: Ints) -> Ints:
    """Return the boundary of a surface without holes (r,), counter-clockwise."""
    pair = corners[:, [0, 1, 1, 2, 2, 0]].reshape(-1, 2)
    key = pair.min(axis=1) * (int(corners.max()) + 1) + pair.max(axis=1)
    ordered = np.sort(key)
    fresh = np.concatenate(([True], ordered[1:] != ordered[:-1], [True]))
    alone = ordered[fresh[:-1] & fresh[1:]]  # sides of one triangle
    at = np.searchsorted(alone, key).clip(0, len(alone) - 1)
    start, end = pair[alone[at] == key].T
    following = dict(zip(start.tolist(), end.tolist(), strict=True))
    ring = [int(start.min())]
    while (point := following[ring[-1]]) != ring[0]:
        ring.append(point)
    return np.array(ring)
