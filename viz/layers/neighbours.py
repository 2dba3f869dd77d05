"""The other areas of a site beside the one that is shown: their paving, lightly, and its soil."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from viz.layers.collect import add_pattern, add_solid
from viz.layers.grain import pavers
from viz.layers.materials import material
from viz.layers.scene import Collected, Label
from viz.layers.shell import Floats, between, polygons
from viz.layers.solids import creased, slab

if TYPE_CHECKING:
    from grading.pipeline import AreaPlan, Plan
    from viz.layers.shell import Shape

VIEWS = ("layers", "dig", "finished")


def others_in(plan: Plan, area: AreaPlan, region: Shape) -> Shape:
    """Return the paving of the other areas within a region. [m]"""
    import shapely

    outlines = [other.outline for other in plan.areas if other is not area]
    return polygons(shapely.union_all(outlines).intersection(region))


def add_others(
    collected: Collected, plan: Plan, area: AreaPlan, region: Shape, right: Floats,
    origin: Floats, bottom: float,
) -> None:  # fmt: skip
    """Add the paving of the other areas within a region, from their finish to the soil under it.

    Parameters
    ----------
    collected : Collected
    plan, area : Plan, AreaPlan
        All areas but this one are added.
    region : shapely polygon
        What is drawn of the ground, clear of the area's own dig. [m]
    right : (2,) float
        Direction of the courses of pavers.
    origin : (3,) float
        The scene's own. [m]
    bottom : float
        Underside of the block of ground about the origin. [m]
    """
    import shapely

    tones = material("other paver").grains
    for other in plan.areas:
        shown = polygons(other.outline.intersection(region), 0.02)
        if other is area or shown.is_empty:
            continue
        finish, name = other.finish.surface, f"other paving, {other.area.name}"
        depth = other.chosen_dig.build_up
        whole = slab(shown, finish, 0.0, depth, origin, steps=False)
        add_solid(collected, name, "other paver", whole, VIEWS)
        sheet = creased(shown, finish, origin)
        under = np.maximum(finish.at(sheet.xy + origin[:2]) - origin[2] - depth, bottom)
        soil = between(sheet, under, np.full_like(under, bottom))
        add_solid(collected, name, "subsoil", soil, VIEWS)
        near = shapely.transform(shown, lambda xy: xy - origin[:2])

        def height(xy: Floats, finish: object = finish) -> Floats:
            return np.asarray(finish.at(xy + origin[:2]) - origin[2])  # type: ignore[attr-defined]

        meshes = pavers(near, right, len(tones))
        add_pattern(collected, name, "other paver", tones, meshes, height, VIEWS)
        at = shapely.get_coordinates(shown.representative_point())[0]
        z = float(finish.at(at[None])[0])
        label = Label(
            other.area.name, np.append(at, z) - origin, "level", frozenset(VIEWS), rank=50
        )
        collected.labels.append(label)
