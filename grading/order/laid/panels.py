"""The panels of an area: a staggered grid over the over-dug hole."""

from __future__ import annotations

import math

import numpy as np
import shapely
from msgspec.structs import replace

from grading.geometry.arrays import Region
from grading.order.laid.units import Laid, best, framed, frames_of, lay


def lay_panels(hole: Region, outline: shapely.Polygon, size: tuple[float, float]) -> Laid:
    """Lay panels over a hole, staggered by half, along or across the paving's longest edge.

    Parameters
    ----------
    hole : shapely polygon or multipolygon
        The whole over-dug hole; empty where bases of other things take all of it. [m]
    outline : shapely polygon
        The paving: its longest straight edge says which way the panels run. [m]
    size : (2,) float
        Length and width of a panel. [m]

    Returns
    -------
    Laid
        The way that takes fewest panels, of those that start in a corner of the hole, with a
        whole panel or with half of one. An off-cut of half a panel or more is used again: common
        practice, no source.
    """
    quarters = {
        round(math.degrees(turn) % 90.0, 2) % 90.0: turn for _, _, turn in frames_of(outline)
    }
    return best(
        _laid(hole, turn + quarter * math.pi / 2, size, begins)
        for turn in quarters.values()
        for quarter in range(4)
        for begins in (0.0, 0.5)
    )


def _laid(hole: Region, turn: float, size: tuple[float, float], begins: float) -> Laid:
    if hole.is_empty:
        return lay(hole, "running", size, 0.0)
    start = shapely.get_coordinates(hole)[0]
    turned = framed(hole, start, turn)
    # The first panel lies in the corner of the hole, or half of it does.
    corner = np.array(turned.bounds[:2]) - [begins * size[0], 0.0]
    laid = lay(shapely.transform(turned, lambda xy: xy - corner), "running", size, 0.0)
    cos, sin = math.cos(turn), math.sin(turn)
    origin = start + corner @ np.array([[cos, sin], [-sin, cos]])
    return replace(laid, origin=origin, turn=turn)
