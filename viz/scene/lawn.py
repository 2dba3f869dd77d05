"""The ground as it is left when the work is done: lawn that is brought to paving, regraded."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
import shapely

from grading.dig.lawn import Level
from grading.geometry.arrays import Floats, Region
from grading.geometry.grids import cells_in
from grading.geometry.tolerances import TOUCH
from grading.ground.model import Ground
from grading.pipeline import Plan
from grading.structures.lawn_regraded import lawn_beside
from viz.scene.shell import Shape, about, polygons, triangulate
from viz.scene.solids import Draped
from viz.scene.surroundings import drape_over

_EVERY = 0.25
"""How far apart regraded lawn is read. [m]"""


def lawns_of(plan: Plan) -> Iterator[tuple[Region, Level]]:
    """Yield where lawn beside each area is regraded on the bases chosen, and its level there."""
    for area in plan.areas:
        found = lawn_beside(plan, area, area.chosen_dig)
        if found is not None:
            yield found


def left_over(plan: Plan, ground: Ground, region: Region, origin: Floats) -> tuple[Draped, Shape]:
    """Return the ground draped over a region as it is left, and where its lawn is regraded.

    Parameters
    ----------
    plan : Plan
    ground : Ground
        As it lies today.
    region : shapely polygon or multipolygon
        [m]
    origin : (3,) float
        [m]
    """
    draped = drape_over(ground, region, origin)
    lawns = [(polygons(shape.intersection(region)), level) for shape, level in lawns_of(plan)]
    lawns = [(shape, level) for shape, level in lawns if not shape.is_empty]
    lawn = shapely.union_all([shape for shape, _ in lawns])
    if lawn.is_empty:
        return draped, lawn
    rings = shapely.get_coordinates(shapely.segmentize(lawn.boundary, _EVERY))
    inner, _ = cells_in(polygons(lawn), _EVERY)
    sheet, _ = triangulate(
        about(region, origin),
        np.concatenate([draped.sheet.xy, rings - origin[:2], inner - origin[:2]]),
    )
    xy = sheet.xy + origin[:2]
    z, organics = ground.elevation(xy), ground.organics_at(xy)
    for shape, level in lawns:
        inside = shapely.intersects_xy(shapely.buffer(shape, TOUCH), xy)
        z[inside] = level(xy[inside])
    # A point on the edge of what was measured may lie beyond it by a rounding.
    for k in np.flatnonzero(~np.isfinite(z)):
        near = int(np.argmin(np.hypot(*(draped.sheet.xy - sheet.xy[k]).T)))
        z[k], organics[k] = draped.ground[near] + origin[2], draped.organics[near]
    return Draped(sheet, z - origin[2], organics), lawn
