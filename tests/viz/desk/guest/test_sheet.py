"""What a homeowner reads on the page: what fails is counted as the crew counts it, and told before
an answer on water that keeps its own order."""

from __future__ import annotations

from functools import cache

from make.plans.looked_at import every_block, looked
from make.plans.raised_yard import yard

import sample_sites
from grading.answers.led import failing, led
from grading.reading.site_edit import Edit
from viz.desk.blocks import Say
from viz.desk.guest.sheet import NOT_TOGETHER, guest_steps
from viz.desk.sheet.tally import tally
from viz.desk.steps import papers
from viz.paper.page import page_for
from viz.sheets.head import Job
from viz.sheets.homeowner.told import water_told
from viz.words.plain import counted
from viz.words.screen.led import verdict_words
from viz.words.signing import against_signing

BACK = {"at": [10, 0], "z": 98.9, "fall": "2 %", "bearing": 180}
"""A plane that runs back to the house, and lies low at its doors."""


@cache
def seen(who="home"):
    return looked(sample_sites.path("back-patio"), Edit(("area", 0, "plane"), BACK), who=who)


def said(step):
    return [block.text for block in every_block(step.blocks) if isinstance(block, Say)]


def test_one_count_of_what_fails_is_told_everywhere():
    plan = seen().plan
    count = len(led(plan).fails)
    assert count > 4
    # Counted by hand: a rule that fails in an area is one thing, in however many places it does.
    assert count == len({(each.rule, each.area) for each in plan.checks if each.status == "fail"})
    assert count < sum(each.status == "fail" for each in plan.checks)
    word = counted(count)
    assert f"{word} things fail" in verdict_words(led(plan))
    assert tally(seen())[-1]["value"] == f"{word.capitalize()} things"
    against = against_signing(plan)
    assert against.lead == f"{word.capitalize()} things have to be solved first."
    assert len(against.things) == len(set(against.things)) == count
    told = said(papers.step(seen("crew")))
    assert f"Not for signature. {against.lead}" in told
    assert [each for each in told if each in against.things] == list(against.things)


def test_an_edge_that_nothing_holds_is_told_apart_from_what_fails():
    plan = yard(80, base="open")
    fails = len(failing(plan.checks))
    against = against_signing(plan)
    assert len(against.things) == fails + 1
    if fails:
        assert f"{counted(fails)} fail" in against.lead
        assert "one is a raised edge that nothing holds yet" in against.lead


def test_the_answer_on_water_keeps_its_order_whatever_else_fails():
    plan = seen().plan
    first, water, *_ = guest_steps(seen())
    assert said(first) == [against_signing(plan).lead, *against_signing(plan).reasons]
    assert first.state == water.state == "fails"
    told = water_told(Job(plan, plan.order, page_for("ft", None, portrait=True)))
    # That some water reaches the house stands before all that is said of how much, and where from.
    assert said(water) == told
    assert told[0] == "As it is drawn now, some would."


def test_what_cannot_be_had_together_is_said_before_there_is_a_plan():
    meet = {"name": "slab", "at": [27, 16], "z": 100.5}
    seen = looked(sample_sites.path("back-patio"), Edit(("meet", 0), meet), whole=False, who="home")
    assert seen.conflict
    (step,) = guest_steps(seen)
    assert step.state == "fails"
    assert said(step) == [NOT_TOGETHER]


def test_where_nothing_fails_the_first_that_is_told_is_the_water():
    steps = guest_steps(looked(sample_sites.path("side-walkway"), who="home"))
    assert next(each.key for each in steps) == "water"
    assert steps[0].state != "fails"
