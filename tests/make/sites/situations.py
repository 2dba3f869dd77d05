"""Yards of one area each, written from a row of a table: what is built, on what, beside what."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from functools import cache
from pathlib import Path
from typing import Any

import numpy as np
from make.plans.mixed_yard import PLANE, mixed
from make.sites.handmade import site_of
from msgspec.structs import replace

from grading.pipeline import Plan, plan
from grading.site.model import Access, Backfill, Feature, Frost, GroundSpec, Site
from grading.site.water_tables import Outfall
from grading.units import FOOT, read_length, read_slope

TABLE = Path(__file__).parents[2] / "published" / "situations.toml"

SIZES = {
    "patio": (16.0, 14.0),
    "walkway": (30.0, 4.0),
    "front walkway": (20.0, 4.5),
    "driveway": (12.0, 30.0),
}
"""Along the house and out from it. [ft]"""

THINGS: Mapping[str, Mapping[str, Any]] = {
    "gas fire table": {"kind": "gas fire feature", "size": ["3 ft", "3 ft"], "height": "16 in"},
    "wood fire": {"kind": "wood fire", "size": ["3 ft"], "height": "14 in"},
    "long seat wall": {"kind": "seat wall", "size": ["11 ft", "1 ft"], "height": "18 in"},
    "tall wall": {"kind": "seat wall", "size": ["6 ft", "1 ft"], "height": "30 in"},
    "steps": {"kind": "steps", "size": ["5 ft", "3 ft"], "height": "21 in", "bearing": 90},
    "hot tub": {"kind": "hot tub", "size": ["7 ft", "7 ft"], "height": "36 in"},
    "kitchen": {"kind": "kitchen", "size": ["8 ft", "3 ft"], "height": "36 in", "bearing": 90},
    "pergola post": {"kind": "pergola post", "size": ["6 in", "6 in"], "height": "8 ft"},
}
"""What a row may say stands on the paving. A seat wall runs down the fall, unless it is turned."""

ABOVE = 1.0
"""The finish above the lawn, where a row says that it lies on grade. [in]"""


@cache
def _table() -> Mapping[str, Any]:
    return tomllib.loads(TABLE.read_text(encoding="utf-8"))


def situations() -> tuple[Mapping[str, Any], ...]:
    """Return the rows of one area each."""
    return tuple(_table()["situation"])


def sites() -> tuple[Mapping[str, Any], ...]:
    """Return the rows of several areas each."""
    return tuple(_table()["site"])


def planned_as_one(row: Mapping[str, Any]) -> Plan:
    """Return the plan of a row of several areas."""
    areas = [dict(area) for area in row["areas"]]
    for area in areas:
        area["plane"] = {**PLANE, "z": 100 + area.pop("raised", ABOVE) / 12}
    return mixed(*areas, features=(), steps=row.get("steps", ()))


def yard_of(row: Mapping[str, Any]) -> Site:
    """Return the site that a row tells, in feet, as a person would have written it.

    The house stands along y = 0 and the lawn is a plane that falls away from it. On grade, beside
    the house, siding holds the finish down and the lawn holds it up, so that it is fitted to within
    an inch of the lawn; else its plane is given.
    """
    (wide, deep), off = row.get("size", SIZES[row["use"]]), row.get("from_house", 0)
    lawn = read_slope(row.get("lawn", "2 %"))
    raised, dip = row.get("raised"), row.get("dip")
    x, y = _shot(wide, off + deep, 3.3 if dip else 7.3)
    z = 100 - lawn * y
    if dip:
        z = z - dip["depth"] / 12 * (np.hypot(x - dip["at"][0], y - dip["at"][1]) < dip["within"])
    area: dict[str, Any] = {
        "name": row["use"],
        "use": row["use"],
        "outline": [[0, off], [wide, off], [wide, off + deep], [0, off + deep]],
    }
    start = 100 - lawn * off + (ABOVE if raised is None else raised) / 12
    held: dict[str, Any] = {}
    if raised is None and not off and not row.get("meets"):
        top = 100 + (2 + ABOVE + 0.25) / 12
        held["ceilings"] = [{"kind": "siding", "at": [[-10, 0], [wide + 10, 0]], "z": top}]
        held["floors"] = [{"kind": "lawn", "at": [[0.5, deep], [wide - 0.5, deep]]}]
    else:
        area["plane"] = {"at": [0, off], "z": start, "fall": row.get("fall", "2 %"), "bearing": 0}
    if "meets" in row:
        fall = read_slope(row.get("fall", "2 %"))
        met = row["meets"]
        held["meets"] = [
            {
                "name": met["name"],
                **{key: met[key] for key in ("kind", "base") if key in met},
                "at": [[0, off], [0, off + deep]],
                "z": [start, start - fall * deep],
            }
        ]
    house: dict[str, Any] = {"walls": [[-12, 0], [wide + 12, 0]], "inside": [10, -4]}
    house |= {"age": row["age"]} if "age" in row else {}
    topsoil = read_length(row.get("topsoil", "3 in"), "ft")
    site = site_of(
        np.column_stack([x, y, z]) * FOOT,
        [area],
        unit="ft",
        house=house,
        ground=GroundSpec(soil=row.get("soil", "loam"), organics=topsoil),
        **held,
    )
    return _with_its_surroundings(site, row, (wide, deep), off, 100 - lawn * (off + deep))


def _shot(wide: float, out: float, apart: float) -> tuple[np.ndarray, np.ndarray]:
    """Return where a yard is shot, so far apart, from the house to beyond the paving. [ft]"""
    across, away = (
        np.linspace(low, high, 1 + round((high - low) / apart))
        for low, high in ((-12.0, wide + 12.0), (-5.0, out + 12.0))
    )
    # No two rows are shot in step, so that there is one triangulation alone.
    x, y = np.meshgrid(across, away)
    x[1:-1:2, 1:-1] += 0.2 * apart
    return x.ravel(), y.ravel()


def _with_its_surroundings(
    site: Site, row: Mapping[str, Any], size: tuple[float, float], off: float, low: float
) -> Site:
    (wide, deep), context = size, {"unit": "ft"}

    def read(model: Any, table: Mapping[str, Any]) -> Any:
        return model.model_validate(table, context=context)

    names = row.get("stands", ())
    beside = [wide * (k + 0.5) / len(names) for k in range(len(names))]
    things = [
        read(Feature, {"name": name, "at": [x, off + deep / 2], **THINGS[name]})
        for x, name in zip(beside, names, strict=True)
    ]
    outfalls = []
    if row.get("outlet"):
        line = [[-10, off + deep + 9], [wide + 10, off + deep + 9]]
        table = {"kind": "swale", "name": "swale", "at": line, "z": low - 3}
        outfalls.append(read(Outfall, table))
    return replace(
        site,
        outfalls=tuple(outfalls),
        features=tuple(things),
        access=read(Access, {key: row[key] for key in ("gate", "path", "machine") if key in row}),
        backfill=read(Backfill, {"treatment": row.get("treatment", "none")}),
        frost=read(Frost, {"index": row["frost"]}) if "frost" in row else None,
    )


def planned(row: Mapping[str, Any]) -> Plan:
    """Return the plan of a row."""
    return plan(yard_of(row))
