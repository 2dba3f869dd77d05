"""What holds the edge of paving: how its restraint is fixed, and where a wall or a slope has to."""

from __future__ import annotations

from grading.catalogue.bases import BaseSystem

HELD = "wall or slope that holds it, designed separately"
"""Said of what stands outside a raised edge."""


RAISED = "raised edge"
"""What a label of such an edge says where there is little room."""


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
