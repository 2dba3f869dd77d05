"""What shots that lie far off are likely to be: of another layer, or in the other unit."""

from __future__ import annotations

import numpy as np
from msgspec import Struct

from grading.asbuilt.layers import LayerName, depth_of_layer, layers_of
from grading.asbuilt.shots import BuiltShots
from grading.catalogue.rules import Limits
from grading.design.area import AreaPlan
from grading.units import FOOT, METRES, Unit

_MUCH = 0.1  # own: in the other unit shots lie off by no more than this part of what they do


class Likely(Struct, frozen=True):
    """What shots are likely to be: levels in a unit, or shots of a layer; the other None."""

    unit: Unit | None
    layer: LayerName | None


def below(area: AreaPlan, layer: LayerName) -> LayerName:
    """Return the layer that another of an area lies on; the subgrade lies on nothing laid."""
    own = layers_of(area)
    return own[max(own.index(layer) - 1, 0)]


def likely_of(
    area: AreaPlan, shots: BuiltShots, layer: LayerName, limits: Limits, unit: Unit
) -> Likely | None:
    """Return what shots are likely to be; None where most are of that layer, or nothing is likely.

    Parameters
    ----------
    area : AreaPlan
    shots : BuiltShots
    layer : "subgrade", "base", "bedding" or "surface"
        That they are said to be of.
    limits : Limits
        Of the site: shots are of a layer where most lie within its tolerance.
    unit : "ft" or "m"
        What a bare number meant.
    """
    own = {name: depth_of_layer(area, name) for name in layers_of(area)}
    z, finish = shots.xyz[:, 2], np.asarray(area.finish.surface.at(shots.xyz[:, :2]), float)
    wanted = finish - own[layer]
    off = float(np.median(z - wanted))
    if abs(off) <= limits[f"built-{layer}"]:
        return None
    other: Unit = "m" if unit == "ft" else "ft"
    # A rod hangs on an instrument, which was read in the same unit.
    if np.isnan(shots.rods).all():
        left = float(np.median(z * (METRES[other] / METRES[unit]) - wanted))
        if abs(left) <= min(_MUCH * abs(off), FOOT):
            return Likely(other, None)
    for name, depth in own.items():
        if name != layer and abs(off - own[layer] + depth) <= limits[f"built-{name}"]:
            return Likely(None, name)
    return None
