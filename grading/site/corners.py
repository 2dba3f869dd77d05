"""Corners of the house that paving lies at: those that stick out, and those that turn in."""

from __future__ import annotations

from itertools import pairwise

import numpy as np
import shapely
from msgspec import Struct

from grading.geometry.arrays import Floats
from grading.site.model import House
from grading.units import FOOT

_AT = FOOT  # paving this near to a corner lies at it
_STRAIGHT = 0.05  # sine of a bend that is none


class Corner(Struct, frozen=True):
    """A corner of the foundation with paving at it.

    Attributes
    ----------
    at : (2,) float
        [m]
    outside : bool
        Whether the house sticks out; else the yard does.
    first, second : (2,) float
        Outward unit normals of the two walls.
    """

    at: Floats
    outside: bool
    first: Floats
    second: Floats

    @property
    def bisector(self) -> Floats:
        """Unit vector into the yard, half-way between the normals, (2,)."""
        middle = self.first + self.second
        return np.asarray(middle / np.hypot(*middle))

    def rays(self, planes: int) -> list[Floats]:
        """Return unit vectors from the corner that part the turn into so many planes."""
        start = np.arctan2(self.first[1], self.first[0])
        cross = self.first[0] * self.second[1] - self.first[1] * self.second[0]
        turn = np.arctan2(cross, self.first @ self.second)
        angles = start + turn * np.arange(1, planes) / planes
        return [np.array([np.cos(angle), np.sin(angle)]) for angle in angles]


def corners_at(house: House | None, outline: shapely.Polygon) -> tuple[Corner, ...]:
    """Return the corners of the foundation that paving lies at, along the foundation line.

    Parameters
    ----------
    house : House or None
    outline : shapely polygon
        The paving. [m]
    """
    if house is None:
        return ()
    segments = house.segments()
    pairs = list(pairwise(segments))
    if house.closed:
        pairs.append((segments[-1], segments[0]))
    found = []
    for (start, at, first), (_, _, second) in pairs:
        along = (at - start) / np.hypot(*(at - start))
        # The next wall faces on along this one where the house ends: an outside corner.
        turn = float(along @ second)
        if abs(turn) < _STRAIGHT or outline.distance(shapely.Point(at)) > _AT:
            continue
        found.append(Corner(np.asarray(at), turn > 0, np.asarray(first), np.asarray(second)))
    return tuple(found)
