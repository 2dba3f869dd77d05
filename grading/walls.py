"""The foundation walls that an area of paving lies in front of."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

from grading.site import House

Floats = NDArray[np.float64]

_TOUCH = 1e-6  # m: what touches but for rounding
_SLIVER = 0.01  # m2: a corner clipped by less than this is not in front of the wall


@dataclass(frozen=True)
class Wall:
    """A stretch of foundation wall with paving in front of it.

    Attributes
    ----------
    name : str
        What the site calls it, or its number along the foundation line.
    start, end : (2,) float
        Ends of the wall. [m]
    outward : (2,) float
        Unit vector from the wall into the yard.
    front : shapely geometry
        The paving in front of it, no farther than the reach. [m]
    distance : float
        How far out from the wall that paving goes, at most the reach. [m]
    """

    name: str
    start: Floats
    end: Floats
    outward: Floats
    front: BaseGeometry
    distance: float

    def stations(self, spacing: float) -> Iterator[Floats]:
        """Give points along the wall, no farther apart than the spacing, (2,) each. [m]"""
        length = float(np.hypot(*(self.end - self.start)))
        count = max(2, int(np.ceil(length / spacing)) + 1)
        for share in np.linspace(0, 1, count):
            yield self.start + share * (self.end - self.start)


def walls_in_reach(house: House | None, outline: shapely.Polygon, reach: float) -> tuple[Wall, ...]:
    """Return the foundation walls that have some of the outline in front of them.

    Parameters
    ----------
    house : House or None
        The foundation.
    outline : shapely polygon
        The paving. [m]
    reach : float
        How far out from a wall still counts as in front of it. [m]
    """
    if house is None:
        return ()
    body = house.polygon(reach)
    walls = []
    for number, (start, end, outward) in enumerate(house.segments(), start=1):
        strip = shapely.Polygon([start, end, end + reach * outward, start + reach * outward])
        # Another wing of the house ends the strip: what lies behind it is not in front.
        clear = shapely.difference(strip, body)
        seen = [
            part
            for part in shapely.get_parts(clear)
            if part.distance(shapely.LineString([start, end])) < _TOUCH
        ]
        front = shapely.intersection(shapely.union_all(seen), outline)
        if front.area < _SLIVER:
            continue
        offsets = (shapely.get_coordinates(front) - start) @ outward
        distance = min(reach, float(offsets.max()))
        walls.append(Wall(f"wall {number}", start, end, outward, front, distance))
    return tuple(walls)


def answers_to(region: BaseGeometry, wall: Wall, walls: Sequence[Wall]) -> bool:
    """Say whether a region of paving answers to a wall: no other wall is nearer to its middle.

    Two planes that meet in a valley at an inside corner each fall away from their own wall and
    run level along the other; one plane there answers to both.

    Parameters
    ----------
    region : shapely geometry
        Paving of one plane in front of the wall. [m]
    wall : Wall
    walls : sequence of Wall
        All walls that the paving lies in front of.
    """
    middle = region.centroid
    away = shapely.LineString([wall.start, wall.end]).distance(middle)
    return all(
        away <= shapely.LineString([other.start, other.end]).distance(middle) + _TOUCH
        for other in walls
    )
