"""How well the shots tell what was built: what is left to dig or add, and the fall of any foot.

The surface between shots is as random as they say it is themselves: see `grading.ground.certainty`.
"""

from __future__ import annotations

import numpy as np
import shapely
from msgspec import Struct

from grading.asbuilt.graduation import left_by
from grading.design.uncertainty import Interval
from grading.geometry.arrays import Floats, Ints, Region
from grading.geometry.facets import Surface
from grading.geometry.grids import grid_in
from grading.geometry.tolerances import TOGETHER
from grading.ground.certainty import Certainty, Measured, certainty_of, within
from grading.site.walls import Wall
from grading.units import FOOT

_FEWEST = 8  # shots: of fewer no scatter is told
_STEP = 0.3  # m between the places that volumes are added up at
_MOST = 900  # such places
_RAYS = 12  # before a wall, at the most


class FootFall(Struct, frozen=True):
    """The foot of paving that falls least away from a wall: its fall, its bounds, where it begins.

    fall [ratio]; at (x, y) [m]. The bounds are of that one foot, and the fall is their middle.
    """

    fall: float
    within: Interval
    at: tuple[float, float]


class BuiltDoubt(Struct, frozen=True, eq=False):
    """What the shots of a layer leave open.

    Attributes
    ----------
    certainty : Certainty
    graduation : float
        What the shots are read to the nearest of. [m]
    """

    certainty: Certainty
    graduation: float = 0.0

    def volumes(self, wanted: Surface, region: Region) -> tuple[Interval, Interval]:
        """Return between which bounds what lies above a design and below it lies. [m3]

        Parameters
        ----------
        wanted : Surface
        region : shapely polygon
            Between the shots. [m]
        """
        nodes, each = _nodes(region)
        above = self._surface(nodes) - np.asarray(wanted.at(nodes), float)
        drawn = above + self.certainty.draws(nodes)
        dig = np.maximum(drawn, 0.0).sum(axis=1) * each
        add = np.maximum(-drawn, 0.0).sum(axis=1) * each
        return Interval(*within(dig)), Interval(*within(add))

    def foot_fall(self, wall: Wall) -> FootFall | None:
        """Return the foot straight out from a wall that falls least; None of less than a foot.

        Parameters
        ----------
        wall : Wall
            The paving in front of it is looked at, as far as shots span it.

        Notes
        -----
        Of many feet the least by the triangles is the one that was misread most. So the foot is
        chosen, and its fall told, by the best forecast from all shots; its plus-or-minus is that of
        the triangles, for the process of few shots may be taken to be smoother than the paving is.
        Of waves drawn by lot it held the true fall of that foot in 80 to 100 of 100 yards.
        """
        near, far = _steps(wall, self.certainty.measured)
        count = len(near)
        if not count:
            return None
        both, process = np.concatenate([near, far]), self.certainty.process
        level = process.weights(both) @ process.xyz[:, 2]
        falls = (level[:count] - level[count:]) / FOOT
        worst = int(falls.argmin())
        fall, (x, y) = float(falls[worst]), near[worst].tolist()
        ends, by = both[[worst, count + worst]], np.array([1.0, -1.0]) / FOOT
        rounded = left_by(self.graduation, by @ process.weights(ends))
        way = max(self.certainty.of_sum(ends, by), rounded)
        return FootFall(fall, Interval(fall - way, fall + way), (x, y))

    def _surface(self, xy: Floats) -> Floats:
        return np.asarray(self.certainty.measured.tin.elevation(xy), float)


def built_doubt(points: Floats, corners: Ints, graduation: float = 0.0) -> BuiltDoubt | None:
    """Return what shots leave open; None where they are too few to say.

    Parameters
    ----------
    points : (n, 3) float
        Distinct shots. [m]
    corners : (m, 3) int
        Their triangles.
    graduation : float, optional
        What they are read to the nearest of. [m]
    """
    if len(points) < _FEWEST:
        return None
    measured = Measured(points, corners, np.zeros((0, 2), dtype=np.int64))
    found = certainty_of(measured, points[:, :2])
    return None if found is None else BuiltDoubt(found, graduation)


def _nodes(region: Region) -> tuple[Floats, float]:
    """Return places spread over a region, (k, 2) [m], and the area that each stands for. [m2]"""
    kept = grid_in(region, max(_STEP, float(np.sqrt(region.area / _MOST))))
    if not len(kept):
        kept = np.array([region.representative_point().coords[0]])
    return kept, float(region.area) / len(kept)


def _steps(wall: Wall, measured: Measured) -> tuple[Floats, Floats]:
    """Return where every foot straight out from a wall begins and ends, (k, 2) each. [m]"""
    length = float(np.hypot(*(wall.end - wall.start)))
    starts = wall.stations(max(FOOT, length / _RAYS))
    count = int((wall.distance + TOGETHER) / FOOT)
    out = np.arange(count)[None, :, None] * FOOT * wall.outward
    near = (starts[:, None, :] + out).reshape(-1, 2)
    far = near + FOOT * wall.outward
    hull = shapely.convex_hull(shapely.MultiPoint(measured.points[:, :2]))
    # By rounding an end may lie outside what the shots span.
    region = shapely.intersection(shapely.buffer(wall.front, TOGETHER), hull)
    inside = shapely.contains_xy(region, near[:, 0], near[:, 1])
    inside &= shapely.contains_xy(region, far[:, 0], far[:, 1])
    return near[inside], far[inside]
