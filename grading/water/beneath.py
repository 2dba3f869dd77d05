"""The water that gets through the pavers: the plane it runs on below them, and where it ends."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import shapely
from msgspec import Struct

from grading.geometry.arrays import Floats
from grading.geometry.plane import Plane
from grading.geometry.tolerances import LEVEL
from grading.water.runoff import Stored, hours_to_drain, stored, void_ratio


class Beneath(Struct, frozen=True, eq=False):
    """What lies under the pavers of one area.

    area : its name.
    base : what the water runs on: "panel", "open" or "dense".
    planes : the polygon and plane of each facet of that surface: the top of a panel or of a dense
        base, the subgrade of an open-graded one. [m]
    thickness : of open-graded stone that holds water, 0 for the others. [m]
    """

    area: str
    base: str
    planes: Sequence[tuple[shapely.Geometry, Plane]]
    thickness: float = 0.0


class Underflow(Struct, frozen=True, eq=False):
    """Where the water under the pavers of one area goes.

    area, base : as in `Beneath`.
    low : the lowest corner of the surface that it runs on, (2,). [m]
    z : its level. [m]
    from_house : from the low end to the house, None without a house. [m]
    falls_away : least fall of that surface away from the walls in reach, None without one. [ratio]
    held : the water that stands in the stone, None where no stone holds any.
    hours : until it has soaked away, infinite where the soil takes none, None where the rate is
        not known or no water stands. [h]
    """

    area: str
    base: str
    low: Floats
    z: float
    from_house: float | None
    falls_away: float | None
    held: Stored | None
    hours: float | None


def underflow(
    beneath: Beneath,
    house: shapely.Geometry,
    falls_away: float | None,
    *,
    outlet: float | None = None,
    infiltration: float | None = None,
) -> Underflow:
    """Return where the water under an area's pavers goes, and what stands in its base.

    Parameters
    ----------
    beneath : Beneath
    house : shapely geometry
        Its body in plan, empty without one. [m]
    falls_away : float or None
        Least fall of its planes away from the walls that they lie before. [ratio]
    outlet : float, optional
        Level of the lowest way out of the stone. [m]
    infiltration : float, optional
        Rate at which the subgrade takes water in. [m/s]
    """
    corners = [shapely.get_coordinates(polygon) for polygon, _ in beneath.planes]
    levels = [plane.at(xy) for xy, (_, plane) in zip(corners, beneath.planes, strict=True)]
    xy, z = np.concatenate(corners), np.concatenate(levels)
    bottom = float(z.min())
    low = xy[z <= bottom + LEVEL]
    from_house = None
    lowest = low[0]
    if not shapely.is_empty(house):
        away = shapely.distance(shapely.points(low), house)
        lowest, from_house = low[int(away.argmin())], float(away.min())
    held = None
    hours = None
    if beneath.thickness > 0:
        voids = void_ratio().value
        held = stored(beneath.planes, beneath.thickness, voids, outlet)
        if infiltration is not None:
            hours = hours_to_drain(held.depth, voids, infiltration)
    return Underflow(
        beneath.area,
        beneath.base,
        lowest,
        bottom,
        from_house,
        falls_away,
        held,
        hours,
    )
