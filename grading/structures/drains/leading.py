"""How a pipe is led from where its water begins to a place that lies low enough."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import shapely

from grading.conditions.outlets import LowPlace, low_places
from grading.design.area import AreaPlan
from grading.design.model import Design
from grading.dig.hole import Dig
from grading.geometry.arrays import Bools, Floats
from grading.geometry.tolerances import SOLVED, TOGETHER, TOUCH
from grading.structures.drains.model import Led, PipeRun
from grading.units import FOOT

EVERY = 0.25
"""How often a pipe is looked at along its way. [m]"""

DAYLIGHT = 5 * FOOT
"""The last feet of a pipe, over which it comes up to the ground: common practice, no source. [m]"""

AT_EDGE = FOOT / 2
"""A pipe no farther inside the edge of paving need not pass under its base. [m]"""

_BEHIND = 10 * FOOT  # of a house with an open foundation line, how much no pipe goes through
_TRIED = 8  # places, the nearest first, that a pipe is followed to


class Yard:
    """What a pipe of an area passes under: the ground, and the holes of the paving.

    Parameters
    ----------
    plan : Design
    area : AreaPlan
    dig : Dig
        Of this area; others are dug for their own.
    in_stone : bool
        Whether its pipe lies in the stone of its own base, and not below that.
    """

    def __init__(self, plan: Design, area: AreaPlan, dig: Dig, *, in_stone: bool = False) -> None:
        self.plan, self.area, self.dig = plan, area, dig
        self._in_stone = in_stone
        outlines = [each.outline for each in plan.areas]
        self._paving = shapely.buffer(shapely.union_all(outlines), -AT_EDGE)
        self._ground = plan.ground.under(area.name)

    def tops(self, xy: Floats) -> tuple[Floats, Bools]:
        """Return what a trench is dug from at points (k, 2), and whether paving is built there.

        The bottom of a hole inside it, the ground elsewhere; where that was not surveyed it is
        carried on from the nearest point that was. [m]
        """
        top = _carried_on(self.plan.ground.elevation(xy))
        stripped = top - self.organics(xy)
        paved = np.zeros(len(xy), dtype=bool)
        for each in self.plan.areas:
            dig = self.dig if each.name == self.area.name else each.chosen_dig
            inside = np.asarray(shapely.intersects_xy(dig.polygon, xy))
            if inside.any():
                top[inside] = np.minimum(dig.formation.at(xy[inside]), stripped[inside])
                paved |= inside
        return top, paved

    def _inside(self, xy: Floats) -> Bools:
        return np.asarray(shapely.intersects_xy(self.dig.polygon, xy))

    def organics(self, xy: Floats) -> Floats:
        """Return the depth of topsoil at points (k, 2). [m]"""
        return np.nan_to_num(self._ground.organics_at(xy))

    def led(
        self, start: Floats, via: Sequence[tuple[float, float]] | None, most: float,
        diameter: float, *, outlet: str | None = None, own: str = "",
    ) -> Led:  # fmt: skip
        """Return where a pipe is led to: the nearest place that lies low enough.

        Parameters
        ----------
        start : (2,) float
            Where it begins. [m]
        via : sequence of (x, y), optional
            Where it turns. [m]
        most : float
            The highest that its invert may be there. [m]
        diameter : float
            [m]
        outlet : str, optional
            The name of the place that it is to go to.
        own : str
            A name that it is not led to.

        Notes
        -----
        A pipe comes out at the level of the place and runs straight up from there; the slope that
        it can have is the steepest that passes below where it begins and below all paving.
        """
        turns = [np.asarray(start, dtype=float), *(np.asarray(at, dtype=float) for at in via or ())]
        least = self.plan.limits["drain-slope"]
        places = [
            place
            for place in low_places(self.plan, self.area.name, outlet)
            if place.name != own and outlet in (None, place.name)
        ]
        ways = sorted(
            (way for place in places for way in self._ways(turns, place)), key=lambda way: way[0]
        )
        lowers = [way for way in ways if (most - way[2]) / way[0] >= least - SOLVED]
        for length, at, z, place in lowers[:_TRIED]:
            found = self._followed(turns, at, z, place, most, diameter, length)
            if found.reached:
                return found
        if not ways:
            return Led("", "", np.array(turns), -np.inf, least, np.inf, np.nan)
        best = min(lowers or ways, key=lambda way: way[2] + least * way[0])
        length, at, z, place = best
        return self._followed(turns, at, z, place, most, diameter, length)

    def led_from_either(
        self, lines: Sequence[Floats], via: Sequence[tuple[float, float]] | None, most: float,
        diameter: float, *, outlet: str | None = None, own: str = "",
    ) -> tuple[Led, Floats]:  # fmt: skip
        """Return the better of the ways from the ends of lines, and the line, as `led`."""
        ways = [
            (self.led(line[-1], via, most, diameter, outlet=outlet, own=own), line)
            for line in lines
        ]
        return min(
            ways,
            key=lambda one: (not one[0].reached, one[0].length if one[0].reached else one[0].short),
        )

    def to(
        self, start: Floats, via: Sequence[tuple[float, float]] | None, end: Floats, most: float,
        diameter: float, z: float, name: str, kind: str,
    ) -> Led:  # fmt: skip
        """Return the same of a pipe that is to end at a point (2,) at a level. [m]"""
        turns = [np.asarray(start, dtype=float), *(np.asarray(at, dtype=float) for at in via or ())]
        place = LowPlace(name, kind, end[None], np.array([z]))
        length = _length([*turns, end])
        return self._followed(turns, end, z, place, most, diameter, length)

    def _ways(
        self, turns: list[Floats], place: LowPlace
    ) -> list[tuple[float, Floats, float, LowPlace]]:
        """Return the ways to a place that do not go through the house, with their lengths. [m]"""
        known = np.isfinite(place.z)
        at, z = place.at[known], place.z[known]
        if not len(at):
            return []
        last = np.broadcast_to(turns[-1], at.shape)
        lines = shapely.linestrings(np.stack([last, at], axis=1))
        far = np.hypot(*(at - last).T)
        open_ = (far > TOUCH) & ~shapely.intersects(lines, self._house)
        before = _length(turns)
        return [
            (before + float(far[k]), at[k], float(z[k]), place)
            for k in np.flatnonzero(open_).tolist()
        ]

    @property
    def _house(self) -> shapely.Geometry:
        return shapely.buffer(self.plan.site.body(_BEHIND), -TOGETHER)

    def _followed(
        self, turns: list[Floats], at: Floats, z: float, place: LowPlace, most: float,
        diameter: float, length: float,
    ) -> Led:  # fmt: skip
        line, least = np.array([*turns, at]), self.plan.limits["drain-slope"]
        if not np.isfinite(z):
            return Led(place.name, place.kind, line, np.nan, least, np.nan, z)
        if length <= TOUCH:
            return Led(place.name, place.kind, line, most - z, least, max(z - most, 0.0), z)
        xy, back = PipeRun("solid pipe", line, _backward(line), diameter).stations(EVERY)
        top, paved = self.tops(xy)
        # A pipe passes under the base of paving. One that begins in the stone of its own base
        # leaves through the side of that.
        below = np.where(self._inside(xy) & self._in_stone, 0.0, diameter)
        under = paved & np.asarray(shapely.intersects_xy(self._paving, xy))
        highest = np.where(under, top - below, np.inf)
        highest[0] = min(most, float(highest[0]))
        held = back > TOUCH
        short = float((z + least * back - highest)[held].max())
        # Under lawn it lies deeper than spades go wherever it then still comes out. Where not even
        # the least fall leaves it so deep it comes up to the ground.
        deep = ~paved & (back > DAYLIGHT)
        covered = top - self.plan.limits["pipe-cover"] - diameter
        deep &= covered >= z + least * back
        slope = float(((np.where(deep, np.minimum(covered, highest), highest) - z)[held]
                       / back[held]).min())  # fmt: skip
        return Led(place.name, place.kind, line, slope, least, short if short > SOLVED else 0.0, z)


def run_of(led: Led, most: float, diameter: float) -> PipeRun:
    """Return the pipe of a way: straight down to its outlet, or as if one lay low enough.

    Parameters
    ----------
    led : Led
    most : float
        The highest that its invert may be where it begins. [m]
    diameter : float
        [m]
    """
    back = _backward(led.line)
    lowest = led.z if led.reached else most - led.fall * back[0]
    inverts = lowest + led.fall * back
    return PipeRun("solid pipe", led.line, inverts, diameter)


def _length(points: Sequence[Floats]) -> float:
    return float(np.hypot(*np.diff(np.array(points), axis=0).T).sum()) if len(points) > 1 else 0.0


def _backward(line: Floats) -> Floats:
    """Return the distance of each point of a line from its end. [m]"""
    steps = np.hypot(*np.diff(line, axis=0).T)
    return np.concatenate([np.cumsum(steps[::-1])[::-1], [0.0]])


def _carried_on(levels: Floats) -> Floats:
    """Return levels along a line, those that are not known as the nearest that are."""
    known = np.flatnonzero(np.isfinite(levels))
    if not len(known):
        return np.zeros(len(levels))
    return np.interp(np.arange(len(levels)), known, levels[known])
