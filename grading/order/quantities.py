"""Quantities: what an area takes on a base system, line by line, and how each was reached.

Volumes of stone and soil come from the plan's dig and from nowhere else.
"""

from __future__ import annotations

from collections.abc import Iterator

from grading.catalogue.bases import BaseSystem
from grading.crew.lines import Line, Maker, stone_item, stone_line
from grading.crew.model import Crew, Entry
from grading.dig.hole import LayerVolume
from grading.geometry.tolerances import SLIVER, whole_up
from grading.order.edge_lines import edge_lines
from grading.order.joint_lines import joint_lines
from grading.order.laid.pavers import NARROW, PaverLayout
from grading.order.laid.units import Laid
from grading.order.soil import soil_lines
from grading.order.takeoff import Fabric, Takeoff
from grading.units import Unit, area, percent, run, size, volume


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
    yield Maker(joint_lines, (job.joint, job.pavers, thickness, unit))
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
    if job.shoulder_area > SLIVER:
        shoulder = (job.shoulder_area, job.free_edge, job.shoulder_height)
        yield Maker(_shoulder, (*shoulder, unit))
    if job.free_edge:
        laid = (dig.system.edge, job.runs, job.held_edge, job.concrete, job.stone)
        yield Maker(edge_lines, (*laid, unit))
    wanted = job.soil_wanted
    if wanted.grass > SLIVER or wanted.filled > SLIVER:
        yield Maker(soil_lines, (wanted, job.soil, unit))
    for structure in job.structures:
        yield from structure.makers


def kind_of(item: str) -> str:
    """Return what kind of thing an item is: "panels" also of those of one base system alone.

    Parameters
    ----------
    item : str
    """
    head = item.partition(" of ")[0]
    return head if head in ("panels", "fixings") else item


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
    return whole_up(thickness / limit.likely) if limit else 1


def _bedding(part: LayerVolume, unit: Unit, crew: Crew) -> Iterator[Line]:
    how = f"{size(part.layer.thickness, unit)} compacted over {area(part.area, unit)}"
    yield stone_line(part.layer.material, part.layer.name, part.volume, how, crew)


def _refill(
    stone: str, fill: float, over: float, for_organics: float, unit: Unit, crew: Crew
) -> Iterator[Line]:
    why = (
        f"dug below the build-up over {area(over, unit)}; "
        f"{volume(for_organics, unit)} of it because organics went deeper"
    )
    yield stone_line(stone, "refill below the build-up", fill, why, crew)


def _lifts(part: LayerVolume, unit: Unit, crew: Crew) -> Iterator[Line]:
    thickness = part.layer.thickness
    count = lift_count(thickness, part.layer.material, crew)
    for number in range(1, count + 1):
        lift = f", lift {number} of {count}" if count > 1 else ""
        how = f"{size(thickness / count, unit)} compacted over {area(part.area, unit)}"
        title = part.layer.name + lift
        yield stone_line(part.layer.material, title, part.volume / count, how, crew)


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


def _shoulder(over: float, long: float, thickness: float, unit: Unit, crew: Crew) -> Iterator[Line]:
    how = (
        f"in place of the open stone along {run(long, unit)} of edge: {size(thickness, unit)} "
        f"compacted over {area(over, unit)}"
    )
    yield stone_line("dense-graded", "shoulder of the edge", over * thickness, how, crew)
    net = long * thickness
    how = f"{size(thickness, unit)} high between the shoulder and the open stone, {run(long, unit)}"
    lap = crew["geotextile-overlap"]
    yield Line("geotextile", "geotextile of the shoulder", "m2", net, net + 2 * lap * long,
               f"{how}; {size(lap, unit)} more above and below")  # fmt: skip
