"""The house: its foundation line, and the side of it that water must leave."""

from __future__ import annotations

from functools import cached_property
from typing import Self

import numpy as np
import shapely
from msgspec import Struct
from numpy.typing import NDArray
from pydantic import Field, model_validator
from shapely.geometry.base import BaseGeometry

from grading.files.fields import PointArray, PointsArray, Table, UnfitError, Years, array_of
from grading.geometry.tolerances import TOGETHER
from grading.units import FOOT

ON_THE_WALL = 1e-3
"""A point nearer than this to the wall is on it. [m]"""

HOUSE_STRIP = FOOT
"""How much of a house behind an open foundation line is known to be house. [m]"""

Segment = tuple[NDArray[np.float64], NDArray[np.float64], NDArray[np.float64]]


class AtWall(Struct, frozen=True, eq=False):
    """The wall that a point belongs to, and where.

    number : of the wall along the foundation line, from 1.
    foot : the point of the wall that is nearest, (2,). [m]
    along, outward : unit vectors, (2,).
    off : how far the point is from it. [m]
    """

    number: int
    foot: NDArray[np.float64]
    along: NDArray[np.float64]
    outward: NDArray[np.float64]
    off: float


class House(Table):
    """[house]: the foundation line, and one point that tells which side of it is the house.

    The line is open, or closed by repeating its first point. A closed line round a courtyard is
    one whose `inside` lies outside it.
    """

    walls: PointsArray = Field(
        description="the corners of the foundation line as [[x, y], [x, y], ...], two or more"
    )
    inside: PointArray = Field(description="any point inside the house as [x, y]")
    age: Years | None = Field(None, description="how many years ago it was built, such as 3")

    @model_validator(mode="after")
    def _check(self) -> Self:
        if len(self.walls) < 2 or len(self._corners) < 2:
            raise UnfitError(
                "two corners of the wall or more", "Give the next corner too.", key="walls"
            )
        line = shapely.LineString(self.walls)
        if (self.closed and len(self._corners) < 4) or not line.is_simple:
            raise UnfitError(
                "a foundation line that does not cross itself or run back along itself",
                "Give the corners in the order in which a person would walk along the wall.",
                key="walls",
            )
        if line.distance(shapely.Point(self.inside)) <= ON_THE_WALL or self._side == 0:
            raise UnfitError(
                "a point inside the house, off the line of the wall",
                "Move it well into the house: it tells which side water must leave.",
                key="inside",
            )
        return self

    @cached_property
    def _corners(self) -> NDArray[np.float64]:
        """The walls without corners that repeat the one before. (k, 2) [m]"""
        moved = np.hypot(*np.diff(self.walls, axis=0).T) > ON_THE_WALL
        return array_of(self.walls[np.concatenate([[True], moved])])

    @property
    def closed(self) -> bool:
        """Whether the foundation line ends where it began."""
        gap = np.hypot(*(self.walls[0] - self.walls[-1]))
        return len(self._corners) > 2 and bool(gap <= ON_THE_WALL)

    @property
    def courtyard(self) -> bool:
        """Whether the line is closed and the house lies all round it."""
        return self.closed and not shapely.Polygon(self._corners).contains(
            shapely.Point(self.inside)
        )

    @cached_property
    def _side(self) -> int:
        """1 where the house is to the left of the line as it runs, -1 to the right, 0 unknown."""
        starts, along = self._corners[:-1], np.diff(self._corners, axis=0)
        square = (along**2).sum(axis=1)
        share = np.clip(((self.inside - starts) * along).sum(axis=1) / square, 0, 1)
        reach = self.inside - (starts + share[:, None] * along)
        far = np.hypot(*reach.T)
        # At a corner both walls are nearest, and only their mean direction tells the side; a wall
        # as near elsewhere, across the house, says nothing more.
        foot = self.inside - reach
        nearest = np.hypot(*(foot - foot[far.argmin()]).T) <= ON_THE_WALL / 1000
        normals = np.column_stack([-along[:, 1], along[:, 0]]) / np.sqrt(square)[:, None]
        left = float(reach[far.argmin()] @ normals[nearest].sum(axis=0))
        return 0 if abs(left) <= ON_THE_WALL * 1e-3 else (1 if left > 0 else -1)

    def segments(self) -> list[Segment]:
        """Return each wall as its start (2,), end (2,) [m] and unit normal (2,) into the yard."""
        along = np.diff(self._corners, axis=0)
        along = along / np.hypot(*along.T)[:, None]
        # Adding zero turns -0.0 into 0.0.
        outward = self._side * np.column_stack([along[:, 1], -along[:, 0]]) + 0.0
        return list(zip(self._corners[:-1], self._corners[1:], outward, strict=True))

    def wall_of(self, at: NDArray[np.float64]) -> AtWall:
        """Return the wall that a point (2,) is nearest to: that of a door, however it was taped."""
        found = []
        for number, (start, end, outward) in enumerate(self.segments(), start=1):
            along = (end - start) / np.hypot(*(end - start))
            share = np.clip((at - start) @ along, 0.0, np.hypot(*(end - start)))
            foot = start + share * along
            found.append(AtWall(number, foot, along, outward, float(np.hypot(*(at - foot)))))
        # At a corner both are as near, but for rounding: the first along the line is taken.
        nearest = min(each.off for each in found)
        return next(each for each in found if each.off <= nearest + ON_THE_WALL)

    def yard(self, depth: float) -> shapely.Geometry:
        """Return the strip of yard along the walls, of a depth. [m]"""
        line = shapely.LineString(self.walls)
        return shapely.difference(line.buffer(depth, cap_style="flat"), self.polygon(depth))

    def polygon(self, depth: float) -> BaseGeometry:
        """Return the body of the house on the plan.

        Parameters
        ----------
        depth : float
            How far the house goes in from a line that is open, or round a courtyard. [m]

        Returns
        -------
        shapely polygon, of several parts where the strip is
            What a closed line encloses; otherwise the strip on the inside of the line. [m]
        """
        if self.closed:
            ring = shapely.Polygon(self._corners)
            if not self.courtyard:
                return ring
            return ring.buffer(depth, join_style="mitre").difference(ring)
        line = shapely.LineString(self._corners)
        return line.buffer(self._side * depth, single_sided=True, join_style="mitre")

    def behind(self, reach: float) -> shapely.Geometry:
        """Return what lies behind an open line, whether it is house or not; empty if closed.

        Parameters
        ----------
        reach : float
            How far from the line it is asked for. [m]

        Returns
        -------
        shapely geometry
            What the line and the two ways straight in from its ends enclose. [m]
        """
        if self.closed:
            return shapely.Polygon()
        line = shapely.LineString(self._corners)
        segments = self.segments()
        far = 4 * (reach + line.length)
        ends = ((segments[0][0], segments[0][2]), (segments[-1][1], segments[-1][2]))
        ways = [shapely.LineString([at, at - outward * far]) for at, outward in ends]
        frame = shapely.box(*line.buffer(reach).bounds)
        drawn = shapely.union_all([line, *ways, frame.boundary])
        faces = shapely.get_parts(shapely.polygonize([drawn]))
        # Just behind the middle of each wall.
        inner = [(start + end) / 2 - ON_THE_WALL * outward for start, end, outward in segments]
        return shapely.union_all(
            [face for face in faces if shapely.intersects_xy(face, *np.array(inner).T).any()]
        )


class Overlap(Struct, frozen=True):
    """Paving that is drawn over the house.

    area : how much of it. [m2]
    depth : how far in from the foundation line it reaches, as far as the house is known. [m]
    other_side : whether more of it lies by the wall on the side of the house than in the yard.
    """

    area: float
    depth: float
    other_side: bool


def overlap_with(house: House, paving: shapely.Polygon) -> Overlap | None:
    """Return what of paving lies inside the house by more than the tape tells, or None.

    Parameters
    ----------
    house : House
    paving : shapely polygon
        [m]

    Notes
    -----
    Behind an open line no more than a strip is known to be house.
    """
    body, yard = house.polygon(HOUSE_STRIP), house.yard(HOUSE_STRIP)
    shared = shapely.intersection(paving, body)
    # What remains when an inch is taken off all round is wider than two, and no line drawn askew.
    deep = shapely.difference(shared, shapely.LineString(house.walls).buffer(TOGETHER))
    if shapely.is_empty(deep.buffer(-TOGETHER / 4)):
        return None
    line = shapely.LineString(house.walls)
    depth = float(shapely.distance(line, shapely.points(shapely.get_coordinates(deep))).max())
    other = shapely.area(shapely.intersection(paving, yard)) < shapely.area(shared)
    return Overlap(float(shapely.area(shared)), depth, bool(other))
