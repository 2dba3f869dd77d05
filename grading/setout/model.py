"""Stakes: where each goes, what the ground is there, and the level of every layer at it."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Literal

import numpy as np
import shapely
from msgspec import Struct

from grading.catalogue.rules import Limits
from grading.design.area import AreaPlan
from grading.design.levels import Grid, either_way, grid_of, levels_at
from grading.design.model import Design
from grading.design.points import Points, circles_of, letters, named_points, with_holes
from grading.errors import Problem, SiteError
from grading.geometry.arrays import Floats
from grading.geometry.outline import edge_lines
from grading.geometry.tolerances import ON_ARC, ROUNDING, TOGETHER
from grading.setout.curves import Bent, bent_of
from grading.setout.instrument import Instrument
from grading.setout.strings import String, strings_of
from grading.setout.ties import Held, Taping, Tied, held_on
from grading.units import UnitError, read_length

Kind = Literal["corner", "end of a fold", "middle of an arc", "centre", "edge", "grid"]

MOST = 400
"""Stakes of one area at the most: nobody drives more."""

ABOVE_SIGHT = "above the line of sight: set the level up higher, or measure up"
"""Said of what no rod reads because it lies too high."""

BEYOND_ROD = "beyond the rod: set the level up lower"
"""Said of what no rod reads because it lies too low."""

_SHORTEST = 0.1  # m: stakes closer than this are one


class Layer(Struct, frozen=True):
    """The level of one surface at a stake [m]: its name, and the role of what it is the top of.

    The role is "hole" at the bottom of the hole where something is filled in above it, "subgrade",
    that of a layer of the base system, or "finish".
    """

    name: str
    z: float
    role: str = ""


class Stake(Struct, frozen=True, eq=False):
    """A stake of one area.

    Attributes
    ----------
    name : str
        As the plan of the crew's sheet has it: letters for corners, numbers for the grid.
    kind : Kind
    at : (2,) float
        [m]
    measured : (float, float)
        How far along the grid's first line it is, and out from it. [m]
    tied : Tied
    existing : float or None
        The ground of today, None where it was not surveyed. [m]
    either_way : float or None
        Its plus-or-minus, in nine cases of ten; None where the spots are too few to say. [m]
    layers : tuple of Layer
        From the bottom of the hole up to the finish; none at the centre of an arc.
    note : str
        What a person must know before trusting its tapes, empty where nothing.
    """

    name: str
    kind: Kind
    at: Floats
    measured: tuple[float, float]
    tied: Tied
    existing: float | None
    either_way: float | None
    layers: tuple[Layer, ...]
    note: str

    @property
    def cut(self) -> float | None:
        """How deep it is dug there, below zero where it is filled; None where not known. [m]"""
        if self.existing is None or not self.layers:
            return None
        return self.existing - self.layers[0].z

    def layer(self, name: str) -> Layer:
        """Return one of its layers."""
        return next(each for each in self.layers if each.name == name)


class AreaStakes(Struct, frozen=True):
    """One area: its lettered points, grid, stakes and strings.

    `radii` are those of its arcs, by the names of their centres, `diagonals` what checks its
    corners, each two of them and how far they are apart, and `curves` how the arcs of its outline
    are marked from a string between two of its points. [m]
    """

    area: AreaPlan
    points: Points
    grid: Grid
    stakes: tuple[Stake, ...]
    strings: tuple[String, ...]
    radii: tuple[tuple[str, float], ...]
    diagonals: tuple[tuple[str, str, float], ...]
    curves: tuple[Bent, ...] = ()

    def round_hole(self, stake: Stake) -> bool:
        """Whether a stake is the middle of a round hole in the paving."""
        radius = dict(self.radii).get(stake.name)
        if radius is None:
            return False
        rings = (np.asarray(ring.coords) for ring in self.area.outline.interiors)
        return any(
            float(np.abs(np.hypot(*(ring - stake.at).T) - radius).max()) < ON_ARC for ring in rings
        )


class SetOut(Struct, frozen=True):
    """A site ready to be staked out, with today's instrument where one is told of."""

    design: Design
    instrument: Instrument | None
    references: tuple[Held, ...]
    areas: tuple[AreaStakes, ...]

    def notes(self, stake: Stake) -> Iterator[str]:
        """Give what is to be known of a stake, the instrument's reach included."""
        if stake.note:
            yield stake.note
        if self.instrument is None:
            return
        rods = [self.instrument.at(each.z) for each in stake.layers]
        if rods and min(rods) < 0:
            yield f"the finish lies {ABOVE_SIGHT}"
        if rods and max(rods) > self.instrument.rod:
            yield f"the hole lies {BEYOND_ROD}"


def spacing_of(words: str | None, option: str, design: Design) -> float | None:
    """Return a spacing of stakes that a person wrote, None where none is written. [m]

    Parameters
    ----------
    words : str or None
    option : str
        Of the command, in messages.
    design : Design

    Raises
    ------
    SiteError
        No length, or one that would take more stakes than anyone drives.
    """
    if words is None:
        return None
    try:
        spacing = read_length(words, design.site.unit)
    except UnitError as error:
        raise SiteError([Problem(option, error.found, error.expected, error.mend)]) from None
    around = max(area.outline.length for area in design.areas)
    within = max(area.outline.area for area in design.areas)
    if spacing <= _SHORTEST or around / spacing > MOST or within / spacing**2 > MOST:
        found = f"{words}, which takes more than {MOST} stakes" if spacing > 0 else words
        raise SiteError([Problem(option, found, 'a spacing such as "5 ft" or "1.5 m"')])
    return spacing


def set_out(
    design: Design,
    instrument: Instrument | None = None,
    grid: float | None = None,
    every: float | None = None,
) -> SetOut:
    """Return the stakes of a design.

    Parameters
    ----------
    design : Design
    instrument : Instrument, optional
    grid : float, optional
        Spacing of the grid; that of the crew's sheet where it is left out. [m]
    every : float, optional
        Stakes along the edges of the paving, so far apart at the most. [m]
    """
    limits = design.site.in_force
    references = held_on(design)
    taping = Taping(design.site, references, limits["tape-length"])
    areas = tuple(_area(design, area, taping, limits, grid, every) for area in design.areas)
    return SetOut(design, instrument, references, areas)


def _area(
    design: Design,
    area: AreaPlan,
    taping: Taping,
    limits: Limits,
    spacing: float | None,
    every: float | None,
) -> AreaStakes:
    lettered = named_points(area)
    points = with_holes(area, lettered)
    arcs = range(len(lettered.names) - lettered.middles, len(lettered.names))
    folds = range(lettered.corners, arcs.start)
    circles = circles_of(area)
    centres = letters(len(points.names) + len(circles))[len(points.names) :]
    grid = grid_of(area, design.site.unit, points.xy, spacing)
    told: list[tuple[str, Kind, Floats]] = []
    for number, (name, at) in enumerate(zip(points.names, points.xy, strict=True)):
        kind: Kind = "end of a fold" if number in folds else "corner"
        told.append((name, "middle of an arc" if number in arcs else kind, at))
    told += [
        (name, "centre", np.array(circle.centre))
        for name, circle in zip(centres, circles, strict=True)
    ]
    if every is not None:
        told += _along_edges(area, points.xy, every)
    told += [(name, "grid", at) for name, at in zip(grid.names, grid.xy, strict=True)]
    xy = np.array([at for _, _, at in told])
    levels = levels_at(design, area, xy)
    measured, reach = grid.measured(xy), either_way(design, xy)
    system = area.chosen_dig.system
    stakes = []
    for k, (name, kind, at) in enumerate(told):
        tied = taping.tied(at)
        existing = float(levels.existing[k])
        layers: list[Layer] = []
        if kind != "centre":
            finish = float(levels.finish[k])
            if levels.subgrade[k] - levels.dug[k] > ROUNDING:
                layers.append(Layer("bottom of the hole", float(levels.dug[k]), "hole"))
            layers.append(Layer("subgrade", float(levels.subgrade[k]), "subgrade"))
            tops = zip(reversed(system.layers[1:]), reversed(system.tops()[1:]), strict=True)
            layers += [Layer(layer.name, finish - top, layer.role) for layer, top in tops]
            layers.append(Layer("finish", finish, "finish"))
        stakes.append(
            Stake(
                name,
                kind,
                at,
                (float(measured[k, 0]), float(measured[k, 1])),
                tied,
                existing if np.isfinite(existing) else None,
                float(reach[k]) if np.isfinite(reach[k] + existing) else None,
                tuple(layers),
                _note(tied, taping.has_references),
            )
        )
    radii = tuple((name, circle.radius) for name, circle in zip(centres, circles, strict=True))
    strings = strings_of(design, area, limits, points)
    diagonals = tuple(_diagonals(points, taping))
    curves = bent_of(area, points, design.site.unit)
    return AreaStakes(area, points, grid, tuple(stakes), strings, radii, diagonals, curves)


def _diagonals(points: Points, taping: Taping) -> Iterator[tuple[str, str, float]]:
    """Give the diagonals that check the corners: of four both, of more those over one corner.

    One that would run through the house is left out.
    """
    count = points.corners
    if count < 4:
        return
    for first in range(2 if count == 4 else count):
        second = (first + 2) % count
        one, other = points.xy[first], points.xy[second]
        if taping.in_sight(one, other):
            yield points.names[first], points.names[second], float(np.hypot(*(one - other)))


def _note(tied: Tied, taped: bool) -> str:
    if tied.poor:
        assert tied.angle is not None
        by = "with the third, or from the strings" if len(tied.ties) > 2 else "from the strings"
        return f"bad angle: its tapes cross at {np.degrees(tied.angle):.0f} degrees; check it {by}"
    if len(tied.ties) == 1 and tied.ties[0].length > 0 and not tied.wall:
        return "one tape only is in sight: place it from the strings"
    if not tied.ties and taped:
        return "no corner of the house in sight: place it from the strings"
    return ""


def _along_edges(
    area: AreaPlan, corners: Floats, every: float
) -> Iterator[tuple[str, Kind, Floats]]:
    """Give stakes along each edge of the paving, no farther apart than asked for, named e1, ..."""
    number = 0
    for edges in (area.area.outline, *area.area.holes):
        for line in edge_lines(edges):
            path = shapely.LineString(line)
            count = int(np.ceil(path.length / every - ROUNDING))
            for step in range(1, count):
                at = np.asarray(path.interpolate(step / count, normalized=True).coords[0])
                if np.hypot(*(corners - at).T).min() > TOGETHER:
                    number += 1
                    yield f"e{number}", "edge", at
