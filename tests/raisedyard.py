"""A patio that stands above its lawn, for tests of what holds its edge."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from functools import cache
from typing import Any

import numpy as np
from handmade import site_of

from grading.pipeline import Plan, plan
from grading.site.hold_table import Hold
from grading.site.model import GroundSpec, Site
from grading.units import FOOT, INCH

WIDE, DEEP = 16, 14
FREE = WIDE + 2 * DEEP
"""The patio's free edge: three sides. [ft]"""

FRONT = [[0, DEEP], [WIDE, DEEP]]
CREEK = {"kind": "outlet", "name": "creek", "at": [8, 30], "z": 97.0}


@cache
def _site(high: float, lawn: float, use: str, base: str) -> Site:
    x, y = np.meshgrid(np.arange(-20, 41, 4.0), np.arange(-6, 41, 4.0))
    spots = np.column_stack([x.ravel(), y.ravel(), 100 - lawn * y.ravel()])
    spots[0, 0] -= 0.5  # a survey that is square everywhere has no single triangulation
    plane = {"at": [0, 0], "z": 100 + high / 12, "fall": "0 %", "bearing": 0}
    outline = [[0, 0], [WIDE, 0], [WIDE, DEEP], [0, DEEP]]
    return site_of(
        spots * FOOT,
        [{"name": "patio", "base": base, "use": use, "outline": outline, "plane": plane}],
        unit="ft",
        house={"walls": [[-20, 0], [40, 0]], "inside": [8, -8]},
        floors=[CREEK],
        ground=GroundSpec(soil="clay", organics=3 * INCH),
    )


def yard(
    high: float, *holds: Mapping[str, Any], lawn: float = 0.0, use: str = "patio",
    base: str = "dense", outlet: bool = True,
) -> Plan:  # fmt: skip
    """Plan a level patio before a house, so high [in] above a lawn that is level or falls away."""
    site = _site(high, lawn, use, base)
    tables = tuple(
        Hold.model_validate({"area": "patio", **each}, context={"unit": "ft"}) for each in holds
    )
    return plan(replace(site, holds=tables, floors=site.floors if outlet else ()))


def fitted(*holds: Mapping[str, Any]) -> Plan:
    """Plan a patio on a lawn that falls, fitted to a sill: raised where nothing says otherwise."""
    x, y = np.meshgrid(np.arange(-20, 41, 4.0), np.arange(-6, 41, 4.0))
    spots = np.column_stack([x.ravel(), y.ravel(), 100 - 0.05 * y.ravel()])
    outline = [[0, 0], [WIDE, 0], [WIDE, DEEP], [0, DEEP]]
    site = site_of(
        spots * FOOT,
        [{"name": "patio", "base": "dense", "outline": outline}],
        unit="ft",
        house={"walls": [[-20, 0], [40, 0]], "inside": [8, -8]},
        doors=[{"name": "door", "at": [8, 0], "sill": 100.9, "step": ["1 in", "7 3/4 in"]}],
        ground=GroundSpec(soil="clay", organics=3 * INCH),
    )
    tables = tuple(
        Hold.model_validate({"area": "patio", **each}, context={"unit": "ft"}) for each in holds
    )
    return plan(replace(site, holds=tables))


def terraces(gap: float) -> Plan:
    """Plan two patios on a level lawn, 24 in and 12 in above it, the lower a gap [ft] farther out.

    The lower one is as far from the wall of the upper one as that.
    """
    x, y = np.meshgrid(np.arange(-20, 41, 4.0), np.arange(-6, 61, 4.0))
    spots = np.column_stack([x.ravel(), y.ravel(), np.full(x.size, 100.0)])
    spots[0, 0] -= 0.5
    areas = []
    for name, start, end, high in (("upper", 0, DEEP, 2), ("lower", DEEP + gap, 30, 1)):
        plane = {"at": [0, start], "z": 100 + high, "fall": "0 %", "bearing": 0}
        outline = [[0, start], [WIDE, start], [WIDE, end], [0, end]]
        areas.append({"name": name, "base": "dense", "outline": outline, "plane": plane})
    site = site_of(
        spots * FOOT,
        areas,
        unit="ft",
        house={"walls": [[-20, 0], [40, 0]], "inside": [8, -8]},
        floors=[{"kind": "outlet", "name": "creek", "at": [8, 45], "z": 97.0}],
        ground=GroundSpec(soil="clay", organics=3 * INCH),
    )
    return plan(site)
