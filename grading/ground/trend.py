"""What the ground does at large: a plane, and a bend or a step along each straight breakline."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import shapely
from msgspec import Struct

from grading.geometry.arrays import Floats
from grading.units import FOOT

# A breakline counts as straight where none of its vertices is farther than this off its chord.
# [m] Common practice, no source: a stretched string on a lawn.
_STRAIGHT = 0.5 * FOOT
# It bends the ground at large where it goes through this much of the survey along its line.
_ACROSS = 2 / 3
# Two lines that run side by side nearer than this are the head and the foot of one step. [m]
_STEP = 2 * FOOT
_ALONG = np.cos(np.radians(10))
# Spots that must lie on either side of a bend: fewer do not tell one slope from the other.
_BESIDE = 3


class Bend(Struct, frozen=True, eq=False):
    """A straight line along which the ground bends, or steps within a width.

    Attributes
    ----------
    at, across : (2,) float
        A point of it [m], and the way across it, of length one.
    width : float
        Of a step, from its one line to the other; 0 for a bend. [m]
    """

    at: Floats
    across: Floats
    width: float = 0.0

    def column(self, xy: Floats) -> Floats:
        """Return how far points (k, 2) lie beyond it [m], or on a step, from 0 to 1."""
        beyond = (xy - self.at) @ self.across
        if self.width:
            return np.asarray(np.clip(beyond / self.width, 0.0, 1.0))
        return np.asarray(np.maximum(beyond, 0.0))


def bends_of(lines: Sequence[Floats], xy: Floats) -> tuple[Bend, ...]:
    """Return the bends and steps that breaklines make in the ground at large.

    Parameters
    ----------
    lines : sequence of (j, 2) float
        Breaklines. [m]
    xy : (n, 2) float
        The spots. [m]

    Notes
    -----
    Only a straight line that goes through most of the survey bends its trend: one that ends within
    it, or turns, is left to what is random.
    """
    found: list[Bend] = []
    chords = [line[[0, -1]] for line in map(np.asarray, lines) if _goes_through(line, xy)]
    left = list(range(len(chords)))
    while left:
        one = left.pop(0)
        start, ahead, across = _frame(chords[one])
        beside = [
            other for other in left
            if abs(_frame(chords[other])[1] @ ahead) >= _ALONG
            and 0 < abs((chords[other].mean(axis=0) - start) @ across) <= _STEP
        ]  # fmt: skip
        if beside:
            left.remove(beside[0])
            offset = float((chords[beside[0]].mean(axis=0) - start) @ across)
            bend = Bend(start, across * np.sign(offset), abs(offset))
        else:
            bend = Bend(start, across)
        if _told(bend, xy):
            found.append(bend)
    return tuple(found)


def _frame(chord: Floats) -> tuple[Floats, Floats, Floats]:
    ahead = (chord[1] - chord[0]) / np.hypot(*(chord[1] - chord[0]))
    return chord[0], ahead, np.array([-ahead[1], ahead[0]])


def _goes_through(line: Floats, xy: Floats) -> bool:
    long = float(np.hypot(*(line[-1] - line[0])))
    if long == 0.0:
        return False
    start, ahead, across = _frame(line[[0, -1]])
    if np.abs((line - start) @ across).max() > _STRAIGHT:
        return False
    far = long + float(np.hypot(*np.ptp(xy, axis=0)))
    whole = shapely.LineString([start - far * ahead, start + far * ahead])
    hull = shapely.MultiPoint(xy).convex_hull
    return hull.intersection(shapely.LineString(line[[0, -1]])).length >= (
        _ACROSS * hull.intersection(whole).length
    )


def _told(bend: Bend, xy: Floats) -> bool:
    column = bend.column(xy)
    low, high = (0.0, 1.0) if bend.width else (0.0, np.inf)
    above = column >= high if bend.width else column > 0.1
    return bool((column <= low).sum() >= _BESIDE and above.sum() >= _BESIDE)


def trend(xy: Floats, bends: Sequence[Bend]) -> Floats:
    """Return the columns (k, 3 + b) of a plane and of bends at points (k, 2). [m]"""
    columns = [np.ones(len(xy)), xy[:, 0], xy[:, 1], *(bend.column(xy) for bend in bends)]
    return np.column_stack(columns)
