"""What an edge runs along, as the rules of edges ask it."""

from __future__ import annotations

import pytest
from make.plans.advised import patio
from make.sites.handmade import grid_of_spots, site_of
from msgspec.structs import replace

from grading.dig.edge_choice import meeting_facts
from grading.site.tables import Meet

ALONG, AWAY, AT = [[9, 1], [9, 4]], [[9.5, 1], [9.5, 4]], [9, 2]


@pytest.mark.parametrize(
    ("meets", "names"),
    [
        ([("drive", ALONG, "patio")], "drive"),
        ([("drive", ALONG, None), ("walk", [[2, 5], [4, 5]], "patio")], "drive and walk"),
        # A point alone holds no edge, half a metre off is not met, and the court's is not ours.
        ([("corner post", [AT], "patio")], ""),
        ([("drive", AWAY, "patio")], ""),
        ([("drive", ALONG, "court")], ""),
        ([], ""),
    ],
)
def test_an_edge_meets_what_lies_along_it_and_is_of_its_area(meets, names):
    site = site_of(grid_of_spots(lambda x, y: 0 * x), [patio()])
    read = {"context": {"unit": "m"}}
    tables = [
        Meet.model_validate({"name": name, "at": at, "z": 30.0, "area": area}, **read)
        for name, at, area in meets
    ]
    site = replace(site, meets=tuple(tables))
    facts = meeting_facts(site, site.areas[0])
    assert (facts["meets_any"].value, facts["met"].value) == (bool(names), names)
