"""The work as it is told to who lives there, day by day, in the order in which it is done."""

from __future__ import annotations

import math

from make.plans.sampled import sampled

from grading.order.days import days_of
from viz.paper.page import page_for
from viz.sheets.head import Job
from viz.sheets.homeowner.pace import days_told, figures_told
from viz.words.plain import table


def job(name):
    plan = sampled(name)
    return Job(plan, plan.order, page_for(plan.site.unit))


def test_each_task_has_words_of_its_own_and_no_task_is_left_out():
    """A title of the rates is the crew's: what a homeowner reads is told in everyday words."""
    for name in ("raised-patio", "side-walkway", "drained-patio"):
        of = job(name)
        days = days_told(of, days_of(of.order, of.order.total).mean)
        said = "; ".join(day["words"].lower() for day in days)
        known = set(table("day").values())
        assert {part for part in said.split("; ") if part} <= {
            part for words in known for part in words.split("; ")
        }
        rates = {task.rate for task in of.order.total.tasks}
        assert ("wall-course" in rates) is ("level pad and wall" in said)
        assert said.startswith(table("day")["mobilise"])
        assert said.endswith("we walk it with you")


def test_there_are_as_many_days_as_are_promised():
    of = job("raised-patio")
    days = days_of(of.order, of.order.total)
    assert len(days_told(of, days.mean)) == math.ceil(days.mean - 0.1)
    large = [figure["large"] for figure in figures_told(of)]
    assert large[0] == days.counted
    assert not days_told(of, 40.0)
