"""Where water goes beside the house: fall away from each wall, paved and beyond the paving."""

from __future__ import annotations

import numpy as np
import shapely
from msgspec import Struct
from numpy.typing import NDArray

from grading.geometry.arrays import Floats
from grading.geometry.facets import Surface
from grading.geometry.tolerances import TOGETHER
from grading.ground.model import Ground
from grading.site.walls import Wall
from grading.units import FOOT

STATIONS = FOOT  # spacing of the rays that are looked along from a wall
_TELLING = 3 * FOOT  # a strip of ground shorter than this tells no fall from its roughness


class GroundBeyond(Struct, frozen=True):
    """The least fall of the open ground in front of a wall, and where it was found.

    fall is negative where the ground falls to the house [ratio]; at is where the strip begins
    and length how long it is [m].
    """

    fall: float
    at: Floats
    length: float


class WallFall(Struct, frozen=True):
    """How the finish and the ground beyond it fall away from one foundation wall.

    Attributes
    ----------
    wall : Wall
    fall_away : float
        Fall of the finish along the wall's outward normal. [ratio]
    distance : float
        How far out from the wall the paving goes, at most the reach. [m]
    beyond : GroundBeyond or None
        None where no open ground of telling length lies within reach.
    unsurveyed : bool
        Whether some of that ground was not surveyed.
    """

    wall: Wall
    fall_away: float
    distance: float
    beyond: GroundBeyond | None
    unsurveyed: bool

    @property
    def near(self) -> float:
        """How far out from the wall the paving in front of it begins. [m]"""
        offsets = (shapely.get_coordinates(self.wall.front) - self.wall.start) @ self.wall.outward
        return max(float(offsets.min()), 0.0)

    @property
    def beyond_words(self) -> str:
        """What the ground beside the paving is called: in front of the wall, on which side of it.

        Between the wall and the paving where the paving begins farther out than the ground does.
        """
        name = self.wall.name
        if self.beyond is not None:
            out = float((self.beyond.at - self.wall.start) @ self.wall.outward)
            if out < self.near - TOGETHER:
                return f"the ground between {name} and the paving"
        return f"the ground beyond the paving in front of {name}"

    @property
    def over(self) -> float:
        """How long the paving in front of it is, from where it begins to its distance. [m]"""
        return self.distance - self.near

    @property
    def drop(self) -> float:
        """How far the finish falls `over` that length. [m]"""
        return self.fall_away * self.over


def wall_fall(
    wall: Wall, finish: Surface, beyond: GroundBeyond | None, unsurveyed: bool
) -> WallFall:
    """Return how water leaves one wall, over the paving and over the ground beyond it.

    Parameters
    ----------
    wall : Wall
    finish : Surface
        The finish in front of it.
    beyond, unsurveyed
        As `beyond_paving` gives them.
    """
    return WallFall(wall, _fall_away(wall, finish), wall.distance, beyond, unsurveyed)


def beyond_paving(
    wall: Wall, ground: Ground, paving: shapely.Geometry, house: shapely.Geometry, reach: float
) -> tuple[GroundBeyond | None, bool]:
    """Return the ground beyond the paving before a wall, and whether some of it was not surveyed.

    Parameters
    ----------
    wall : Wall
    ground : Ground
    paving, house : shapely geometry
        All paving of the site, and the body of the house. [m]
    reach : float
        How far out from the wall the ground is looked at. [m]

    Notes
    -----
    Existing ground, along rays a foot apart: lawn that will be regraded is not seen here.
    """
    starts = wall.stations(STATIONS)
    rays: NDArray[np.object_] = np.asarray(
        shapely.linestrings(np.stack([starts, starts + reach * wall.outward], axis=1))
    )
    paved = shapely.intersects(rays, wall.front)
    strips = shapely.get_parts(shapely.difference(rays[paved], shapely.union(paving, house)))
    strips = strips[shapely.length(strips) >= _TELLING - TOGETHER]
    if not len(strips):
        return None, False
    ends = shapely.get_coordinates(strips).reshape(len(strips), -1, 2)[:, [0, -1]]
    outward = ends @ wall.outward
    ends = np.take_along_axis(ends, np.argsort(outward, axis=1)[:, :, None], axis=1)
    z = ground.elevation(ends.reshape(-1, 2)).reshape(-1, 2)
    known = np.isfinite(z).all(axis=1)
    if not known.any():
        return None, True
    lengths = shapely.length(strips[known])
    falls = (z[known, 0] - z[known, 1]) / lengths
    worst = int(falls.argmin())
    beyond = GroundBeyond(float(falls[worst]), ends[known][worst, 0], float(lengths[worst]))
    return beyond, bool((~known).any())


def _fall_away(wall: Wall, finish: Surface) -> float:
    """Return the least fall away from a wall of the planes that lie before it. [ratio]"""
    if not finish.folded:
        return finish.main.fall_along(wall.outward)
    paved = finish.paved
    before = wall.parts_before([facet.domain for facet in paved], ruled=finish.twist > 0)
    return min(paved[number].plane.fall_along(wall.outward) for number in before)
