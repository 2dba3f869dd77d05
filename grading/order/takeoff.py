"""What is read off the plan before anything is counted: layouts, free edges, strips of fabric."""

from __future__ import annotations

import math
from collections.abc import Collection
from functools import cached_property, lru_cache

import numpy as np
import shapely
from msgspec import Struct

from grading.catalogue.bases import Layer
from grading.conditions.joint_choice import joint_laid
from grading.crew.lines import STONES
from grading.crew.model import Crew
from grading.design.area import AreaPlan
from grading.design.model import Design
from grading.dig.edge_sections import edging_of, shoulder_of
from grading.dig.hole import Dig, LayerVolume
from grading.geometry.arrays import Floats, Region
from grading.geometry.tolerances import pieces_of
from grading.order.laid.panels import lay_panels
from grading.order.laid.pavers import PaverLayout, lay_pavers
from grading.order.laid.units import TRIM, Laid, framed, frames_of
from grading.order.restrained import Standing, restrained_beside, standing_in
from grading.order.soil import Wanted
from grading.structures.built import structures_of
from grading.structures.model import Structure

# A plan is weighed more than once while its bases are chosen; what is laid stays what it is.
_pavers_laid = lru_cache(maxsize=16)(lay_pavers)
_panels_laid = lru_cache(maxsize=32)(lay_panels)

_FOLDS = 64  # chords to a quarter turn


_NOWHERE = shapely.Polygon()


class Run(Struct, frozen=True):
    """One run of edge restraint: its length [m], whether it closes on itself, and takes wheels."""

    length: float
    closed: bool
    wheels: bool = False


class Fabric(Struct, frozen=True):
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


class Takeoff(Struct, frozen=True, eq=False, dict=True):
    """One area on one base system, with all of its geometry; equal to itself alone.

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
        The free edges of the paving that take a restraint.
    held_edge : float
        Length of free edge that takes none: a wall, a slope or a thing on it holds it. [m]
    fabric : Fabric or None
        None where none is wanted.
    standing : Standing
        What stands on bases of its own, where nothing of this one is laid.
    joint : str
        What fills its joints, by its name in the table of joints.
    shoulder : shapely geometry
        The dense-graded base that its edge is spiked into beside open stone, in plan. [m]
    concrete : float
        The section of the concrete of its edge, across the edge. [m2]
    structures : tuple of Structure
        What is built beside and below it.
    clear : shapely geometry
        Where no lawn is: the house, and all paving of the site. [m]
    """

    area: AreaPlan
    dig: Dig
    soil: str
    pavers: PaverLayout
    panels: Laid | None
    runs: tuple[Run, ...]
    held_edge: float
    fabric: Fabric | None
    standing: Standing
    joint: str
    shoulder: shapely.Geometry = _NOWHERE
    concrete: float = 0.0
    structures: tuple[Structure, ...] = ()
    clear: shapely.Geometry = _NOWHERE

    @property
    def dug(self) -> float:
        """Everything dug for it, its structures included, in the bank. [m3]"""
        return self.dig.cut + sum(each.dug.bank for each in self.structures)

    @property
    def topsoil(self) -> float:
        """Of what is dug, topsoil, in the bank. [m3]"""
        return self.dig.organics_volume + sum(each.dug.topsoil for each in self.structures)

    @cached_property
    def layers(self) -> tuple[LayerVolume, ...]:
        """Each layer as it is laid: the dig's, less what things on their own bases leave out.

        No paver lies where they stand, and nothing below it where their base lies; and no open
        stone where a shoulder of dense-graded base lies in its place.
        """
        return tuple(
            LayerVolume(part.layer, area, area * part.layer.thickness)
            for part in self.dig.layers
            for area in (max(part.area - self._left_out(part), 0.0),)
        )

    def _left_out(self, part: LayerVolume) -> float:
        laid = self.dig.polygon if part.layer.spreads else self.dig.outline
        out = float(shapely.area(shapely.intersection(self.left_out(part.layer), laid)))
        return out + (self.shoulder_area if part.layer.material == "open-graded" else 0.0)

    def left_out(self, layer: Layer) -> shapely.Geometry:
        """Return where a layer of its base is not laid, the shoulder of its edge apart. [m]

        No paver lies under what stands on a base of its own, and no other layer where that base
        lies or where something stands beside the paving; no base of stone with fines lies where
        clean stone behind a wall or steps takes its place.
        """
        if layer.role == "paver":
            return self.standing.feet
        if layer.role == "base" and layer.material != "open-graded":
            return self._taken_or_drained
        return self._taken

    @cached_property
    def _taken(self) -> shapely.Geometry:
        """Where nothing of the base is laid: pads of things, and what stands beside the paving."""
        return shapely.union(self.standing.pads, self.stands_beside)

    @cached_property
    def _taken_or_drained(self) -> shapely.Geometry:
        own = [each.drained for each in self.structures]
        return shapely.union(self._taken, shapely.union_all([self.standing.drained, *own]))

    @cached_property
    def stands_beside(self) -> shapely.Geometry:
        """Where a wall, steps or the like stand beside the paving: no soil is put back. [m]"""
        stands = [each.stands for each in self.structures if not each.stands.is_empty]
        if not stands and self.standing.none:
            return _NOWHERE
        return shapely.difference(
            shapely.union_all([*stands, self.standing.feet]), self.dig.outline
        )

    @property
    def shoulder_area(self) -> float:
        """Plan area of the shoulder of its edge. [m2]"""
        return float(shapely.area(self.shoulder))

    @property
    def shoulder_height(self) -> float:
        """How high the shoulder of its edge is: as the open stone that it stops. [m]"""
        layers = self.dig.system.layers
        return sum(layer.thickness for layer in layers if layer.material == "open-graded")

    @property
    def free_edge(self) -> float:
        """Length of edge that is restrained. [m]"""
        return sum(run.length for run in self.runs)

    @property
    def beside(self) -> float:
        """Plan area of the hole beside the paving, where lawn is put back. [m2]"""
        beside = self.dig.dig_area - self.dig.paved.area
        if not shapely.is_empty(self.stands_beside):
            beside -= float(
                shapely.area(shapely.intersection(self.stands_beside, self.dig.polygon))
            )
        return max(beside, 0.0)

    @cached_property
    def opened(self) -> float:
        """Plan area of lawn that is opened beyond the hole for what is built there. [m2]

        Over the pads of what stands beside the paving, and not under it.
        """
        built = [each for each in self.structures if not each.stands.is_empty]
        if not built:
            return 0.0
        beds = [solid.footprint for each in built for solid in each.solids
                if solid.material in STONES]  # fmt: skip
        # Under a slope of grass what is opened is the slope's own.
        turf = [solid.footprint for each in self.structures for solid in each.solids
                if solid.material == "turf"]  # fmt: skip
        gone = [self.dig.polygon, self.clear, *turf, *(each.stands for each in built)]
        over = shapely.difference(shapely.union_all(beds), shapely.union_all(gone))
        return float(shapely.area(over))

    @property
    def soil_wanted(self) -> Wanted:
        """Soil that is put back beside it, and what was dug for it.

        None where a wall, steps or the concrete of an edge stand.
        """
        whole = self.dig.dig_area - self.dig.paved.area
        share = self.beside / whole if whole > 0 else 0.0
        place = self.dig.backfill * share - self.free_edge * self.concrete
        return Wanted(
            topsoil_dug=self.topsoil,
            subsoil_dug=max(self.dug - self.topsoil, 0.0),
            place=max(place, 0.0),
            over=self.beside,
            opened=self.opened,
            elsewhere=sum(each.dug.put_back for each in self.structures),
            filled=sum(each.dug.filled for each in self.structures),
            turfed=sum(each.dug.turfed for each in self.structures),
            begun=self.dig.begun,
        )

    @property
    def stone(self) -> str:
        """The stone that the hole is refilled with: that of the base, else dense-graded."""
        return self.dig.stone


def takeoffs_of(
    plan: Design, area: AreaPlan, crew: Crew, bases: Collection[str] | None = None
) -> dict[str, Takeoff]:
    """Return the take-off of an area on each base system, or on some.

    Parameters
    ----------
    plan : Design
    area : AreaPlan
        One of the plan's.
    crew : Crew
        Sizes of panels and rolls.
    bases : collection of str, optional
        Names of the base systems; left out, all of them.
    """
    digs = {name: dig for name, dig in area.digs.items() if bases is None or name in bases}
    # On another base other things may stand on their own: a wood fire does on panels alone.
    standings = {name: standing_in(plan, area, name) for name in digs}
    lines = {
        name: restrained_beside(plan, area, standings[name], dig) for name, dig in digs.items()
    }
    wheels = area.use == "driveway"
    runs = {name: tuple(_run(line, wheels) for line in each) for name, each in lines.items()}
    limits = plan.limits
    edges, kind = area.area.outline, area.area.pavers or crew.pavers
    whole = sum(line.length for line in area.free_edges)
    soil = plan.site.ground.soil
    built = {name: structures_of(plan, area, dig, crew) for name, dig in digs.items()}
    # No shoulder lies where a wall stands.
    kept_out = {
        name: shapely.union_all([standings[name].pads, *(each.stands for each in built[name])])
        for name in digs
    }
    clear = plan.built_over()
    return {
        name: Takeoff(
            area=area,
            dig=dig,
            soil=soil,
            pavers=_pavers_laid(area.outline, edges, kind, standings[name].feet),
            panels=_panels(dig, standings[name], crew),
            runs=runs[name],
            held_edge=max(whole - sum(run.length for run in runs[name]), 0.0),
            fabric=_fabric(dig, soil, crew),
            standing=standings[name],
            joint=joint_laid(plan.site, area, dig.system, crew.pavers),
            shoulder=shoulder_of(dig, lines[name], kept_out[name], limits),
            concrete=edging_of(dig.system, limits).concrete,
            structures=built[name],
            clear=clear,
        )
        for name, dig in digs.items()
    }


def _run(line: shapely.LineString, wheels: bool) -> Run:
    return Run(float(line.length), bool(line.is_ring), wheels)


def _panels(dig: Dig, standing: Standing, crew: Crew) -> Laid | None:
    if not dig.system.on_panels:
        return None
    carried = any(layer.role == "panel" and layer.spreads for layer in dig.system.layers)
    hole: Region = dig.polygon if carried else dig.outline
    if not standing.none:
        hole = shapely.difference(hole, standing.pads)  # type: ignore[assignment]
    written = dig.system.panel
    size = None if written is None else written.size
    return _panels_laid(hole, dig.outline, size or (crew["panel-length"], crew["panel-width"]))


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

    From the side, and along the one of several longest edges, that takes the shortest roll.

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
    rolled = [_rolled(hole, frame, up, width, overlap) for frame in frames_of(outline)]
    back = [
        _rolled(hole, (end, start, turn + math.pi), up, width, overlap)
        for start, end, turn in frames_of(outline)
    ]
    return min([*rolled, *back], key=lambda one: (round(one.length, 4), len(one.strips)))


def _rolled(
    hole: Region, frame: tuple[Floats, Floats, float], up: float, width: float, overlap: float
) -> Fabric:
    origin, _, turn = frame
    spread = framed(hole, origin, turn)
    if up > TRIM:
        # Round the corners it is folded: no bend of the hole throws a point far out.
        spread = spread.buffer(up, quad_segs=_FOLDS)
    x0, y0, x1, y1 = spread.bounds
    step = max(width - overlap, width / 10)
    count = max(1, pieces_of(y1 - y0 - width, step) + 1)
    low = y0 + step * np.arange(count)
    left, right = np.full(count, x0 - 1), np.full(count, x1 + 1)
    bands = shapely.box(left, low, right, low + width)
    ends = shapely.bounds(shapely.intersection(bands, spread))
    lengths = np.nan_to_num(ends[:, 2] - ends[:, 0])
    return Fabric(float(spread.area), tuple(lengths[lengths > 0].tolist()), up)
