"""The dug surface in bands of depth: brown where earth comes out, blue-green where it goes in."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from itertools import pairwise

import numpy as np
import shapely

from grading.dig.hole import Dig
from grading.units import Unit, inches, millimetres
from viz.drawings.plan.cut_and_fill import levels_within, shade
from viz.look.bands import band
from viz.scene.collect import add_pattern
from viz.scene.model import Collected, Label
from viz.scene.shell import Floats, polygons
from viz.scene.solids import Dug, on_floor
from viz.words.figures import DIRT

LIFT = 0.003
"""How far the bands are laid over the dug surface. [m]"""

LEAST = 0.02
"""A band of less than this share of the dig has no label. [ratio]"""


def add_depths(
    collected: Collected, dig: Dig, dug: Sequence[Dug], dug_at: Callable[[Floats], Floats],
    origin: Floats, unit: Unit,
) -> None:  # fmt: skip
    """Colour the dug surface by how deep it lies below the ground, with a label on each band.

    Parameters
    ----------
    collected : Collected
    dig : Dig
    dug : sequence of Dug
        The parts of its hole, creased where its depth is. [m]
    dug_at : callable
        The dug surface about the scene's origin at points (k, 2). [m]
    origin : (3,) float
        The scene's own. [m]
    unit : "ft" or "m"
    """

    corners = np.concatenate([part.draped.sheet.xy[part.draped.sheet.faces] for part in dug])
    depth = np.concatenate(
        [(part.draped.ground - part.floor)[part.draped.sheet.faces] for part in dug]
    )
    limits = levels_within(float(depth.min()), float(depth.max()), unit)
    most = max(abs(limits[0]), abs(limits[-1]))
    for rank, (low, high) in enumerate(pairwise(limits)):
        shape = polygons(band(corners, depth, low, high))
        if shape.is_empty:
            continue
        tone = shade((low + high) / 2, most)
        for part in dug:
            mesh = on_floor(shape, part)
            add_pattern(collected, "depth", "depth", [tone], [mesh], dug_at, ("dig",), LIFT)
        if shape.area < LEAST * dig.dig_area:
            continue
        largest = max(shapely.get_parts(shape), key=lambda part: float(part.area))
        at = np.asarray(shapely.maximum_inscribed_circle(largest).coords[0])
        place = np.append(at, dug_at(at[None])[0])
        # No band says more than the deepest there is, nor less than the least.
        least, most_here = max(low, float(depth.min())), min(high, float(depth.max()))
        words = (
            f"{_span(least, most_here, unit)} deep"
            if high > 0
            else f"{_span(-most_here, -least, unit)} fill"
        )
        collected.labels.append(Label(words, place, "depth", frozenset({"dig"}), rank=3 + rank))


def _span(low: float, high: float, unit: Unit) -> str:
    write: Callable[..., str] = inches if unit == "ft" else millimetres
    finest = (DIRT,) if unit == "ft" else ()
    first, last = write(max(low, 0.0), *finest), write(high, *finest)
    return last if first == last else f"{first.rpartition(' ')[0]} to {last}"
