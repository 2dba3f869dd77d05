"""Which drains are built with the paving, and which are there already."""

from __future__ import annotations

import numpy as np

from grading.design.model import Design
from grading.geometry.arrays import Floats
from grading.site.water_tables import AT_PAVING, Outfall


def built_at(plan: Design, outfall: Outfall) -> str | None:
    """Return the name of the area that a drain is built with; None where none is built.

    Parameters
    ----------
    plan : Design
    outfall : Outfall
    """
    if outfall.kind != "drain" or outfall.existing:
        return None
    away = {area.name: float(area.outline.distance(outfall.geometry)) for area in plan.areas}
    nearest = min(away, key=lambda name: away[name], default=None)
    if nearest is None or away[nearest] <= AT_PAVING:
        return nearest
    surveyed = outfall.z is not None or np.isfinite(plan.ground.elevation(points_of(outfall))).all()
    return nearest if outfall.outlet is not None and surveyed else None


def points_of(outfall: Outfall) -> Floats:
    """Return the points of an outfall, (k, 2). [m]"""
    return np.array(outfall.at, dtype=float)
