"""What is laid piece by piece in an area: its pavers and panels where the order counted them."""

from __future__ import annotations

import numpy as np
import shapely

from grading.design.area import AreaPlan
from grading.design.model import kept
from grading.order.laid.pavers import paver_faces
from grading.order.restrained import restrained_edges
from grading.order.takeoff import Takeoff
from grading.pipeline import Plan
from viz.scene.shell import Polygons


def takeoff_of(plan: Plan, area: AreaPlan, base: str) -> Takeoff:
    """Return what the order of a plan counted for an area on one of its base systems."""
    name = area.area.name
    return next(each.takeoffs[base] for each in plan.order.areas if each.area.area.name == name)


@kept
def faces_of(takeoff: Takeoff) -> Polygons:
    """Return the faces of the pavers that are counted, on the site's axes. [m]"""
    return paver_faces(takeoff.area.area.outline, takeoff.pavers)[0]


def panels_of(takeoff: Takeoff) -> Polygons:
    """Return the panels that are counted, on the site's axes; none where the base has none. [m]"""
    return np.array([]) if takeoff.panels is None else takeoff.panels.rectangles


def border_of(plan: Plan, area: AreaPlan, base: str) -> shapely.Geometry:
    """Return where the units of a border lie on a base system, empty where there are none. [m]"""
    unit = area.edging(base).unit
    lines = restrained_edges(plan, area, base) if unit else ()
    return shapely.union_all([line.buffer(unit) for line in lines]).difference(area.outline)
