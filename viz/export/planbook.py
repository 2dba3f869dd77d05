"""A plan as a workbook: every number a number, its unit in the header of its column."""

from __future__ import annotations

from pathlib import Path

from grading.design.area import AreaPlan
from grading.pipeline import Plan
from grading.units import INCH, Unit, square_feet
from viz.export.levels import levels_table, spots_table
from viz.signature import not_for_signature
from viz.table import CUBIC, Cells, Table, cubic
from viz.tables.plan import checks_table
from viz.tables.workbook import Live, Pages, book_at
from viz.words.cautions import REPORT
from viz.words.paving.structures import structures_in

_MOST = 100_000  # spots: a sheet ends at about a million rows, and a spreadsheet slows before

_SUMMED = {
    "Summary": ("paving", "cut", "refill", "spoil", "checks failed"),
    "Dig": ("dig in plan", "cut, bank", "of it organics", "refill", "backfill", "spoil"),
    "Beside": ("dug, bank", "of it topsoil", "put back"),
}
"""Starts of the headers of what is summed on a sheet, by its name."""


def write_planbook(plan: Plan, path: Path) -> None:
    """Write a plan as XLSX: summary, layers, dig, levels of each area, checks, spots.

    Parameters
    ----------
    plan : Plan
    path : Path
    """
    caution, band = " ".join(REPORT.split()), not_for_signature(plan)
    with book_at(path, plan.site.name) as book:
        pages = Pages(book)
        for name, heading, table in sheets(plan):
            page = pages.add(name)
            page.heading(f"{plan.site.name}: {heading}")
            page.table(table, alone=True, live=_live(name, plan.site.unit))
            if band:
                page.words(band)
            page.words(caution)
            page.close()


def _live(name: str, unit: Unit) -> Live:
    """Return what of a sheet is worked out anew where a figure is changed."""
    if name == "Layers":
        # Inches by square feet in cubic yards, or millimetres by square metres in cubic metres.
        per = 12.0 * 27.0 if unit == "ft" else 1000.0
        return Live(("compacted",), ("compacted", ("thickness", "area ("), per))
    return Live(_SUMMED.get(name, ()))


def sheets(plan: Plan) -> list[tuple[str, str, Table]]:
    """Return the sheets of a plan: name, heading and table."""
    unit = plan.site.unit
    found = [
        ("Summary", "each area on the base chosen", summary_table(plan)),
        ("Layers", "layers of every base system, from the top down", layers_table(plan)),
        ("Dig", "every base system, before any rounding", dig_table(plan)),
    ]
    beside = beside_table(plan)
    if beside.rows:
        found.append(("Beside", "what is built beside and below the paving", beside))
    for area in plan.areas:
        about = f"levels of {area.area.name}, on the site's datum in {unit}"
        found.append((f"Levels {area.area.name}", about, levels_table(plan, area)))
    found.append(("Checks", "what the plan is held to, in SI", checks_table(plan)))
    spots, about = spots_table(plan), "the survey as it was read"
    if len(spots.rows) > _MOST:
        about += f", its first {_MOST} of {len(spots.rows)} spots"
        spots = Table(spots.headers, spots.rows[:_MOST])
    found.append(("Spots", about, spots))
    return found


def _small(title: str, metres: float, unit: Unit) -> Cells:
    return {f"{title} (in)": metres / INCH} if unit == "ft" else {f"{title} (mm)": metres * 1000}


def _flat(title: str, square_metres: float, unit: Unit) -> Cells:
    size = square_feet(square_metres) if unit == "ft" else square_metres
    return {f"{title} ({'ft²' if unit == 'ft' else 'm²'})": size}


def _earth(title: str, cubic_metres: float, unit: Unit) -> Cells:
    return {f"{title} ({CUBIC[unit]})": cubic(cubic_metres, unit)}


def summary_table(plan: Plan) -> Table:
    """Return one row for each area, on the base system chosen."""
    unit = plan.site.unit

    def row(area: AreaPlan) -> Cells:
        dig, plane, name = area.chosen_dig, area.finish.plane, area.area.name
        failed = sum(check.status == "fail" and check.area == name for check in plan.checks)
        return {
            "area": name, "use": area.area.use, "base": area.chosen,
            **_flat("paving", area.paving, unit), "greatest fall (%)": plane.fall * 100,
            "water runs to (degrees clockwise from +y)": plane.bearing,
            **_small("build-up", dig.build_up, unit), **_earth("cut, bank", dig.cut, unit),
            **_earth("refill, compacted", dig.fill, unit),
            **_earth("spoil, loose", dig.spoil_loose, unit),
            **_small("deepest dig", dig.max_dig, unit), "checks failed (count)": failed,
        }  # fmt: skip

    return Table.of(map(row, plan.areas))


def layers_table(plan: Plan) -> Table:
    """Return every layer of every base system: thickness, area and compacted volume."""
    unit = plan.site.unit
    return Table.of(
        {
            **_of_base(area, base), "layer": part.layer.name, "material": part.layer.material,
            **_small("thickness", part.layer.thickness, unit), **_flat("area", part.area, unit),
            **_earth("compacted", part.volume, unit),
        }
        for area in plan.areas
        for base, dig in area.digs.items()
        for part in dig.layers
    )  # fmt: skip


def dig_table(plan: Plan) -> Table:
    """Return the dig of every base system of every area."""
    unit = plan.site.unit
    return Table.of(
        {
            **_of_base(area, base), **_small("build-up", dig.build_up, unit),
            **_flat("dig in plan", dig.dig_area, unit), **_earth("cut, bank", dig.cut, unit),
            **_earth("of it organics", dig.organics_volume, unit),
            **_earth("refill, compacted", dig.fill, unit),
            **_earth("backfill beside", dig.backfill, unit),
            **_earth("spoil, loose", dig.spoil_loose, unit),
            **_small("deepest dig", dig.max_dig, unit), **_small("mean dig", dig.mean_dig, unit),
            **_earth("cut against the one chosen", area.difference(base), unit),
        }
        for area in plan.areas
        for base, dig in area.digs.items()
    )  # fmt: skip


def _of_base(area: AreaPlan, base: str) -> Cells:
    chosen = "yes" if base == area.chosen else ""
    return {"area": area.area.name, "base": base, "chosen": chosen}


def beside_table(plan: Plan) -> Table:
    """Return what is built beside and below the paving, on the bases chosen."""
    unit = plan.site.unit
    return Table.of(
        {
            "name": one.name, "kind": one.kind, "area": one.area,
            **_earth("dug, bank", one.dug.bank, unit),
            **_earth("of it topsoil", one.dug.topsoil, unit),
            **_earth("put back, bank", one.dug.put_back, unit),
            **_flat("stands on, in plan", float(one.stands.area), unit), "what it is": one.said,
        }
        for one in structures_in(plan.order)
    )  # fmt: skip
