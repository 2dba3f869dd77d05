"""Where paving stands so high over what lies beside it that a guard may be asked for."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
import shapely

from grading.checks.maker import Check, maker_of
from grading.design.area import AreaPlan
from grading.design.model import Design
from grading.finish.wishes.of_site import NEARBY
from grading.geometry.arrays import Floats
from grading.geometry.tolerances import TOGETHER
from grading.structures.holding.holds import holding_of
from grading.units import run, size
from grading.water.grid.relief import Level
from grading.water.site import lawns_of

_STEP = 0.25  # m: how often an edge is looked at
_WAYS = 24  # directions looked in from a point of an edge
_RINGS = 4  # distances looked at in each of them


def guard_checks(plan: Design) -> Iterator[Check]:
    """Give a check for each area that stands too high over what lies beside it.

    Parameters
    ----------
    plan : Design

    Notes
    -----
    IRC R312.1.1 asks for guards along open sides of walking surfaces that are more than 30 in
    above the floor or grade below "at any point within 36 in horizontally to the edge": from
    memory. Grade is the ground, regraded where the site says so, or the paving of another area.
    """
    make, limits, unit = maker_of(plan), plan.limits, plan.site.unit
    rule = "guard-height"
    for area in plan.areas:
        drop, at = highest_drop(plan, area, limits["guard-reach"])
        if drop <= limits[rule]:
            continue
        text = (
            f"the edge of {area.name} stands up to {size(drop, unit)} over what lies within "
            f"{run(limits['guard-reach'], unit)} of it, {plan.places.at(at)}: a guard may be asked "
            f"for{limits.clause(rule)}; ask the local building department before it is built"
        )
        if holding_of(plan, area, area.chosen).walls:
            text += (
                ". Its posts cannot stand in blocks stacked dry: they stand behind the wall, in "
                "footings of their own"
            )
        yield make.of(area.name).judged(rule, False, "warn", drop, text)


def highest_drop(plan: Design, area: AreaPlan, reach: float) -> tuple[float, Floats]:
    """Return the greatest height of an edge over what lies within reach of it, and where.

    Parameters
    ----------
    plan : Design
    area : AreaPlan
    reach : float
        How far out from the edge is looked at. [m]

    Returns
    -------
    float, (2,) float
        Zero where nothing lower was surveyed. [m]
    """
    body = shapely.buffer(plan.site.body(NEARBY), TOGETHER)
    edges = [
        shapely.get_coordinates(shapely.segmentize(ring, _STEP))
        for ring in shapely.get_rings(area.outline)
    ]
    points = np.concatenate(edges)
    points = points[~shapely.intersects_xy(body, points)]
    if not len(points):
        return 0.0, np.zeros(2)
    turns = np.linspace(0, 2 * np.pi, _WAYS, endpoint=False)
    out = np.concatenate(
        [
            away * np.column_stack([np.cos(turns), np.sin(turns)])
            for away in np.linspace(reach / _RINGS, reach, _RINGS)
        ]
    )
    looked = (points[:, None] + out[None]).reshape(-1, 2)
    beside = ~shapely.intersects_xy(area.outline.union(body), looked)
    below = _below(plan, looked[beside])
    level = np.full(len(looked), np.inf)
    level[beside] = np.where(np.isfinite(below), below, np.inf)
    lowest = level.reshape(len(points), len(out)).min(axis=1)
    drop = area.finish.surface.at(points) - lowest
    most = int(drop.argmax())
    return max(float(drop[most]), 0.0), points[most]


def _below(plan: Design, xy: Floats) -> Floats:
    """Return the level that there will be at points (k, 2), NaN where nothing was surveyed. [m]"""
    level = np.asarray(plan.ground.elevation(xy), float)
    for shape, surface in _surfaces(plan):
        on = shapely.intersects_xy(shape, xy)
        if on.any():
            level[on] = surface(xy[on])
    return level


def _surfaces(plan: Design) -> Iterator[tuple[shapely.Geometry, Level]]:
    yield from lawns_of(plan)
    for area in plan.areas:
        yield area.outline, area.finish.surface.at
