"""Edges that stand over the lawn with nothing to hold them, and no lawn brought up to them."""

from __future__ import annotations

import shapely

from grading.design.area import AreaPlan
from grading.design.model import Design
from grading.geometry.tolerances import TOGETHER
from grading.structures.holding.holds import holding_of
from grading.units import INCH


def unheld_edge(plan: Design, area: AreaPlan) -> float | None:
    """Return how high an edge stands over the lawn where nobody says what brings it there. [m]

    None where something holds each edge, where how the lawn meets it is given, or where it stands
    within a quarter of an inch of what grass takes by itself.

    Parameters
    ----------
    plan : Design
    area : AreaPlan
    """
    if area.area.lawn is not None:
        return None
    least = plan.limits["lawn-most"] + INCH / 4
    parts = holding_of(plan, area, area.chosen).parts
    held = shapely.union_all([one.line for part in parts for one in part.stretches])
    heights = [
        height
        for run in area.edge_runs
        for at, height in zip(run.points, run.height.tolist(), strict=True)
        if height > least and not shapely.dwithin(held, shapely.Point(at), TOGETHER)
    ]
    return max(heights, default=None)
