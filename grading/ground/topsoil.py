"""Depth of organics (topsoil and roots) between the places where it was probed."""

from __future__ import annotations

import numpy as np
import shapely
from msgspec import Struct

from grading.errors import Problem, SiteError
from grading.geometry.arrays import Floats, Ints
from grading.geometry.tin import Tin
from grading.geometry.tolerances import ROUNDING, SAME_PLACE
from grading.geometry.triangulation import triangulate
from grading.ground.spots import SpotNames

# Enough to make a 1e6-point surface in small parts. [values]
_PART = 4_000_000

_RING = 16  # corners of what is round
_RIMS = 4  # rings from the bottom of a pit up to where its side ends


class Pits(Struct, frozen=True, eq=False):
    """Deep holes among shallow ones, a stump or an old pit each.

    Attributes
    ----------
    which : (k,) int
        Which of the probes.
    usual : float
        The depth that such a hole counts with between the others. [m]
    reach : float
        How far round it the topsoil is as deep; from there its side rises one to one. [m]
    """

    which: Ints
    usual: float
    reach: float

    def levelled(self, probes: Floats) -> Floats:
        """Return the probes (p, 3) with these no deeper than usual. [m]"""
        found = probes.copy()
        found[self.which, 2] = np.minimum(found[self.which, 2], self.usual)
        return found

    def depth(self, probes: Floats, xy: Floats) -> Floats:
        """Return how deep the pits go at points (k, 2), not above nothing. [m]"""
        deepest = np.zeros(len(xy))
        for x, y, deep in probes[self.which]:
            away = np.maximum(np.hypot(*(xy - (x, y)).T) - self.reach, 0.0)
            deepest = np.maximum(deepest, deep - away)
        return deepest

    def rims(self, probes: Floats, tin: Tin) -> Floats:
        """Return points (k, 2) round the bottom of each pit, and up its side to where it ends. [m]

        Also wherever these rims cross a side of a triangle of the ground, which is kept: between
        its ends it would run through the pit at the depth of what lies around.
        """
        turn = 2 * np.pi * np.arange(_RING + 1) / _RING
        ring = np.column_stack([np.cos(turn), np.sin(turn)])
        corners = np.arange(_RING + 1)
        found = [np.zeros((0, 2))]
        for x, y, deep in probes[self.which]:
            outer = self.reach + max(deep - self.usual, 0.0)
            for radius in np.unique(np.linspace(self.reach, outer, _RIMS)):
                rim = (x, y) + radius * ring
                along = 2 * radius * np.sin(np.pi / _RING) * corners
                there = tin.section(rim)
                there = there[np.isfinite(there[:, 1]), 0]
                at = [np.interp(there, along, rim[:, axis]) for axis in (0, 1)]
                found.append(np.column_stack(at))
        return np.concatenate(found)


def check_probes(probes: Floats, names: SpotNames) -> None:
    """Raise SiteError for a probe that is not finite, negative, or doubled with another depth."""
    problems = []
    for number, (x, y, depth) in enumerate(probes.tolist(), start=1):
        if not np.isfinite((x, y, depth)).all() or depth < 0:
            problems.append(
                Problem(
                    f"ground.organics, probe {number}",
                    f"depth {names.length(depth)} at {names.place(np.array([x, y]))}",
                    "a depth of nothing or more, at a place given by two numbers",
                    "Correct the probe, or delete its line.",
                )
            )
    a, b = np.triu_indices(len(probes), 1)
    gap = np.hypot(*(probes[a, :2] - probes[b, :2]).T)
    for i, j in np.column_stack((a, b))[gap < SAME_PLACE].tolist():
        if probes[i, 2] != probes[j, 2]:
            problems.append(
                Problem(
                    f"ground.organics, probe {j + 1}",
                    f"depth {names.length(probes[j, 2])} where probe {i + 1} has "
                    f"{names.length(probes[i, 2])}, both at {names.place(probes[j])}",
                    "one depth at one place",
                    "Delete the wrong line.",
                )
            )
    if problems:
        raise SiteError(problems)


def depth_between(probes: Floats, xy: Floats) -> Floats:
    """Return an estimate of the depth (k,) at points (k, 2) from probes (p, 3). [m]

    Inverse distance squared over all probes: every probe is given back exactly, no value leaves
    their range, and far from all of them it tends to their mean. It is an estimate, no more:
    organics follow the history of a yard and not a law.

    References
    ----------
    .. [1] D. Shepard, "A two-dimensional interpolation function for irregularly-spaced data",
       Proc. 23rd ACM National Conference, 1968, pp. 517-524.
    """
    depth = np.zeros(len(xy))
    step = max(1, _PART // len(probes))
    for start in range(0, len(xy), step):
        part = slice(start, start + step)
        square = ((xy[part, None, :] - probes[None, :, :2]) ** 2).sum(axis=2)
        nearest = square.min(axis=1, keepdims=True)
        # relative to the nearest, so that no weight overflows; at a probe it alone counts
        weight = np.where(square == 0, 1.0, nearest / np.where(square == 0, 1.0, square))
        depth[part] = weight @ probes[:, 2] / weight.sum(axis=1)
    return depth


def with_probes(
    points: Floats, corners: Ints, probes: Floats, pits: Pits | None = None
) -> tuple[Floats, Ints, Floats]:
    """Return points, triangles and depth at each point, the probes being points of the surface.

    Parameters
    ----------
    points : (n, 3) float
        The surface's points. [m]
    corners : (m, 3) int
        Its triangles.
    probes : (p, 3) float
        x, y and depth. [m]
    pits : Pits, optional
        Those of the probes that are deep by themselves.

    Returns
    -------
    (n + q, 3) float, (m + ..., 3) int, (n + q,) float
        The same surface: a probe on it becomes a point at the elevation the surface has there,
        so that its depth is met exactly; a probe within SAME_PLACE of a point gives that point
        its depth; a probe outside the surface only weighs in. A pit is as deep as it was found as
        far round it as it reaches, and beyond its side it weighs no more than what is usual.
    """
    usual = probes
    if pits is not None:
        usual = pits.levelled(probes)
        rim = pits.rims(probes, Tin(points, corners))
        around = np.maximum(depth_between(usual, rim), pits.depth(probes, rim))
        probes, found = np.concatenate((probes, np.column_stack((rim, around)))), probes
    tree = shapely.STRtree(np.asarray(shapely.points(points[:, :2])))
    at_point = tree.query_nearest(shapely.points(probes[:, :2]), all_matches=False)[1]
    gap = np.hypot(*(points[at_point, :2] - probes[:, :2]).T)
    z = Tin(points, corners).elevation(probes[:, :2])
    new = np.flatnonzero((gap >= SAME_PLACE) & np.isfinite(z))
    new = new[np.unique(np.round(probes[new, :2] / SAME_PLACE), axis=0, return_index=True)[1]]
    at_point, depth = at_point[gap < SAME_PLACE], probes[gap < SAME_PLACE, 2]
    known = depth_between(usual, points[:, :2])
    if pits is not None:
        known = np.maximum(known, pits.depth(found, points[:, :2]))
    known[at_point] = depth
    if not len(new):
        return points, corners, known
    added = np.column_stack((probes[new, :2], z[new]))
    points = np.concatenate((points, added))
    edges = Tin(points, corners).edges
    corners = triangulate(points[:, :2], edges, snap=ROUNDING).corners
    return points, corners, np.concatenate((known, probes[new, 2]))
