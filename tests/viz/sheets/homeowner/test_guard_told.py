"""What people may fall from is told to the homeowner, and not to the crew alone."""

from make.plans.advised import patio, planned

from grading.order.model import order_of
from viz.paper.page import page_for
from viz.sheets.head import Job
from viz.sheets.homeowner.told import edge_told


def edge_words(high):
    """Return what the homeowner reads of the edge of a level patio at 30 m plus a height. [m]"""
    plane = {"at": [2, 0], "z": 30 + high, "fall": "2 %", "bearing": 0}
    plan = planned([patio(plane=plane)])
    return plan, " ".join(edge_told(Job(plan, order_of(plan, plan.crew), page_for("m"))))


def test_the_homeowner_reads_that_a_high_edge_may_need_a_guard():
    plan, said = edge_words(1.0)
    (check,) = [check for check in plan.checks if check.rule == "guard-height"]
    assert check.text[1:] in said
    assert "a guard may be asked for (IRC R312.1.1, 2018 edition)" in said
    assert "ask the local building department" in said


def test_nothing_is_said_of_a_guard_where_the_edge_is_low():
    assert "guard" not in edge_words(0.1)[1]
