"""The ground of a scan carried on to the walls: its nodes end half a step before them."""

from __future__ import annotations

import numpy as np
import shapely
from msgspec import Struct

from grading.geometry.arrays import Floats
from grading.survey.sources.scans.extent import CELL, IN_NODE

STEP = CELL * IN_NODE
NEAR = 1.5 * STEP
"""The ground is carried on to a wall from a node that is so near. [m]"""
AROUND = 3 * STEP
"""Nodes that tell its slope there. [m]"""
LEAST_NODES = 6


class ByWalls(Struct, frozen=True, eq=False):
    """Spots on the line of walls.

    xyz : (n, 3) float. [m]
    sd : (n,) float, standard deviation of z. [m]
    """

    xyz: Floats
    sd: Floats


def by_walls(xyz: Floats, sd: Floats, walls: shapely.Geometry) -> ByWalls:
    """Return spots every 25 cm along walls, where nodes lie beside them.

    Parameters
    ----------
    xyz : (n, 3) float
        Nodes, none of them in the house. [m]
    sd : (n,) float
        Standard deviations of z. [m]
    walls : geometry
        Lines. [m]

    Notes
    -----
    Each lies on the plane of least squares through the nodes within 75 cm. A scan reaches to the
    wall; without these, paving along a wall would lie beyond what was measured.
    """
    from scipy.spatial import cKDTree

    places = _along(walls)
    tree = cKDTree(xyz[:, :2])
    places = places[tree.query(places)[0] <= NEAR]
    found, sds = [], []
    for place in places:
        near = np.array(tree.query_ball_point(place, AROUND))
        rows = np.column_stack([np.ones(len(near)), xyz[near, :2] - place])
        if len(near) < LEAST_NODES or np.linalg.matrix_rank(rows) < 3:
            continue
        inverse = np.linalg.inv(rows.T @ rows)
        plane = inverse @ rows.T @ xyz[near, 2]
        off = xyz[near, 2] - rows @ plane
        spread = max(float((off**2).sum() / max(len(near) - 3, 1)), float((sd[near] ** 2).mean()))
        found.append((*place, plane[0]))
        sds.append(np.sqrt(spread * inverse[0, 0]))
    return ByWalls(np.array(found, float).reshape(-1, 3), np.array(sds, float))


def _along(walls: shapely.Geometry) -> Floats:
    """Return places every STEP along lines (n, 2), their corners among them. [m]"""
    ends = []
    for line in shapely.get_parts(walls):
        closer = shapely.segmentize(line, STEP)
        ends.append(shapely.get_coordinates(closer))
    every = np.concatenate([np.zeros((0, 2)), *ends])
    return np.unique(np.round(every, 6), axis=0)
