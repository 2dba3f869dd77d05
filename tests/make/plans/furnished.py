"""Yards with everything on them: doors, things, steps, frost, lines of the site, long names."""

from __future__ import annotations

from functools import cache

import numpy as np
from make.plans.advised import patio, planned
from make.sites.handmade import PATIO, WALL, grid_of_spots, site_of

from grading.pipeline import Plan, plan
from grading.site.model import GroundSpec, Site

LONG = "the wide terrace before the garden room, with the old pear tree at its far corner"


def _rolling(x, y):
    return 30 - 0.03 * y + 0.004 * x + 0.02 * ((x - 4) / 8) ** 2


def _steep(x, y):
    return 30 - 0.04 * y + 0 * x


@cache
def furnished(name: str) -> Plan:
    """Return a yard by its name, one of `NAMES`."""
    return {
        "in metres": lambda: _yard("m", "patio"),
        "in feet": lambda: _yard("ft", "patio"),
        "long names": lambda: _yard("m", LONG, " " + LONG),
        "stepped": _stepped,
        "two terraces": _terraces,
        "a hundred spots": lambda: plan(_crowded()),
    }[name]()


NAMES = ("in metres", "in feet", "long names", "stepped", "two terraces", "a hundred spots")


def _yard(unit: str, name: str, more: str = "") -> Plan:
    """A patio of 8 m by 5 m with a fire table, a long seat wall, a tub, three doors and frost."""
    k = 1.0 if unit == "m" else 1 / 0.3048
    walls = [[-1 * k, 0], [11 * k, 0]]

    def at(*points):
        return [[x * k, y * k] for x, y in points]

    return planned(
        [
            {
                "name": name, "base": "dense",
                "outline": [*at((1, 0), (9, 0), (9, 4)), {"arc": at((8.707, 4.707), (8, 5))},
                            *at((1, 5))],
                "lawn": {"edge": "bevelled", "lip": "1/2 in"},
            }
        ],
        unit=unit,
        height=_rolling,
        house={"walls": walls, "inside": [5 * k, -3 * k]},
        doors=[
            {"name": f"garden door{more}", "at": [3 * k, 0], "sill": 30.2 * k},
            {"name": f"kitchen door{more}", "at": [6 * k, 0], "sill": 30.22 * k},
            {"name": f"cellar door{more}", "at": [8 * k, 0], "sill": 30.21 * k},
        ],
        ceilings=[
            {"kind": "siding", "name": f"boarding{more}", "at": walls, "z": 30.18 * k},
            {"kind": "vent", "name": f"vent of the dryer{more}", "at": at((4.6, 0)), "z": 30.6 * k},
        ],
        floors=[
            {"kind": "lawn", "name": f"lawn below{more}", "at": at((1, 5.2), (9, 5.2)), "z": 29 * k}
        ],
        features=[
            {"kind": "gas fire feature", "name": f"fire table{more}", "at": [3 * k, 3 * k],
             "size": ["3 ft"], "height": "16 in"},
            {"kind": "seat wall", "name": f"seat wall{more}", "at": [6.8 * k, 3 * k],
             "size": ["12 ft", "18 in"], "height": "18 in"},
            {"kind": "hot tub", "name": f"tub{more}", "at": [5 * k, 1.5 * k],
             "size": ["5 ft", "5 ft"], "height": "30 in"},
        ],
        frost={"index": "1500 °F·days", "mean": "45 °F", "season": "120 days"},
        limits={"feature-wedge": 0.04},
    )  # fmt: skip


def _stepped() -> Plan:
    """Two areas, the lower three risers down."""
    low = {**PATIO, "name": "low", "outline": [[1, 5], [9, 5], [9, 8], [1, 8]]}
    return planned(
        [{**PATIO, "lawn": {"edge": "stepped"}}, low],
        height=_steep,
        house=WALL,
        doors=[{"name": "door", "at": [3, 0], "sill": 30.3}],
        steps=[{"down": ["patio", "low"], "risers": 3, "riser": [0.1, 0.196]}],
        frost={"index": "800 °C·days"},
    )


UPPER, LOWER = "upper terrace by the kitchen", "lower terrace under the maple"


def _terraces() -> Plan:
    """Two terraces on deep topsoil, the lower two risers down, round, and with a pocket in it."""
    pocket = [[3, 6.5], {"arc": [[3.5, 6], [4, 6.5]]}, {"arc": [[3.5, 7], [3, 6.5]]}]
    low = {"name": LOWER, "base": "dense", "holes": [pocket],
           "outline": [[1, 5], [9, 5], [9, 7], {"arc": [[5, 8.5], [1, 7]]}]}  # fmt: skip
    return planned(
        [patio(name=UPPER, plane={"at": [1, 0], "z": 30.15, "fall": "2 %", "bearing": 0}), low],
        height=lambda x, y: 30 - 0.02 * y + 0 * x,
        ground=GroundSpec(soil="sand", organics=0.18),
        house=WALL,
        doors=[{"name": "garden door", "at": [3, 0], "sill": 30.3},
               {"name": "kitchen door", "at": [5, 0], "sill": 30.32},
               {"name": "studio door", "at": [7, 0], "sill": 30.34}],
        steps=[{"down": [UPPER, LOWER], "risers": 2, "riser": [0.13, 0.18]}],
        features=[
            {"kind": "hot tub", "name": "tub", "at": [7.5, 2.5], "size": [2.1, 2.1],
             "bearing": 20, "height": 0.9, "stands": "own base", "base": 0.1},
            {"kind": "seat wall", "at": [3, 3.5], "size": [2.4, 0.5], "height": 0.45,
             "stands": "bedding"},
        ],
        frost={"index": "800 °C·days"},
    )  # fmt: skip


def _crowded() -> Site:
    """A hundred and some spots round a patio of many corners, with a name that does not end."""
    rough = np.random.default_rng(3)

    def height(x, y):
        return 30 - 0.02 * y + rough.normal(0, 0.006, np.shape(x))

    outline = [[1, 0], [9, 0], [9, 2], [8.4, 2.4], [9, 3], [8.2, 3.4], [8.8, 4.2], [7.6, 4.6],
               [7, 5.2], [6, 4.6], [5, 5.4], [4, 4.8], [3, 5.3], [2, 4.7], [1, 5]]  # fmt: skip
    area = {**PATIO, "outline": outline, "name": "the terrace of many corners behind the orangery"}
    doors = [{"name": f"door number {k} of the orangery", "at": [1.5 + k, 0], "sill": 30.2}
             for k in range(7)]  # fmt: skip
    return site_of(grid_of_spots(height), [area], house=WALL, doors=doors)
