"""The dug surface in bands of depth: brown where earth comes out, blue-green where it goes in."""

from __future__ import annotations

from collections.abc import Callable
from itertools import pairwise

import numpy as np
import shapely

from grading.design.contours import levels_within
from grading.geometry.bands import band
from grading.units import Unit, inches, millimetres
from viz.drawings.plan.cut_and_fill import shade
from viz.scene.setting import Setting
from viz.scene.shell import polygons
from viz.scene.solids import Hole, on_floor
from viz.words.figures import DIRT

LIFT = 0.003
"""How far the bands are laid over the dug surface. [m]"""

LEAST = 0.02
"""A band of less than this share of the dig has no label. [ratio]"""


def add_depths(on: Setting, hole: Hole) -> None:
    """Colour the dug surface by how deep it lies below the ground, with a label on each band.

    Parameters
    ----------
    on : Setting
    hole : Hole
        Creased where its depth is. [m]
    """
    sheet, dug_at, unit = hole.sheet, hole.dug_at, on.unit
    corners = sheet.xy[sheet.faces]
    depth = (hole.ground - hole.floor)[sheet.faces]
    shallowest, deepest = float(depth.min()), float(depth.max())
    limits = levels_within(shallowest, deepest, unit)
    most = max(abs(limits[0]), abs(limits[-1]))
    for rank, (low, high) in enumerate(pairwise(limits)):
        shape = polygons(band(corners, depth, low, high))
        if shape.is_empty:
            continue
        tone = shade((low + high) / 2, most)
        mesh = on_floor(shape, hole)
        on.found.add_pattern("depth", "depth", [tone], [mesh], dug_at, ("dig",), LIFT)
        if shape.area < LEAST * on.dig.dig_area:
            continue
        largest = max(shapely.get_parts(shape), key=lambda part: float(part.area))
        at = np.asarray(shapely.maximum_inscribed_circle(largest).coords[0])
        # No band says more than the deepest there is, nor less than the least.
        least, most_here = max(low, shallowest), min(high, deepest)
        words = (
            f"{_span(least, most_here, unit)} deep"
            if high > 0
            else f"{_span(-most_here, -least, unit)} fill"
        )
        on.found.add_label(words, np.append(at, dug_at(at[None])[0]), "depth", ("dig",), 3 + rank)


def _span(low: float, high: float, unit: Unit) -> str:
    write: Callable[..., str] = inches if unit == "ft" else millimetres
    finest = (DIRT,) if unit == "ft" else ()
    first, last = write(max(low, 0.0), *finest), write(high, *finest)
    return last if first == last else f"{first.rpartition(' ')[0]} to {last}"
