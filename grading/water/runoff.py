"""How much water runs off in a storm, and what an open-graded base holds of it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np
import shapely
from msgspec import Struct

from grading.catalogue.tables import table
from grading.finish.earthwork import positive_and_negative
from grading.geometry.arrays import Floats
from grading.geometry.plane import Plane
from grading.units import HOUR


class Datum(Struct, frozen=True):
    """A number that the site may not know better: its value and where it comes from."""

    value: float
    kind: str
    source: str


def coefficients() -> Mapping[str, Datum]:
    """Return the share of rain that runs off "paving", "roof" and lawn on each soil. [-]"""
    return {name: Datum(**entry) for name, entry in table("water", "runoff")["coefficient"].items()}


def roughnesses() -> Mapping[str, Datum]:
    """Return Manning's n of "grass", "concrete", "paving" and "earth". [s/m^(1/3)]"""
    return {name: Datum(**entry) for name, entry in table("water", "runoff")["roughness"].items()}


def void_ratio() -> Datum:
    """Return the voids of an open-graded base over its volume. [-]"""
    return Datum(**table("water", "runoff")["void-ratio"])


def drain_time() -> Datum:
    """Return the time within which stone is to be empty again. [h]"""
    return Datum(**table("water", "runoff")["drain-time"])


def puddle() -> Datum:
    """Return the standing water below which a low spot is a puddle that dries up. [m3]"""
    return Datum(**table("water", "runoff")["puddle"])


def rational_flow(coefficient: float, intensity: float, area: float) -> float:
    """Return the greatest flow off an area in a steady storm, Q = C i A.

    Parameters
    ----------
    coefficient : float
        Share of the rain that runs off. [-]
    intensity : float
        Of the rain, over the time that the farthest water takes to arrive. [m/s]
    area : float
        In plan. [m2]

    Returns
    -------
    float
        [m3/s]

    References
    ----------
    Rational method: Kuichling 1889; FHWA HEC-22, section 3.2.2. In acres, inches an hour and
    cubic feet a second its exact factor is 1.008, which is often left out.
    """
    return coefficient * intensity * area


class Stored(Struct, frozen=True, eq=False):
    """Water that stands in the voids of a base on a sloping subgrade.

    low : the lowest corner of the subgrade, (2,). [m]
    bottom : its level there. [m]
    level : of the water, where it overflows. [m]
    volume : of water. [m3]
    capacity : of water, were the subgrade level and all of the stone full. [m3]
    """

    low: Floats
    bottom: float
    level: float
    volume: float
    capacity: float

    @property
    def depth(self) -> float:
        """Depth of the water at the low end. [m]"""
        return self.level - self.bottom


def stored(
    planes: Sequence[tuple[shapely.Geometry, Plane]], thickness: float, voids: float,
    outlet: float | None = None,
) -> Stored:  # fmt: skip
    """Return what a layer of stone on a sloping subgrade holds below its overflow.

    Parameters
    ----------
    planes : sequence of (polygon, plane)
        The stone in plan and the subgrade under it, facet by facet. [m]
    thickness : float
        Of the stone, the same everywhere. [m]
    voids : float
        Voids over volume. [-]
    outlet : float, optional
        Level of the lowest way out. [m]

    Notes
    -----
    Exact: the water is level, so it is a wedge at the low end, and full nowhere else. Without an
    outlet it rises to the top of the stone at the low end and comes out there. On several facets
    it stands at the one level that the lowest of them sets.
    """
    corners = np.concatenate([shapely.get_coordinates(polygon) for polygon, _ in planes])
    owner = np.repeat(
        np.arange(len(planes)), [shapely.get_num_coordinates(polygon) for polygon, _ in planes]
    )
    levels = np.concatenate([plane.at(corners[owner == k]) for k, (_, plane) in enumerate(planes)])
    lowest = int(np.argmin(levels))
    bottom = float(levels[lowest])
    brim = bottom + thickness
    level = brim if outlet is None else float(np.clip(outlet, bottom, brim))
    wet, area = 0.0, 0.0
    for polygon, plane in planes:
        triangles = shapely.get_parts(shapely.constrained_delaunay_triangles(polygon))
        xy = np.stack([shapely.get_coordinates(triangle)[:3] for triangle in triangles])
        areas = shapely.area(triangles)
        above = level - plane.at(xy.reshape(-1, 2)).reshape(-1, 3)
        # No water stands above the stone: the brim is the stone's lowest top.
        wet += positive_and_negative(above, areas).cut
        area += float(areas.sum())
    return Stored(corners[lowest], bottom, level, voids * wet, voids * thickness * area)


def hours_to_drain(depth: float, voids: float, infiltration: float) -> float:
    """Return how long standing water takes to soak away into the subgrade.

    Parameters
    ----------
    depth : float
        Of the water where it is deepest. [m]
    voids : float
        Voids over volume. [-]
    infiltration : float
        Rate at which the soil takes water in. [m/s]

    Returns
    -------
    float
        Infinite where the soil takes none. [h]

    Notes
    -----
    The water stays level as it falls and soaks in wherever it stands, so its level falls by
    infiltration / voids whatever the shape of the wedge.
    """
    return float("inf") if infiltration <= 0 else depth * voids / infiltration / HOUR
