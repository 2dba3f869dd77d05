"""The free edges of paving, each as one run: how the finish stands above the ground along it."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from itertools import pairwise

import numpy as np
import shapely
from msgspec import Struct

from grading.geometry.arrays import Floats, distances_along
from grading.geometry.facets import Surface
from grading.geometry.free_edges import SHORTEST_RUN, stretch
from grading.ground.model import Ground

Place = tuple["EdgeRun", int]  # a run, and the number of a point of it

STEP = 0.25
"""How often an edge is looked at. [m]"""


class EdgeRun(Struct, frozen=True, eq=False):
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

    def above(self, limit: float) -> tuple[tuple[float, float], ...]:
        """Return the stretches that stand higher than a limit [m] above the ground. [m, m]

        Between two points the height is linear; where the ground was not surveyed it is not known
        to be high. Less than `SHORTEST_RUN` takes no holder of its own.
        """
        over = np.nan_to_num(self.height - limit, nan=-np.inf)
        high = over > 0
        found = []
        for part in np.split(np.arange(len(high)), np.flatnonzero(np.diff(high)) + 1):
            if high[part[0]]:
                low = self._crossing(over, int(part[0]), int(part[0]) - 1)
                end = self._crossing(over, int(part[-1]), int(part[-1]) + 1)
                if end - low >= SHORTEST_RUN:
                    found.append((low, end))
        return tuple(found)

    def _crossing(self, over: Floats, inner: int, outer: int) -> float:
        """Return where the height passes the limit between a point above it and its neighbour."""
        at = float(self.along[inner])
        if not 0 <= outer < len(over) or not np.isfinite(over[outer]):
            return at
        share = over[inner] / (over[inner] - over[outer])
        return at + float(share * (self.along[outer] - self.along[inner]))

    def part(self, low: float, high: float) -> shapely.LineString:
        """Return the line from one distance to another; a ring may go on over its start. [m]"""
        return stretch(self.points, low, high)

    def raised(self, limit: float) -> tuple[shapely.LineString, ...]:
        """Return the stretches that stand higher than a limit [m] above the ground. [m]"""
        return tuple(self.part(low, high) for low, high in self.above(limit))

    def lower(self, limit: float) -> tuple[shapely.LineString, ...]:
        """Return what does not stand higher than a limit [m], as long as takes a restraint. [m]"""
        high = self.above(limit)
        if not high:
            return (shapely.LineString(self.points),)
        gaps = [(a[1], b[0]) for a, b in pairwise(high)]
        if self.closed:
            gaps.append((high[-1][1], high[0][0] + self.length))
        else:
            gaps += [(0.0, high[0][0]), (high[-1][1], self.length)]
        return tuple(self.part(low, end) for low, end in gaps if end - low >= SHORTEST_RUN)


def edge_runs(
    free: Iterable[shapely.LineString], finish: Surface, ground: Ground
) -> tuple[EdgeRun, ...]:
    """Return the free edges of paving with the levels along them, the longest first.

    Parameters
    ----------
    free : iterable of shapely line
        As `grading.geometry.free_edges.free_edges` gives them. [m]
    finish : Surface
    ground : Ground
        Existing.
    """
    runs = []
    for line in free:
        points = shapely.get_coordinates(shapely.segmentize(line, STEP))
        along = distances_along(points)
        z, lawn = finish.at(points), ground.elevation(points)
        runs.append(EdgeRun(points, along, z, lawn, bool(line.is_ring)))
    return tuple(sorted(runs, key=lambda run: -run.length))


def extremes(runs: Sequence[EdgeRun]) -> tuple[Place, Place] | None:
    """Return where the finish stands least and most above the ground along some edges.

    None where the ground was surveyed along none of them.
    """
    places = [
        (float(run.height[k]), number, k)
        for number, run in enumerate(runs)
        for k in np.flatnonzero(np.isfinite(run.height)).tolist()
    ]
    if not places:
        return None
    # Where all stand alike the two are told at the two ends, so that neither hides the other.
    most = max(places, key=lambda one: (round(one[0], 4), -one[1], -one[2]))
    least = min(places, key=lambda one: (round(one[0], 4), -one[1], -one[2]))
    return (runs[least[1]], least[2]), (runs[most[1]], most[2])
