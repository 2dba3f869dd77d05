"""What a site may write of an outline's size, of a fold and of the edges of a warp."""

from __future__ import annotations

import numpy as np
import shapely

from grading.files.fields import UnfitError
from grading.geometry.arrays import Floats
from grading.geometry.outline import OutlineError
from grading.geometry.tolerances import FLAT
from grading.units import FOOT, INCH, Unit, length, number, size
from grading.units import area as area_text

LEAST_WIDTH = 3 * INCH
"""Narrower than a paver, an outline is a slip of the hand. [m]"""
LEAST_AREA = (FOOT * 2 / 3) ** 2
"""Less than four pavers of {4 by 8 in} is no paving. [m2]"""
LEAST_LINE = FOOT / 2
"""Two points nearer than this give no direction that a string could be set by. [m]"""
_INSIDE = INCH  # m: a fold nearer to the edge than this parts nothing off
_MOST_BESIDE = 0.5  # share of the paving that may lie beyond the edges of its warp

USED_BY = {
    "fold": ("ridge", "valley", "hinge"),
    "corner": ("fan",),
    "planes": ("fan",),
    "between": ("warp",),
}
"""The shapes that each key of a shape is for."""


def check_size(polygon: shapely.Polygon, unit: Unit) -> None:
    """Refuse an outline that is too small or too narrow to be paved.

    Raises
    ------
    UnfitError
    """
    mend = "Check its corners, and the unit that they are written in."
    if polygon.area < LEAST_AREA:
        raise UnfitError(
            f"{area_text(LEAST_AREA, unit)} of paving or more",
            mend,
            found=f"an outline of {_small_area(polygon, unit)}",
        )
    if shapely.is_empty(polygon.buffer(-LEAST_WIDTH / 2, join_style="mitre")):
        raise UnfitError(
            f"paving at least {size(LEAST_WIDTH, unit)} wide",
            mend,
            found=f"an outline that is nowhere {size(LEAST_WIDTH, unit)} wide",
        )


def _small_area(polygon: shapely.Polygon, unit: Unit) -> str:
    told = area_text(polygon.area, unit)
    none = area_text(0.0, unit)
    return f"less than {area_text(LEAST_AREA, unit)}" if told == none else told


def unfit_outline(error: OutlineError, key: str, unit: Unit) -> UnfitError:
    """Return what is wrong with an outline in the file's own numbers."""
    found = error.found
    if error.at is not None:
        x, y = (number(value, unit) for value in error.at)
        found = f"{found} at [{x}, {y}]"
    return UnfitError(error.expected, error.mend, found=found, key=key)


def check_fold(fold: Floats, polygon: shapely.Polygon | None, unit: Unit) -> None:
    """Refuse a fold that is no straight line across the paving.

    Parameters
    ----------
    fold : (n, 2) float
        [m]
    polygon : shapely polygon or None
        The outline, None where it is wrong itself. [m]
    unit : "ft" or "m"
        What the sentence is written in.

    Raises
    ------
    UnfitError
    """
    _check_line(fold, "the fold", unit)
    if polygon is None:
        return
    start, along = fold[0], (fold[1] - fold[0]) / np.hypot(*(fold[1] - fold[0]))
    off = (shapely.get_coordinates(polygon) - start) @ [-along[1], along[0]]
    crosses = shapely.intersection(shapely.LineString(fold), polygon).length > 0
    if not crosses or off.max() < _INSIDE or off.min() > -_INSIDE:
        raise UnfitError(
            "a line across the paving",
            "Draw the fold through the area, with paving on both sides of it.",
            found="a line along the edge" if crosses else "a line outside the outline",
        )


def check_between(
    edges: tuple[Floats, Floats], polygon: shapely.Polygon | None, unit: Unit
) -> None:
    """Refuse two edges that no surface can be ruled between over the paving.

    Parameters
    ----------
    edges : two of (n, 2) float
        [m]
    polygon : shapely polygon or None
        The outline, None where it is wrong itself. [m]
    unit : "ft" or "m"
        What the sentence is written in.

    Raises
    ------
    UnfitError
    """
    for place, edge in enumerate(edges, start=1):
        _check_line(edge, f"edge {place}", unit, f"[{place}]")
    first, second = edges
    opposite = "Give two edges that lie opposite each other, such as two sides of the area."
    across = [shapely.LineString([first[end], second[end]]) for end in (0, 1)]
    if shapely.crosses(*across):
        raise UnfitError(
            "two edges that run the same way",
            "Give the points of the second the other way round.",
            found="two edges that run opposite ways",
        )
    if shapely.LineString(first).distance(shapely.LineString(second)) < LEAST_LINE:
        apart = f"two edges at least {size(LEAST_LINE, unit)} apart"
        raise UnfitError(apart, opposite, found="two edges that meet, cross or are one")
    corners = np.array([first[0], first[1], second[1], second[0]])
    if not _convex(corners):
        raise UnfitError(
            "two edges that face each other",
            opposite,
            found="two edges that do not face each other",
        )
    if polygon is None:
        return
    ruled = shapely.intersection(shapely.Polygon(corners), polygon).area
    if ruled < (1 - _MOST_BESIDE) * polygon.area:
        raise UnfitError(
            "two edges with the paving between them",
            opposite,
            found="two edges beside the area"
            if ruled == 0
            else "two edges beside most of the area",
        )


def _check_line(line: Floats, what: str, unit: Unit, key: str = "") -> None:
    if len(line) != 2:
        found = "one point" if len(line) == 1 else f"{len(line) or 'no'} points"
        mend = "It is one straight line: give its two ends."
        raise UnfitError(f"two points of {what}", mend, found=found, key=key)
    long = float(np.hypot(*(line[1] - line[0])))
    if long < LEAST_LINE:
        raise UnfitError(
            f"two points at least {size(LEAST_LINE, unit)} apart",
            "Give the two ends of the line.",
            found=f"two points {length(long, unit)} apart" if long else "one point twice",
            key=key,
        )


def _convex(corners: Floats) -> bool:
    """Say whether corners (4, 2) in turn go round a convex shape, none of them straight."""
    sides = np.roll(corners, -1, axis=0) - corners
    sides = sides / np.hypot(*sides.T)[:, None]
    after = np.roll(sides, -1, axis=0)
    turns = sides[:, 0] * after[:, 1] - sides[:, 1] * after[:, 0]
    return bool((turns > FLAT).all() or (turns < -FLAT).all())
