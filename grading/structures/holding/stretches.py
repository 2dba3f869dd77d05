"""Which stretches of free edge something has to hold, and which table of a site speaks of each."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from functools import cached_property

import numpy as np
import shapely
from msgspec import Struct

from grading.dig.edge_runs import EdgeRun
from grading.finish.wishes.of_site import NEARBY
from grading.geometry.arrays import Floats
from grading.geometry.free_edges import SHORTEST_RUN
from grading.geometry.tolerances import TOUCH
from grading.site.hold_table import Hold

_EVERY = 0.05  # m: how often an edge is asked which table speaks of it
_ASTRAY = 0.02  # m: what lies beside a line has its nearest place of it opposite
_ASKEW = 0.2  # of how far off it is drawn: a line beside an edge need not be parallel


class Stretch(Struct, frozen=True, eq=False, dict=True):
    """A stretch of free edge that something has to hold.

    Attributes
    ----------
    run : EdgeRun
    low, high : float
        Where it begins and ends along the run. [m]
    """

    run: EdgeRun
    low: float
    high: float

    @property
    def length(self) -> float:
        """[m]"""
        return self.high - self.low

    def covers(self, other: Stretch) -> bool:
        """Say whether another stretch is a part of this one."""
        low, high = self.low - TOUCH, self.high + TOUCH
        return self.run is other.run and low <= other.low and other.high <= high

    @cached_property
    def line(self) -> shapely.LineString:
        """Along the edge, the paving on its left. [m]"""
        return self.run.part(self.low, self.high)

    @cached_property
    def highest(self) -> Floats:
        """Where the paving stands highest above the ground along it, (2,). [m]"""
        run = self.run
        own = np.flatnonzero((run.along >= self.low) & (run.along <= self.high))
        if not len(own):
            return np.asarray(self.line.coords[0])
        return np.asarray(run.points[own[np.nanargmax(run.height[own])]])

    @cached_property
    def heights(self) -> Floats:
        """How far the paving stands above the ground along it. [m]"""
        return self._along(self.run.height)

    @cached_property
    def finish(self) -> Floats:
        """Levels of the paving there. [m]"""
        return self._along(self.run.finish)

    def _along(self, levels: Floats) -> Floats:
        along = self.run.along
        inner = along[(along > self.low) & (along < self.high)]
        at = np.concatenate([[self.low], inner, [self.high]])
        return np.asarray(np.interp(at, along, levels))


def stretches_above(run: EdgeRun, limit: float) -> Iterator[Stretch]:
    """Yield the stretches of an edge that stand higher than a limit [m]."""
    yield from (Stretch(run, low, high) for low, high in run.above(limit))


def known_stretches(run: EdgeRun) -> Iterator[Stretch]:
    """Yield the stretches of an edge along which the ground is known."""
    known = np.isfinite(run.height)
    for part in np.split(np.arange(len(known)), np.flatnonzero(np.diff(known)) + 1):
        low, high = float(run.along[part[0]]), float(run.along[part[-1]])
        if known[part[0]] and high - low >= SHORTEST_RUN:
            yield Stretch(run, low, high)


def parted(stretch: Stretch, holds: Sequence[Hold]) -> Iterator[tuple[Stretch, Hold | None]]:
    """Yield the parts of a stretch with the table that speaks of each; None where none does.

    Parameters
    ----------
    stretch : Stretch
    holds : sequence of Hold
        Of its area. One that has `at` speaks of what lies beside that line, the first before the
        others; one without of all the rest.
    """
    rest = next((each for each in holds if each.at is None), None)
    lines = [(shapely.LineString(each.at), each) for each in holds if each.at is not None]
    if not lines:
        yield stretch, rest
        return
    count = max(int(stretch.length / _EVERY), 1)
    bounds = np.linspace(stretch.low, stretch.high, count + 1)
    middle = (bounds[:-1] + bounds[1:]) / 2
    whole = shapely.LineString(stretch.run.points)
    length = stretch.run.length
    owner = np.full(count, -1)
    for place, (line, _) in reversed(list(enumerate(lines))):
        points = shapely.line_interpolate_point(whole, middle % length)
        opposite = shapely.get_coordinates(shapely.shortest_line(line, points))[::2]
        back = shapely.line_locate_point(whole, shapely.points(opposite))
        off = np.abs(back - middle % length)
        off = np.minimum(off, length - off) if stretch.run.closed else off
        far = shapely.distance(line, points)
        owner[(far <= NEARBY) & (off <= _ASTRAY + _ASKEW * far)] = place
    for part in np.split(np.arange(count), np.flatnonzero(np.diff(owner)) + 1):
        low, high = float(bounds[part[0]]), float(bounds[part[-1] + 1])
        own = int(owner[part[0]])
        yield Stretch(stretch.run, low, high), rest if own < 0 else lines[own][1]
