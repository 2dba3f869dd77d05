"""The whole yard: all the surveyed ground, every area's paving, the house and the water.

Of the areas beside the one that is shown there is their paving, lightly, and its soil.
"""

from __future__ import annotations

import numpy as np
import shapely
from msgspec.structs import replace

from grading.design.model import kept
from grading.ground.model import Ground
from grading.pipeline import Plan
from viz.look.materials import material
from viz.scene.grain import pavers
from viz.scene.lawn import add_hard, hard_in, left_over
from viz.scene.layers.laid import faces_of, takeoff_of
from viz.scene.layers.pockets import add_beds, pockets_in
from viz.scene.layers.structures import add_yard_structures, lowest_of
from viz.scene.setting import Setting
from viz.scene.shell import Shape, between, polygons
from viz.scene.solids import creased, height_over
from viz.scene.surroundings import add_ground, drawn_ground, largest
from viz.scene.waterways import add_water

VIEW = ("yard",)

THICK = 0.012
"""How thick the ground is drawn below its lowest place, of the side of a square as large."""

VIEWS = ("layers", "apart", "dig", "finished", "slice")
"""Those that the other areas are shown in beside the one that is looked at."""


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
    hard = hard_in(plan, region)
    outside = polygons(region.difference(shapely.union_all([*holes, hard])))
    pockets = pockets_in(area, outside)
    outside = polygons(outside.difference(pockets))
    if not outside.is_empty:
        draped, lawn = left_over(plan, ground, outside, on.origin)
        # The yard may fall away farther than what is shown about the paving.
        under = float(np.nanmin(draped.ground - draped.organics))
        under = min(under, lowest_of(plan, region) - float(on.origin[2]))
        on = replace(on, bottom=min(on.bottom, under - THICK * float(np.sqrt(region.area))))
        add_ground(on.found, draped, on.bottom, VIEW, 1, 300,
                   shapely.union(on.dig.polygon.boundary, lawn.boundary))  # fmt: skip
        add_beds(on, pockets, ground, VIEW)
        add_water(on.found, plan, region, height_over(draped.sheet, draped.ground), VIEW)
    add_hard(on.found, plan, ground, hard, on.bottom, VIEW)
    add_others(on, region.difference(on.dig.polygon), VIEW)
    add_yard_structures(on)
    return region


def add_others(on: Setting, region: Shape, views: tuple[str, ...] = VIEWS) -> None:
    """Add the paving of the other areas within a region, from their finish to the soil under it.

    Parameters
    ----------
    on : Setting
        All areas but its own are added.
    region : shapely polygon
        What is drawn of the ground, clear of the area's own dig. [m]
    views : tuple of str
        The views they are shown in.
    """
    tones, found, origin = material("other paver").grains, on.found, on.origin
    for other in on.plan.areas:
        shown = polygons(other.outline.intersection(region), 0.02)
        if other is on.area or shown.is_empty:
            continue
        finish, name = other.finish.surface, f"other paving, {other.area.name}"
        depth = other.chosen_dig.build_up
        found.add_slab(name, "other paver", shown, finish, (0.0, depth), views)
        sheet = creased(shown, finish, origin)
        under = np.maximum(found.level(finish, depth)(sheet.xy), on.bottom)
        soil = between(sheet, under, np.full_like(under, on.bottom))
        found.add_solid(name, "subsoil", soil, views)
        faces = found.near(faces_of(takeoff_of(on.plan, other, other.chosen)))
        meshes = pavers(faces, found.near(shown), len(tones))
        found.add_pattern(name, "other paver", tones, meshes, found.level(finish), views)
        at = shapely.get_coordinates(shown.representative_point())
        place = np.append(at[0], float(finish.at(at)[0])) - origin
        found.add_label(other.area.name, place, "level", views, 50)
