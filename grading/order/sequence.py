"""How an area is built on a base system, step by step: what is moved in each, and the count so far.

Every volume, depth and load is a share of one of the plan's or the order's; the last step has
them whole.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from itertools import pairwise
from typing import Literal, NamedTuple

import numpy as np
import shapely
from msgspec import Struct
from msgspec.structs import replace

from grading.conditions.paver_stacks import PaverStacks, paver_stacks
from grading.crew.lines import STONES
from grading.crew.model import Crew
from grading.design.area import AreaPlan
from grading.dig.hole import Dig
from grading.geometry.arrays import Floats, Region, polygons
from grading.geometry.tolerances import NOTHING, ROUNDING
from grading.order.footprints import footprint_of
from grading.order.model import Job, Order
from grading.order.quantities import lift_count
from grading.order.takeoff import Takeoff
from grading.structures.model import Structure
from grading.units import Unit, size

Phase = Literal["today", "dig", "base", "pavers", "finish"]

DIG_STEPS = 3
PAVER_STEPS = 3

MOST_LIFT_STEPS = 4
"""Steps that the lifts of one layer are shown in; more lifts than that go several to a step."""

PLAIN_TOPSOIL = (0.1, 0.9)
"""Topsoil that is a share of the dig between these is taken off in a step of its own."""

LEAST = 1e-4  # own: m3
"""Less than this is not shown as a step. [m3]"""


class Dug(Struct, frozen=True):
    """How far the dig has come: share of the topsoil's depth out, and of what lies below it."""

    topsoil: float
    below: float


UNTOUCHED, DUG_OUT = Dug(0.0, 0.0), Dug(1.0, 1.0)


class Piece(Struct, frozen=True):
    """Something that is put in place.

    Attributes
    ----------
    kind : "geotextile", "refill", "layer" or "backfill"
    name, material : str
    footprint : shapely polygon or multipolygon
        [m]
    top, thickness : float
        Depth of its top below the finish, and its thickness; of geotextile, how far it runs up
        the sides; of refill, the greatest thickness. [m]
    share : (float, float)
        Refill from which share of its depth to which; of other pieces (0, 1).
    volume : float
        In place. [m3]
    """

    kind: Literal["geotextile", "refill", "layer", "backfill"]
    name: str
    material: str
    footprint: Region
    top: float
    thickness: float
    share: tuple[float, float]
    volume: float


class Figures(Struct, frozen=True):
    """The count at the end of a step.

    Attributes
    ----------
    depth : float
        Greatest depth dug below the ground. [m]
    dug : float
        In the bank. [m3]
    out, stone : int
        Trips through the yard, with soil and with stone or sand.
    bins, deliveries : int
        Of soil, and of stone or sand.
    """

    depth: float
    dug: float
    out: int
    stone: int
    bins: int
    deliveries: int


class Step(Struct, frozen=True):
    """One step: its name, how far the dig is at its end, what it puts in place, the count.

    structures are built in it: walls, steps and drains beside and below the paving.
    """

    phase: Phase
    title: str
    dug: Dug
    pieces: tuple[Piece, ...]
    figures: Figures
    structures: tuple[Structure, ...] = ()


class BuildUp(Struct, frozen=True):
    """The steps of one area on one base system, from the ground today to the finished paving.

    laid is what the order counts, carrier what soil and stone are carried with; stacks is where
    pavers stand while they are laid.
    """

    area: AreaPlan
    base: str
    laid: Takeoff
    carrier: str
    stacks: PaverStacks
    steps: tuple[Step, ...]

    @property
    def dig(self) -> Dig:
        """The hole and its layers."""
        return self.laid.dig


def build_ups(
    order: Order, area: AreaPlan, bands: Sequence[Region], unit: Unit,
    bases: Sequence[str] | None = None,
) -> tuple[BuildUp, ...]:  # fmt: skip
    """Return how an area is built on each of its base systems.

    Parameters
    ----------
    order : Order
        Of the area's plan.
    area : AreaPlan
    bands : sequence of shapely polygon or multipolygon
        The paving in the parts that are laid one after the other. [m]
    unit : "ft" or "m"
        What thicknesses are written in.
    bases : sequence of str, optional
        The base systems; all of them when left out.
    """

    jobs = order.of(area).bases
    return tuple(
        _build_up(
            area, base, jobs[base], bands, paver_stacks(order.plan, area, base), order.crew, unit
        )
        for base in (area.digs if bases is None else bases)
    )


class _Move(NamedTuple):
    phase: Phase
    title: str
    dug: Dug
    pieces: tuple[Piece, ...] = ()
    structures: tuple[Structure, ...] = ()


def _title(structure: Structure) -> str:
    return f"{structure.name[:1].upper()}{structure.name[1:]}"


def _build_up(
    area: AreaPlan,
    base: str,
    job: Job,
    bands: Sequence[Region],
    stacks: PaverStacks,
    crew: Crew,
    unit: Unit,
) -> BuildUp:
    dig = area.digs[base]
    moves: list[_Move] = [_Move("today", "Today: the ground as it lies", UNTOUCHED)]
    moves += [_Move("dig", title, dug) for title, dug in _digging(dig)]
    # What holds the edge stands before stone is laid behind it.
    moves += [
        _Move("base", _title(each), DUG_OUT, (), (each,))
        for each in job.jobs[0].structures
        if each.solids
    ]
    moves += [
        _Move("base", title, DUG_OUT, pieces) for title, pieces in _under(dig, job, crew, unit)
    ]
    moves += [
        _Move("pavers", title, DUG_OUT, pieces)
        for title, pieces in _paving(dig, job, bands, stacks)
    ]
    moves.append(_Move("finish", *_finishing(dig, job.jobs[0])))

    stone = sum(map(_stone, (piece for move in moves for piece in move.pieces)))
    placed, steps = 0.0, []
    for move in moves:
        placed += sum(map(_stone, move.pieces))
        share = 1.0 if placed >= stone * (1 - NOTHING) else placed / stone
        figures = _figures(dig, job, move.dug, share if stone else 1.0)
        steps.append(Step(move.phase, move.title, move.dug, move.pieces, figures, move.structures))
    return BuildUp(area, base, job.jobs[0], job.haul.way.carrier, stacks, tuple(steps))


def _stone(piece: Piece) -> float:
    """Return how much of a piece comes in as stone or sand. [m3]"""
    bought = piece.kind == "refill" or piece.material in STONES
    return piece.volume if bought and piece.kind in ("refill", "layer") else 0.0


def _figures(dig: Dig, job: Job, dug: Dug, stone: float) -> Figures:
    haul = job.haul
    volume, depth = dig.cut, dig.max_dig
    if dug != DUG_OUT:
        below = dig.depths - dig.clip.organics
        depth = float((dug.topsoil * dig.clip.organics + dug.below * below).max())
        top = dig.organics_volume
        volume = dug.topsoil * top + dug.below * (dig.cut - top)
    share = volume / dig.cut if dig.cut else 1.0
    return Figures(
        max(depth, 0.0), volume, counted(haul.out.count, share), counted(haul.stone.count, stone),
        counted(haul.bins.count, share), counted(haul.deliveries.count, stone),
    )  # fmt: skip


def counted(total: int, share: float) -> int:
    """Return how many of some loads have been started when a share of all is moved."""
    return total if share >= 1 else math.ceil(total * share - ROUNDING)


def _digging(dig: Dig) -> Iterator[tuple[str, Dug]]:
    if dig.cut < LEAST:
        return
    low, high = PLAIN_TOPSOIL
    first = low < dig.organics_volume / dig.cut < high
    for number in range(1, DIG_STEPS + 1):
        part = number / DIG_STEPS
        dug = Dug(1.0, (number - 1) / (DIG_STEPS - 1)) if first else Dug(part, part)
        words = f"Dig: {number} of {DIG_STEPS}"
        if number == DIG_STEPS:
            yield f"{words}, down to the full depth", DUG_OUT
        else:
            yield words + (", topsoil off" if first and number == 1 else ""), dug


def _under(dig: Dig, job: Job, crew: Crew, unit: Unit) -> Iterator[tuple[str, tuple[Piece, ...]]]:
    """Give what lies between the dug surface and the pavers, from the bottom up."""

    takeoff = job.jobs[0]
    layers = list(zip(takeoff.layers, dig.system.tops(), strict=True))
    listed = any(part.layer.role == "geotextile" for part, _ in layers)
    if takeoff.fabric is not None and not listed:
        fabric = Piece("geotextile", "geotextile", "geotextile", dig.polygon, dig.build_up,
                       takeoff.fabric.up, (0.0, 1.0), 0.0)  # fmt: skip
        sides = " and up its sides" if takeoff.fabric.up else ""
        yield f"Geotextile on the soil{sides}", (fabric,)
    yield from _refill(dig, takeoff.stone, crew)
    yield from _own_bases(dig, takeoff)
    for part, top in reversed(layers[_paver_on_top(dig) :]):
        layer = part.layer
        clean = layer.material == "open-graded"
        shoulder = polygons(takeoff.shoulder if clean else shapely.Polygon())
        footprint = _around(footprint_of(takeoff, layer), shoulder)
        count = _lifts(layer.thickness, layer.material, crew) if layer.role == "base" else 1
        high = layer.thickness / count
        lifts = [
            Piece("layer", layer.name, layer.material, footprint, top + high * (count - number),
                  high, (0.0, 1.0), part.volume / count)
            for number in range(1, count + 1)
        ]  # fmt: skip
        for words, laid in _in_steps(layer.name, lifts):
            high = sum(piece.thickness for piece in laid)
            yield f"{words}: {size(high, unit)}", tuple(_beside_shoulder(laid, shoulder))


def _around(footprint: Region, gone: shapely.Geometry) -> Region:
    """Return where something is laid, without what is left out for things on their own bases."""
    empty = shapely.is_empty(gone)
    return footprint if empty else polygons(shapely.difference(footprint, gone))


def _beside_shoulder(lifts: Sequence[Piece], shoulder: Region) -> Iterator[Piece]:
    """Give lifts of open stone, each with that of the shoulder of the edge that stops it."""
    for lift in lifts:
        yield lift
        if not shoulder.is_empty:
            volume = float(shoulder.area) * lift.thickness
            yield replace(lift, name="shoulder of the edge", material="dense-graded",
                          footprint=shoulder, volume=volume)  # fmt: skip


def _own_bases(dig: Dig, takeoff: Takeoff) -> Iterator[tuple[str, tuple[Piece, ...]]]:
    """Give the bases that things have of their own; the order leaves them out, and so the count."""

    standing = takeoff.standing
    pads = shapely.difference(standing.pads, standing.drains)
    where = polygons(shapely.intersection(pads, dig.polygon))
    if where.is_empty:
        return
    paver = sum(layer.thickness for layer in dig.system.layers if layer.role == "paver")
    base = Piece("layer", "base of its own", "dense-graded", where, paver, dig.build_up - paver,
                 (0.0, 1.0), 0.0)  # fmt: skip
    yield "Bases of what stands on it", (base,)


def _lifts(thickness: float, material: str, crew: Crew) -> int:
    return max(1, lift_count(thickness, material, crew))


def _paver_on_top(dig: Dig) -> int:
    """Return 1 where the top layer is laid course by course, else 0."""
    return int(dig.system.layers[0].role == "paver")


def _refill(dig: Dig, stone: str, crew: Crew) -> Iterator[tuple[str, tuple[Piece, ...]]]:
    refill = dig.refill
    if refill is None:
        return
    count = _lifts(refill.greatest, stone, crew)
    lifts = [
        Piece("refill", "refill", "refill", dig.polygon, dig.build_up, refill.greatest / count,
              ((number - 1) / count, number / count), refill.volume / count)
        for number in range(1, count + 1)
    ]  # fmt: skip
    yield from _in_steps("Refill up to the base", lifts)


def _in_steps(name: str, lifts: Sequence[Piece]) -> Iterator[tuple[str, tuple[Piece, ...]]]:
    """Give the lifts of one layer in not too many steps."""
    count = len(lifts)
    shown = min(count, MOST_LIFT_STEPS)
    ends = [round(count * number / shown) for number in range(shown + 1)]
    for first, last in pairwise(ends):
        to = "and" if last == first + 2 else "to"
        lift = f"lift {last}" if last == first + 1 else f"lifts {first + 1} {to} {last}"
        yield name if count == 1 else f"{name}, {lift} of {count}", tuple(lifts[first:last])


def _paving(
    dig: Dig, job: Job, bands: Sequence[Region], stacks: PaverStacks
) -> Iterator[tuple[str, tuple[Piece, ...]]]:
    if not _paver_on_top(dig):
        return
    layer = dig.system.layers[0]
    laid = [_around(band, job.jobs[0].standing.feet) for band in _from_stacks(bands, stacks)]
    if stacks.walked_on:
        passed = f"stacked on the {'panels' if dig.system.on_panels else 'base'}"
    else:
        passed = "bed not walked on"
    for number, band in enumerate(laid, start=1):
        piece = Piece("layer", layer.name, layer.material, band, 0.0, layer.thickness,
                      (0.0, 1.0), float(band.area) * layer.thickness)  # fmt: skip
        yield f"Pavers: {number} of {len(bands)}, {passed}", (piece,)


def _from_stacks(bands: Sequence[Region], stacks: PaverStacks) -> Sequence[Region]:
    """Return the parts of the paving as they are laid: from where the pavers stand."""

    if stacks.at is None or len(bands) < 2:
        return bands
    far = [shapely.distance(band, shapely.Point(stacks.at)) for band in (bands[0], bands[-1])]
    return bands[::-1] if far[1] < far[0] else bands


def _finishing(dig: Dig, takeoff: Takeoff) -> tuple[str, Dug, tuple[Piece, ...]]:
    title = "Joints filled" if _paver_on_top(dig) else "Finished"
    beside = _around(dig.beside, takeoff.stands_beside)
    high = dig.system.above_edge
    volume = float(beside.area) * high
    if volume < LEAST:
        return title, DUG_OUT, ()
    edge = Piece("backfill", "backfill", "backfill", beside, 0.0, high, (0.0, 1.0), volume)
    return f"{title}, edge backfilled", DUG_OUT, (edge,)


def surface_of(ground: Floats, organics: Floats, floor: Floats, dug: Dug) -> Floats:
    """Return the surface at a stage of the dig from ground, depth of topsoil and dug surface."""
    if dug == DUG_OUT:
        return floor
    below = np.maximum(ground - organics - floor, 0.0)
    return ground - dug.topsoil * organics - dug.below * below
