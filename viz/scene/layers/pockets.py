"""Planting pockets: the bed of soil in each, brought up to the paving round it."""

from __future__ import annotations

import shapely
from msgspec.structs import replace

from grading.design.area import AreaPlan
from grading.ground.model import Ground
from viz.scene.setting import Setting
from viz.scene.shell import Shape, polygons
from viz.scene.surroundings import add_ground, drape_over


def pockets_in(area: AreaPlan, region: Shape) -> shapely.MultiPolygon:
    """Return the part of a region that lies in the planting pockets of an area. [m]"""
    holes = shapely.union_all([pocket.polygon for pocket in area.pockets])
    return polygons(holes.intersection(region))


def add_beds(on: Setting, region: Shape, ground: Ground, shown: tuple[str, ...]) -> None:
    """Add the beds of an area's planting pockets within a region, at the level of their soil.

    Parameters
    ----------
    on : Setting
    region : shapely geometry
        What is not dug for the paving. [m]
    ground : Ground
        Existing.
    shown : tuple of str
        The views they are shown in.
    """
    for pocket in on.area.pockets:
        bed = polygons(pocket.polygon.intersection(region))
        if not bed.is_empty:
            draped = drape_over(ground, bed, on.origin)
            level = pocket.level(draped.sheet.xy + on.origin[:2]) - on.origin[2]
            add_ground(on.found, replace(draped, ground=level), on.bottom, shown, 1, 40)
