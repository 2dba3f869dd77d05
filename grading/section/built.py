"""What is built beside and below the paving, in a vertical cut."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

import numpy as np
import shapely
from msgspec import Struct

from grading.section.cut import THINNEST, Cut
from grading.section.line import EDGE
from grading.structures.model import Solid, Structure


class Built(Struct, frozen=True, eq=False):
    """One body of a structure where a line cuts it: its shape in distance and elevation. [m]"""

    structure: Structure
    material: str
    shape: shapely.Polygon


def built_in(structures: Iterable[Structure], cut: Cut) -> tuple[Built, ...]:
    """Return what a cut meets of what is built, in the order in which its bodies are given.

    Parameters
    ----------
    structures : iterable of Structure
    cut : Cut

    Notes
    -----
    Bottom and top of a body are levels or planes: along a line both are straight.
    """
    low, high = cut.ends
    line = shapely.LineString([cut.plan_point(low), cut.plan_point(high)])
    return tuple(
        Built(structure, solid.material, shape)
        for structure in structures
        for solid in structure.solids
        for shape in _cut(solid, cut, line)
    )


def _cut(solid: Solid, cut: Cut, line: shapely.LineString) -> Iterator[shapely.Polygon]:
    for part in shapely.get_parts(shapely.intersection(solid.footprint, line)):
        if part.geom_type != "LineString" or part.length < EDGE:
            continue
        ends = np.asarray(part.coords)[[0, -1]]
        along = (ends - cut.start) @ cut.along
        bottom, top = solid.between(ends)
        if float((top - bottom).max()) < THINNEST:
            continue
        # A wedge ends where its planes meet.
        top = np.maximum(bottom, top)
        corners = [(along[0], bottom[0]), (along[1], bottom[1]), (along[1], top[1]),
                   (along[0], top[0])]  # fmt: skip
        yield shapely.Polygon(corners)
