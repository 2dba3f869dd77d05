"""A drain as it is built: its runs with their inverts, where it comes out, and what it takes."""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import Literal, NamedTuple

import numpy as np
import shapely
from msgspec import Struct

from grading.geometry.arrays import Floats, Region, distances_along, polygons
from grading.geometry.plane import Plane
from grading.structures.model import Solid, Structure

RunKind = Literal["solid pipe", "perforated pipe", "channel"]


class PipeRun(Struct, frozen=True, eq=False):
    """One run of pipe or channel, the way that its water goes.

    Attributes
    ----------
    kind : RunKind
    line : (k, 2) float
        Its middle, from its upper end on. [m]
    inverts : (k,) float
        Elevation of the bottom inside it, at each of these. [m]
    size : float
        Inner diameter of a pipe, inner width of a channel. [m]
    """

    kind: RunKind
    line: Floats
    inverts: Floats
    size: float

    @property
    def along(self) -> Floats:
        """Distance of each of its points from its upper end, (k,). [m]"""
        return distances_along(self.line)

    @property
    def length(self) -> float:
        """[m]"""
        return float(self.along[-1])

    def stations(self, every: float) -> tuple[Floats, Floats]:
        """Return points along it (m, 2), and its invert at each, (m,). [m]"""
        count = max(int(np.ceil(self.length / every)), 1)
        at = np.unique(np.concatenate([np.linspace(0.0, self.length, count + 1), self.along]))
        xy = np.column_stack([np.interp(at, self.along, self.line[:, axis]) for axis in (0, 1)])
        return xy, np.interp(at, self.along, self.inverts)

    def solids(
        self, material: str, width: float, top: float | None = None, *, below: float = 0.0,
        above: float | None = None, without: float = 0.0,
    ) -> tuple[Solid, ...]:  # fmt: skip
        """Return it as bodies, one for each straight piece.

        Parameters
        ----------
        material : str
        width : float
            Over its walls. [m]
        top : float, optional
            The level of its top, where that does not fall with it. [m]
        below : float
            From its invert down to its underside. [m]
        above : float, optional
            From its invert up to its top where no level is given; without it, as it is wide. [m]
        without : float
            Width along its middle that is left out. [m]
        """
        made = []
        for bottom, strip in strips_along(self.line, self.inverts, width, without):
            high_end = bottom.lowered(-(width if above is None else above)) if top is None else top
            made.append(Solid(material, strip, bottom.lowered(below), high_end))
        return tuple(made)


def strips_along(
    line: Floats, levels: Floats, width: float, without: float = 0.0
) -> Iterator[tuple[Plane, Region]]:
    """Yield each straight piece of a line, as wide as given: its bottom as a plane, and its plan.

    Parameters
    ----------
    line : (k, 2) float
        [m]
    levels : (k,) float
        Elevation of the bottom at each of its points. [m]
    width : float
        [m]
    without : float
        Width along its middle that is left out. [m]
    """
    for start, end, first, last in zip(line[:-1], line[1:], levels[:-1], levels[1:], strict=True):
        way = end - start
        far = float(way @ way)
        if far <= 0:
            continue
        rise = way * (last - first) / far
        middle = shapely.LineString([start, end])
        strip: Region = middle.buffer(width / 2, cap_style="flat")
        if without > 0:
            inner = middle.buffer(without / 2, cap_style="flat")
            strip = polygons(strip.difference(inner), 0.0)
        yield Plane(float(first - rise @ start), float(rise[0]), float(rise[1])), strip


class Led(Struct, frozen=True, eq=False):
    """Where a pipe is led to, and whether that lies low enough.

    Attributes
    ----------
    outlet, kind : str
        What the site calls it; empty where it names no place that a pipe can go to.
    line : (k, 2) float
        Its way. [m]
    slope : float
        What falls down to it for each metre of the way, below all that the pipe must pass; below
        zero where it lies higher. [ratio]
    least : float
        What a pipe needs. [ratio]
    short : float
        How much lower it would have to lie; 0 where it is low enough. [m]
    z : float
        The level that it comes out at. [m]
    """

    outlet: str
    kind: str
    line: Floats
    slope: float
    least: float
    short: float
    z: float

    @property
    def reached(self) -> bool:
        """Whether a pipe with the least slope comes out there."""
        return self.known and self.short <= 0

    @property
    def fall(self) -> float:
        """How a pipe falls there, or would to a place that lies low enough. [ratio]"""
        return self.slope if self.reached else self.least

    @property
    def known(self) -> bool:
        """Whether there is a place whose level is known."""
        return bool(self.outlet) and math.isfinite(self.short)

    @property
    def length(self) -> float:
        """Of its way. [m]"""
        return float(np.hypot(*np.diff(self.line, axis=0).T).sum()) if len(self.line) > 1 else 0.0


class Capacity(Struct, frozen=True):
    """What a drain takes, part by part, and what comes to it.

    Attributes
    ----------
    parts : tuple of (str, float)
        Each part by its name, and the flow that it takes. [m3/s]
    coming : float or None
        In the storm; None where none is given. [m3/s]
    """

    parts: tuple[tuple[str, float], ...]
    coming: float | None

    @property
    def governing(self) -> tuple[str, float]:
        """The part that takes the least, and how much. [m3/s]"""
        return min(self.parts, key=lambda part: part[1])


class Cover(NamedTuple):
    """The soil over a pipe under lawn.

    Attributes
    ----------
    least : float
        Of it, but for its shallow end; 0 where that is all of it. [m]
    shallow : float
        Length before its outlet within which some of it lies less deep than it should. [m]
    """

    least: float
    shallow: float


class Well(Struct, frozen=True):
    """A dry well as it is sized.

    Attributes
    ----------
    drained : float
        Area of roof and paving whose rain it holds. [m2]
    needed, stone : float
        Stone that holds that rain, and that it has. [m3]
    sides : (3,) tuple of float
        Length, width and depth of its stone. [m]
    soak : float or None
        What its soil takes in; None where that is not known. [m/s]
    tested : bool
        Whether a soak test was made.
    hours : float or None
        In which it empties. [h]
    from_house : float or None
        [m]
    clay : bool
        Whether the site's soil is clay.
    """

    drained: float
    needed: float
    stone: float
    sides: tuple[float, float, float]
    soak: float | None
    tested: bool
    hours: float | None
    from_house: float | None
    clay: bool

    @property
    def short(self) -> float:
        """Stone that it has too little of for that rain; 0 where it has enough. [m3]"""
        return max(self.needed - self.stone, 0.0)


class Drain(Structure, frozen=True):
    """A structure that leads water away.

    Attributes
    ----------
    runs : tuple of PipeRun
        The way of its water.
    led : Led or None
        Where its pipe goes; None of what has none.
    capacity : Capacity or None
    cover : Cover or None
        None where no pipe of it lies under lawn.
    well : Well or None
        Of a dry well.
    """

    runs: tuple[PipeRun, ...] = ()
    led: Led | None = None
    capacity: Capacity | None = None
    cover: Cover | None = None
    well: Well | None = None

    @property
    def called(self) -> str:
        """What it is called in a sentence: by its own name, or as what it belongs to."""
        own = self.kind in ("channel drain", "drain basin", "dry well")
        return self.name if own else f"the {self.name}"
