"""What an experienced crew lays in situations of the trade, and the one sentence that says why.

The rows are written from the trade, each with its source, and not from what is advised. The sites
are stated in `situations.py`.
"""

import re

import pytest
from make.sites.situations import planned, planned_as_one, sites, situations

from grading.answers.site import site_answer

ROWS = situations()

EDGES = {
    "plastic, screwed to the panel": "panel edge",
    "spiked into the base": "spiked edge",
    "spiked into a shoulder of crushed stone": "dense shoulder",
    "wall": "wall",
}
"""The edges of the table by their names among the options."""

JOINTS = {"polymeric sand": "polymeric sand"}
"""The joints of the table by their names among the options."""


def pattern(sentence):
    """Return what a sentence must match: what is measured stands for itself."""
    return ".+".join(map(re.escape, sentence.split("…")))


def test_the_table_is_whole():
    assert len(ROWS) >= 40
    assert len({row["name"] for row in ROWS}) == len(ROWS)
    assert {row["use"] for row in ROWS} == {"patio", "walkway", "front walkway", "driveway"}
    assert {row["base"] for row in ROWS} == {"dense", "open", "panel"}
    for row in ROWS:
        assert row["source"]
        assert row["because"]


@pytest.mark.parametrize("row", ROWS, ids=lambda row: row["name"])
def test_what_a_crew_lays_is_advised_and_the_reason_leads(row):
    plan = planned(row)
    (advice,) = plan.advice.areas
    best, leading = advice.base.advised, advice.base.leading
    assert best is not None
    assert best.option.name == row["base"], [
        (one.option.name, one.rank, [reason.rule for reason in one.reasons])
        for one in advice.base.verdicts
    ]
    assert plan.areas[0].chosen == row["base"]
    assert leading is not None
    assert re.fullmatch(pattern(row["because"]), leading.plain), leading.plain
    assert {seat.name: seat.stands for seat in plan.advice.features} == row.get("things", {})
    if "edge" in row:
        assert advice.edge.advised.option.name == EDGES[row["edge"]]
    if "joint" in row:
        assert advice.joint.advised.option.name == JOINTS[row["joint"]]


@pytest.mark.parametrize("row", sites(), ids=lambda row: row["name"])
def test_what_a_crew_lays_under_several_areas_is_advised_as_one(row):
    plan = planned_as_one(row)
    answer = site_answer(plan)
    assert {one.area: one.base for one in answer.areas} == row["bases"]
    whys = {one.area: one.why_plain for one in answer.areas}
    for area, sentence in row["because"].items():
        assert re.fullmatch(pattern(sentence), whys[area]), whys[area]
    assert [list(join.areas) for join in answer.joins] == row["joins"]
    assert row["source"]
