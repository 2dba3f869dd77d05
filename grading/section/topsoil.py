"""The bottom of the topsoil along a line, under each area as its own test holes have it."""

from __future__ import annotations

import numpy as np
import shapely
from msgspec.structs import replace

from grading.design.area import AreaPlan
from grading.design.model import Design
from grading.geometry.arrays import Floats
from grading.ground.model import Ground
from grading.section.line import intervals

_JUMP = 1e-6  # own: m: how far apart the depths of two areas stand where they meet


def bottom_of_organics(plan: Design, area: AreaPlan, line: shapely.LineString) -> Floats:
    """Return the level of the bottom of the organics along a line, (n, 2): distance and z. [m]

    Parameters
    ----------
    plan : Design
    area : AreaPlan
        Beside the areas it lies as under this one.
    line : shapely line
        [m]
    """
    found = _along(plan.ground.under(area.area.name), line)
    for other in plan.areas if plan.ground.own else ():
        if other is area:
            continue
        theirs = _along(plan.ground.under(other.area.name), line)
        for a, b in intervals(line, other.chosen_dig.polygon):
            found = _with_part(found, theirs, a, b)
    return found


def _along(ground: Ground, line: shapely.LineString) -> Floats:
    stripped = ground.points.copy()
    stripped[:, 2] -= ground.organics
    return np.asarray(replace(ground, points=stripped).section(np.array(line.coords)))


def _with_part(found: Floats, theirs: Floats, a: float, b: float) -> Floats:
    """Return a profile with the part between two distances taken from another. [m]"""
    ends = np.array([a + _JUMP, b - _JUMP])
    inner = theirs[(theirs[:, 0] > ends[0]) & (theirs[:, 0] < ends[1])]
    edge = np.column_stack([ends, np.interp(ends, *theirs.T)])
    outer = np.column_stack([(a, b), np.interp((a, b), *found.T)])
    before, after = found[found[:, 0] < a], found[found[:, 0] > b]
    return np.concatenate([before, outer[:1], edge[:1], inner, edge[1:], outer[1:], after])
