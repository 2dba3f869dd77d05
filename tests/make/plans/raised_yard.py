"""A patio that stands above its lawn, for tests of what holds its edge and of steps down it."""

from __future__ import annotations

from collections.abc import Mapping
from functools import cache
from typing import Any

import numpy as np
from make.sites.handmade import grid_of_spots, site_of
from msgspec.structs import replace

from grading.pipeline import Plan, plan
from grading.site.feature_tables import Feature
from grading.site.hold_table import Hold
from grading.site.model import GroundSpec, Site
from grading.site.step_tables import Door, Step
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


DOWN = {"area": "patio", "to": "lawn", "at": [3, 5], "width": 1.2}
"""Steps down to the lawn in the middle of its outer edge."""


def raised(
    steps=(), doors=(), ground=9.5, lower=None, features=(), base="dense", across=0.0, house=True,
    fall="2 %", holds=(), **tables,
) -> Plan:  # fmt: skip
    """Return the plan of a patio 6 m by 5 m that falls 2 % from 10 m at its wall, all in metres.

    Parameters
    ----------
    steps, doors, features, holds : iterable of dict
        As in a site file.
    ground : float
        Level of the lawn in its middle.
    lower : float, optional
        Level at which a court begins beyond the patio.
    base : str
    across : float
        How the lawn falls along the outer edge.
    house : bool
    fall : str
        Of the patio.
    tables : mapping
        Of `site_of`.
    """
    spots = grid_of_spots(lambda x, y: ground + across * (x - 3.0), ((-4, -3), (11, 16)))
    areas = [{"name": "patio", "outline": [(0, 0), (6, 0), (6, 5), (0, 5)], "base": base,
              "plane": {"at": [0, 0], "z": 10.0, "fall": fall, "bearing": 0}}]  # fmt: skip
    if lower is not None:
        beyond = [(0, 5), (6, 5), (6, 9), (0, 9)]
        plane = {"at": [0, 5], "z": lower, "fall": "2 %", "bearing": 0}
        areas.append({"name": "court", "outline": beyond, "base": base, "plane": plane})
    wall = {"walls": [(-2, 0), (9, 0)], "inside": (3, -4)} if house else None
    site = site_of(spots, areas, house=wall, **tables)
    read = {"context": {"unit": "m"}}
    written = {"steps": tuple(Step.model_validate(each, **read) for each in steps),
               "doors": tuple(Door.model_validate(each, **read) for each in doors),
               "holds": tuple(Hold.model_validate(each, **read) for each in holds),
               "features": tuple(Feature.model_validate(each, **read)
                                 for each in features)}  # fmt: skip
    return plan(replace(site, **written))
