"""Planting pockets: the bed of soil in each, brought up to the paving round it."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import shapely

from grading.design.area import AreaPlan
from viz.scene.model import Collected
from viz.scene.shell import Floats, Shape, polygons
from viz.scene.surroundings import add_ground, drape_over


def pockets_in(area: AreaPlan, region: Shape) -> shapely.MultiPolygon:
    """Return the part of a region that lies in the planting pockets of an area. [m]"""

    holes = shapely.union_all([pocket.polygon for pocket in area.pockets])
    return polygons(holes.intersection(region))


def add_beds(
    collected: Collected, area: AreaPlan, region: Shape, ground: Any, bottom: float,
    origin: Floats, shown: tuple[str, ...],
) -> None:  # fmt: skip
    """Add the beds of an area's planting pockets within a region, at the level of their soil.

    Parameters
    ----------
    collected : Collected
    area : AreaPlan
    region : shapely geometry
        What is not dug for the paving. [m]
    ground : Ground or alike
        Existing.
    bottom : float
        Underside of the ground drawn, about the origin. [m]
    origin : (3,) float
        The scene's own. [m]
    shown : tuple of str
        The views they are shown in.
    """
    for pocket in area.pockets:
        bed = polygons(pocket.polygon.intersection(region))
        if not bed.is_empty:
            draped = drape_over(ground, bed, origin)
            level = pocket.level(draped.sheet.xy + origin[:2]) - origin[2]
            add_ground(collected, replace(draped, ground=level), bottom, shown, 1, 40)
