"""What numbers and shapes are held in, by name."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import overload

import numpy as np
import shapely
from numpy.typing import NDArray

from grading.geometry.tolerances import NOTHING, SLIVER
from grading.kept import Told

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
Bools = NDArray[np.bool_]
Region = shapely.Polygon | shapely.MultiPolygon
"""What is dug or paved, in one part or in several."""


def unit_vector(way: Floats) -> Floats:
    """Return a way (2,) as one that is 1 long; where there is none, nothing."""
    return np.asarray(way / max(float(np.hypot(*way)), NOTHING), float)


def distances_along(points: Floats) -> Floats:
    """Return how far along a line each of its points (k, 2) lies from the first, (k,). [m]"""
    return np.append(0.0, np.hypot(*np.diff(points, axis=0).T).cumsum())


def polygons(shape: shapely.Geometry, least: float = SLIVER) -> shapely.MultiPolygon:
    """Return the polygons of a shape that are larger than a sliver [m2], and no lines. [m]"""
    parts = [part for part in shapely.get_parts(shape) if isinstance(part, shapely.Polygon)]
    return shapely.MultiPolygon([part for part in parts if part.area > least])


class Numbered(Told, Sequence[str]):
    """The numbers from 1 on as words, each written when it is asked for.

    What a million things are called that have no names of their own takes 70 MB as a tuple.
    """

    __slots__ = ("_count",)

    def __init__(self, count: int) -> None:
        self._count = count

    def __len__(self) -> int:
        return self._count

    @overload
    def __getitem__(self, place: int) -> str: ...
    @overload
    def __getitem__(self, place: slice) -> tuple[str, ...]: ...
    def __getitem__(self, place: int | slice) -> str | tuple[str, ...]:
        numbers = range(1, self._count + 1)
        if isinstance(place, slice):
            return tuple(map(str, numbers[place]))
        return str(numbers[place])

    def told(self) -> str:
        """Return what tells it apart from all else."""
        return f"numbered {self._count}"

    def __iter__(self) -> Iterator[str]:
        return map(str, range(1, self._count + 1))

    def __eq__(self, other: object) -> bool:
        return isinstance(other, Numbered) and other._count == self._count

    def __hash__(self) -> int:
        return hash((Numbered, self._count))
