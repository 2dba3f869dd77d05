"""The house: its foundation line, and the side of it that water must leave."""

from __future__ import annotations

from functools import cached_property
from typing import Self

import numpy as np
import shapely
from numpy.typing import NDArray
from pydantic import Field, model_validator

from grading.fields import PointArray, PointsArray, Table, UnfitError, Years, array_of

ON_THE_WALL = 1e-3
"""A point nearer than this to the wall is on it. [m]"""

Segment = tuple[NDArray[np.float64], NDArray[np.float64], NDArray[np.float64]]


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
            raise UnfitError("two corners of the wall or more", key="walls")
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

    def polygon(self, depth: float) -> shapely.Geometry:
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
