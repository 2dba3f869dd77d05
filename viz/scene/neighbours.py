"""The other areas of a site beside the one that is shown: their paving, lightly, and its soil."""

from __future__ import annotations

import numpy as np
import shapely

from grading.design.area import AreaPlan
from grading.pipeline import Plan
from viz.look.materials import material
from viz.scene.collect import add_pattern, add_solid
from viz.scene.grain import pavers
from viz.scene.layers.laid import faces_of, takeoff_of
from viz.scene.model import Collected, Label
from viz.scene.shell import Floats, Shape, between, polygons
from viz.scene.solids import creased, slab

VIEWS = ("layers", "dig", "finished", "slice")


def others_in(plan: Plan, area: AreaPlan, region: Shape) -> Shape:
    """Return the paving of the other areas within a region. [m]"""

    outlines = [other.outline for other in plan.areas if other is not area]
    return polygons(shapely.union_all(outlines).intersection(region))


def add_others(
    collected: Collected, plan: Plan, area: AreaPlan, region: Shape,
    origin: Floats, bottom: float, views: tuple[str, ...] = VIEWS,
) -> None:  # fmt: skip
    """Add the paving of the other areas within a region, from their finish to the soil under it.

    Parameters
    ----------
    collected : Collected
    plan, area : Plan, AreaPlan
        All areas but this one are added.
    region : shapely polygon
        What is drawn of the ground, clear of the area's own dig. [m]
    origin : (3,) float
        The scene's own. [m]
    bottom : float
        Underside of the block of ground about the origin. [m]
    views : tuple of str
        The views they are shown in.
    """

    tones = material("other paver").grains
    for other in plan.areas:
        shown = polygons(other.outline.intersection(region), 0.02)
        if other is area or shown.is_empty:
            continue
        finish, name = other.finish.surface, f"other paving, {other.area.name}"
        depth = other.chosen_dig.build_up
        whole = slab(shown, finish, 0.0, depth, origin, steps=False)
        add_solid(collected, name, "other paver", whole, views)
        sheet = creased(shown, finish, origin)
        under = np.maximum(finish.at(sheet.xy + origin[:2]) - origin[2] - depth, bottom)
        soil = between(sheet, under, np.full_like(under, bottom))
        add_solid(collected, name, "subsoil", soil, views)
        near = shapely.transform(shown, lambda xy: xy - origin[:2])

        def height(xy: Floats, finish: object = finish) -> Floats:
            return np.asarray(finish.at(xy + origin[:2]) - origin[2])  # type: ignore[attr-defined]

        laid = faces_of(takeoff_of(plan, other, other.chosen))
        faces = shapely.transform(laid, lambda xy: xy - origin[:2])
        meshes = pavers(faces, near, len(tones))
        add_pattern(collected, name, "other paver", tones, meshes, height, views)
        at = shapely.get_coordinates(shown.representative_point())[0]
        z = float(finish.at(at[None])[0])
        words, place = other.area.name, np.append(at, z) - origin
        collected.labels.append(Label(words, place, "level", frozenset(views), rank=50))
