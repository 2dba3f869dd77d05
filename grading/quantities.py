"""Quantities: what an area takes on a base system, line by line, and how each was reached.

Volumes of stone and soil come from the plan's dig and from nowhere else.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import Any, NamedTuple

from grading.baselayers import BaseSystem
from grading.crew import Crew, Entry
from grading.dig import LayerVolume
from grading.laying import Laid
from grading.pavers import NARROW, PaverLayout
from grading.takeoff import Fabric, Run, Takeoff
from grading.touching import pieces_of
from grading.underdrain import Underdrain
from grading.units import Unit, area, percent, run, size, volume

STONES = {
    "dense-graded": "dense-graded",
    "open-graded": "open-graded",
    "chips": "chips",
    "bedding sand": "bedding-sand",
}
"""The item that a layer's material is ordered as; another material is reckoned as dense-graded."""


_LEAST_EDGE = 0.01  # m; less held edge is rounding
_LEAST_BESIDE = 1e-6  # m2; less hole beside the paving is rounding


@dataclass(frozen=True)
class Line:
    """One line of a take-off.

    Attributes
    ----------
    item : str
        What it is ordered as; empty where nothing is bought.
    title : str
    measure : "kg", "m2", "m" or "each"
        Of `net` and `amount`.
    net, amount : float
        Without and with waste and allowances.
    how : str
        How it was reached.
    compacted, loose : float
        Volume in place, and as it comes. [m3]
    mass : float
        What it weighs. [kg]
    """

    item: str
    title: str
    measure: str
    net: float
    amount: float
    how: str
    compacted: float = 0.0
    loose: float = 0.0
    mass: float = 0.0


class Maker(NamedTuple):
    """Makes some lines of a take-off with a crew's figures, from nothing but what it is given.

    Makers that are given the same are equal, and make the same lines.

    Attributes
    ----------
    make : callable
        Of all that is given, and a crew.
    given : tuple
    """

    make: Callable[..., Iterator[Line]]
    given: tuple[Any, ...]

    def lines(self, crew: Crew) -> tuple[Line, ...]:
        """Return the lines."""
        return tuple(self.make(*self.given, crew))


def lines_of(job: Takeoff, crew: Crew, unit: Unit) -> tuple[Line, ...]:
    """Return the lines of a take-off, from the top down.

    Parameters
    ----------
    job : Takeoff
    crew : Crew
    unit : "ft" or "m"
        What `how` is written in.
    """
    return tuple(line for maker in makers_of(job, unit) for line in maker.lines(crew))


def makers_of(job: Takeoff, unit: Unit) -> Iterator[Maker]:
    """Return what makes the lines of a take-off, from the top down.

    Parameters
    ----------
    job : Takeoff
    unit : "ft" or "m"
        What `how` is written in.
    """
    dig, layers = job.dig, job.layers
    thickness = next((part.layer.thickness for part in layers if part.layer.role == "paver"), 0.0)
    yield Maker(_pavers, (job.pavers, thickness, unit))
    yield Maker(_joint_sand, (job.pavers, thickness, unit))
    for part in layers:
        role = part.layer.role
        if role == "panel" and job.panels is not None:
            yield Maker(_panels, (dig.system, job.panels, part.area, unit))
        elif role == "base":
            yield Maker(_lifts, (part, unit))
        elif role == "bedding":
            yield Maker(_bedding, (part, unit))
    if dig.fill > 0:
        refill = (dig.fill, dig.fill_area, dig.fill_for_organics)
        yield Maker(_refill, (job.stone, *refill, unit))
    if job.fabric is not None:
        yield Maker(_fabric, (job.fabric, unit))
    if job.underdrain is not None:
        yield Maker(_underdrain, (job.underdrain, unit))
    if job.free_edge:
        on_panels = job.panels is not None
        yield Maker(_edge, (job.runs, job.held_edge, on_panels, job.stone, unit))
    if job.beside > _LEAST_BESIDE:
        yield Maker(_lawn, (job.beside, dig.backfill, job.soil, unit))


def kind_of(item: str) -> str:
    """Return what kind of thing an item is: "panels" also of those of one base system alone.

    Parameters
    ----------
    item : str
    """
    head = item.partition(" of ")[0]
    return head if head in ("panels", "fixings") else item


def stone_item(material: str) -> str:
    """Return what a material is ordered as."""
    return STONES.get(material, "dense-graded")


def _stone(material: str, title: str, compacted: float, how: str, crew: Crew) -> Line:
    item = stone_item(material)
    net = compacted * crew[f"{item}-compacted"]
    amount = net * (1 + crew[f"{item}-waste"])
    words = f"{how}; {percent(crew[f'{item}-waste'], 0)} more"
    if material not in STONES:
        words += f"; {material} counted as dense-graded"
    loose = amount / crew[f"{item}-loose"]
    return Line(item, title, "kg", net, amount, words, compacted, loose, amount)


def lift_limit(material: str, crew: Crew) -> Entry | None:
    """Return the thickest lift that a material is compacted in, with its source.

    Parameters
    ----------
    material : str
    crew : Crew
    """
    return crew.materials.get(f"{stone_item(material)}-lift")


def lift_count(thickness: float, material: str, crew: Crew) -> int:
    """Return how many lifts of equal thickness a layer is compacted in.

    Parameters
    ----------
    thickness : float
        Of the layer, compacted. [m]
    material : str
    crew : Crew
    """
    limit = lift_limit(material, crew)
    return math.ceil(thickness / limit.likely - 1e-9) if limit else 1


def _bedding(part: LayerVolume, unit: Unit, crew: Crew) -> Iterator[Line]:
    how = f"{size(part.layer.thickness, unit)} compacted over {area(part.area, unit)}"
    yield _stone(part.layer.material, part.layer.name, part.volume, how, crew)


def _refill(
    stone: str, fill: float, over: float, for_organics: float, unit: Unit, crew: Crew
) -> Iterator[Line]:
    why = (
        f"dug below the build-up over {area(over, unit)}; "
        f"{volume(for_organics, unit)} of it because organics went deeper"
    )
    yield _stone(stone, "refill below the build-up", fill, why, crew)


def _lifts(part: LayerVolume, unit: Unit, crew: Crew) -> Iterator[Line]:
    thickness = part.layer.thickness
    count = lift_count(thickness, part.layer.material, crew)
    for number in range(1, count + 1):
        lift = f", lift {number} of {count}" if count > 1 else ""
        how = f"{size(thickness / count, unit)} compacted over {area(part.area, unit)}"
        title = part.layer.name + lift
        yield _stone(part.layer.material, title, part.volume / count, how, crew)


def _pavers(layout: PaverLayout, thickness: float, unit: Unit, crew: Crew) -> Iterator[Line]:
    field, pavers = layout.field, layout.pavers
    name = f"{size(pavers.length, unit)} x {size(pavers.width, unit)}"
    face = pavers.length * pavers.width
    each = face * thickness * crew["paver-density"]
    spoilt, spare = crew["paver-breakage"], crew["paver-spare"]
    units = field.units * (1 + spoilt) + spare
    how = (
        f"{name}, {pavers.pattern}, laid over {area(layout.area, unit)}: {field.whole} whole, "
        f"{field.cut} cut from {field.units - field.whole} "
        f"({field.slivers} narrower than {size(NARROW, unit)}); "
        f"{percent(spoilt, 0)} spoilt and {spare:.0f} spare"
    )
    net = layout.area - layout.soldier_pieces * layout.unit_area
    yield Line("pavers", "pavers, field", "m2", max(net, 0.0), units * layout.unit_area, how,
               mass=units * each)  # fmt: skip
    if layout.soldier_pieces:
        pieces = layout.soldier_pieces * (1 + spoilt)
        how = f"{run(layout.soldier_length, unit)} long, {layout.soldier_pieces} pieces {name}"
        yield Line("pavers", "pavers, soldier course", "m2",
                   layout.soldier_pieces * layout.unit_area, pieces * layout.unit_area,
                   f"{how}; {percent(spoilt, 0)} spoilt", mass=pieces * each)  # fmt: skip


def joint_sand_mass(share: float, depth: float, density: float) -> float:
    """Return the joint sand in a square metre of paving. [kg]

    Parameters
    ----------
    share : float
        Joint area over plan area. [ratio]
    depth : float
        Depth of the joint that is filled. [m]
    density : float
        Of the sand in the joint. [kg/m3]
    """
    return share * depth * density


def _joint_sand(layout: PaverLayout, thickness: float, unit: Unit, crew: Crew) -> Iterator[Line]:
    depth = max(thickness - crew["joint-sand-below"], 0.0)
    net = layout.area * joint_sand_mass(layout.joint_share, depth, crew["joint-sand-density"])
    lost = crew["joint-sand-waste"]
    how = (
        f"joints {size(layout.pavers.joint, unit)} wide are {percent(layout.joint_share)} of "
        f"{area(layout.area, unit)}, filled {size(depth, unit)} deep; {percent(lost, 0)} lost"
    )
    amount = net * (1 + lost)
    yield Line("joint-sand", "joint sand", "kg", net, amount, how, mass=amount)


def _panels(system: BaseSystem, laid: Laid, over: float, unit: Unit, crew: Crew) -> Iterator[Line]:
    spoilt, told = crew["panel-breakage"], system.panel
    amount = laid.units * (1 + spoilt)
    how = "" if told is None or told.size is None else f"{_sides(told.size, unit)}, "
    how += (
        f"laid out over {area(over, unit)}: {laid.whole} whole, {laid.cut} cut from "
        f"{laid.units - laid.whole}; {percent(spoilt, 0)} spoilt"
    )
    net = over / laid.face
    each = crew["panel-mass"] if told is None or told.mass is None else told.mass
    title = "panels" if told is None else f"panels, {system.called}"
    yield Line(system.panels, title, "each", net, amount, how, mass=amount * each)
    if told is not None and told.fixing is not None:
        fixing = told.fixing
        how = f"{fixing.each} to each of the panels, those that are spoilt too"
        net, amount = laid.units * fixing.each, amount * fixing.each
        yield Line(system.fixings, fixing.name, "each", net, amount, how)


def _sides(sides: tuple[float, float], unit: Unit) -> str:
    return f"{size(sides[0], unit)} x {size(sides[1], unit)}"


def _fabric(fabric: Fabric, unit: Unit, crew: Crew) -> Iterator[Line]:
    wide, lap = crew["geotextile-roll-width"], crew["geotextile-overlap"]
    sides = f", {size(fabric.up, unit)} up the sides" if fabric.up else ""
    how = (
        f"{area(fabric.covered, unit)} of ground{sides}, off a roll {run(wide, unit)} wide: "
        f"{run(fabric.length, unit)} of it"
    )
    if len(fabric.strips) > 1:
        how += f" in {len(fabric.strips)} strips that overlap by {size(lap, unit)}"
    yield Line("geotextile", "geotextile", "m2", fabric.covered, fabric.length * wide, how)


def _underdrain(drain: Underdrain, unit: Unit, crew: Crew) -> Iterator[Line]:
    more = crew["underdrain-waste"]
    how = f"{run(drain.along, unit)} along the low side of the stone"
    how += (
        f" and {run(drain.out, unit)} to {drain.outlet}"
        if drain.out is not None
        else "; no place low enough to lead it to is named, so the way to one is not counted"
    )
    yield Line("underdrain", "underdrain", "m", drain.pipe, drain.pipe * (1 + more),
               f"{how}; {percent(more, 0)} more")  # fmt: skip
    if drain.waterproofed > 0:
        net, more = drain.waterproofed, crew["waterproofing-waste"]
        how = (
            f"{run(drain.wall, unit)} of foundation wall before the stone, "
            f"{size(drain.depth, unit)} from the finish to the subgrade; {percent(more, 0)} more; "
            "how far down it goes on is for who waterproofs it"
        )
        yield Line("waterproofing", "waterproofing of the wall", "m2", net, net * (1 + more), how)


def spikes(runs: tuple[tuple[float, bool], ...], piece: float, crew: Crew) -> int:
    """Return the spikes of an edge restraint; common practice, no source.

    Parameters
    ----------
    runs : tuple of (float, bool)
        Length of each run [m], and whether it closes on itself.
    piece : float
        Length of a piece of edge restraint. [m]
    crew : Crew

    Notes
    -----
    One to each spacing, one more at each end, three more at each joint; a ring has a joint more
    and no ends.
    """
    total = 0.0
    for long, closed in runs:
        pieces = pieces_of(long, piece)
        joints = pieces if closed else pieces - 1
        total += pieces_of(long, crew["spike-spacing"])
        total += crew["spikes-at-joint"] * joints
        total += 0 if closed else 2 * crew["spikes-at-end"]
    return math.ceil(total)


def _edge(
    runs: tuple[Run, ...], held: float, on_panels: bool, stone: str, unit: Unit, crew: Crew
) -> Iterator[Line]:
    long = sum(one.length for one in runs)
    allowed = crew["edging-waste"]
    ends = f"{len(runs)} run{'s' if len(runs) > 1 else ''}"
    how = f"{run(long, unit)} of free edge in {ends}; {percent(allowed, 0)} more"
    if held > _LEAST_EDGE:
        how += f"; {run(held, unit)} more is held by a wall, a slope or what stands on it"
    yield Line("edging", "edge restraint", "m", long, long * (1 + allowed), how)
    if on_panels:
        spacing = crew["panel-screw-spacing"]
        count = sum(pieces_of(run.length, spacing) + 1 for run in runs)
        how = f"into the panels, one in {size(spacing, unit)} and one more for each run"
        yield Line("screws", "panel screws", "each", count, count, how)
        return
    ways = tuple((one.length, one.closed) for one in runs)
    count = spikes(ways, crew["edging-piece"], crew)
    how = (
        f"one in {size(crew['spike-spacing'], unit)}, {crew['spikes-at-end']:.0f} more at each "
        f"end, {crew['spikes-at-joint']:.0f} more at each joint"
    )
    if stone == "open-graded":
        how += "; they do not hold in clean stone: give the edge a dense-graded shoulder"
    yield Line("spikes", "spikes", "each", count, count, how)


def _lawn(beside: float, backfill: float, soil: str, unit: Unit, crew: Crew) -> Iterator[Line]:
    more = crew["sod-waste"]
    how = f"{area(beside, unit)} of hole beside the paving; {percent(more, 0)} more"
    yield Line("sod", "lawn repair", "m2", beside, beside * (1 + more), how)
    how = "beside the paving up to the finish, kept from the spoil"
    loose = backfill * (1 + crew[f"{soil}-swell"])
    mass = backfill * crew[f"{soil}-bank"]
    yield Line("", "backfill of the edge", "kg", mass, mass, how, backfill, loose, mass)
