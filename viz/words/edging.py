"""What holds the edge of paving: how its restraint is fixed, and where a wall or a slope has to."""

from __future__ import annotations

from dataclasses import dataclass

import shapely

from grading.catalogue.bases import BaseSystem
from grading.catalogue.edge_kinds import BORDER, WALL, Fixing
from grading.catalogue.rules import Limits
from grading.design.area import AreaPlan
from grading.pipeline import Plan

HELD = "wall or slope that holds it, designed separately"
"""Said of what stands outside a raised edge."""


RAISED = "raised edge"
"""What a label of such an edge says where there is little room."""


@dataclass(frozen=True)
class Edging:
    """How an edge is drawn: what it is called, how it is fixed, and the sizes of its concrete.

    Attributes
    ----------
    name, words : str
        Its name in the table of edges, and what a label says.
    fixing : "screws", "spikes", "concrete" or ""
    deep : float
        How far below the finish it stands. [m]
    wide, top : float
        Of its concrete: how wide outside the paving, how far its top lies below the finish. [m]
    unit, tall : float
        Width and height of the units of a border; 0 where there are none. [m]
    """

    name: str
    words: str
    fixing: Fixing
    deep: float
    wide: float = 0.0
    top: float = 0.0
    unit: float = 0.0
    tall: float = 0.0

    @property
    def of_wall(self) -> bool:
        """Whether a wall holds all of the free edge."""
        return self.name == WALL


NO_EDGING = Edging("", "", "spikes", 0.0)
"""That of a cut of which nothing is known."""


def edging_of(system: BaseSystem, limits: Limits) -> Edging:
    """Return how the edge of a base system is drawn.

    Parameters
    ----------
    system : BaseSystem
    limits : Limits
        Those of the site.
    """
    kind = system.edge_kind
    # A base system that no area is planned on has the edge that it is commonly given.
    fixing: Fixing = kind.fixing if kind else "screws" if system.on_panels else "spikes"
    name, deep, words = system.edge, system.above_edge, restraint_words(system)
    if kind is None or kind.fixing != "concrete":
        return Edging(name, words, fixing, deep)
    wide, unit, tall = limits[kind.width], 0.0, 0.0
    if kind.name == BORDER:
        unit = min(limits["border-unit"], wide)
        tall = sum(layer.thickness for layer in system.layers if layer.role == "paver")
    return Edging(name, words, fixing, deep, wide, limits["edge-top"], unit, tall)


_WORDS = {
    "panel edge": "edge restraint, screwed to the panel",
    "spiked edge": "edge restraint, spiked",
    "dense shoulder": "edge restraint, spiked in a shoulder of dense-graded base",
    "concrete edge": "concrete edge",
    "border": "border units set in concrete",
    "wall": HELD,
}


def restraint_words(system: BaseSystem) -> str:
    """Name the edge restraint with how it is fixed, as the advice on edges has it."""
    kind = system.edge_kind
    if kind is None:
        return _WORDS["panel edge" if system.on_panels else "spiked edge"]
    cut = ", the panel cut flush" if kind.fixing == "concrete" and system.on_panels else ""
    return f"{_WORDS[kind.name]}{cut}"


def raised_limit(plan: Plan) -> float:
    """Return how far a finish may stand above the ground before something has to hold it. [m]"""
    return Limits(plan.site.limits)["raised-edge"]


def raised_edges(plan: Plan, area: AreaPlan) -> tuple[shapely.LineString, ...]:
    """Return the stretches of free edge that a wall or a slope has to hold. [m]

    Those that stand higher than `raised_limit`; all of it where the edge given is a wall.
    """
    if area.chosen_dig.system.edge == WALL:
        return area.free_edges
    limit = raised_limit(plan)
    return tuple(line for run in area.edge_runs for line in run.raised(limit))
