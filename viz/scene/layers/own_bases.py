"""Bases of their own that level things stand on, where layers of the paving are left out."""

from __future__ import annotations

import shapely

from grading.conditions.features import seats_of, stands_on
from grading.design.area import AreaPlan
from grading.dig.hole import Dig
from grading.pipeline import Plan
from viz.scene.collect import add_solid
from viz.scene.frame import Opening
from viz.scene.model import Collected
from viz.scene.shell import Floats, polygons
from viz.scene.solids import slab

_LOOKS = {"concrete": "foundation", "dense-graded": "dense-graded"}

_WHOLE = ("finished", "slice", "apart", "yard")


def add_own_bases(
    collected: Collected, plan: Plan, area: AreaPlan, dig: Dig, opening: Opening, origin: Floats
) -> None:  # fmt: skip
    """Add each base of a thing's own where the layers below the pavers are left out for it.

    With what fills in round it, as wide as nothing of the paving is laid; what it goes deeper
    than the build-up lies in refill or soil, and is not seen.

    Parameters
    ----------
    collected : Collected
    plan, area, dig : Plan, AreaPlan, Dig
    opening : Opening
        It is bared with the lowest layer where the layers are opened.
    origin : (3,) float
        The scene's own. [m]
    """

    paver = sum(layer.thickness for layer in dig.system.layers if layer.role == "paver")
    below = dig.build_up - paver
    bared = opening.cut(len(opening.corners) - 1)
    for seat in seats_of(plan):
        if seat.area != area.area.name:
            continue
        if stands_on(plan, area, seat.feature, dig.system.name) != "own base":
            continue
        pad = seat.feature.polygon if seat.own_base is None else seat.own_base.pad
        whole = shapely.intersection(pad, dig.polygon)
        for region, shown in ((whole, _WHOLE), (shapely.difference(whole, bared), ("layers",))):
            kept = polygons(region)
            if kept.is_empty:
                continue
            solid = slab(kept, area.finish.surface, paver, below, origin, steps=False)
            kind = _LOOKS[seat.base_material]
            add_solid(collected, f"base of {seat.name}", kind, solid, shown)
