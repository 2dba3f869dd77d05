"""Where pavers are stacked while they are laid: on panels, or beside a bed that nobody may step on.

A screeded bed is spoilt by one foot. So its pavers stand beside it, along an edge that one can step
up to, and are carried on over what is laid; laying begins there. Panels carry people and stacks,
and pavers stand on them where they are laid next. Common practice, no source.
"""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
import shapely
from msgspec import Struct

from grading.design.area import AreaPlan
from grading.design.model import Design
from grading.dig.edge_runs import EdgeRun
from grading.geometry.arrays import Floats
from grading.geometry.tolerances import TOGETHER
from grading.units import run


class PaverStacks(Struct, frozen=True, eq=False):
    """Where the pavers of an area stand while they are laid on one base system.

    Attributes
    ----------
    walked_on : bool
        Whether what they are laid on may be walked on.
    edge : shapely line or None
        The open edge that they stand beside; None where they stand on what they are laid on, and
        where no edge is open near the ground. [m]
    words : str
        The same for the crew, in sentences.
    """

    walked_on: bool
    edge: shapely.LineString | None
    words: str

    @property
    def at(self) -> Floats | None:
        """The middle of the edge that they stand beside, (2,). [m]"""
        if self.edge is None:
            return None
        return np.array(self.edge.interpolate(0.5, normalized=True).coords[0])


def paver_stacks(plan: Design, area: AreaPlan, base: str) -> PaverStacks:
    """Return where the pavers of an area stand while they are laid on one of its base systems.

    Parameters
    ----------
    plan : Design
    area : AreaPlan
    base : str
        The name of the base system.
    """
    if area.digs[base].system.walked_on:
        what = "panels" if area.digs[base].system.on_panels else "base"
        return PaverStacks(
            True,
            None,
            f"Pavers are stacked on the {what}, which may be walked on: each stack where it is "
            "laid next, so that nobody carries a paver farther than a step",
        )
    edge = _longest(area, plan.limits["raised-edge"])
    never = "The screeded bed is not to be walked on"
    today = "screed no more than is laid the same day"
    if edge is None:
        return PaverStacks(
            False,
            None,
            f"{never}, and no open edge near the ground is there to stack pavers beside: begin "
            f"where they come in, carry them on over what is laid, and {today}",
        )
    middle = np.array(edge.interpolate(0.5, normalized=True).coords[0])
    return PaverStacks(
        False,
        edge,
        f"{never}: pavers are stacked beside it along {run(edge.length, plan.site.unit, 1)} of "
        f"open edge, its middle {plan.places.at(middle)}; begin there, carry them on over what is "
        f"laid, and {today}",
    )


def _longest(area: AreaPlan, limit: float) -> shapely.LineString | None:
    """Return the longest stretch of outer free edge no higher above the ground than a limit. [m]"""
    parts = [part for each in area.edge_runs for part in _stepped_up_to(area, each, limit)]
    return max(parts, key=lambda part: round(part.length / TOGETHER), default=None)


def _stepped_up_to(area: AreaPlan, edge: EdgeRun, limit: float) -> Iterator[shapely.LineString]:
    ends = [0.0, *(end for high in edge.above(limit) for end in high), edge.length]
    for low, high in zip(ends[::2], ends[1::2], strict=True):
        if high - low > TOGETHER:
            part = edge.part(low, high)
            middle = part.interpolate(0.5, normalized=True)
            # Nobody stacks pavers in a planting pocket.
            if area.outline.exterior.distance(middle) < TOGETHER:
                yield part
