"""The foundation walls that an area of paving lies in front of."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

from grading.site import House
from grading.units import INCH

Floats = NDArray[np.float64]

_TOUCH = 1e-6  # m: what touches but for rounding
_SLIVER = 0.01  # m2: a corner clipped by less than this is not in front of the wall

THIN = INCH
"""Paving narrower than this is not laid: a strip of it in front of a wall comes of coordinates
written to a few decimals, or of a wall that ends where the paving begins. [m]"""

HAIR = 5e-3
"""A gap or an overlap that coordinates written to a few decimals leave between two things that
touch. [m]"""

_MITRE = 20.0  # a corner of paving sharper than 6 degrees loses its tip


NamedWall = tuple[str, Floats, Floats, Floats]
"""A foundation wall: its name, start (2,), end (2,) [m] and unit vector (2,) into the yard."""


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

    def stations(self, spacing: float) -> Floats:
        """Return points along the wall where paving lies in front of it, (k, 2). [m]"""
        along = (self.end - self.start) / np.hypot(*(self.end - self.start))
        paved = (shapely.get_coordinates(self.front) - self.start) @ along
        first, last = self.start + paved.min() * along, self.start + paved.max() * along
        return stations(first, last, spacing)


def stations(start: Floats, end: Floats, spacing: float) -> Floats:
    """Return points along a stretch of wall, (k, 2). [m]

    Parameters
    ----------
    start, end : (2,) float
        [m]
    spacing : float
        How far apart they are at the most, to a twentieth of it. [m]

    Notes
    -----
    The first and the last stand beside the ends and not at them: what runs out from an end runs
    along the side of the paving, or along another wall, and meets now the one and now the other.
    """
    length = float(np.hypot(*(end - start)))
    inset = min(THIN, length / 4)
    # A wall of whole feet written to a few decimals gets no other stations for it.
    count = max(2, int(np.ceil(length / spacing - 0.05)) + 1)
    along = np.linspace(inset, length - inset, count)
    return np.asarray(start + along[:, None] * (end - start) / length)


def named_walls(house: House | None) -> tuple[NamedWall, ...]:
    """Return the foundation walls, each with its number along the foundation line for a name."""
    segments = () if house is None else house.segments()
    return tuple((wall_name(number), *each) for number, each in enumerate(segments, start=1))


def wall_name(number: int) -> str:
    """Return what a wall is called: its number along the foundation line, from 1."""
    return f"wall {number}"


def in_front(
    start: Floats, end: Floats, outward: Floats, reach: float, paving: BaseGeometry
) -> BaseGeometry:
    """Return the paving in front of a wall, without what is too thin to be paving.

    Parameters
    ----------
    start, end : (2,) float
        Ends of the wall. [m]
    outward : (2,) float
        Unit vector from the wall into the yard.
    reach : float
        How far out from the wall still counts as in front of it. [m]
    paving : shapely geometry
        [m]
    """
    strip = shapely.Polygon([start, end, end + reach * outward, start + reach * outward])
    return _thick(shapely.intersection(strip, paving))


def _thick(paving: BaseGeometry) -> BaseGeometry:
    """Return the parts of paving that a strip of the least width fits into. [m]"""
    half = THIN / 2
    kept = paving.buffer(-half, join_style="mitre", mitre_limit=_MITRE)
    grown = kept.buffer(half + _TOUCH, join_style="mitre", mitre_limit=_MITRE)
    return shapely.intersection(paving, grown)


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
    for name, start, end, outward in named_walls(house):
        strip = shapely.Polygon([start, end, end + reach * outward, start + reach * outward])
        # Another wing of the house ends the strip: what lies behind it is not in front.
        clear = shapely.difference(strip, body)
        seen = [
            part
            for part in shapely.get_parts(clear)
            if part.distance(shapely.LineString([start, end])) < HAIR
        ]
        front = _thick(shapely.intersection(shapely.union_all(seen), outline))
        if front.area < _SLIVER:
            continue
        offsets = (shapely.get_coordinates(front) - start) @ outward
        distance = min(reach, float(offsets.max()))
        walls.append(Wall(name, start, end, outward, front, distance))
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
