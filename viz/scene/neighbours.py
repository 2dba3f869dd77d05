"""The other areas of a site beside the one that is shown: their paving, lightly, and its soil."""

from __future__ import annotations

import numpy as np
import shapely

from viz.look.materials import material
from viz.scene.grain import pavers
from viz.scene.layers.laid import faces_of, takeoff_of
from viz.scene.setting import Setting
from viz.scene.shell import Shape, between, polygons
from viz.scene.solids import creased

VIEWS = ("layers", "dig", "finished", "slice")


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
