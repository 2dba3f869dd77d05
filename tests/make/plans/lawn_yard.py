"""A level patio over a level lawn, which may be brought to it: for tests of lawn regraded."""

from __future__ import annotations

import numpy as np
from make.sites.handmade import site_of
from msgspec.structs import replace

from grading.pipeline import plan
from grading.site.feature_tables import Access
from grading.site.model import GroundSpec
from grading.units import FOOT, INCH

WIDE, DEEP = 16, 12


def yard(high, lawn=None, organics=3 * INCH, repair=None):
    """Plan a level patio [ft] so high [in] above a level lawn, nothing beside it but a house."""
    x, y = np.meshgrid(np.arange(-20, 41, 4.0), np.arange(-6, 41, 4.0))
    spots = np.column_stack([x.ravel(), y.ravel(), np.full(x.size, 100.0)])
    spots[0, 0] -= 0.5
    area = {
        "name": "patio", "base": "dense",
        "outline": [[0, 0], [WIDE, 0], [WIDE, DEEP], [0, DEEP]],
        "plane": {"at": [0, 0], "z": 100 + high / 12, "fall": "0 %", "bearing": 0},
    } | ({"lawn": lawn} if lawn else {})  # fmt: skip
    site = site_of(
        spots * FOOT, [area], unit="ft", house={"walls": [[-20, 0], [40, 0]], "inside": [8, -8]},
        ground=GroundSpec(soil="clay", organics=organics),
    )  # fmt: skip
    if repair:
        table = Access.model_validate({"repair": repair}, context={"unit": "ft"})
        site = replace(site, access=table)
    return plan(site)
