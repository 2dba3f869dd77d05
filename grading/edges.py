"""The edges over which the water of an area leaves it, and the way that it takes from there."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely

from grading.descent import Bools, Floats, Ints
from grading.flow import way
from grading.relief import Relief

LEAST_SHARE = 0.01
"""Share of an area's water below which an edge is no way out, but the grid's own roughness."""

_CORNER = np.cos(np.radians(20.0))  # a lesser turn is a chord of a round edge
_LEVEL = 0.001  # m: cells nearer in level than this are one low point


@dataclass(frozen=True, eq=False)
class LowEdge:
    """One edge of an area that water leaves over.

    start, end : of the edge, (2,). [m]
    at, z : its lowest point where water leaves, (2,), and its level. [m]
    share : of all water that leaves the area.
    flow : of water in the storm, that of the area and what runs onto it. [m3/s]
    path : the way of the water from the low point, (k, 2). [m]
    destination : the name of where it ends.
    kind : of destination.
    """

    start: Floats
    end: Floats
    at: Floats
    z: float
    share: float
    flow: float
    path: Floats
    destination: str
    kind: str


def sides_of(polygon: shapely.Geometry) -> list[shapely.LineString]:
    """Return the sides of an outline and its holes, round ones whole, in order. [m]"""
    sides = []
    for ring in shapely.get_rings(shapely.get_parts(polygon)):
        xy = shapely.get_coordinates(ring)[:-1]
        step = np.roll(xy, -1, axis=0) - xy
        step /= np.hypot(*step.T)[:, None]
        turned = (step * np.roll(step, 1, axis=0)).sum(axis=1) < _CORNER
        corners = np.flatnonzero(turned)
        if len(corners) < 2:
            sides.append(shapely.LineString(np.vstack([xy, xy[:1]])))
            continue
        for first, final in zip(corners, np.append(corners[1:], corners[0] + len(xy)), strict=True):
            sides.append(shapely.LineString(xy[np.arange(first, final + 1) % len(xy)]))
    return sides


@dataclass(frozen=True, eq=False)
class Leaving:
    """What the edges of areas are found with: the grid, the way of the water and how much it is.

    receiver : (n,) int, as `grading.flow.routed` gives it.
    gathered : (n,) float, area that drains through each cell. [m2]
    flow : (n,) float, in the storm, zero without one. [m3/s]
    ended : (n,) bool, water ends here though no edge is near: a drain, a pool.
    label : (n,) int, into `places`, where the water of a cell ends.
    places : sequence of (name, kind).
    """

    relief: Relief
    receiver: Ints
    gathered: Floats
    flow: Floats
    ended: Bools
    label: Ints
    places: Sequence[tuple[str, str]]

    def low_edges(self, outline: shapely.Geometry, own: Bools) -> tuple[LowEdge, ...]:
        """Return the edges over which water leaves an area, the one with most of it first.

        Parameters
        ----------
        outline : shapely polygon
            The area. [m]
        own : (n,) bool
            Its cells.
        """
        cells = np.flatnonzero(own & ~self.ended)
        to = self.receiver[cells]
        out = cells[~own[to] | (to == cells)]
        if not len(out):
            return ()
        sides = sides_of(outline)
        # Midway between the last cell of the area and the next lies the edge itself.
        middle = (self.relief.centres(out) + self.relief.centres(self.receiver[out])) / 2
        points = shapely.points(middle)
        apart = np.stack([shapely.distance(points, side) for side in sides])
        which = apart.argmin(axis=0)
        total = float(self.gathered[out].sum())
        edges = []
        for number, side in enumerate(sides):
            over = out[which == number]
            share = float(self.gathered[over].sum()) / total
            if share >= LEAST_SHARE:
                edges.append(self._edge(side, over, share))
        return tuple(sorted(edges, key=lambda edge: -edge.share))

    def _edge(self, side: shapely.LineString, over: Ints, share: float) -> LowEdge:
        z = self.relief.z.ravel()[over]
        low = over[z <= z.min() + _LEVEL]
        cell = int(low[len(low) // 2])
        ends = shapely.get_coordinates(side)[[0, -1]]
        name, kind = self.places[self.label[cell]]
        return LowEdge(
            start=ends[0],
            end=ends[1],
            at=self.relief.centres(np.array([cell]))[0],
            z=float(self.relief.z.ravel()[cell]),
            share=share,
            flow=float(self.flow[over].sum()),
            path=path_from(self.relief, self.receiver, cell),
            destination=name,
            kind=kind,
        )


def path_from(relief: Relief, receiver: Ints, cell: int) -> Floats:
    """Return the way of the water from a cell as a line (k, 2), true to within a cell. [m]"""
    points = relief.centres(way(receiver, cell))
    if len(points) < 3:
        return points
    line = shapely.simplify(shapely.linestrings(points), relief.spacing)
    return np.asarray(shapely.get_coordinates(line))
