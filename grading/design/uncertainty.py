"""How well the numbers of a design are known, as far as they hang on the ground.

The finish is exact: it is what will be built. What is not is the ground that lies there, and so
what is dug, refilled and met at the edge. How deep the topsoil goes is as it was probed: what it
may be off by is not in here.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from functools import cached_property, partial
from typing import Literal

import numpy as np
import shapely
from msgspec import Struct, field
from shapely.geometry.base import BaseGeometry

from grading.design.area import AreaPlan
from grading.dig.drainage import WallFall
from grading.dig.hole import Dig
from grading.geometry.arrays import Floats
from grading.geometry.grids import grid_in
from grading.ground.certainty import Certainty, certainty_of, within
from grading.ground.model import Ground
from grading.ground.next_shots import places_in, telling_shots
from grading.kept import AREAS, Kept, fingerprint
from grading.site.model import Site

NODES = 400
"""Points at which grounds are drawn by lot, over all holes."""

_LEAST_NODES = 40  # of a hole

# How far beside the hole a shot may tell of it. [m] Common practice, no source: two strides.
_BESIDE = 1.5


class Interval(Struct, frozen=True):
    """What nine of ten grounds like this one give: not less than low, not more than high."""

    low: float
    high: float

    @property
    def either_way(self) -> float:
        """Half of its width."""
        return (self.high - self.low) / 2

    def holding(self, shown: float) -> Interval:
        """Return it as wide as it takes to hold what was shown: no figure lies beside its bounds.

        What cannot be less than nothing, as a volume, is only added to by errors that go either
        way, so all that they give may lie above what the readings themselves show.
        """
        return Interval(min(self.low, shown), max(self.high, shown))

    def straddles(self, limit: float) -> bool:
        """Return whether it lies on both sides of a limit."""
        return self.low < limit <= self.high


class DigInterval(Struct, frozen=True):
    """What one dig may be: cut and fill [m3], and the deepest dig [m]."""

    cut: Interval
    fill: Interval
    deepest: Interval


class NextShot(Struct, frozen=True, eq=False):
    """A place to shoot next, and what the number that it tells of would be known to.

    Attributes
    ----------
    at : (2,) float
        [m]
    halves : "cut" or "fall"
        The number.
    of : str
        The wall whose fall it is; empty for the cut of the whole job.
    before, after : float
        Its plus-or-minus without this shot and with it, the shots before it taken. [m3 or ratio]
    """

    at: Floats
    halves: Literal["cut", "fall"]
    of: str
    before: float
    after: float


class _Hole(Struct, frozen=True, eq=False):
    """An area's hole, or as many points of it as are looked at.

    xy : (k, 2) points over the widest dig. own : where they stand among all. level, organics : (k,)
    of the ground there. [m]
    """

    area: AreaPlan
    xy: Floats
    own: slice
    level: Floats
    organics: Floats

    def weights(self, dig: Dig) -> Floats:
        """Return the plan area (k,) that each point stands for in a dig; 0 outside it. [m2]"""
        inside = np.atleast_1d(shapely.intersects_xy(dig.polygon, self.xy[:, 0], self.xy[:, 1]))
        return np.asarray(inside * (dig.dig_area / max(int(inside.sum()), 1)))

    def above(self, dig: Dig) -> Floats:
        """Return how far the ground stands above a dig's formation, (k,). [m]"""
        return np.asarray(self.level - dig.formation.at(self.xy))


class Uncertainty(Struct, frozen=True, eq=False, dict=True):
    """The plus-or-minus of a design's numbers.

    Attributes
    ----------
    certainty : Certainty
        Of the ground.
    site : Site
    ground : Ground
    areas : sequence of AreaPlan
    kept : Kept
        What was made before of the same.
    """

    certainty: Certainty
    site: Site
    ground: Ground
    areas: Sequence[AreaPlan]
    kept: Kept = field(default_factory=Kept)

    @cached_property
    def _holes(self) -> tuple[_Hole, ...]:
        wide = [_widest(area) for area in self.areas]
        total = sum(shape.area for shape in wide)
        found, start = [], 0
        for area, shape in zip(self.areas, wide, strict=True):
            xy = _grid(shape, max(int(NODES * shape.area / total), _LEAST_NODES))
            ground = self.ground.under(area.area.name)
            level, organics = ground.elevation(xy), ground.organics_at(xy)
            known = np.isfinite(level)
            xy, level, organics = xy[known], level[known], organics[known]
            found.append(_Hole(area, xy, slice(start, start + len(xy)), level, organics))
            start += len(xy)
        return tuple(found)

    @cached_property
    def _xy(self) -> Floats:
        return np.concatenate([hole.xy for hole in self._holes])

    @cached_property
    def _off(self) -> Floats:
        return self.certainty.draws(self._xy)

    @cached_property
    def deviation(self) -> float:
        """The median standard deviation of the ground's level in the holes. [m]"""
        return float(np.median(self.certainty.deviation(self._xy)))

    @cached_property
    def digs(self) -> Mapping[tuple[str, str], DigInterval]:
        """Of every dig, by the names of the area and of the base system."""
        off = self._off
        return {
            (hole.area.area.name, name): _between(hole, dig, off[:, hole.own])
            for hole in self._holes
            for name, dig in hole.area.digs.items()
        }

    @cached_property
    def cut(self) -> Interval:
        """Everything dug on the bases chosen. [m3]"""
        off = self._off
        cut = sum(_cuts(hole, hole.area.chosen_dig, off[:, hole.own]) for hole in self._holes)
        return _around(sum(hole.area.chosen_dig.cut for hole in self._holes), np.asarray(cut))

    def level(self, xy: Floats) -> Floats:
        """Return the plus-or-minus (k,) of the level of the ground at points (k, 2). [m]"""
        return self.certainty.either_way(xy)

    def level_with_shot(self, at: Floats) -> float:
        """Return what the plus-or-minus of the level at a point (2,) would be with a shot there."""
        return float(self.certainty.with_shots(at[None]).either_way(at[None])[0])

    def fall(self, wall: WallFall) -> Interval | None:
        """Return the fall of the ground beyond the paving; None where none is told. [ratio]"""
        if wall.beyond is None:
            return None
        xy, by = _strip(wall)
        key = self.certainty, fingerprint(xy, by)
        reach = self.kept.once("of sum", key, lambda: self.certainty.of_sum(xy, by), AREAS)
        return Interval(wall.beyond.fall - reach, wall.beyond.fall + reach)

    @cached_property
    def next_shots(self) -> tuple[NextShot, ...]:
        """The three shots that tell the most of the cut, the most telling first."""
        if self.site.done is not None:
            return ()
        by = np.concatenate([_by_cut(hole) for hole in self._holes])
        holes = shapely.union_all([hole.area.chosen_dig.polygon for hole in self._holes])
        places = self._open(shapely.buffer(holes, _BESIDE))
        found, reach = self._telling(self._xy, by, places)
        # a cut with a zero line narrows as its part without one does
        return _told(found, self.cut.either_way * reach / reach[0], "cut", "")

    def settling(self, wall: WallFall, limit: float) -> tuple[NextShot, ...]:
        """Return shots that tell on which side of a limit the ground beyond a wall falls.

        As few as would tell it, were the fall what it is taken to be; three where none would.
        """
        if wall.beyond is None:
            return ()
        xy, by = _strip(wall)
        near = shapely.buffer(shapely.LineString(xy), _BESIDE)
        places = np.concatenate((xy, self._open(near)))
        found, reach = self._telling(xy, by, places)
        enough = np.flatnonzero(reach < abs(wall.beyond.fall - limit))
        told = _told(found, reach, "fall", wall.wall.name)
        return told[: enough[0]] if len(enough) else told

    def _telling(self, xy: Floats, by: Floats, places: Floats) -> tuple[Floats, Floats]:
        """Return the shots that tell the most of a number: see `telling_shots`."""
        made = partial(telling_shots, self.certainty, xy, by, places)
        key = self.certainty, fingerprint(xy, by, places)
        return self.kept.once("telling shots", key, made, AREAS)

    def _open(self, where: BaseGeometry) -> Floats:
        """Return places (k, 2) of a shape where a rod can stand: on the survey, off the house."""
        off_house = shapely.difference(where, self.site.body(_BESIDE))
        return places_in(off_house & self.ground.surveyed)


def _widest(area: AreaPlan) -> BaseGeometry:
    return shapely.union_all([dig.polygon for dig in area.digs.values()])


def _grid(shape: BaseGeometry, count: int) -> Floats:
    inside = grid_in(shape, float(np.sqrt(shape.area / count)))
    return inside if len(inside) else shapely.get_coordinates(shape.representative_point())


def _cuts(hole: _Hole, dig: Dig, off: Floats) -> Floats:
    """Return what is dug in grounds that miss the surface by so much, (d,), less what it tells."""
    above, weight = hole.above(dig), hole.weights(dig)
    return np.asarray(
        (np.maximum(above + off, hole.organics) - np.maximum(above, hole.organics)) @ weight
    )


def _between(hole: _Hole, dig: Dig, off: Floats) -> DigInterval:
    above, weight = hole.above(dig), hole.weights(dig)
    fill = np.maximum(hole.organics - above - off, 0.0) - np.maximum(hole.organics - above, 0.0)
    inside = weight > 0
    deep, told = np.zeros(len(off)), np.zeros(1)
    if inside.any():
        deep = np.maximum(above + off, hole.organics)[:, inside].max(axis=1)
        told = np.maximum(above, hole.organics)[inside]
    return DigInterval(
        _around(dig.cut, _cuts(hole, dig, off)),
        _around(dig.fill, np.asarray(fill @ weight)),
        _around(dig.max_dig, deep - told.max()),
    )


def _around(shown: float, off: Floats) -> Interval:
    """Return the interval of a number that is nowhere below nothing, and holds what is shown."""
    low, high = within(off)
    return Interval(max(shown + min(low, 0.0), 0.0), shown + max(high, 0.0))


def _by_cut(hole: _Hole) -> Floats:
    """Return how much more is dug for each metre that the ground lies higher, (k,). [m2]"""
    dig = hole.area.chosen_dig
    weight = hole.weights(dig)
    dug = weight * (hole.above(dig) > hole.organics)
    # where the topsoil alone is dug it is the refill that hangs on the ground
    return dug if dug.any() else weight


def _strip(wall: WallFall) -> tuple[Floats, Floats]:
    """Return the ends (2, 2) of the strip that a wall is told the fall of, and its weights (2,)."""
    beyond = wall.beyond
    assert beyond is not None
    ends = np.stack((beyond.at, beyond.at + beyond.length * wall.wall.outward))
    return ends, np.array([1.0, -1.0]) / beyond.length


def _told(
    places: Floats, reach: Floats, halves: Literal["cut", "fall"], of: str
) -> tuple[NextShot, ...]:
    widths = reach.tolist()
    return tuple(
        NextShot(at, halves, of, before, after)
        for at, before, after in zip(places, widths[:-1], widths[1:], strict=True)
    )


def uncertainty_of(
    site: Site, ground: Ground, areas: Sequence[AreaPlan], kept: Kept | None = None
) -> Uncertainty | None:
    """Return the plus-or-minus of a design's numbers; None where its spots are too few to say.

    Parameters
    ----------
    site : Site
    ground : Ground
    areas : sequence of AreaPlan
    kept : Kept, optional
        What was made before of the same.
    """
    kept = Kept() if kept is None else kept
    if ground.measured is None or not areas:
        return None
    holes = shapely.union_all([_widest(area) for area in areas])
    towards = shapely.get_coordinates(shapely.segmentize(holes, _BESIDE))
    certainty = certainty_of(ground.measured, towards, kept)
    return None if certainty is None else Uncertainty(certainty, site, ground, areas, kept)
