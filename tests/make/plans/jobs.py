"""Plans and orders of simple yards, for the tests of quantities, hours and money."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from functools import cache
from typing import Any

import numpy as np
from make.sites.handmade import site_of
from msgspec.structs import replace

from grading.crew.model import Crew
from grading.crew.reading import crew_of
from grading.order.model import Job, Order, order_of
from grading.pipeline import Plan, plan
from grading.site.model import Access, GroundSpec
from grading.units import FOOT

DEPTHS = [{"name": "panel", "layers": [
    {"name": "paver", "thickness": "2 3/8 in"},
    {"name": "panel", "thickness": "3/4 in"},
    {"name": "bedding", "thickness": "1/2 in"},
]}, {"name": "open", "layers": [
    {"name": "paver", "thickness": "2 3/8 in"},
    {"name": "chip bedding", "thickness": "1 1/2 in"},
    {"name": "open-graded base", "thickness": "6 in"},
]}]  # fmt: skip
"""Build-ups of 9 7/8 in open and 3 5/8 in on panels."""


def level_yard(
    size: tuple[float, float] = (20, 14),
    *,
    organics: float = 0.0,
    soil: str = "clay",
    pavers: Mapping[str, Any] | None = None,
    bases: Sequence[Mapping[str, Any]] = (),
    base: str | None = "dense",
    edge: str | None = None,
    joint: str = "polymeric sand",
    **access: Any,
) -> Plan:
    """Plan a patio [ft] against a house along y = 0, its level finish at a level yard."""
    wide, deep = size
    area = {
        "name": "patio",
        "outline": [[0, 0], [wide, 0], [wide, deep], [0, deep]],
        "plane": {"at": [0, 0], "z": 100, "fall": "0 %", "bearing": 0},
    }
    area |= {"base": base} if base else {}
    area |= {"pavers": pavers} if pavers else {}
    # On a level yard another filling would be advised.
    area |= {"joint": joint} | ({"edge": edge} if edge else {})
    # One spot off the grid: a survey that is square everywhere has no single triangulation.
    spots = [(-6, -3), (wide + 6, -3), (wide + 6.5, deep + 6), (-6, deep + 6)]
    xyz = np.array([(x, y, 100.0) for x, y in spots]) * FOOT
    site = site_of(
        xyz,
        [area],
        unit="ft",
        house={"walls": [[-8, 0], [wide + 8, 0]], "inside": [wide / 2, -5]},
        bases=bases,
        ground=GroundSpec(soil=soil, organics=organics),
    )
    if access:
        table = Access.model_validate(access, context={"unit": "ft"})
        site = replace(site, access=table)
    return plan(site)


def priced(made: Plan) -> Plan:
    """Return a plan whose crew says that the prices, though alike, are its own."""
    return replace(made, crew=replace(made.crew, priced=True))


def crew(**books: Mapping[str, Any]) -> Crew:
    """Return a crew with figures of its own, as crew.toml writes them."""
    return crew_of(books, "ft")


@cache
def worked() -> Order:
    """Return the 20 x 14 ft patio, its soil of 2700 lb/yd3 that swells by 27.5 %."""
    own = crew(materials={"clay-bank": "2700 lb/yd3", "clay-swell": "27.5 %"})
    return order_of(level_yard(bases=DEPTHS), own)


def patio(order: Order, base: str = "dense") -> Job:
    """Return the job of the only area on a base system."""
    return order.areas[0].bases[base]


def line(job: Job, title: str) -> Any:
    """Return the line of a job that has this title."""
    return next(found for _, found in job.lines if found.title == title)


def supply(job: Job, item: str) -> Any:
    """Return what is ordered of an item."""
    return next(found for found in job.supplies if found.item == item)
