"""Strings along the edges of the paving, a whole measure above the finish, and their boards."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import pairwise

import numpy as np
import shapely
from msgspec import Struct

from grading.catalogue.rules import Limits
from grading.design.area import AreaPlan
from grading.design.folds import folds_of
from grading.design.model import Design
from grading.design.points import Points
from grading.geometry.arrays import Floats
from grading.geometry.outline import edge_lines
from grading.geometry.tolerances import TOGETHER, TOUCH
from grading.site.house import HOUSE_STRIP
from grading.units import INCH, Unit

STEP = {"ft": INCH, "m": 0.01}
"""A string stands a whole number of these above the finish. [m]"""

_SHORTEST = 0.3  # m: along a shorter edge no string is stretched
_STATIONS = 41  # places along a string that its height above the ground is looked at


class Board(Struct, frozen=True, eq=False):
    """One end of a string: a batter board beyond the hole, or a nail in the wall of the house.

    Attributes
    ----------
    corner : str
        The corner of the paving that the string passes before it.
    beyond : float
        How far past that corner it is, along the string; 0 at the wall. [m]
    at : (2,) float
        [m]
    z : float
        Of the string there. [m]
    above : float or None
        Of the string above the ground of today; None where that was not surveyed. [m]
    on_house : bool
        Whether the house is in the way of a board: the string is tied to a nail at its wall.
    """

    corner: str
    beyond: float
    at: Floats
    z: float
    above: float | None
    on_house: bool


class String(Struct, frozen=True, eq=False):
    """A string along a straight edge of the paving, in one plane of the finish.

    Attributes
    ----------
    start, end : Board
    over : float
        How far it is above the finish, everywhere. [m]
    length : float
        Between the corners. [m]
    drop : float
        From the first corner to the second; below zero where it rises. [m]
    chalked : bool
        Whether it runs along the wall of the house: a chalk line there instead.
    """

    start: Board
    end: Board
    over: float
    length: float
    drop: float
    chalked: bool

    @property
    def name(self) -> str:
        """What it is called: by the corners that it passes."""
        return f"{self.start.corner}-{self.end.corner}"


def strings_of(
    design: Design, area: AreaPlan, limits: Limits, points: Points
) -> tuple[String, ...]:
    """Return the strings of an area, all the same height above its finish.

    Parameters
    ----------
    design : Design
    area : AreaPlan
    limits : Limits
    points : Points
        The lettered points of the area.
    """
    lines = [line for line in _straight(area) if float(np.hypot(*(line[1] - line[0]))) >= _SHORTEST]
    past = area.chosen_dig.system.over_dig(limits) + limits["board-offset"]
    body = design.site.body(HOUSE_STRIP)
    raw = [_ends(area, line, past, body, points) for line in lines]
    over = _over(design, raw, limits["string-clear"], design.site.unit)
    return tuple(_string(design, ends, over) for ends in raw)


class _Ends(Struct, frozen=True, eq=False):
    """A string's corners and ends (2, 2) [m], the levels of the finish's plane at the ends."""

    corners: tuple[str, str]
    line: Floats
    ends: Floats
    z: Floats
    drop: float
    on_house: tuple[bool, bool]
    chalked: bool


def _straight(area: AreaPlan) -> Iterator[Floats]:
    """Give the straight edges of an outline, cut where folds of the finish cross them."""
    marks = [fold.line for fold in folds_of(area)]
    for line in edge_lines(area.area.outline):
        if len(line) > 2:  # the chords of an arc
            continue
        path = shapely.LineString(line)
        cuts = {0.0, float(path.length)}
        for mark in marks:
            for end in mark:
                if path.distance(shapely.Point(end)) <= TOGETHER:
                    cuts.add(float(path.project(shapely.Point(end))))
        kept = sorted(cuts)
        kept = [each for k, each in enumerate(kept) if k == 0 or each - kept[k - 1] > TOGETHER]
        for one, other in pairwise(kept):
            yield np.array(
                [path.interpolate(one).coords[0], path.interpolate(other).coords[0]], float
            )


def _ends(
    area: AreaPlan, line: Floats, past: float, body: shapely.Geometry, points: Points
) -> _Ends:
    length = float(np.hypot(*(line[1] - line[0])))
    along = (line[1] - line[0]) / length
    inner = line + np.array([along, -along]) * min(TOGETHER, length / 4)
    z = np.asarray(area.finish.surface.at(inner), float)
    slope = (z[1] - z[0]) / float(np.hypot(*(inner[1] - inner[0])))
    beyond, on_house = [], []
    middle = shapely.Point(line.mean(axis=0))
    chalked = not shapely.is_empty(body) and bool(shapely.distance(body, middle) <= TOGETHER)
    for corner, way in ((line[0], -along), (line[1], along)):
        free = shapely.LineString([corner + way * TOGETHER, corner + way * past])
        at_house = chalked or bool(shapely.intersects(free, shapely.buffer(body, -TOUCH)))
        beyond.append(0.0 if at_house else past)
        on_house.append(at_house)
    ends = np.array([line[0] - along * beyond[0], line[1] + along * beyond[1]])
    at_corner = z[0] - slope * min(TOGETHER, length / 4)
    levels = np.array([at_corner - slope * beyond[0], at_corner + slope * (length + beyond[1])])
    places = on_house[0], on_house[1]
    names = points.nearest(line[0]), points.nearest(line[1])
    return _Ends(names, line, ends, levels, -slope * length, places, chalked)


def _over(design: Design, raw: Sequence[_Ends], clear: float, unit: Unit) -> float:
    """Return the least whole measure above the finish at which every string clears the ground."""
    need = clear
    for each in raw:
        if each.chalked:
            continue
        share = np.linspace(0.0, 1.0, _STATIONS)[:, None]
        xy = each.ends[0] + share * (each.ends[1] - each.ends[0])
        finish = each.z[0] + share[:, 0] * (each.z[1] - each.z[0])
        ground = np.asarray(design.ground.elevation(xy), float)
        known = np.isfinite(ground)
        if known.any():
            need = max(need, float((ground[known] - finish[known]).max()) + clear)
    step = STEP[unit]
    return float(np.ceil(need / step - TOUCH) * step)


def _string(design: Design, ends: _Ends, over: float) -> String:
    ground = np.asarray(design.ground.elevation(ends.ends), float)
    boards = []
    for k in (0, 1):
        z = float(ends.z[k]) + over
        above = z - float(ground[k]) if np.isfinite(ground[k]) else None
        beyond = float(np.hypot(*(ends.ends[k] - ends.line[k])))
        boards.append(Board(ends.corners[k], beyond, ends.ends[k], z, above, ends.on_house[k]))
    length = float(np.hypot(*(ends.line[1] - ends.line[0])))
    return String(boards[0], boards[1], over, length, ends.drop, ends.chalked)
