"""The planes and folds of a finish, as drawings, scenes and reports tell them."""

from __future__ import annotations

from collections.abc import Callable, Sequence

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from grading.design.area import AreaPlan
from grading.design.folds import Fold, Pane, fold_ends, folds_of, panes_of
from grading.geometry.facets import Surface

__all__ = [
    "MOST", "Fold", "Pane", "falls_words", "fold_ends", "fold_words", "folds_of", "panes_of",
    "parts_over", "span_of", "warped",
]  # fmt: skip

MOST = 6
"""Planes that are told one by one; a finish of more is told as warped."""

Region = shapely.Polygon | shapely.MultiPolygon

_TOUCH = 1e-7  # m


def warped(panes: Sequence[Pane]) -> bool:
    """Say whether there are too many planes to be told one by one."""
    return len(panes) > MOST


def span_of(panes: Sequence[Pane]) -> tuple[float, float]:
    """Return the least and the greatest fall of some planes. [ratio]"""
    falls = [pane.plane.fall for pane in panes]
    return min(falls), max(falls)


def falls_words(area: AreaPlan, write: Callable[[float], str]) -> str:
    """Say how much an area's planes fall: 2.0 %, or 2.2 % to 2.3 % where they differ.

    Parameters
    ----------
    area : AreaPlan
    write : callable
        Writes a fall. [ratio]
    """
    said = [write(fall) for fall in span_of(panes_of(area))]
    return said[0] if said[0] == said[1] else " to ".join(said)


def fold_words(folds: Sequence[Fold]) -> list[str]:
    """Return the kinds of folds with their number, such as "2 ridges"."""
    words = []
    for kind in ("ridge", "valley", "fold"):
        count = sum(fold.kind == kind for fold in folds)
        many = f"{kind}s" if kind != "valley" else "valleys"
        if count:
            words.append(f"a {kind}" if count == 1 else f"{count} {many}")
    return words


def parts_over(surface: Surface, polygon: Region) -> list[tuple[Region, Surface]]:
    """Return a polygon with the surface over it, in parts where the surface has a step.

    Parameters
    ----------
    surface : Surface
    polygon : shapely polygon or multipolygon
        [m]

    Returns
    -------
    list of (polygon, Surface)
        One part where the planes meet all along their folds; else one for each facet.
    """
    if not surface.folded:
        return [(polygon, surface)]
    regions = [_areal(polygon.intersection(facet.domain)) for facet in surface.facets]
    xy = shapely.get_coordinates([region for region in regions if not region.is_empty])
    points = shapely.points(xy)
    near = np.stack([shapely.distance(region, points) < _TOUCH for region in regions])
    levels = np.stack([plane.at(xy) for plane in surface.planes])
    high = np.where(near, levels, -np.inf).max(axis=0)
    low = np.where(near, levels, np.inf).min(axis=0)
    if float((high - low).max()) < 1e-8:
        return [(polygon, surface)]
    return [
        (region, Surface((facet,), surface.outline))
        for region, facet in zip(regions, surface.facets, strict=True)
        if not region.is_empty
    ]


def _areal(shape: BaseGeometry) -> shapely.MultiPolygon:
    parts = [part for part in shapely.get_parts(shape) if part.geom_type == "Polygon"]
    return shapely.MultiPolygon(parts)
