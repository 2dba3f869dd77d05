"""The planes and folds of a finish as a person tells them: facets in one plane are one."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import combinations, pairwise

import numpy as np
import shapely
from msgspec import Struct
from shapely.geometry.base import BaseGeometry

from grading.design.area import AreaPlan
from grading.geometry.arrays import Floats
from grading.geometry.plane import Plane
from grading.geometry.tolerances import SEEN, TOUCH

MOST = 6
"""Planes that are told one by one; a finish of more is told as warped."""

_BEND = 1e-4  # own: ratio, a change of slope that is seen
_SHORT = 0.01  # m


class Pane(Struct, frozen=True):
    """One plane of a finish, the part of the plan that it has, and the paving on it. [m]"""

    plane: Plane
    domain: BaseGeometry
    region: BaseGeometry

    @property
    def place(self) -> Floats:
        """A point of the paving well inside, (2,). [m]"""
        part = max(shapely.get_parts(self.region), key=lambda each: float(each.area))
        circle = shapely.maximum_inscribed_circle(part, 0.05)
        return np.asarray(circle.coords[0])


class Fold(Struct, frozen=True):
    """A straight line along which two planes of a finish meet, its upper end first.

    Attributes
    ----------
    line : (2, 2) float
        [m]
    kind : "ridge", "valley" or "fold"
        Water leaves it on both sides, comes to it from both, or runs across it.
    fall : float
        Along it. [ratio]
    levels : (2,) float
        Of the finish at its ends. [m]
    bend : float
        Change of slope across it. [ratio]
    """

    line: Floats
    kind: str
    fall: float
    levels: Floats
    bend: float


def panes_of(area: AreaPlan) -> tuple[Pane, ...]:
    """Return the planes of an area's finish, facets in one plane together, in order."""
    surface = area.finish.surface
    if not surface.folded:
        return (Pane(surface.main, surface.facets[0].domain, area.outline),)
    left, bottom, right, top = area.outline.bounds
    corners = np.array([[left, bottom], [right, bottom], [right, top], [left, top]])
    groups: list[tuple[Plane, list[BaseGeometry]]] = []
    for facet in surface.paved:
        levels = facet.plane.at(corners)
        for plane, domains in groups:
            if np.abs(plane.at(corners) - levels).max() < SEEN:
                domains.append(facet.domain)
                break
        else:
            groups.append((facet.plane, [facet.domain]))
    if len(groups) == 1:
        return (Pane(groups[0][0], shapely.union_all(groups[0][1]), area.outline),)
    panes = []
    for plane, domains in groups:
        domain = shapely.union_all(domains) if len(domains) > 1 else domains[0]
        panes.append(Pane(plane, domain, domain.intersection(area.outline)))
    return tuple(panes)


def folds_of(area: AreaPlan) -> tuple[Fold, ...]:
    """Return the folds of an area's finish inside its paving."""
    panes = panes_of(area)
    folds = []
    for one, two in combinations(panes, 2):
        # Two domains that were cut apart may miss each other's sides by rounding.
        beside = two.domain.boundary.buffer(TOUCH, cap_style="flat")
        shared = one.domain.boundary.intersection(beside).intersection(area.outline)
        lines = [part for part in shapely.get_parts(shared) if part.length > _SHORT]
        if not lines:
            continue
        merged = shapely.simplify(shapely.line_merge(shapely.MultiLineString(lines)), TOUCH * 10)
        for part in shapely.get_parts(merged):
            for ends in pairwise(shapely.get_coordinates(part)):
                fold = _fold(np.array(ends), one, two)
                if fold is not None:
                    folds.append(fold)
    return tuple(folds)


def _fold(line: Floats, one: Pane, two: Pane) -> Fold | None:
    long = float(np.hypot(*(line[1] - line[0])))
    if long < _SHORT:
        return None
    along = (line[1] - line[0]) / long
    across = np.array([-along[1], along[0]])
    beside = shapely.Point(line.mean(axis=0) + across * _SHORT)
    if one.domain.distance(beside) < two.domain.distance(beside):
        across = -across
    before, after = float(one.plane.gradient @ across), float(two.plane.gradient @ across)
    if abs(after - before) < _BEND:
        return None
    kind = "fold"
    if before >= 0 >= after:
        kind = "ridge"
    elif before <= 0 <= after:
        kind = "valley"
    levels = one.plane.at(line)
    if levels[1] > levels[0]:
        line, levels = line[::-1], levels[::-1]
    return Fold(line, kind, float(levels[0] - levels[1]) / long, levels, after - before)


def fold_ends(area: AreaPlan, folds: Sequence[Fold], apart: float = 0.05) -> list[Floats]:
    """Return the ends of folds (2,) that are no corner of the paving, each once. [m]

    Parameters
    ----------
    area : AreaPlan
    folds : sequence of Fold
    apart : float
        Points nearer than this are one. [m]
    """
    corners = shapely.get_coordinates(area.outline)
    found: list[Floats] = []
    for point in (end for fold in folds for end in fold.line):
        others = np.concatenate([corners, *(known[None] for known in found)])
        if np.hypot(*(others - point).T).min() > apart:
            found.append(point)
    return found


def warped(panes: Sequence[Pane]) -> bool:
    """Say whether there are too many planes to be told one by one."""
    return len(panes) > MOST


def span_of(panes: Sequence[Pane]) -> tuple[float, float]:
    """Return the least and the greatest fall of some planes. [ratio]"""
    falls = [pane.plane.fall for pane in panes]
    return min(falls), max(falls)
