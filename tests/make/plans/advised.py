"""Advice on yards made by hand, for tests."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from make.sites.handmade import PATIO, WALL, grid_of_spots, site_of
from msgspec.structs import replace

from grading.choice.advice import Advice
from grading.pipeline import Plan, plan
from grading.site.model import Access, Backfill, Feature, Frost
from grading.site.water_tables import Outfall

Tables = Sequence[Mapping[str, Any]]

AT_THE_WALL = {"at": [1, 0], "z": 30.1, "fall": "2 %", "bearing": 0}
"""A finish that falls 2 % away from the wall, along +y. [m]"""


def patio(**kwargs: Any) -> dict[str, Any]:
    """Return a patio of 8 m by 5 m at the wall, on panels if not said otherwise."""
    return {**PATIO, "base": "panel", "plane": AT_THE_WALL, **kwargs}


def planned(
    areas: Tables | None = None,
    *,
    height: Any = lambda x, y: 30 - 0.02 * y + 0 * x,
    house: Mapping[str, Any] | None = WALL,
    features: Tables = (),
    outfalls: Tables = (),
    access: Mapping[str, Any] | None = None,
    backfill: Mapping[str, Any] | None = None,
    frost: Mapping[str, Any] | None = None,
    **kwargs: Any,
) -> Plan:
    """Return the plan of a yard, bare numbers in metres."""
    context = {"unit": kwargs.get("unit", "m")}
    site = site_of(grid_of_spots(height), areas or [patio()], house=house, **kwargs)

    def read(model: Any, table: Mapping[str, Any] | None) -> Any:
        return model.model_validate(table or {}, context=context)

    return plan(
        replace(
            site,
            outfalls=tuple(read(Outfall, table) for table in outfalls),
            features=tuple(read(Feature, table) for table in features),
            access=read(Access, access),
            backfill=read(Backfill, backfill),
            frost=None if frost is None else read(Frost, frost),
        )
    )


def advised(areas: Tables | None = None, **kwargs: Any) -> Advice:
    """Return the advice on a yard."""
    return planned(areas, **kwargs).advice


def rules(advice: Advice, base: str, area: str = "patio") -> set[str]:
    """Return the names of the rules that speak of a base."""
    return {reason.rule for reason in advice.area(area).base.of(base).reasons}
