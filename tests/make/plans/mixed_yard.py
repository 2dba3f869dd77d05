"""A yard of three areas on two bases, for the tests of sites that are told as one."""

from __future__ import annotations

from typing import Any

import numpy as np
from make.sites.handmade import site_of
from msgspec.structs import replace

from grading.pipeline import Plan, plan
from grading.site.model import Access, Feature, GroundSpec
from grading.units import FOOT

PLANE = {"at": [0, 0], "z": 100.08, "fall": "2 %", "bearing": 0}
"""A finish an inch above a lawn that falls as much. [ft]"""

PATIO = {"name": "patio", "outline": [[0, 0], [20, 0], [20, 16], [0, 16]]}
SIDE_WALK = {
    "name": "side walk", "use": "walkway",
    "outline": [[20, 0], [44, 0], [44, 4], [20, 4]],
}  # fmt: skip
DRIVE = {
    "name": "drive", "use": "driveway",
    "outline": [[-12, 0], [0, 0], [0, 30], [-12, 30]],
}  # fmt: skip
SEAT_WALL = {
    "name": "seat wall", "kind": "seat wall", "at": [10, 8], "size": ["11 ft", "1 ft"],
    "height": "18 in",
}  # fmt: skip
FIRE = {
    "name": "fire table", "kind": "gas fire feature", "at": [15, 10], "size": ["3 ft"],
    "height": "16 in",
}  # fmt: skip


def mixed(*areas: Any, features: Any = (SEAT_WALL, FIRE), **kwargs: Any) -> Plan:
    """Plan a patio, a walk along the wall beside it and a drive, behind a narrow gate, in feet."""
    x, y = (axis.ravel() for axis in np.meshgrid(np.arange(-20, 60, 3.7), np.arange(-6, 50, 3.3)))
    site = site_of(
        np.column_stack([x, y, 100 - 0.02 * y]) * FOOT,
        [{"plane": PLANE, **area} for area in areas or (PATIO, SIDE_WALK, DRIVE)],
        unit="ft",
        house={"walls": [[-20, 0], [60, 0]], "inside": [10, -4], "age": 20},
        ground=GroundSpec(soil="clay", organics=0.25 * FOOT),
        **kwargs,
    )

    def read(model: Any, table: Any) -> Any:
        return model.model_validate(table, context={"unit": "ft"})

    return plan(
        replace(
            site,
            features=tuple(read(Feature, table) for table in features),
            access=read(Access, {"gate": "36 in", "path": "80 ft"}),
        )
    )
