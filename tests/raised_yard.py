"""A raised patio by hand: its edge at 9.9 m over flat ground, with steps where the tests say."""

from __future__ import annotations

from handmade import grid_of_spots, site_of

from grading.pipeline import Plan, plan
from grading.site.feature_tables import Feature
from grading.site.model import Site
from grading.site.tables import Door, Step

DOWN = {"area": "patio", "to": "lawn", "at": [3, 5], "width": 1.2}
"""Steps down to the lawn in the middle of its outer edge."""


def raised(
    steps=(), doors=(), ground=9.5, lower=None, features=(), base="dense", across=0.0, house=True,
    fall="2 %", **tables,
) -> Plan:  # fmt: skip
    """Return the plan of a patio 6 m by 5 m that falls 2 % from 10 m at its wall, all in metres.

    Parameters
    ----------
    steps, doors, features : iterable of dict
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
               "features": tuple(Feature.model_validate(each, **read)
                                 for each in features)}  # fmt: skip
    return plan(Site(**{**site.__dict__, **written}))
