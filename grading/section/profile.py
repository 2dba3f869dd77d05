"""A finish along a line: straight pieces that meet where the line crosses a fold."""

from __future__ import annotations

from itertools import pairwise

import numpy as np
from msgspec import Struct
from numpy.typing import ArrayLike

from grading.geometry.arrays import Floats
from grading.geometry.facets import Surface
from grading.geometry.tolerances import TOUCH

SAME = 1e-13  # own: m or ratio: planes that differ by rounding alone


class Profile(Struct, frozen=True):
    """A finish along a line: straight pieces that meet where the line crosses a fold.

    Attributes
    ----------
    bends : (k,) float
        Distances of the folds, rising. [m]
    pieces : tuple of (float, float), k + 1 of them
        Level at distance 0 [m] and rise along the line [ratio] of each piece.
    """

    bends: Floats
    pieces: tuple[tuple[float, float], ...]

    def at(self, s: ArrayLike) -> Floats:
        """Return the level at distances s. [m]"""
        s = np.asarray(s, float)
        if len(self.pieces) == 1:
            return np.asarray(self.pieces[0][0] + self.pieces[0][1] * s)
        level, rise = np.array(self.pieces).T
        piece = np.searchsorted(self.bends, s)
        return np.asarray(level[piece] + rise[piece] * s)

    def rise(self, low: float, high: float) -> float:
        """Return the mean rise from one distance to another. [ratio]"""
        return float(self.at(high) - self.at(low)) / (high - low)

    def stretches(self, low: float, high: float) -> list[tuple[float, float, float]]:
        """Return the straight pieces between two distances: start, end [m] and rise [ratio]."""
        inner = self.bends[(self.bends > low + TOUCH) & (self.bends < high - TOUCH)]
        ends = np.concatenate([[low], inner, [high]])
        middles = (ends[:-1] + ends[1:]) / 2
        pieces = np.searchsorted(self.bends, middles).tolist()
        return [
            (float(a), float(b), self.pieces[piece][1])
            for (a, b), piece in zip(pairwise(ends), pieces, strict=True)
        ]


def profile_along(surface: Surface, start: Floats, along: Floats, length: float) -> Profile:
    """Return a finish along a line, exact on every plane that the line crosses.

    Parameters
    ----------
    surface : Surface
    start, along : (2,) Where the line starts [m] and its unit vector.
    length : How long it is. [m]
    """
    points = surface.breaks(np.array([start, start + along * length]))
    at = (points - start) @ along
    at[0], at[-1] = 0.0, length
    middles = start + ((at[:-1] + at[1:]) / 2)[:, None] * along
    bends: list[float] = []
    pieces: list[tuple[float, float]] = []
    for end, number in zip(at[1:].tolist(), surface.facet_at(middles).tolist(), strict=True):
        level, further = surface.planes[number].at(np.array([start, start + along]))
        piece = float(level), float(further - level)
        if pieces and abs(piece[1] - pieces[-1][1]) < SAME and _meets(piece, pieces[-1], end):
            bends[-1] = end
            continue
        pieces.append(piece)
        bends.append(end)
    return Profile(np.array(bends[:-1]), tuple(pieces))


def _meets(one: tuple[float, float], two: tuple[float, float], s: float) -> bool:
    return abs(one[0] - two[0] + (one[1] - two[1]) * s) < SAME
