"""Where two planes of paving meet: a line that may gather water, and must then lead it away."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import combinations, pairwise

import numpy as np
import shapely
from msgspec import Struct

from grading.finish.layout import Block
from grading.finish.wishes.model import Wish, wish_of
from grading.finish.wishes.seams import Seam
from grading.geometry.arrays import Floats
from grading.geometry.tolerances import FLAT
from grading.site.model import House
from grading.site.walls import THIN
from grading.units import percent

RULE = "valley-fall"
_SHORT = THIN  # m: a line shorter than this holds nothing


class Crease(Struct, frozen=True, eq=False):
    """A straight line along which two planes of paving meet flush.

    Attributes
    ----------
    line : (2, 2) float
        [m]
    name : str
        What it is called in a sentence.
    area : str
        The area that is told of it.
    towards, onwards : (n,) float
        Rows on the unknowns: the fall of the plane on one side towards the line, and that of the
        plane on the other side on in the same direction. [ratio]
    along : (n,) float
        Row: the fall from the line's first end to its second. [ratio]
    open : (bool, bool)
        Whether water can leave at each end; it cannot at the house.
    least : float
        The fall along it that leads water away. [ratio]
    """

    line: Floats
    name: str
    area: str
    towards: Floats
    onwards: Floats
    along: Floats
    open: tuple[bool, bool]
    least: float

    def gathers(self, unknowns: Floats) -> bool:
        """Say whether water comes to the line from both sides."""
        towards, onwards = self.towards @ unknowns, self.onwards @ unknowns
        return bool(towards > FLAT and onwards < -FLAT)

    def fall(self, unknowns: Floats) -> float:
        """Return the fall along the line to an open end; negative where it runs from there."""
        along = float(self.along @ unknowns)
        ways = [way for way, free in zip((-along, along), self.open, strict=True) if free]
        return max(ways, default=-abs(along))

    def stands(self, unknowns: Floats) -> bool:
        """Say whether water that comes to the line would stand on it."""
        return self.gathers(unknowns) and self.fall(unknowns) < self.least - FLAT

    def ways(self) -> list[Wish]:
        """Return wishes of which one must be met: lead the water away, or gather none."""
        least, inf = self.least, np.inf
        led = [
            self._wish(
                sign * self.along, least, inf, f"a fall of {percent(least)} along {self.name}"
            )
            for sign, free in zip((-1, 1), self.open, strict=True)
            if free
        ]
        shed = [
            self._wish(self.onwards, 0.0, inf, f"water that runs on across {self.name}"),
            self._wish(-self.towards, 0.0, inf, f"water that runs on across {self.name}"),
        ]
        return led + shed

    def _wish(self, row: Floats, lower: float, upper: float, text: str) -> Wish:
        told = f"fall along or across {self.name}: {{to}} at most, not {percent(lower)}"
        return wish_of(
            RULE, text, told, row[None], lower, upper, about=self.name, limit=lower, at_least=True,
            slope=True, area=self.area,
        )  # fmt: skip


def creases_of(
    blocks: Sequence[Block], seams: Sequence[Seam], house: House | None, least: float
) -> tuple[Crease, ...]:
    """Return the lines along which planes of areas solved together meet flush.

    Parameters
    ----------
    blocks : sequence of Block
    seams : sequence of Seam
        Between them.
    house : House or None
        Water cannot leave at its walls.
    least : float
        The fall along a line that leads water away. [ratio]

    Notes
    -----
    A warp is one ruled surface that strips stand for; the lines between them are none of its own.
    """
    walls = shapely.MultiLineString([[a, b] for a, b, _ in house.segments()] if house else [])
    found: list[Crease] = []
    for block in blocks:
        if block.shape.span or block.area.plane is not None:
            continue
        name = f"the fold of {block.area.name}"
        for one, two in combinations(block.paved_facets, 2):
            domains = block.shape.domains
            shared = shapely.intersection(domains[one].boundary, domains[two].boundary)
            inside = shapely.line_merge(shapely.intersection(shared, block.area.polygon))
            for part in shapely.get_parts(inside):
                if part.length > _SHORT:
                    line = shapely.get_coordinates(part)[[0, -1]]
                    found.append(_crease(line, name, (block, one), (block, two), walls, least))
    named = {block.area.name: block for block in blocks}
    for seam in seams:
        if seam.step is not None:
            continue
        upper, lower = named[seam.upper], named[seam.lower]
        name = f"the edge between {seam.upper} and {seam.lower}"
        for run in seam.runs:
            for line in _parted(run, (upper, lower)):
                middle = line.mean(axis=0)[None]
                sides = [(block, int(block.facet_at(middle)[0])) for block in (upper, lower)]
                found.append(_crease(line, name, sides[0], sides[1], walls, least))
    return tuple(found)


def _parted(run: Floats, blocks: Sequence[Block]) -> list[Floats]:
    """Return a straight run in pieces, cut where folds of either side cross it."""
    line = shapely.LineString(run)
    folds = shapely.union_all([each.boundary for one in blocks for each in one.shape.domains])
    crossed = shapely.get_coordinates(shapely.intersection(line, folds))
    at = shapely.line_locate_point(line, shapely.points(np.vstack([run, crossed])))
    ends = shapely.get_coordinates(shapely.line_interpolate_point(line, np.unique(at)))
    return [np.array(pair) for pair in pairwise(ends) if np.hypot(*(pair[1] - pair[0])) > _SHORT]


def _crease(
    line: Floats, name: str, one: tuple[Block, int], two: tuple[Block, int],
    walls: shapely.Geometry, least: float,
) -> Crease:  # fmt: skip
    (block, facet), (other, beyond) = one, two
    along = (line[1] - line[0]) / np.hypot(*(line[1] - line[0]))
    across = np.array([-along[1], along[0]])
    # From the first side to the second.
    beside = shapely.Point(line.mean(axis=0) + across * _SHORT / 2)
    sides = [
        shapely.distance(each.shape.domains[number].intersection(each.area.polygon), beside)
        for each, number in (one, two)
    ]
    if sides[0] < sides[1]:
        across = -across
    start, end = (
        bool(shapely.is_empty(walls) or shapely.distance(walls, shapely.Point(point)) > THIN)
        for point in line
    )
    return Crease(
        line=line,
        name=name,
        area=block.area.name,
        towards=block.slope_rows(across, (facet,))[0],
        onwards=other.slope_rows(across, (beyond,))[0],
        along=block.slope_rows(along, (facet,))[0],
        open=(start, end),
        least=least,
    )
