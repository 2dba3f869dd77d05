"""The free edges of paving, each as one run: how the finish stands above the ground along it."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray

from grading.facets import Surface
from grading.ground import Ground

Floats = NDArray[np.float64]

STEP = 0.25
"""How often an edge is looked at. [m]"""


@dataclass(frozen=True, eq=False)
class EdgeRun:
    """A stretch of edge that nothing closes.

    Attributes
    ----------
    points : (k, 2) float
        Along it, corners among them. [m]
    along : (k,) float
        Distance from its start. [m]
    finish, ground : (k,) float
        Levels of the finish and of the existing ground there; ground NaN where unsurveyed. [m]
    closed : bool
        Whether it ends where it starts.
    """

    points: Floats
    along: Floats
    finish: Floats
    ground: Floats
    closed: bool

    @property
    def height(self) -> Floats:
        """The finish above the existing ground, (k,). [m]"""
        return self.finish - self.ground

    @property
    def length(self) -> float:
        """[m]"""
        return float(self.along[-1])


def edge_runs(
    outline: shapely.Polygon, closed: shapely.Geometry, finish: Surface, ground: Ground
) -> tuple[EdgeRun, ...]:
    """Return the free edges of paving, the longest first.

    Parameters
    ----------
    outline : shapely polygon
        The paving. [m]
    closed : shapely geometry
        What closes an edge that lies in it: the house, other paving, what is met. [m]
    finish : Surface
    ground : Ground
        Existing.

    Notes
    -----
    A run goes the way that the outline does: counter-clockwise, the paving on its left; round a
    hole clockwise.
    """
    turned = shapely.geometry.polygon.orient(outline)
    runs = []
    for ring in (turned.exterior, *turned.interiors):
        free = shapely.difference(ring, closed)
        whole = shapely.length(free) > ring.length - 1e-9
        parts = [ring] if whole else shapely.get_parts(shapely.line_merge(free, directed=True))
        for part in parts:
            points = shapely.get_coordinates(shapely.segmentize(part, STEP))
            if len(points) < 2:
                continue
            along = np.concatenate([[0.0], np.hypot(*np.diff(points, axis=0).T).cumsum()])
            z, lawn = finish.at(points), ground.elevation(points)
            runs.append(EdgeRun(points, along, z, lawn, bool(whole)))
    return tuple(sorted(runs, key=lambda run: -run.length))
