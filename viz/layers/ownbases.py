"""Bases of their own that level things stand on, where layers of the paving are left out."""

from __future__ import annotations

from typing import TYPE_CHECKING

from viz.layers.collect import add_solid
from viz.layers.shell import Floats, between, joined, polygons
from viz.layers.stack import dug_over

if TYPE_CHECKING:
    from grading.dig import Dig
    from grading.ground import Ground
    from grading.pipeline import AreaPlan, Plan
    from viz.layers.frame import Opening
    from viz.layers.scene import Collected

_LOOKS = {"concrete": "foundation", "dense-graded": "dense-graded"}

_WHOLE = ("finished", "slice", "apart", "yard")


def add_own_bases(
    collected: Collected, plan: Plan, area: AreaPlan, dig: Dig, ground: Ground, opening: Opening,
    origin: Floats,
) -> None:  # fmt: skip
    """Add each base of a thing's own from the dug surface up to the pavers.

    With what fills in round it, as wide as nothing of the paving is laid; what it goes deeper
    than the dig lies in the soil, and is not seen.

    Parameters
    ----------
    collected : Collected
    plan, area, dig : Plan, AreaPlan, Dig
    ground : Ground
        As it is drawn.
    opening : Opening
        It is bared with the lowest layer where the layers are opened.
    origin : (3,) float
        The scene's own. [m]
    """
    from grading.features import seats_of, stands_on

    paver = sum(layer.thickness for layer in dig.system.layers if layer.role == "paver")
    below = dig.build_up - paver
    bared = opening.cut(len(opening.corners) - 1)
    for seat in seats_of(plan):
        if seat.area != area.area.name:
            continue
        if stands_on(plan, area, seat.feature, dig.system.name) != "own base":
            continue
        pad = seat.feature.polygon if seat.own_base is None else seat.own_base.pad
        whole = pad.intersection(dig.polygon)
        for region, shown in ((whole, _WHOLE), (whole.difference(bared), ("layers",))):
            kept = polygons(region)
            if kept.is_empty:
                continue
            parts = dug_over(ground, dig, kept, origin)
            solid = joined([between(p.draped.sheet, p.level + below, p.floor) for p in parts])
            kind = _LOOKS[seat.base_material]
            add_solid(collected, f"base of {seat.name}", kind, solid, shown)
