"""What holds the edge of paving: how its restraint is fixed, and where a wall or a slope has to."""

from __future__ import annotations

from typing import TYPE_CHECKING, Literal

from grading.rules import Limits

if TYPE_CHECKING:
    import shapely

    from grading.baselayers import BaseSystem
    from grading.pipeline import AreaPlan, Plan

Fixing = Literal["screws", "spikes"]

HELD = "wall or slope that holds it, designed separately"
"""Said of what stands outside a raised edge."""


RAISED = "raised edge"
"""What a label of such an edge says where there is little room."""


def fixing_of(system: BaseSystem) -> Fixing:
    """Return what the edge restraint is fixed with: screws hold in panels, spikes in stone."""
    return "screws" if system.on_panels else "spikes"


def restraint_words(system: BaseSystem) -> str:
    """Name the edge restraint with how it is fixed, as the advice on edges has it."""
    if system.on_panels:
        return "edge restraint, screwed to the panel"
    if any(layer.material == "open-graded" for layer in system.layers):
        return "edge restraint, spiked in a shoulder of dense-graded base"
    return "edge restraint, spiked"


def raised_limit(plan: Plan) -> float:
    """Return how far a finish may stand above the ground before something has to hold it. [m]"""
    return Limits(plan.site.limits)["raised-edge"]


def raised_edges(plan: Plan, area: AreaPlan) -> tuple[shapely.LineString, ...]:
    """Return the stretches of free edge that stand higher than `raised_limit`. [m]"""
    limit = raised_limit(plan)
    return tuple(line for run in area.edge_runs for line in run.raised(limit))
