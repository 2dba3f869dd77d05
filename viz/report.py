"""A plan in words and tables: for the terminal, and for a spreadsheet."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from pathlib import Path

from tabulate import tabulate

from grading.baselayers import BaseSystem
from grading.checks import WORTH_TELLING, Check
from grading.finish import Binding, Finish
from grading.ground import leave_one_out
from grading.pipeline import AreaPlan, Plan
from grading.rules import RULES
from grading.units import (
    Unit,
    area,
    cubic_yards,
    inches,
    length,
    percent,
    size,
    slope,
    square_feet,
)

CAUTION = (
    "An estimate, for the crew to check on site. Have utilities located before digging. Gas, "
    "electrical and drainage\nconnections belong to licensed trades; structure, frost depth, "
    "guards, steps and walls to the local code and, where\nit asks, a licensed professional. "
    "Cutting concrete makes silica dust: water or extraction, and a respirator."
)

_CUBIC: dict[Unit, str] = {"ft": "yd³", "m": "m³"}
_STATUS = {"pass": "ok", "warn": "LOOK", "fail": "FAIL", "unknown": "not known"}


@dataclass(frozen=True)
class Table:
    """Headers, each with its unit, and rows of cells."""

    headers: tuple[str, ...]
    rows: tuple[tuple[object, ...], ...]


def _cubic(cubic_metres: float, unit: Unit) -> float:
    return cubic_yards(cubic_metres) if unit == "ft" else cubic_metres


def comparison(plan: AreaPlan, unit: Unit) -> Table:
    """Return the base systems side by side, in the site's unit."""
    cubic = _CUBIC[unit]
    rows = []
    for name, dig in plan.digs.items():
        chosen = name == plan.chosen
        rows.append(
            (
                f"{name} *" if chosen else name,
                size(dig.build_up, unit),
                f"{_cubic(dig.cut, unit):.2f}",
                f"{_cubic(dig.fill, unit):.2f}",
                f"{_cubic(dig.spoil_loose, unit):.2f}",
                size(dig.max_dig, unit),
                size(dig.mean_dig, unit),
                "" if chosen else f"{_cubic(plan.difference(name), unit):+.2f}",
            )
        )
    return Table(
        (
            "base", "build-up", f"cut\n{cubic} bank", f"refill\n{cubic} compacted",
            f"spoil\n{cubic} loose", "deepest\ndig", "mean\ndig", f"cut against *\n{cubic}",
        ),
        tuple(rows),
    )  # fmt: skip


def _build_up(system: BaseSystem, unit: Unit) -> str:
    layers = ", ".join(f"{layer.name} {size(layer.thickness, unit)}" for layer in system.layers)
    return f"{system.title}, from the top down: {layers}"


def _moved(cubic_metres: float, unit: Unit) -> str:
    return f"{_cubic(cubic_metres, unit):.2f} {_CUBIC[unit]}"


def _binding(binding: Binding, unit: Unit) -> str:
    if binding.harder is None:
        harder = "cannot be had with the rest"
    else:
        harder = f"costs {_moved(max(binding.harder, 0.0), unit)} of earth"
    easier = max(-(binding.easier or 0.0), 0.0)
    return (
        f"  held by {binding.wish}: {binding.step} more of it {harder}, "
        f"{binding.step} less saves {_moved(easier, unit)}"
    )


def _finish(finish: Finish, unit: Unit) -> Iterable[str]:
    plane = finish.plane
    how = f"fitted for the {finish.system} base, least earth" if finish.fitted else "as given"
    yield (
        f"Finish ({how}): falls {slope(plane.fall)}, water runs towards bearing "
        f"{plane.bearing:.0f}° (clockwise from +y)"
    )
    for binding in finish.binding:
        yield _binding(binding, unit)


def _area(plan: AreaPlan, unit: Unit) -> Iterable[str]:
    chosen = plan.chosen_dig
    yield f"{plan.area.name}: {plan.area.use}, {area(plan.outline.area, unit)} paved"
    yield from _finish(plan.finish, unit)
    for wall in plan.walls:
        yield (
            f"  away from {wall.wall.name}: {slope(wall.fall_away)} over "
            f"{length(wall.distance, unit)} of paving"
        )
    yield _build_up(chosen.system, unit)
    table = comparison(plan, unit)
    align = ("left", *["right"] * (len(table.headers) - 1))
    yield tabulate(table.rows, table.headers, colalign=align, disable_numparse=True)
    yield "* chosen" if plan.area.base else "* none chosen: the one that moves the least earth"
    for name, dig in plan.digs.items():
        if dig.refill_share >= WORTH_TELLING:
            yield (
                f"Organics deeper than the {name} build-up over {percent(dig.refill_share, 0)} of "
                f"the hole: {_moved(dig.fill_for_organics, unit)} more cut, and as much refill"
            )
    if plan.max_fill > 5e-4:
        yield (
            f"The build-up stands up to {size(plan.max_fill, unit)} above the ground, the finish "
            f"up to {size(plan.max_raise, unit)}"
        )


def _limit(check: Check, unit: Unit) -> str:
    if check.limit is None:
        return ""
    return percent(check.limit, 2) if check.unit == "ratio" else size(check.limit, unit)


def _checks(checks: Sequence[Check], unit: Unit) -> Iterable[str]:
    sources: dict[str, int] = {}
    rows = []
    for check in checks:
        number = sources.setdefault(check.source, len(sources) + 1)
        rows.append(
            (_STATUS[check.status], check.area, check.text, _limit(check, unit), f"[{number}]")
        )
    headers = ("", "area", "check", "limit", "source")
    widths = [None, None, 76, None, None]
    yield tabulate(rows, headers, maxcolwidths=widths, disable_numparse=True)
    yield "Sources:"
    for source, number in sources.items():
        yield f"  [{number}] {source}"


def surfaces(plan: Plan) -> str:
    """Say how well each kind of surface foretells a spot that it has not seen."""
    errors = leave_one_out(plan.site.spots.xyz)
    unit = plan.site.unit
    return (
        "Each inner spot foretold from the others is off by (root mean square, worst): triangles "
        f"{size(errors.tin_rms, unit)}, {size(errors.tin_worst, unit)}; smooth surface "
        f"{size(errors.smooth_rms, unit)}, {size(errors.smooth_worst, unit)}. "
        f"In use: {'smooth' if plan.ground.surface == 'smooth' else 'triangles'}."
    )


def text(plan: Plan) -> str:
    """Return a plan as it is printed in the terminal."""
    unit = plan.site.unit
    triangles = int((~plan.ground.beyond).sum())
    parts = [
        plan.site.name,
        f"Ground: {plan.ground.spots} spots, {triangles} triangles",
    ]
    if plan.ground.surface == "smooth":
        parts.append(surfaces(plan))
    for area_plan in plan.areas:
        parts += ["", *_area(area_plan, unit)]
    parts += ["", *_checks(plan.checks, unit), "", CAUTION]
    return "\n".join(parts)


def written(folder: Path, files: Sequence[Path]) -> str:
    """Say what was written where."""
    names = "\n".join(f"  {file.relative_to(folder)}" for file in files)
    return f"\nWritten to {folder}:\n{names}"


def tables(plan: Plan) -> dict[str, Table]:
    """Return the tables that a spreadsheet opens: base systems, layers, checks."""
    return {
        "base-systems": _base_rows(plan),
        "layers": _layer_rows(plan),
        "checks": _check_rows(plan),
    }


def _base_rows(plan: Plan) -> Table:
    headers = (
        "area", "base", "chosen", "build-up (in)", "build-up (mm)", "cut bank (yd3)",
        "cut bank (m3)", "refill (yd3)", "refill (m3)", "spoil loose (yd3)", "spoil loose (m3)",
        "deepest dig (in)", "deepest dig (mm)", "dig area (ft2)", "dig area (m2)",
        "cut against chosen (yd3)", "cut against chosen (m3)",
    )  # fmt: skip
    rows = []
    for area_plan in plan.areas:
        for name, dig in area_plan.digs.items():
            more = area_plan.difference(name)
            rows.append(
                (
                    area_plan.area.name, name, "yes" if name == area_plan.chosen else "",
                    inches(dig.build_up), round(dig.build_up * 1000), *_both(dig.cut),
                    *_both(dig.fill), *_both(dig.spoil_loose), inches(dig.max_dig),
                    round(dig.max_dig * 1000), round(square_feet(dig.dig_area), 1),
                    round(dig.dig_area, 2), *_both(more),
                )
            )  # fmt: skip
    return Table(headers, tuple(rows))


def _both(cubic_metres: float) -> tuple[float, float]:
    return round(cubic_yards(cubic_metres), 3), round(cubic_metres, 3)


def _layer_rows(plan: Plan) -> Table:
    headers = (
        "area", "base", "layer", "thickness (in)", "thickness (mm)", "area (ft2)", "area (m2)",
        "compacted (yd3)", "compacted (m3)",
    )  # fmt: skip
    rows = [
        (
            area_plan.area.name, name, part.layer.name, inches(part.layer.thickness),
            round(part.layer.thickness * 1000, 1), round(square_feet(part.area), 1),
            round(part.area, 2), *_both(part.volume),
        )
        for area_plan in plan.areas
        for name, dig in area_plan.digs.items()
        for part in dig.layers
    ]  # fmt: skip
    return Table(headers, tuple(rows))


def _check_rows(plan: Plan) -> Table:
    headers = ("status", "area", "rule", "where", "value", "limit", "unit", "text", "source")
    rows = [
        (
            check.status, check.area, RULES[check.rule].title, check.where,
            check.value, check.limit, check.unit, check.text, check.source,
        )
        for check in plan.checks
    ]  # fmt: skip
    return Table(headers, tuple(rows))


def csv_text(table: Table) -> str:
    """Return a table as CSV; with a byte-order mark in front, Excel opens it as it is."""
    buffer = io.StringIO()
    writer = csv.writer(buffer, lineterminator="\n")
    writer.writerow(table.headers)
    writer.writerows(table.rows)
    return buffer.getvalue()
