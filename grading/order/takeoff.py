"""What is read off the plan before anything is counted: layouts, free edges, strips of fabric."""

from __future__ import annotations

import math
from collections.abc import Collection, Iterator
from dataclasses import dataclass
from functools import cached_property, lru_cache
from math import inf

import numpy as np
import shapely

from grading.catalogue.edge_kinds import WALL
from grading.conditions.features import area_under, pad_of, stands_on
from grading.conditions.joint_choice import joint_laid
from grading.conditions.underdrain import Underdrain, underdrain_of
from grading.crew.model import Crew
from grading.design.area import AreaPlan
from grading.design.model import Design
from grading.dig.edge_runs import edge_runs
from grading.dig.edge_sections import edging_of, shoulder_of
from grading.dig.hole import Dig, LayerVolume
from grading.finish.held_edges import holders_of
from grading.geometry.arrays import Floats, Region
from grading.geometry.free_edges import BESIDE, SHORTEST_RUN, free_edges
from grading.geometry.tolerances import pieces_of
from grading.order.laying import TRIM, Laid, framed, frames_of
from grading.order.panels import lay_panels
from grading.order.pavers import PaverLayout, lay_pavers
from grading.structures.built import structures_of
from grading.structures.holding.holds import BLOCK_WALL, CURB, SLOPE, STEPS, holding_of
from grading.structures.model import Structure

# A plan is weighed more than once while its bases are chosen; what is laid stays what it is.
_pavers_laid = lru_cache(maxsize=16)(lay_pavers)
_panels_laid = lru_cache(maxsize=32)(lay_panels)

_FOLDS = 64  # chords to a quarter turn


_NOWHERE = shapely.Polygon()


@dataclass(frozen=True)
class Run:
    """One run of edge restraint: its length [m], whether it closes on itself, and takes wheels."""

    length: float
    closed: bool
    wheels: bool = False


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
class Standing:
    """What stands on bases of its own in an area: the things, and those bases, in plan. [m]"""

    feet: shapely.Geometry
    pads: shapely.Geometry

    @cached_property
    def none(self) -> bool:
        """Whether there is no such thing."""
        return bool(shapely.is_empty(self.feet))


@dataclass(frozen=True, eq=False)
class Takeoff:
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
    underdrain : Underdrain or None
        The drain and the waterproofing that clean stone by the foundation asks for.
    joint : str
        What fills its joints, by its name in the table of joints.
    shoulder : shapely geometry
        The dense-graded base that its edge is spiked into beside open stone, in plan. [m]
    concrete : float
        The section of the concrete of its edge, across the edge. [m2]
    structures : tuple of Structure
        What is built beside and below it.
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
    underdrain: Underdrain | None
    joint: str
    shoulder: shapely.Geometry = _NOWHERE
    concrete: float = 0.0
    structures: tuple[Structure, ...] = ()

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
        shoulder = self.shoulder_area if part.layer.material == "open-graded" else 0.0
        if part.layer.role == "paver":
            return float(shapely.area(shapely.intersection(self.standing.feet, self.dig.outline)))
        laid = self.dig.polygon if part.layer.spreads else self.dig.outline
        gone = self._taken
        if part.layer.role == "base" and part.layer.material != "open-graded":
            gone = shapely.union(gone, self._drained)
        if shapely.is_empty(gone):
            return shoulder
        return shoulder + float(shapely.area(shapely.intersection(gone, laid)))

    @cached_property
    def _taken(self) -> shapely.Geometry:
        """Where nothing of the base is laid: pads of things, and what stands beside the paving."""
        return shapely.union(self.standing.pads, self._beside)

    @cached_property
    def _beside(self) -> shapely.Geometry:
        """Where a wall or the like stands beside the paving, in the hole. [m]"""
        stands = [each.stands for each in self.structures if not each.stands.is_empty]
        if not stands:
            return _NOWHERE
        return shapely.difference(shapely.union_all(stands), self.dig.outline)

    @cached_property
    def _drained(self) -> shapely.Geometry:
        """Where clean stone behind a wall takes the place of the base. [m]"""
        return shapely.union_all([each.drained for each in self.structures])

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
        if not shapely.is_empty(self._beside):
            beside -= float(shapely.area(shapely.intersection(self._beside, self.dig.polygon)))
        return max(beside, 0.0)

    @property
    def put_back(self) -> float:
        """Soil put back beside the paving, as the dig has it, less where a wall stands. [m3]"""
        whole = self.dig.dig_area - self.dig.paved.area
        return self.dig.backfill * (self.beside / whole if whole > 0 else 0.0)

    @property
    def stone(self) -> str:
        """The stone that the hole is refilled with: that of the base, else dense-graded."""
        stones = [layer.material for layer in self.dig.system.layers if layer.role == "base"]
        return stones[-1] if stones else "dense-graded"


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
    lines = {name: _restrained(plan, area, standings[name], dig) for name, dig in digs.items()}
    wheels = area.use == "driveway"
    runs = {name: tuple(_run(line, wheels) for line in each) for name, each in lines.items()}
    limits = plan.limits
    edges, kind = area.area.outline, area.area.pavers or crew.pavers
    whole = sum(line.length for line in area.free_edges)
    soil = plan.site.ground.soil
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
            underdrain=underdrain_of(plan, area, dig),
            joint=joint_laid(plan.site, area, dig.system, crew.pavers),
            shoulder=shoulder_of(dig, lines[name], standings[name].pads, limits),
            concrete=edging_of(dig.system, limits).concrete,
            structures=structures_of(plan, area, dig, crew),
        )
        for name, dig in digs.items()
    }


def _run(line: shapely.LineString, wheels: bool) -> Run:
    return Run(float(line.length), bool(line.is_ring), wheels)


def standing_in(plan: Design, area: AreaPlan, base: str | None = None) -> Standing:
    """Return what stands on bases of its own in an area.

    Parameters
    ----------
    plan : Design
    area : AreaPlan
    base : str, optional
        One of the area's base systems; left out, the one that it is planned on.
    """
    feet: list[shapely.Geometry] = []
    pads: list[shapely.Geometry] = []
    for feature in plan.site.features:
        under = area_under(plan, feature)
        if under is None or under.area.name != area.name:
            continue
        if stands_on(plan, area, feature, base or area.chosen) == "own base":
            pad = pad_of(plan, feature)
            feet.append(feature.polygon)
            pads += [feature.polygon, *([] if pad is None else [pad])]
    return Standing(shapely.union_all(feet), shapely.union_all(pads))


def restrained_edges(
    plan: Design, area: AreaPlan, base: str | None = None
) -> tuple[shapely.LineString, ...]:
    """Return the free edges that take an edge restraint.

    An edge that stands higher than `raised-edge` over the ground is a wall's or a slope's to
    hold, and one along a thing on a base of its own is held by that. Where the edge given is a
    wall, all of it is.

    Parameters
    ----------
    plan : Design
    area : AreaPlan
    base : str, optional
        As for `standing_in`.
    """
    dig = area.digs[base or area.chosen]
    return _restrained(plan, area, standing_in(plan, area, base), dig)


def _restrained(
    plan: Design, area: AreaPlan, standing: Standing, dig: Dig
) -> tuple[shapely.LineString, ...]:
    if dig.system.edge == WALL:
        return ()
    runs = area.edge_runs
    if not standing.none:
        lines, bodies = holders_of(plan.site, area.area)
        lines.append(shapely.boundary(standing.feet))
        free = free_edges(area.outline, lines, [*bodies, standing.feet])
        runs = edge_runs(free, area.finish.surface, plan.ground)
    holding = holding_of(plan, area, dig.system.name)
    limit = plan.limits["raised-edge"]
    held = holding.lines(BLOCK_WALL, CURB, STEPS)
    if holding.lines(SLOPE):
        # Beside a slope of soil the raised edge is restrained like all the rest.
        limit = inf
        held = (*held, *holding.lines(""))
    restrained = [line for run in runs for line in run.lower(limit)]
    if held:
        beside = shapely.union_all([_alongside(each) for each in held])
        restrained = [
            part for line in restrained for part in _long_enough(shapely.difference(line, beside))
        ]
    return tuple(restrained)


def _alongside(line: shapely.LineString) -> shapely.Geometry:
    """Return a line a little wider, and no longer: what runs along it lies in it. [m]"""
    return line.buffer(BESIDE / 100, cap_style="flat", join_style="mitre")


def _long_enough(line: shapely.Geometry) -> Iterator[shapely.LineString]:
    merged = shapely.line_merge(line)
    for part in shapely.get_parts(merged):
        if isinstance(part, shapely.LineString) and part.length >= SHORTEST_RUN:
            yield part


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
