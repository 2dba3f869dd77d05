"""Quantities: what an area takes on a base system, line by line, and how each was reached.

Volumes of stone and soil come from the plan's dig and from nowhere else.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

from grading.crew import Crew, Entry
from grading.dig import LayerVolume
from grading.pavers import NARROW
from grading.takeoff import Takeoff
from grading.touching import pieces_of
from grading.units import Unit, area, percent, run, size, volume

STONES = {
    "dense-graded": "dense-graded",
    "open-graded": "open-graded",
    "chips": "chips",
    "bedding sand": "bedding-sand",
}
"""The item that a layer's material is ordered as; another material is reckoned as dense-graded."""


_LEAST_EDGE = 0.01  # m; less held edge is rounding


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


def lines_of(job: Takeoff, crew: Crew, unit: Unit) -> tuple[Line, ...]:
    """Return the lines of a take-off, from the top down.

    Parameters
    ----------
    job : Takeoff
    crew : Crew
    unit : "ft" or "m"
        What `how` is written in.
    """
    parts: list[Line] = [*_pavers(job, crew, unit), _joint_sand(job, crew, unit)]
    for part in job.layers:
        role = part.layer.role
        if role == "panel":
            parts += _panels(job, crew, unit)
        elif role == "base":
            parts += _lifts(part, crew, unit)
        elif role == "bedding":
            how = f"{size(part.layer.thickness, unit)} compacted over {area(part.area, unit)}"
            parts.append(_stone(part.layer.material, part.layer.name, part.volume, how, crew))
    if job.dig.fill > 0:
        why = (
            f"dug below the build-up over {area(job.dig.fill_area, unit)}; "
            f"{volume(job.dig.fill_for_organics, unit)} of it because organics went deeper"
        )
        parts.append(_stone(job.stone, "refill below the build-up", job.dig.fill, why, crew))
    parts += [*_fabric(job, crew, unit), *_underdrain(job, crew, unit)]
    parts += [*_edge(job, crew, unit), *_lawn(job, crew, unit)]
    return tuple(parts)


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


def _lifts(part: LayerVolume, crew: Crew, unit: Unit) -> Iterator[Line]:
    thickness = part.layer.thickness
    count = lift_count(thickness, part.layer.material, crew)
    for number in range(1, count + 1):
        lift = f", lift {number} of {count}" if count > 1 else ""
        how = f"{size(thickness / count, unit)} compacted over {area(part.area, unit)}"
        title = part.layer.name + lift
        yield _stone(part.layer.material, title, part.volume / count, how, crew)


def _pavers(job: Takeoff, crew: Crew, unit: Unit) -> Iterator[Line]:
    layout, field = job.pavers, job.pavers.field
    pavers = layout.pavers
    thickness = next((p.layer.thickness for p in job.dig.layers if p.layer.role == "paver"), 0.0)
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


def _joint_sand(job: Takeoff, crew: Crew, unit: Unit) -> Line:
    layout = job.pavers
    thickness = next((p.layer.thickness for p in job.dig.layers if p.layer.role == "paver"), 0.0)
    depth = max(thickness - crew["joint-sand-below"], 0.0)
    net = layout.area * joint_sand_mass(layout.joint_share, depth, crew["joint-sand-density"])
    lost = crew["joint-sand-waste"]
    how = (
        f"joints {size(layout.pavers.joint, unit)} wide are {percent(layout.joint_share)} of "
        f"{area(layout.area, unit)}, filled {size(depth, unit)} deep; {percent(lost, 0)} lost"
    )
    return Line("joint-sand", "joint sand", "kg", net, net * (1 + lost), how, mass=net * (1 + lost))


def _panels(job: Takeoff, crew: Crew, unit: Unit) -> Iterator[Line]:
    laid = job.panels
    if laid is None:
        return
    spoilt = crew["panel-breakage"]
    amount = laid.units * (1 + spoilt)
    over = next(part.area for part in job.layers if part.layer.role == "panel")
    how = (
        f"laid out over {area(over, unit)}: {laid.whole} whole, {laid.cut} cut from "
        f"{laid.units - laid.whole}; {percent(spoilt, 0)} spoilt"
    )
    net = over / laid.face
    yield Line("panels", "panels", "each", net, amount, how, mass=amount * crew["panel-mass"])


def _fabric(job: Takeoff, crew: Crew, unit: Unit) -> Iterator[Line]:
    fabric = job.fabric
    if fabric is None:
        return
    wide, lap = crew["geotextile-roll-width"], crew["geotextile-overlap"]
    sides = f", {size(fabric.up, unit)} up the sides" if fabric.up else ""
    how = (
        f"{area(fabric.covered, unit)} of ground{sides}, off a roll {run(wide, unit)} wide: "
        f"{run(fabric.length, unit)} of it"
    )
    if len(fabric.strips) > 1:
        how += f" in {len(fabric.strips)} strips that overlap by {size(lap, unit)}"
    yield Line("geotextile", "geotextile", "m2", fabric.covered, fabric.length * wide, how)


def _underdrain(job: Takeoff, crew: Crew, unit: Unit) -> Iterator[Line]:
    drain = job.underdrain
    if drain is None:
        return
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


def _edge(job: Takeoff, crew: Crew, unit: Unit) -> Iterator[Line]:
    long = job.free_edge
    if not long:
        return
    allowed = crew["edging-waste"]
    ends = f"{len(job.runs)} run{'s' if len(job.runs) > 1 else ''}"
    how = f"{run(long, unit)} of free edge in {ends}; {percent(allowed, 0)} more"
    if job.held_edge > _LEAST_EDGE:
        how += f"; {run(job.held_edge, unit)} more is held by a wall, a slope or what stands on it"
    yield Line("edging", "edge restraint", "m", long, long * (1 + allowed), how)
    if job.panels is not None:
        spacing = crew["panel-screw-spacing"]
        count = sum(pieces_of(run.length, spacing) + 1 for run in job.runs)
        how = f"into the panels, one in {size(spacing, unit)} and one more for each run"
        yield Line("screws", "panel screws", "each", count, count, how)
        return
    runs = tuple((run.length, run.closed) for run in job.runs)
    count = spikes(runs, crew["edging-piece"], crew)
    how = (
        f"one in {size(crew['spike-spacing'], unit)}, {crew['spikes-at-end']:.0f} more at each "
        f"end, {crew['spikes-at-joint']:.0f} more at each joint"
    )
    if job.stone == "open-graded":
        how += "; they do not hold in clean stone: give the edge a dense-graded shoulder"
    yield Line("spikes", "spikes", "each", count, count, how)


def _lawn(job: Takeoff, crew: Crew, unit: Unit) -> Iterator[Line]:
    if job.beside <= 1e-6:
        return
    more = crew["sod-waste"]
    how = f"{area(job.beside, unit)} of hole beside the paving; {percent(more, 0)} more"
    yield Line("sod", "lawn repair", "m2", job.beside, job.beside * (1 + more), how)
    how = "beside the paving up to the finish, kept from the spoil"
    loose = job.dig.backfill * (1 + crew[f"{job.soil}-swell"])
    mass = job.dig.backfill * crew[f"{job.soil}-bank"]
    yield Line("", "backfill of the edge", "kg", mass, mass, how, job.dig.backfill, loose, mass)
