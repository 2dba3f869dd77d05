"""What is read off the plan before anything is counted: layouts, free edges, strips of fabric."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

import numpy as np
import shapely

from grading.crew import Crew
from grading.dig import Dig
from grading.laying import TRIM, Laid, Region, frame_of, framed
from grading.panels import lay_panels
from grading.pavers import PaverLayout, lay_pavers
from grading.pipeline import AreaPlan, Plan
from grading.units import INCH

TOUCHING = 2 * INCH
"""Paving nearer than this to a wall, a walk or other paving is held by it. [m]"""

SHORTEST_RUN = 6 * INCH  # m; what is left between two corners takes no edge restraint


@dataclass(frozen=True)
class Run:
    """One run of edge restraint: its length [m], and whether it closes on itself."""

    length: float
    closed: bool


@dataclass(frozen=True)
class Fabric:
    """Geotextile in strips of a roll's width.

    Attributes
    ----------
    covered : float
        The ground covered, up the sides included. [m2]
    strips : tuple of float
        Length of each strip. [m]
    up : float
        How far it runs up the sides. [m]
    """

    covered: float
    strips: tuple[float, ...]
    up: float

    @property
    def length(self) -> float:
        """Length of the roll that it takes. [m]"""
        return sum(self.strips)


@dataclass(frozen=True)
class Takeoff:
    """One area on one base system, with all of its geometry.

    Attributes
    ----------
    area : AreaPlan
    dig : Dig
    soil : str
        The soil of the site.
    pavers : PaverLayout
    panels : Laid or None
        None where the system has none.
    runs : tuple of Run
        The free edges of the paving.
    fabric : Fabric or None
        None where none is wanted.
    """

    area: AreaPlan
    dig: Dig
    soil: str
    pavers: PaverLayout
    panels: Laid | None
    runs: tuple[Run, ...]
    fabric: Fabric | None

    @property
    def free_edge(self) -> float:
        """Length of edge that is restrained. [m]"""
        return sum(run.length for run in self.runs)

    @property
    def beside(self) -> float:
        """Plan area of the hole beside the paving, where lawn is put back. [m2]"""
        return max(self.dig.dig_area - self.dig.paved.area, 0.0)

    @property
    def stone(self) -> str:
        """The stone that the hole is refilled with: that of the base, else dense-graded."""
        stones = [layer.material for layer in self.dig.system.layers if layer.role == "base"]
        return stones[-1] if stones else "dense-graded"


def takeoffs_of(plan: Plan, area: AreaPlan, crew: Crew) -> dict[str, Takeoff]:
    """Return the take-off of an area on each base system.

    Parameters
    ----------
    plan : Plan
    area : AreaPlan
        One of the plan's.
    crew : Crew
        Sizes of panels and rolls.
    """
    pavers = lay_pavers(area.outline, area.area.outline, area.area.pavers or crew.pavers)
    runs = free_runs(plan, area)
    soil = plan.site.ground.soil
    return {
        name: Takeoff(area, dig, soil, pavers, _panels(dig, crew), runs, _fabric(dig, soil, crew))
        for name, dig in area.digs.items()
    }


def free_runs(plan: Plan, area: AreaPlan) -> tuple[Run, ...]:
    """Return the runs of edge restraint, in the order of `free_edges`.

    Parameters
    ----------
    plan : Plan
    area : AreaPlan
    """
    return tuple(Run(float(edge.length), bool(edge.is_ring)) for edge in free_edges(plan, area))


def free_edges(plan: Plan, area: AreaPlan) -> tuple[shapely.LineString, ...]:
    """Return the edges of the paving that nothing holds: no wall, no walk met, no other paving.

    Parameters
    ----------
    plan : Plan
    area : AreaPlan

    Returns
    -------
    tuple of shapely line
        Each at least `SHORTEST_RUN` long. [m]
    """
    site = plan.site
    held: list[Any] = [other.polygon for other in site.areas if other is not area.area]
    if site.house is not None:
        held.append(site.house.polygon(1.0))
    held += [
        shapely.LineString(meet.at)
        for meet in site.meets
        if meet.area in (None, area.area.name) and len(meet.at) > 1
    ]
    zone = shapely.buffer(shapely.union_all(held), TOUCHING) if held else shapely.Polygon()
    free = shapely.line_merge(shapely.difference(area.outline.boundary, zone))
    return tuple(part for part in shapely.get_parts(free) if part.length >= SHORTEST_RUN)


def _panels(dig: Dig, crew: Crew) -> Laid | None:
    if not dig.system.on_panels:
        return None
    return lay_panels(dig.polygon, dig.outline, (crew["panel-length"], crew["panel-width"]))


def _fabric(dig: Dig, soil: str, crew: Crew) -> Fabric | None:
    """Return the fabric under a base; common practice, no source.

    Clean stone is wrapped at the bottom and the sides; panels and dense-graded stone on clay have
    it under them; on sound concrete there is none.
    """
    system = dig.system
    clean = sum(part.thickness for part in system.layers if part.material == "open-graded")
    listed = any(layer.role == "geotextile" for layer in system.layers)
    if system.over or not (clean or system.on_panels or listed or soil == "clay"):
        return None
    return fabric_over(
        dig.polygon, dig.outline, clean, crew["geotextile-roll-width"], crew["geotextile-overlap"]
    )


def fabric_over(
    hole: Region, outline: shapely.Polygon, up: float, width: float, overlap: float
) -> Fabric:
    """Roll strips over a hole, along the paving's longest edge, each overlapping the one before.

    Parameters
    ----------
    hole : shapely polygon or multipolygon
        [m]
    outline : shapely polygon
        The paving. [m]
    up : float
        How far the fabric runs up the sides. [m]
    width, overlap : float
        Of the strips. [m]
    """
    origin, turn = frame_of(outline)
    spread = framed(hole, origin, turn)
    if up > TRIM:
        spread = spread.buffer(up, join_style="mitre")
    x0, y0, x1, y1 = spread.bounds
    step = max(width - overlap, width / 10)
    count = max(1, math.ceil((y1 - y0 - width) / step - 1e-9) + 1)
    low = y0 + step * np.arange(count)
    left, right = np.full(count, x0 - 1), np.full(count, x1 + 1)
    bands = shapely.box(left, low, right, low + width)
    ends = shapely.bounds(shapely.intersection(bands, spread))
    lengths = np.nan_to_num(ends[:, 2] - ends[:, 0])
    return Fabric(float(spread.area), tuple(lengths[lengths > 0].tolist()), up)
