"""The level of the ground at nodes, from how the points of a scan lie about it."""

from __future__ import annotations

import numpy as np
from msgspec import Struct
from numpy.typing import NDArray

from grading.geometry.arrays import Floats
from grading.survey.sources.scans.extent import CELL, IN_NODE, Cells
from grading.survey.sources.scans.ground_cells import GroundCells
from grading.survey.sources.scans.spool import Points

BIN = 0.002
"""[m]"""
REACH = 0.06
"""Points farther than this from the level of the cells are not of the ground. [m]"""
LOWEST_SHARE = 0.02
"""The share of the points of a node that lies below its lowest level."""
HALF_SCATTER = 0.16
"""The share that lies a standard deviation and more below the middle."""
BETWEEN = 1.05
"""Standard deviations from the one share to the other, of what scatters as a bell."""
BAND = 3.6
"""Points up to so many standard deviations over the lowest level are of the ground. Measured on
invented yards where the scanner scatters by 3 to 12 mm: grass above the band pulls up by 2 to 3 mm
where all is grass; the lowest points alone are 11 mm too low."""
USUAL_SCATTER = 0.006
"""Where too few points tell it. [m] Common practice, no source: telephones up to a few metres."""
LEAST_SCATTER, MOST_SCATTER = 0.003, 0.012
"""Between these it is believed. [m]"""
ENOUGH = 20
"""Points of a node that tell how they scatter."""
LEAST_POINTS = 8
LEAST_CELLS = 3
"""Points in the band, and cells of the ground, that a node has at the least."""
LEAST_SD = 0.001
"""Standard deviation of the level of a node at the least: points of one scan are off together.
[m] Common practice, no source."""

Counts = NDArray[np.uint32]

_BINS = round(2 * REACH / BIN)
_EDGES = BIN * np.arange(_BINS + 1).astype(float) - REACH
_AT_ONCE = 20_000  # nodes that are worked out together


class Nodes(Struct, frozen=True, eq=False):
    """Levels of the ground on a grid of 25 cm, those without any left out.

    xyz : (n, 3) float, about the origin of the points. [m]
    sd : (n,) float, standard deviation of z. [m]
    scatter : how far points lie off the ground, a standard deviation. [m]
    used : points that they rest on.
    empty : nodes of the grid where there is no ground.
    """

    xyz: Floats
    sd: Floats
    scatter: float
    used: int
    empty: int


class Residuals:
    """How far points lie over the level of their cells, counted for each node."""

    def __init__(self, cells: Cells, ground: GroundCells) -> None:
        self.cells, self.ground = cells, ground
        self.counts = np.zeros(cells.across * cells.up * _BINS, np.uint32)
        level = np.where(ground.shown, ground.level, np.float32(np.nan))
        self._level = level.reshape(-1)
        self._tilt = _per_metre(ground.tilt, cells)
        self._node = cells.nodes()

    def add(self, points: Points) -> None:
        """Count a chunk (n, 3)."""
        cell, inside = self.cells.index(points)
        if not inside.all():
            cell, points = cell[inside], points[inside]
        at0, dx, dy = (np.float32(value) for value in self._tilt)
        over = points[:, 2] - self._level[cell]
        over -= at0 + dx * points[:, 0] + dy * points[:, 1]
        place = (over + np.float32(REACH)) * np.float32(1 / BIN)
        with np.errstate(invalid="ignore"):
            near = np.flatnonzero((place >= 0) & (place < _BINS))  # NaN is not
        flat = self._node[cell[near]].astype(np.intp) * _BINS + place[near].astype(np.intp)
        np.add.at(self.counts, flat, np.uint32(1))

    def nodes(self) -> Nodes:
        """Return the nodes: the mean of the points from the lowest level to the band over it."""
        cells, ground = self.cells, self.ground
        counts = self.counts.reshape(-1, _BINS)
        parts = [slice(start, start + _AT_ONCE) for start in range(0, len(counts), _AT_ONCE)]
        low = np.concatenate([_quantile(counts[part], LOWEST_SHARE) for part in parts])
        scatter = _scatter(counts, low)
        found = [_in_band(counts[part], low[part], BAND * scatter) for part in parts]
        total, mean, spread = (np.concatenate(column) for column in zip(*found, strict=True))
        shape = (cells.up, IN_NODE, cells.across, IN_NODE)
        shown = ground.shown.reshape(shape).sum(axis=(1, 3)).reshape(-1)
        places = cells.node_places()
        half = IN_NODE // 2
        at_node = ground.level[half::IN_NODE, half::IN_NODE].reshape(-1)
        at0, dx, dy = self._tilt
        z = at0 + places @ [dx, dy] + at_node + mean
        kept = (total >= LEAST_POINTS) & (shown >= LEAST_CELLS) & np.isfinite(z)
        # Points within a cell are not told apart by a scanner: a point that is there twice, or
        # ten times, tells no more.
        sd = np.maximum(spread[kept] / np.sqrt(np.minimum(total, shown)[kept]), LEAST_SD)
        xyz = np.column_stack([places[kept], z[kept]])
        return Nodes(xyz, sd, scatter, round(float(total[kept].sum())), int((~kept).sum()))


def _in_band(counts: Counts, low: Floats, band: float) -> tuple[Floats, Floats, Floats]:
    """Return how many points lie in the band over a level, their mean and their spread. [m]"""
    # The share of each bin that lies in the band.
    inside = np.minimum(_EDGES[None, 1:], (low + band)[:, None])
    inside -= np.maximum(_EDGES[None, :-1], low[:, None])
    weight = counts * np.clip(inside / BIN, 0, 1)
    total = weight.sum(axis=1)
    middle = (_EDGES[:-1] + _EDGES[1:]) / 2
    with np.errstate(invalid="ignore", divide="ignore"):
        mean = weight @ middle / total
        spread = np.sqrt(np.maximum(weight @ middle**2 / total - mean**2, 0))
    return total, mean, spread


def _scatter(counts: Counts, low: Floats) -> float:
    """Return how far points of the ground scatter. [m]

    Grass is above the ground and leaves the lower tail alone; of the nodes the lower quartile is
    taken, since some have nothing but grass.
    """
    enough = np.flatnonzero(counts.sum(axis=1) >= ENOUGH)
    if not len(enough):
        return USUAL_SCATTER
    enough = enough[:: max(len(enough) // _AT_ONCE, 1)]  # so many tell it as well as all
    half = _quantile(counts[enough], HALF_SCATTER)
    found = float(np.percentile((half - low[enough]) / BETWEEN, 25))
    return min(max(found, LEAST_SCATTER), MOST_SCATTER)


def _per_metre(tilt: Floats, cells: Cells) -> Floats:
    """Return a tilt whose x and y are counted in cells as one about the origin of the points."""
    dx, dy = tilt[1] / CELL, tilt[2] / CELL
    return np.array([tilt[0] - dx * cells.x0 - dy * cells.y0, dx, dy])


def _quantile(counts: Counts, share: float) -> Floats:
    """Return the value below which a share of each row of counts lies; NaN in empty rows."""
    upto = np.cumsum(counts, axis=1, dtype=np.float64)
    wanted = share * upto[:, -1]
    place = np.minimum((upto < wanted[:, None]).sum(axis=1), _BINS - 1)
    rows = np.arange(len(counts))
    within = counts[rows, place].astype(np.float64)
    with np.errstate(invalid="ignore", divide="ignore"):
        part = (wanted - (upto[rows, place] - within)) / within
    found: Floats = _EDGES[place] + part * BIN
    return found
