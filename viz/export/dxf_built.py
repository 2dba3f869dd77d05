"""What is built beside and below the paving as DXF: in plan, and as closed bodies in space."""

from __future__ import annotations

import numpy as np
import shapely

from grading.design.area import AreaPlan
from grading.pipeline import Plan
from grading.structures.model import Structure
from viz.export.dxf_draft import Draft
from viz.paper.drawing import Text
from viz.scene.layers.laid import takeoff_of
from viz.scene.layers.structures import mesh_of

GROUPS = {
    "walls": ("wall", "curb", "slope", "shoulder"),
    "steps": ("step",),
    "drains": ("drain", "channel", "pipe", "grate", "well", "membrane", "downspout"),
}
"""The layers that structures come on, and the words in their kinds that tell which."""

BURIED = ("dense-graded", "open-graded", "drain stone", "pipe", "membrane", "concrete")
"""Materials that lie below what is seen: they are dashed, on a layer of their own."""

_COLOURS = {"walls": "#7a5c3a", "steps": "#8f3d6b", "drains": "#1f5fa8", "beside": "#5a5a5a"}
_LETTER = 2.0  # mm
_OTHERS = ((0.0, 4.0), (0.0, -4.0), (8.0, 0.0), (-8.0, 0.0), (0.0, 9.0), (0.0, -9.0))  # mm


def group_of(structure: Structure) -> str:
    """Return the layer that a structure comes on: walls, steps, drains, or beside for the rest."""
    for group, words in GROUPS.items():
        if any(word in structure.kind for word in words):
            return group
    return "beside"


def add_built(draft: Draft, plan: Plan, area: AreaPlan) -> None:
    """Add what is built with an area on the base chosen, each kind on layers of its own.

    Parameters
    ----------
    draft : Draft
    plan, area : Plan, AreaPlan

    Notes
    -----
    In plan: `walls`, `steps`, `drains` and `beside`; dashed on `... below` what is buried. Their
    bodies are faces in space on `... bodies`, switched off as all surfaces of triangles are.
    """
    for structure in _drawn(plan, area):
        group = group_of(structure)
        colour = _COLOURS[group]
        seen = draft.layer(group, colour, 0.35)
        below = draft.layer(f"{group} below", colour, 0.18, "dashed")
        bodies = draft.layer(f"{group} bodies", colour, 0.13, off=True)
        for solid in structure.solids:
            draft.shape(solid.footprint, below if solid.material in BURIED else seen)
            mesh = mesh_of(solid, None, np.zeros(3))
            draft.faces(mesh.vertices, mesh.faces, bodies)


def names_of(plan: Plan, area: AreaPlan) -> list[Text]:
    """Return the name of each structure as words on it, on its group's layer."""
    words = []
    for structure in _drawn(plan, area):
        whole = shapely.union_all([solid.footprint for solid in structure.solids])
        x, y = shapely.get_coordinates(shapely.point_on_surface(whole))[0]
        group = group_of(structure)
        words.append(
            Text(
                (float(x), float(y)), structure.name, _LETTER, "center", "middle",
                others=_OTHERS, colour=_COLOURS[group], layer=group,
            )
        )  # fmt: skip
    return words


def _drawn(plan: Plan, area: AreaPlan) -> list[Structure]:
    """Return what is built that has a body; a wedge of bedding under a thing has none."""
    built = takeoff_of(plan, area, area.chosen).structures
    return [structure for structure in built if structure.solids]
