"""Room for words in a model, which has no edge of a page."""

from __future__ import annotations

from collections.abc import Iterable

import numpy as np

from grading.geometry.arrays import Floats, unit_vector
from viz.paper.lettering import Corners, Room, depth

_INFINITE = 1e9  # mm


def strip(start: Floats, end: Floats, half: float) -> Corners:
    """Return the corners of a strip along a line. [mm]"""
    way = unit_vector(end - start) * half
    side = np.array([-way[1], way[0]])
    corners = ((start - side), (end - side), (end + side), (start + side))
    a, b, c, d = ((float(x), float(y)) for x, y in corners)
    return a, b, c, d


def free_room() -> Room:
    """Return room without an edge."""
    return _Boundless(_INFINITE, _INFINITE)


class _Boundless(Room):
    """Room in a model, which goes on for ever."""

    def overlap(self, shapes: Iterable[Corners]) -> float:
        return sum(depth(shape, other) for shape in shapes for other in self._beside(shape))
