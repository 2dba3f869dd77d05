"""A plan as a workbook: every number a number, its unit in the header of its column."""

from __future__ import annotations

import math
from pathlib import Path

from grading.catalogue.rules import RULES
from grading.pipeline import Plan
from grading.units import INCH, SQUARE_FOOT, Unit, cubic_yards
from viz.export.levels import levels_table, spots_table
from viz.signature import not_for_signature
from viz.table import Table
from viz.tables.workbook import Live, Pages, book_at
from viz.words.cautions import REPORT
from viz.words.structures import structures_in

_MOST = 100_000  # spots: a sheet ends at about a million rows, and a spreadsheet slows before
_MARKS: dict[Unit, tuple[str, str, str]] = {"ft": ("in", "ft²", "yd³"), "m": ("mm", "m²", "m³")}


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


def _small(metres: float, unit: Unit) -> float:
    return metres / INCH if unit == "ft" else metres * 1000


def _flat(square_metres: float, unit: Unit) -> float:
    return square_metres / SQUARE_FOOT if unit == "ft" else square_metres


def _earth(cubic_metres: float, unit: Unit) -> float:
    return cubic_yards(cubic_metres) if unit == "ft" else cubic_metres


def summary_table(plan: Plan) -> Table:
    """Return one row for each area, on the base system chosen."""
    unit = plan.site.unit
    small, flat, earth = _MARKS[unit]
    headers = (
        "area", "use", "base", f"paving ({flat})", "greatest fall (%)",
        "water runs to (degrees clockwise from +y)", f"build-up ({small})", f"cut, bank ({earth})",
        f"refill, compacted ({earth})", f"spoil, loose ({earth})", f"deepest dig ({small})",
        "checks failed (count)",
    )  # fmt: skip
    rows = []
    for area in plan.areas:
        dig, plane, name = area.chosen_dig, area.finish.plane, area.area.name
        failed = sum(check.status == "fail" and check.area == name for check in plan.checks)
        rows.append(
            (
                name, area.area.use, area.chosen, _flat(area.outline.area, unit),
                plane.fall * 100, plane.bearing, _small(dig.build_up, unit), _earth(dig.cut, unit),
                _earth(dig.fill, unit), _earth(dig.spoil_loose, unit), _small(dig.max_dig, unit),
                failed,
            )
        )  # fmt: skip
    return Table(headers, tuple(rows))


def layers_table(plan: Plan) -> Table:
    """Return every layer of every base system: thickness, area and compacted volume."""
    unit = plan.site.unit
    small, flat, earth = _MARKS[unit]
    headers = (
        "area", "base", "chosen", "layer", "material", f"thickness ({small})", f"area ({flat})",
        f"compacted ({earth})",
    )  # fmt: skip
    rows = [
        (
            area.area.name, base, "yes" if base == area.chosen else "", part.layer.name,
            part.layer.material, _small(part.layer.thickness, unit), _flat(part.area, unit),
            _earth(part.volume, unit),
        )
        for area in plan.areas
        for base, dig in area.digs.items()
        for part in dig.layers
    ]  # fmt: skip
    return Table(headers, tuple(rows))


def dig_table(plan: Plan) -> Table:
    """Return the dig of every base system of every area."""
    unit = plan.site.unit
    small, flat, earth = _MARKS[unit]
    headers = (
        "area", "base", "chosen", f"build-up ({small})", f"dig in plan ({flat})",
        f"cut, bank ({earth})", f"of it organics ({earth})", f"refill, compacted ({earth})",
        f"backfill beside ({earth})", f"spoil, loose ({earth})", f"deepest dig ({small})",
        f"mean dig ({small})", f"cut against the one chosen ({earth})",
    )  # fmt: skip
    rows = [
        (
            area.area.name, base, "yes" if base == area.chosen else "",
            _small(dig.build_up, unit), _flat(dig.dig_area, unit), _earth(dig.cut, unit),
            _earth(dig.organics_volume, unit), _earth(dig.fill, unit), _earth(dig.backfill, unit),
            _earth(dig.spoil_loose, unit), _small(dig.max_dig, unit), _small(dig.mean_dig, unit),
            _earth(area.difference(base), unit),
        )
        for area in plan.areas
        for base, dig in area.digs.items()
    ]  # fmt: skip
    return Table(headers, tuple(rows))


def beside_table(plan: Plan) -> Table:
    """Return what is built beside and below the paving, on the bases chosen."""
    unit = plan.site.unit
    _, flat, earth = _MARKS[unit]
    headers = (
        "name", "kind", "area", f"dug, bank ({earth})", f"of it topsoil ({earth})",
        f"put back, bank ({earth})", f"stands on, in plan ({flat})", "what it is",
    )  # fmt: skip
    rows = [
        (
            one.name, one.kind, one.area, _earth(one.dug.bank, unit),
            _earth(one.dug.topsoil, unit), _earth(one.dug.put_back, unit),
            _flat(float(one.stands.area), unit), one.said,
        )
        for one in structures_in(plan.order)
    ]  # fmt: skip
    return Table(headers, tuple(rows))


def checks_table(plan: Plan) -> Table:
    """Return every check with its value, its limit and the source of the limit."""

    def plain(value: float | None) -> float | str:
        return "" if value is None or not math.isfinite(value) else value

    headers = ("status", "area", "rule", "where", "value", "limit", "unit", "text", "source")
    rows = [
        (
            check.status, check.area, RULES[check.rule].title, check.where, plain(check.value),
            plain(check.limit), check.unit, check.text, check.source,
        )
        for check in plan.checks
    ]  # fmt: skip
    return Table(headers, tuple(rows))
