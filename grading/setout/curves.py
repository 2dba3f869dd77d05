"""Arcs marked from a string: so far along it, and so far off to the side.

The centre of a flat arc lies far away or inside the house, where no tape is held; the chord between
two points of the arc is always in the yard.
"""

from __future__ import annotations

import math
from collections.abc import Iterator

import numpy as np
import shapely
from msgspec import Struct

from grading.design.area import AreaPlan
from grading.design.points import Points
from grading.geometry.arrays import Floats
from grading.geometry.outline import Curve, curves_of
from grading.geometry.tolerances import ON_ARC
from grading.units import FOOT, Unit

STEP = {"ft": 2 * FOOT, "m": 0.5}
"""Marks along a string are so far apart: common practice, no source. [m]"""

MOST_MARKS = 9
"""A string with more marks has them twice as far apart."""

_WIDEST = math.radians(150.0)  # own: an arc that turns farther is parted at its middle
_BEYOND = 2e-3  # own: m
_REST = 0.25  # of a step: no mark is so near to the end of the string


class Mark(Struct, frozen=True):
    """How far along the string from its first point, and how far the arc is off it there. [m]"""

    along: float
    off: float


class Bent(Struct, frozen=True):
    """An arc, or half of one, from a string between two lettered points of it.

    Attributes
    ----------
    start, end : str
        The points, left and right of one who stands on the paving and looks over the arc.
    length : float
        Of the string. [m]
    outward : bool
        Whether the arc lies off the string away from the paving, or into it.
    marks : tuple of Mark
        Off = sqrt(r2 - (along - length/2)2) - sqrt(r2 - (length/2)2): the arc's height over its
        chord (chord offsets; any handbook of surveying).
    at : ((2,), (2,)) float
        The ends of the string. [m]
    side : (2,) float
        The unit vector from the string to the arc.
    """

    start: str
    end: str
    length: float
    outward: bool
    marks: tuple[Mark, ...]
    at: tuple[tuple[float, float], tuple[float, float]]
    side: tuple[float, float]

    def place(self, mark: Mark) -> tuple[Floats, Floats]:
        """Return a mark on the string, and the arc off it, (2,) each. [m]"""
        first, last = (np.array(each) for each in self.at)
        foot = first + (last - first) / self.length * mark.along
        return foot, foot + np.array(self.side) * mark.off


def bent_of(area: AreaPlan, points: Points, unit: Unit) -> tuple[Bent, ...]:
    """Return how the arcs of an area's outline are marked, in the order of the outline.

    Parameters
    ----------
    area : AreaPlan
    points : Points
        Its lettered points.
    unit : "ft" or "m"
        What marks along a string are told in.
    """
    return tuple(
        _bent(area, points, curve, first, last, unit)
        for curve in curves_of(area.area.outline)
        if _on_edge(area, curve)
        for first, last in _chords(curve)
    )


def _on_edge(area: AreaPlan, curve: Curve) -> bool:
    """Whether an arc as it was drawn is still the edge of the paving."""
    return bool(area.outline.exterior.distance(shapely.Point(curve.middle)) <= ON_ARC)


def _chords(curve: Curve) -> Iterator[tuple[Floats, Floats]]:
    start, middle, end = (np.array(each) for each in (curve.start, curve.middle, curve.end))
    half = float(np.hypot(*(middle - start))) / 2
    # Half the arc is seen from its centre under twice the angle whose sine this is.
    if 4 * math.asin(min(half / curve.radius, 1.0)) > _WIDEST:
        yield start, middle
        yield middle, end
    else:
        yield start, end


def _bent(
    area: AreaPlan, points: Points, curve: Curve, first: Floats, last: Floats, unit: Unit
) -> Bent:
    centre = np.array(curve.centre)
    half = (first + last) / 2
    away = half - centre
    # From the centre over the string to the arc: no string is the whole width of a circle.
    side = away / float(np.hypot(*away))
    top = centre + side * curve.radius
    outward = not shapely.contains_xy(area.outline, *(top + side * _BEYOND))
    # On the paving, facing the arc: its left end first.
    facing = side if outward else -side
    if float((last - first) @ np.array([facing[1], -facing[0]])) < 0:
        first, last = last, first
    length = float(np.hypot(*(last - first)))
    to_chord = math.sqrt(max(curve.radius**2 - length**2 / 4, 0.0))
    step = STEP[unit]
    while length / step > MOST_MARKS + 1:
        step *= 2
    marks = []
    along = step
    while along < length - _REST * step:
        over = math.sqrt(max(curve.radius**2 - (along - length / 2) ** 2, 0.0)) - to_chord
        marks.append(Mark(along, over))
        along += step
    return Bent(
        points.nearest(first), points.nearest(last), length, outward, tuple(marks),
        ((float(first[0]), float(first[1])), (float(last[0]), float(last[1]))),
        (float(side[0]), float(side[1])),
    )  # fmt: skip
