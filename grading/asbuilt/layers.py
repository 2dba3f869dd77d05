"""The layers that are shot as they are built, and how deep each is to lie."""

from __future__ import annotations

from typing import Literal

from grading.design.area import AreaPlan
from grading.errors import Problem, SiteError
from grading.files.toml_text import nearest, shown_value

LayerName = Literal["subgrade", "base", "bedding", "surface"]
LAYERS: tuple[LayerName, ...] = ("subgrade", "base", "bedding", "surface")
Status = Literal["pass", "fail", "unknown"]
"""How a shot, or a thickness, comes out by its tolerance."""


def layer_named(words: str) -> LayerName:
    """Return the layer that a person names.

    Parameters
    ----------
    words : str

    Raises
    ------
    SiteError
        No layer is called that.
    """
    for layer in LAYERS:
        if words == layer:
            return layer
    expected = f"one of {', '.join(LAYERS)}"
    raise SiteError([Problem("--layer", shown_value(words), expected, nearest(words, LAYERS))])


def layers_of(area: AreaPlan) -> tuple[LayerName, ...]:
    """Return the layers that an area has, from the bottom up."""
    roles = {part.role for part in area.chosen_dig.system.layers}
    return tuple(name for name in LAYERS if name in ("subgrade", "surface") or name in roles)


def depth_of_layer(area: AreaPlan, layer: LayerName) -> float:
    """Return how far below the finish the top of a layer lies, or the subgrade. [m]

    Parameters
    ----------
    area : AreaPlan
    layer : "subgrade", "base", "bedding" or "surface"

    Raises
    ------
    SiteError
        The base that the area stands on has no such layer.
    """
    system = area.chosen_dig.system
    if layer == "surface":
        return 0.0
    if layer == "subgrade":
        return system.build_up
    for part, top in zip(system.layers, system.tops(), strict=True):
        if part.role == layer:
            return top
    found = f"{layer}, which {system.called} has not"
    raise SiteError([Problem("--layer", found, f"one of {', '.join(layers_of(area))}")])
