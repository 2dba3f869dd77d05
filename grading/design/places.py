"""Where a point of a site is, in words that a person can put a tape to."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from functools import cached_property

import numpy as np
import shapely
from msgspec import Struct

from grading.design.area import AreaPlan
from grading.design.points import named_points
from grading.geometry.arrays import Floats
from grading.site.model import Site
from grading.site.walls import HAIR, NamedWall, named_walls
from grading.units import INCH, Unit, run

FROM_THE_LEFT = "Places along a wall are taped from its left end, as one faces it from the yard."

_AT = INCH / 2  # m: what is this near to a wall or a corner is at it
_PARTS = 1  # of an inch: a place that water was followed to is known no better


class Places(Struct, frozen=True, eq=False, dict=True):
    """Says where points are: along a foundation wall and out from it, or from lettered corners.

    Attributes
    ----------
    unit : "ft" or "m"
        What distances are written in.
    walls : sequence of (name, start (2,), end (2,), outward (2,))
        The foundation walls, none without a house. [m]
    areas : sequence of AreaPlan
        Those whose corners are told from where there is no wall.
    """

    unit: Unit
    walls: Sequence[NamedWall] = ()
    areas: Sequence[AreaPlan] = ()

    def at(self, xy: Floats, wall: str = "") -> str:
        """Say where a point (2,) is. [m]

        Parameters
        ----------
        xy : (2,) float
        wall : str
            The wall that the sentence is about, where it is about one: told along that one.

        Returns
        -------
        str
            A phrase that follows a verb or a comma: "4' 8" from the left end of wall 1, 12' 7"
            out", or "5' 3" from corner a and 8' 2" from corner b of patio".
        """
        at = np.asarray(xy, dtype=float)
        if len(self.walls):
            return self._from_wall(at, wall)
        if self._corners:
            return self._from_corners(at)
        return f"x {self._taped(float(at[0]))}, y {self._taped(float(at[1]))}"

    def _taped(self, metres: float) -> str:
        return run(metres, self.unit, _PARTS)

    def _from_wall(self, at: Floats, about: str) -> str:
        named = [wall for wall in self.walls if wall[0] == about] or self.walls
        name, from_left, length, out = min((self._along(wall, at) for wall in named), key=_reached)
        beyond = from_left - length
        if from_left < -_AT:
            place = f"{self._taped(-from_left)} past the left end of {name}"
        elif beyond > _AT:
            place = f"{self._taped(beyond)} past the right end of {name}"
        else:
            place = f"{self._taped(max(from_left, 0.0))} from the left end of {name}"
        if abs(out) <= _AT:
            return f"{place}, at the wall"
        if out < 0:
            return f"{place}, {self._taped(-out)} back from its line"
        return f"{place}, {self._taped(out)} out"

    @staticmethod
    def _along(wall: NamedWall, at: Floats) -> tuple[str, float, float, float]:
        """Return a wall's name, how far a point is from its left end, its length, how far out."""
        name, start, end, outward = wall
        length = float(np.hypot(*(end - start)))
        # To the left of one who faces the house.
        left = np.array([outward[1], -outward[0]])
        first = max((start, end), key=lambda corner: float(corner @ left))
        return name, float((at - first) @ -left), length, float((at - start) @ outward)

    @cached_property
    def _corners(self) -> Mapping[str, tuple[tuple[str, ...], Floats]]:
        """The letters and places of the corners of each area's paving."""
        found = {}
        for area in self.areas:
            points = named_points(area)
            found[area.name] = points.names[: points.corners], points.xy[: points.corners]
        return found

    def _from_corners(self, at: Floats) -> str:
        point = shapely.Point(at)
        area = min(self.areas, key=lambda area: float(area.outline.distance(point)))
        names, xy = self._corners[area.name]
        away = np.hypot(*(xy - at).T)
        first, second = np.argsort(away, kind="stable")[:2]
        if away[first] <= _AT:
            return f"at corner {names[first]} of {area.name}"
        return (
            f"{self._taped(float(away[first]))} from corner {names[first]} and "
            f"{self._taped(float(away[second]))} from corner {names[second]} of {area.name}"
        )


def _reached(place: tuple[str, float, float, float]) -> tuple[bool, float, float]:
    """Return what the wall that a point is told from has least of."""
    _, from_left, length, out = place
    beside = max(-from_left, from_left - length, 0.0)
    # Behind a wall stands the house, and no tape goes through it; past its end one does.
    return out < -HAIR and beside <= _AT, round(float(np.hypot(beside, out)), 3), beside


def places_of(site: Site, areas: Sequence[AreaPlan]) -> Places:
    """Return what says where points of a site are.

    Parameters
    ----------
    site : Site
    areas : sequence of AreaPlan
        Those planned so far.
    """
    return Places(site.unit, named_walls(site.house), tuple(areas))
