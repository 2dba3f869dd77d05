"""A patio with a wood fire on a base of its own, a seat wall and a gas fire, on a steep finish."""

from __future__ import annotations

from functools import cache

from make.plans.advised import AT_THE_WALL, patio, planned

from grading.pipeline import Plan
from grading.units import INCH

PIT = {"name": "pit", "kind": "wood fire", "at": [5, 2.8], "size": [1.0, 1.0], "height": 0.4}
BENCH = {"name": "bench", "kind": "seat wall", "at": [7.5, 2.5], "size": [4.2, 0.45],
         "height": 0.45}  # fmt: skip
TABLE = {"name": "table", "kind": "gas fire feature", "at": [2.5, 3.0], "size": [1.2, 1.2]}
FALL = 0.028
SPREAD = 12 * INCH
"""Round a wood fire: common practice, no source."""


@cache
def made() -> Plan:
    steep = {**AT_THE_WALL, "fall": f"{100 * FALL} %"}
    return planned([patio(plane=steep)], features=[PIT, BENCH, TABLE])
