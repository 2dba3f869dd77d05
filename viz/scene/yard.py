"""The whole yard: all the surveyed ground, every area's paving, the house and the water."""

from __future__ import annotations

import numpy as np
import shapely

from grading.design.area import AreaPlan
from grading.dig.hole import Dig
from grading.pipeline import Plan
from viz.scene.layers.pockets import add_beds, pockets_in
from viz.scene.model import Collected
from viz.scene.neighbours import add_others
from viz.scene.shell import Floats, Shape, polygons
from viz.scene.surroundings import add_ground, drape_over, drawn_ground, height_over, largest
from viz.scene.waterways import add_water

VIEW = ("yard",)

THICK = 0.012
"""How thick the ground is drawn below its lowest place, of the side of a square as large."""


def yard_of(plan: Plan) -> shapely.Polygon:
    """Return all the surveyed ground, the house left out. [m]"""

    corners = plan.ground.points[plan.ground.triangles][:, :, :2]
    region: Shape = shapely.union_all(shapely.polygons(corners))
    house = plan.site.house
    if house is not None:
        reach = float(max(region.bounds[2] - region.bounds[0], region.bounds[3] - region.bounds[1]))
        region = region.difference(house.polygon(reach))
    return largest(region)


def add_yard(
    collected: Collected, plan: Plan, area: AreaPlan, dig: Dig, origin: Floats, bottom: float
) -> Shape:
    """Add what the yard has beyond the area's own paving, and return its plan.

    Parameters
    ----------
    collected : Collected
    plan, area : Plan, AreaPlan
    dig : Dig
        The area's, on the base system that is shown.
    origin : (3,) float
        The scene's own. [m]
    bottom : float
        Underside of the ground about the origin; lower where the yard is. [m]
    """

    region = yard_of(plan)
    ground = drawn_ground(plan.ground, region)
    holes = [dig.polygon, *(other.outline for other in plan.areas if other is not area)]
    outside = polygons(region.difference(shapely.union_all(holes)))
    pockets = pockets_in(area, outside)
    outside = polygons(outside.difference(pockets))
    if not outside.is_empty:
        draped = drape_over(ground, outside, origin)
        # The yard may fall away farther than what is shown about the paving.
        under = float(np.nanmin(draped.ground - draped.organics))
        bottom = min(bottom, under - THICK * float(np.sqrt(region.area)))
        add_ground(collected, draped, bottom, VIEW, 1, 300)
        add_beds(collected, area, pockets, ground, bottom, origin, VIEW)
        add_water(collected, plan, region, height_over(draped.sheet, draped.ground), origin, VIEW)
    add_others(collected, plan, area, region.difference(dig.polygon), origin, bottom, VIEW)
    return region
