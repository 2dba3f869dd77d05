"""What is dug for what holds an edge beyond the hole of the paving: a union, never a sum."""

from __future__ import annotations

from collections.abc import Sequence

import shapely

from grading.design.area import AreaPlan
from grading.design.model import Design
from grading.design.underfoot import NOTHING_DUG, dug_under, flat
from grading.dig.hole import Dig
from grading.structures.model import Dug

Trench = tuple[shapely.Geometry, float]
"""Where it is dug in plan, and the level of its bottom. [m]"""


def dug_for(plan: Design, area: AreaPlan, dig: Dig, trenches: Sequence[Trench]) -> Dug:
    """Return what trenches take beyond the hole of the paving, the lower of all where they meet.

    Parameters
    ----------
    plan : Design
    area : AreaPlan
    dig : Dig
        One of the area's.
    trenches : sequence of Trench
    """
    earth, ground = NOTHING_DUG, plan.ground.under(area.name)
    taken: shapely.Geometry = plan.built_over(but=area.name)
    for where, bottom in sorted(trenches, key=lambda each: each[1]):
        left = shapely.difference(where, taken)
        taken = shapely.union(taken, where)
        earth = dug_under(ground, area, dig, left, flat(bottom), so_far=earth)
    return Dug(*earth)
