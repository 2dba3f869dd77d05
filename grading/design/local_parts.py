"""Where something measured over an area passes a limit: the parts, how large, how far, and where.

What passes it over a small part of an area is told as what it is, local, and does not decide for
the whole.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import shapely
from msgspec import Struct

from grading.design.places import Places
from grading.finish.earthwork import Clip
from grading.geometry.arrays import Floats
from grading.geometry.tolerances import SAME, THREAD
from grading.units import Unit, area, size

WORTH_NAMING = 0.1
"""A part smaller than this is counted and not named: common practice, no source. [m2]"""
MOST_NAMED = 3


class LocalPart(Struct, frozen=True):
    """One part: its plan area [m2], greatest value [m], where that is, (2,) [m], and shape. [m]"""

    area: float
    greatest: float
    at: Floats
    shape: shapely.Geometry


def parts_above(paved: Clip, values: Floats, limit: float) -> tuple[LocalPart, ...]:
    """Return the parts of paving over which a value passes a limit, the largest first.

    Parameters
    ----------
    paved : Clip
    values : (k, 3) float
        At the corners of its pieces, linear over each. [m]
    limit : float
        [m]
    """
    over = beyond(values, limit)
    found = np.flatnonzero(over.max(axis=1) > 0)
    if not len(found):
        return ()
    whole = (over[found] > 0).all(axis=1)
    pieces = np.empty(len(found), dtype=object)
    pieces[whole] = shapely.polygons(paved.xy[found[whole]])
    pieces[~whole] = [_above(paved.xy[k], over[k]) for k in found[~whole]]
    parts = shapely.get_parts(shapely.union_all(shapely.buffer(pieces, THREAD, join_style="mitre")))
    shapely.prepare(parts)
    corners, heights = paved.xy[found].reshape(-1, 2), values[found].ravel()
    told = []
    for part in parts:
        inside = shapely.intersects_xy(part, *corners.T) & (beyond(heights, limit) > 0)
        own = np.flatnonzero(inside)
        if len(own):
            top = own[np.argmax(heights[own])]
            told.append(LocalPart(float(part.area), float(heights[top]), corners[top], part))
    return tuple(sorted(told, key=lambda part: -part.area))


def beyond(values: Floats, limit: float) -> Floats:
    """Return how far values [m] pass a limit [m]: not at all where they are at it."""
    return np.asarray(values - (limit + SAME))


def _above(corners: Floats, over: Floats) -> shapely.Polygon:
    """Return the piece of a triangle (3, 2) [m] over which a linear value (3,) is positive."""
    ring: list[Floats] = []
    for k in range(3):
        a, b = over[k], over[(k + 1) % 3]
        start, end = corners[k], corners[(k + 1) % 3]
        if a > 0:
            ring.append(start)
        if a * b < 0:
            ring.append(start + a / (a - b) * (end - start))
    return shapely.Polygon(ring) if len(ring) > 2 else shapely.Polygon()


def where_words(parts: Sequence[LocalPart], places: Places, unit: Unit) -> str:
    """Say of each part how large it is, how far the value goes and where; the largest first.

    Parameters
    ----------
    parts : sequence of LocalPart
    places : Places
    unit : "ft" or "m"
    """
    if not parts:
        return "in parts too small to name"
    named = [part for part in parts if part.area >= WORTH_NAMING][:MOST_NAMED] or parts[:1]
    said = [
        f"{area(part.area, unit)}, up to {size(part.greatest, unit)}, {places.at(part.at)}"
        for part in named
    ]
    rest = len(parts) - len(named)
    if rest:
        said.append(f"{rest} smaller part{'s' if rest > 1 else ''}")
    return "; ".join(said)
