"""The edges over which the water of an area leaves it, and the way that it takes from there."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import shapely
from msgspec import Struct

from grading.geometry.arrays import Bools, Floats, Ints
from grading.geometry.tolerances import LEVEL
from grading.water.grid.flow import Downhill, way
from grading.water.grid.relief import Relief

LEAST_SHARE = 0.01
"""Share of an area's rain below which an edge is no way out, but the grid's own roughness."""

_CORNER = np.cos(np.radians(20.0))  # a lesser turn is a chord of a round edge
_NEAR = 4.0  # cells: an edge this near to where water leaves is what it leaves over
_AT_HOUSE = 0.1  # m: an edge this near to the house is closed by it


class LowEdge(Struct, frozen=True, eq=False):
    """One edge of an area over which rain on it leaves for one place.

    An edge whose water parts is one for each place where more than a trace of it ends, so shares
    add up by edge and by place alike.

    start, end : of the edge, (2,). [m]
    stretch : the part of it that this water leaves over, clear of the house. [m]
    at, z : its lowest point where this water leaves, (2,), and its level. [m]
    share : of the rain on the area.
    flow : of water in the storm, that of the area and what runs onto it. [m3/s]
    path : the way of the water from the low point, (k, 2). [m]
    destination : the name of where it ends.
    kind : of destination.
    """

    start: Floats
    end: Floats
    stretch: shapely.Geometry
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


class Leaving(Struct, frozen=True, eq=False):
    """What the edges of areas are found with: the grid, the way of the water and how much it is.

    downhill : the way of the water.
    flow : (n,) float, in the storm, zero without one. [m3/s]
    ended : (n,) bool, water ends here though no edge is near: a drain, a pool.
    label : (n,) int, into `places`, where the water of a cell ends.
    places : sequence of (name, kind).
    house : its body in plan, empty without one: no water leaves paving over its wall. [m]
    """

    relief: Relief
    downhill: Downhill
    flow: Floats
    ended: Bools
    label: Ints
    places: Sequence[tuple[str, str]]
    house: shapely.Geometry

    def low_edges(
        self, outline: shapely.Geometry, own: Bools, within: Bools
    ) -> tuple[LowEdge, ...]:
        """Return the edges over which rain leaves an area, the one with most of it first.

        Parameters
        ----------
        outline : shapely polygon
            The area with its planting pockets. [m]
        own : (n,) bool
            The cells of its paving.
        within : (n,) bool
            The same with its planting pockets: what runs over one has not left the area.
        """
        cells = np.flatnonzero(within & ~self.ended)
        receiver = self.downhill.receiver
        to = receiver[cells]
        out = cells[~within[to] | (to == cells)]
        if not len(out):
            return ()
        sides = sides_of(outline)
        # Midway between the last cell of the area and the next lies the edge itself.
        middle = (self.relief.centres(out) + self.relief.centres(receiver[out])) / 2
        points = shapely.points(middle)
        open_sides = self._clear_of_house(sides)
        apart = np.stack([shapely.distance(points, side) for side in open_sides])
        # Distance to an empty line is not a number: such a side lies at the house all along.
        which = np.where(np.isnan(apart), np.inf, apart).argmin(axis=0)
        count = len(self.places)
        kinds, number = np.unique(which * count + self.label[out], return_inverse=True)
        mark = np.zeros(len(receiver), dtype=np.int64)
        mark[out] = np.arange(1, len(out) + 1)
        # Each drop that falls on the paving is counted where it leaves for good.
        left = np.bincount(self.downhill.marked(mark)[own], minlength=len(out) + 1)[1:]
        part = left / max(int(own.sum()), 1)
        edges = []
        for place, kind in enumerate(kinds.tolist()):
            over, side = np.flatnonzero(number == place), kind // count
            share = float(part[over].sum())
            if share >= LEAST_SHARE:
                near = self._around(sides[side], middle[over], part[over])
                stretch = shapely.intersection(open_sides[side], near)
                edges.append(self._edge(sides[side], stretch, out[over], share))
        return tuple(sorted(edges, key=lambda edge: -edge.share))

    def _around(self, side: shapely.LineString, middle: Floats, part: Floats) -> shapely.Geometry:
        """Return what is near the places (k, 2) on a side where all but a trace of shares leaves.

        A place between two others that are within reach of each other says nothing more along the
        side: rounds about all of them take most of the time that an edge takes.
        """
        order = np.argsort(part)
        told = middle[order[np.cumsum(part[order]) > LEAST_SHARE * part.sum()]]
        reach = _NEAR * self.relief.spacing
        along = shapely.line_locate_point(side, shapely.points(told))
        row = np.argsort(along, kind="stable")
        told, along = told[row], along[row]
        while True:
            between = np.zeros(len(told), dtype=bool)
            between[1:-1] = along[2:] - along[:-2] <= reach
            between[::2] = False
            if not between.any():
                return shapely.buffer(shapely.MultiPoint(told), reach, quad_segs=2)
            told, along = told[~between], along[~between]

    def _clear_of_house(self, sides: Sequence[shapely.LineString]) -> list[shapely.Geometry]:
        """Return the part of each side that is not at the house; all of them where none is."""
        strip = shapely.buffer(self.house, max(_AT_HOUSE, self.relief.spacing))
        clear: list[shapely.Geometry] = [shapely.difference(side, strip) for side in sides]
        if all(shapely.is_empty(part) for part in clear):
            return list(sides)
        return clear

    def _edge(
        self, side: shapely.LineString, stretch: shapely.Geometry, over: Ints, share: float
    ) -> LowEdge:
        z = self.relief.z.ravel()[over]
        low = over[z <= z.min() + LEVEL]
        cell = int(low[len(low) // 2])
        ends = shapely.get_coordinates(side)[[0, -1]]
        name, kind = self.places[self.label[cell]]
        return LowEdge(
            start=ends[0],
            end=ends[1],
            stretch=stretch,
            at=self.relief.centres(np.array([cell]))[0],
            z=float(self.relief.z.ravel()[cell]),
            share=share,
            flow=float(self.flow[over].sum()),
            path=path_from(self.relief, self.downhill.receiver, cell),
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
