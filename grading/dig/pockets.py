"""Planting pockets: beds of soil within paving, brought up to it.

Rain that runs into a bed soaks into it, and what is too much runs on over its lower side. So the
water sees the finish go on over a pocket, lower by a lip that keeps the soil off the pavers.
"""

from __future__ import annotations

import numpy as np
import shapely
from msgspec import Struct

from grading.catalogue.rules import Limits
from grading.geometry.arrays import Floats
from grading.geometry.facets import Surface
from grading.geometry.outline import outline_polygon
from grading.site.model import Area


class Pocket(Struct, frozen=True, eq=False):
    """One hole in the paving of an area, and the bed of soil in it.

    area : the name of the area.
    polygon : the hole in plan. [m]
    finish : of the paving round it.
    lip : how far the soil lies below the finish. [m]
    """

    area: str
    polygon: shapely.Polygon
    finish: Surface
    lip: float

    def level(self, xy: Floats) -> Floats:
        """Return the level of the soil (k,) at points (k, 2) of the plan. [m]"""
        return np.asarray(self.finish.at(xy) - self.lip)


def pockets_of(area: Area, finish: Surface, limits: Limits) -> tuple[Pocket, ...]:
    """Return the planting pockets of an area, in the order of its holes.

    Parameters
    ----------
    area : Area
    finish : Surface
        Of its paving.
    limits : Limits
        Those of the site: how far the soil lies below the paving.
    """
    lip = limits["planting-lip"]
    return tuple(Pocket(area.name, outline_polygon(hole), finish, lip) for hole in area.holes)
