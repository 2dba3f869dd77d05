"""The whole yard: all the surveyed ground, every area's paving, the house and the water."""

from __future__ import annotations

import numpy as np
import shapely
from msgspec.structs import replace

from grading.design.kept import kept
from grading.ground.model import Ground
from grading.pipeline import Plan
from viz.scene.layers.pockets import add_beds, pockets_in
from viz.scene.layers.structures import add_yard_structures, lowest_of
from viz.scene.neighbours import add_others
from viz.scene.setting import Setting
from viz.scene.shell import Shape, polygons
from viz.scene.solids import height_over
from viz.scene.surroundings import add_ground, drape_over, drawn_ground, largest
from viz.scene.waterways import add_water

VIEW = ("yard",)

THICK = 0.012
"""How thick the ground is drawn below its lowest place, of the side of a square as large."""


def yard_of(plan: Plan) -> shapely.Polygon:
    """Return all the surveyed ground, the house left out. [m]"""
    region: Shape = _whole(plan.ground)
    house = plan.site.house
    if house is not None:
        reach = float(max(region.bounds[2] - region.bounds[0], region.bounds[3] - region.bounds[1]))
        region = region.difference(house.polygon(reach))
    return largest(region)


@kept
def _whole(ground: Ground) -> Shape:
    corners = ground.points[ground.triangles][:, :, :2]
    return shapely.union_all(shapely.polygons(corners))


def add_yard(on: Setting) -> Shape:
    """Add what the yard has beyond the area's own paving, and return its plan.

    Its underside is that of the ground about the paving, or lower where the yard is.
    """
    plan, area = on.plan, on.area
    region = yard_of(plan)
    ground = drawn_ground(plan.ground, region)
    holes = [on.dig.polygon, *(other.outline for other in plan.areas if other is not area)]
    outside = polygons(region.difference(shapely.union_all(holes)))
    pockets = pockets_in(area, outside)
    outside = polygons(outside.difference(pockets))
    if not outside.is_empty:
        draped = drape_over(ground, outside, on.origin)
        # The yard may fall away farther than what is shown about the paving.
        under = float(np.nanmin(draped.ground - draped.organics))
        under = min(under, lowest_of(plan, region) - float(on.origin[2]))
        on = replace(on, bottom=min(on.bottom, under - THICK * float(np.sqrt(region.area))))
        add_ground(on.found, draped, on.bottom, VIEW, 1, 300, on.dig.polygon.boundary)
        add_beds(on, pockets, ground, VIEW)
        add_water(on.found, plan, region, height_over(draped.sheet, draped.ground), VIEW)
    add_others(on, region.difference(on.dig.polygon), VIEW)
    add_yard_structures(on)
    return region
