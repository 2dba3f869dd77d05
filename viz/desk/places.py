"""Places of a yard as the page takes them: in the unit of the site, to a hundredth of a hair."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import Any

import shapely

from grading.units import METRES, Unit

DECIMALS = 5
"""Of a coordinate in feet or metres: finer than anything is drawn or written."""


def in_unit(metres: float, unit: Unit) -> float:
    """Return a length [m] in the unit of the site."""
    return round(float(metres) / METRES[unit], DECIMALS) + 0.0


def place(xy: Any, unit: Unit) -> list[float]:
    """Return a point [m] as [x, y] in the unit of the site."""
    return [in_unit(xy[0], unit), in_unit(xy[1], unit)]


def placed(points: Iterable[Any], unit: Unit) -> list[list[float]]:
    """Return points [m] as [[x, y], ...] in the unit of the site."""
    return [place(xy, unit) for xy in points]


def ring(shape: shapely.LinearRing, unit: Unit) -> list[list[float]]:
    """Return a ring [m] as its corners in the unit of the site, the first of them once."""
    return placed(shape.coords[:-1], unit)


def rings(shape: Any, unit: Unit) -> list[list[list[float]]]:
    """Return every ring of a shape [m], holes among them."""
    polygons = (part for part in shapely.get_parts(shape) if part.geom_type == "Polygon")
    return [ring(each, unit) for part in polygons for each in (part.exterior, *part.interiors)]


def point_ways(way: str, written: Any, count: int) -> Sequence[str]:
    """Return the ways to the points of a key that takes a point or a list of points.

    Parameters
    ----------
    way : str
        To the key: "floor/0/at".
    written : object
        Its value as written.
    count : int
        How many points were read of it.
    """
    one = count == 1 and not (written and isinstance(written[0], list | tuple))
    return [way] if one else [f"{way}/{k}" for k in range(count)]
