"""The foundation walls that an area of paving lies in front of."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import shapely
from msgspec import Struct
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

from grading.geometry.arrays import Floats, polygons
from grading.geometry.tolerances import SAME, TOUCH
from grading.site.model import House
from grading.units import FOOT, INCH

THIN = INCH
"""Paving narrower than this is not laid: a strip of it in front of a wall comes of coordinates
written to a few decimals, or of a wall that ends where the paving begins. [m]"""

HAIR = 5e-3
"""A gap or an overlap that coordinates written to a few decimals leave between two things that
touch. [m]"""

LEAST_RUN = FOOT / 2
"""Length of paving below which no fall is told: less than a paver can be laid to none, and a
stretch so short is where a ray clips the end of a fold or of an edge; common practice, no source.
[m]"""

_MITRE = 20.0  # a corner of paving sharper than 6 degrees loses its tip


NamedWall = tuple[str, Floats, Floats, Floats]
"""A foundation wall: its name, start (2,), end (2,) [m] and unit vector (2,) into the yard."""


class Wall(Struct, frozen=True):
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

    def parts_before(self, domains: Sequence[BaseGeometry], *, ruled: bool = False) -> list[int]:
        """Return which parts of the plan have paving before the wall that must fall away from it.

        Parameters
        ----------
        domains : sequence of shapely geometry
            Where each plane of the finish is. [m]
        ruled : bool
            Whether they stand for one ruled surface: then they count however small they are.

        Notes
        -----
        Every plane that lies before the wall within reach answers to it, whatever other wall
        stands nearer, unless it only clips the front by less than `LEAST_RUN`. Of planes that all
        lie there for less, the one that goes the farthest answers.
        """
        runs = [
            longest_run(shapely.intersection(domain, self.front), self.outward)[0]
            for domain in domains
        ]
        least = TOUCH if ruled else LEAST_RUN
        before = [number for number, run in enumerate(runs) if run >= least]
        return before or [int(np.argmax(runs))]

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
    start: Floats,
    end: Floats,
    outward: Floats,
    reach: float,
    paving: shapely.Geometry,
    body: shapely.Geometry | None = None,
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
    body : shapely geometry, optional
        Of the house: what lies behind another wing, seen straight out from the wall, is not in
        front of it. [m]
    """
    out = reach * outward
    strip: BaseGeometry = shapely.Polygon([start, end, end + out, start + out])
    if body is not None:
        # The body may lie a hair outside the wall itself.
        hair = HAIR * outward
        beyond = shapely.Polygon([start + hair, end + hair, end + out, start + out])
        wings = shapely.intersection(beyond, body)
        strip = shapely.difference(strip, _swept(wings, out))
    return _thick(shapely.intersection(strip, paving))


def _swept(shape: BaseGeometry, by: Floats) -> BaseGeometry:
    """Return what a shape passes over when it is moved straight by a vector (2,). [m]"""
    bodies = list(polygons(shape, 0.0).geoms)
    xy, ring = shapely.get_coordinates(shapely.get_rings(bodies), return_index=True)
    same = ring[1:] == ring[:-1]
    first, second = xy[:-1][same], xy[1:][same]
    corners = np.stack([first, second, second + by, first + by], axis=1)
    passed: NDArray[np.object_] = np.asarray(shapely.convex_hull(shapely.multipoints(corners)))
    areal = passed[shapely.get_dimensions(passed) == 2]
    return shapely.union_all([*bodies, *areal])


def _thick(paving: BaseGeometry) -> BaseGeometry:
    """Return the parts of paving that a strip of the least width fits into. [m]"""
    # What two shapes share may also be lines, where their sides touch.
    paving = polygons(paving, 0.0)
    half = THIN / 2
    kept = paving.buffer(-half, join_style="mitre", mitre_limit=_MITRE)
    grown = kept.buffer(half + TOUCH, join_style="mitre", mitre_limit=_MITRE)
    return shapely.intersection(paving, grown)


def longest_run(region: BaseGeometry, way: Floats) -> tuple[float, Floats]:
    """Return the longest straight run through a region in a direction, and where it begins.

    Parameters
    ----------
    region : shapely geometry
        [m]
    way : (2,) float
        Unit vector.

    Returns
    -------
    (float, (2,) float)
        0 where the region has no area. [m]

    Notes
    -----
    How long a run is changes evenly between corners, so the longest passes beside one.
    """
    paved = polygons(region, 0.0)
    corners = shapely.get_coordinates(paved)
    if not len(corners):
        return 0.0, np.zeros(2)
    across = np.array([-way[1], way[0]])
    offsets = np.unique(corners @ across)
    offsets = np.concatenate([offsets - SAME, offsets + SAME])
    out = corners @ way
    first, last = float(out.min()) - 1, float(out.max()) + 1
    starts = offsets[:, None] * across + first * way
    rays = shapely.linestrings(np.stack([starts, starts + (last - first) * way], axis=1))
    runs = shapely.get_parts(shapely.intersection(rays, paved))
    if not len(runs):
        return 0.0, np.zeros(2)
    best = int(shapely.length(runs).argmax())
    begins = shapely.get_coordinates(runs[best])
    return float(shapely.length(runs[best])), begins[int((begins @ way).argmin())]


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
        front = in_front(start, end, outward, reach, outline, body)
        if longest_run(front, outward)[0] < LEAST_RUN:
            continue
        offsets = (shapely.get_coordinates(front) - start) @ outward
        distance = min(reach, float(offsets.max()))
        walls.append(Wall(name, start, end, outward, front, distance))
    return tuple(walls)
