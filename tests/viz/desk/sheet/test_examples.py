"""What stands behind a field is in the unit of the yard, and what is left empty is said and shown:
a yard in metres is never asked for inches."""

from __future__ import annotations

import re
from functools import cache

import pytest
from make.plans.looked_at import every_block, looked
from msgspec.structs import replace

import sample_sites
from grading.reading.site_edit import Edit
from grading.site.paver_table import Pavers
from grading.site.tables import LawnEdge
from grading.units import read_length
from viz.desk.blocks import Choice, Field, Head, Say
from viz.desk.steps import base, finish, ground, water, yard
from viz.desk.yard.examples import _IN_METRES


@cache
def court():
    drain = {"name": "grate", "kind": "drain", "at": [2, 5], "width": "100 mm"}
    tub = {"name": "tub", "kind": "hot tub", "at": [5, 2], "size": ["2 m", "2 m"], "height": "1 m"}
    spout = {"name": "spout", "at": [0.2, 2.0], "roof": "40 m2", "to": [4, 9]}
    return looked(
        sample_sites.path("garden-court"),
        Edit(("outfall", 1), drain),
        Edit(("downspout", 0), spout),
        Edit(("feature", 0), tub),
    )


def blocks(step, seen):
    opened = step.step(replace(seen, asked=replace(seen.asked, step=step.KEY)))
    yield from every_block(opened.blocks)


@pytest.mark.parametrize("step", [yard, ground, finish, base, water], ids=lambda each: each.KEY)
def test_a_yard_in_metres_is_asked_in_metres(step):
    hints = [block.hint for block in blocks(step, court()) if isinstance(block, Field)]
    assert any("mm" in hint or "10.25" in hint for hint in hints)
    for hint in hints:
        assert not re.search(r"\d (in|ft|ft2|in/h)\b|\d'|\d\"", hint), hint


def test_an_example_is_about_as_long_in_metres():
    for feet, metres in _IN_METRES.items():
        if not re.fullmatch(r"[\d /]+ (in|ft)", feet):
            continue
        ratio = float(read_length(feet, "ft")) / float(read_length(metres, "m"))
        assert 0.9 < ratio < 1.12, feet


def test_what_holds_where_nothing_is_written_is_chosen_and_said():
    chosen = {
        each.label: each.value
        for step in (finish, base)
        for each in blocks(step, court())
        if isinstance(each, Choice)
    }
    assert chosen["How the lawn meets it"] == LawnEdge.model_validate({}).edge
    assert chosen["Pattern"] == Pavers.model_validate({}).pattern
    hints = {each.label: each.hint for each in blocks(base, court()) if isinstance(each, Field)}
    assert hints["Longer side"] == "left empty: 200 mm"


def test_a_conflict_is_told_where_a_base_would_be_and_no_heading_stands_over_nothing():
    seen = looked(sample_sites.path("back-patio"), Edit(("door", 0, "sill"), 98.9))
    assert seen.conflict
    step = base.step(seen)
    assert step.blocks[0] == Say(base.NO_FINISH, "quiet")
    heads = [place for place, each in enumerate(step.blocks) if isinstance(each, Head)]
    assert all(not isinstance(step.blocks[place + 1], Head) for place in heads)


def test_where_rain_ends_is_said_in_a_line_that_can_be_read_aloud():
    answer = water.step(court()).answer
    assert not answer.startswith("to past")
    assert answer.startswith(("ends at: ", "not known"))


def test_what_is_said_of_the_ground_ends_in_a_stop():
    for name in ("back-patio", "booked-yard"):
        seen = looked(sample_sites.path(name))
        for each in ground.step(seen).blocks:
            if isinstance(each, Say):
                assert each.text.endswith((".", "?", "!")), each.text
