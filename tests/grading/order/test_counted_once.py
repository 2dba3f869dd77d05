"""What a plan takes is counted once, and its pavers and panels laid once, whoever asks."""

from collections import Counter

import pytest

import grading.pipeline
import sample_sites
from grading import plan, read_site, record
from grading.answers.card import card_of, deeper_of
from grading.order import takeoff
from grading.order.margins import break_even, sensitivity
from grading.order.recount import Recount
from viz.scene.layers.laid import faces_of, panels_of, takeoff_of
from viz.tables.account import account_of


@pytest.fixture
def counted(monkeypatch):
    """A plan and its papers asked for, with how often each plan's order was counted."""
    orders, kept = Counter(), []

    def order_of(design, crew, own=grading.pipeline.order_of):
        kept.append(design)  # an identity is that of one plan while the plan lives
        orders[id(design)] += 1
        return own(design, crew)

    monkeypatch.setattr(grading.pipeline, "order_of", order_of)
    for laid in (takeoff._pavers_laid, takeoff._panels_laid):
        laid.cache_clear()
    made = plan(read_site(sample_sites.path("garden-court")))
    return made, orders


def test_an_order_is_counted_once_for_each_plan_and_each_unit_laid_once(counted):
    made, orders = counted
    record(made), account_of(made), record(made), card_of(made), deeper_of(made), made.sill_ways
    assert set(orders.values()) == {1}
    for area in made.areas:
        for base in area.digs:
            panels_of(takeoff_of(made, area, base))
        faces_of(takeoff_of(made, area, area.chosen))
    assert set(orders.values()) == {1}
    # Nothing stands on a base of its own there: each outline is laid once, on whatever base.
    assert takeoff._pavers_laid.cache_info().misses == len(made.areas)
    holes = {
        (one.dig.polygon.wkb, one.dig.outline.wkb)
        for part in made.order.areas for one in part.takeoffs.values() if one.panels is not None
    }  # fmt: skip
    assert takeoff._panels_laid.cache_info().misses == len(holes)


def test_swings_and_break_evens_are_counted_once_whichever_paper_asks(counted, monkeypatch):
    made, _ = counted
    sensitivity.swings_of.cache_clear(), break_even.break_evens_of.cache_clear()
    asked = Counter()
    own = {"having": Recount.having, "over": Recount.over}

    def noting(name):
        def noted(self, *given):
            asked[name] += 1
            return own[name](self, *given)

        return noted

    for name in own:
        monkeypatch.setattr(Recount, name, noting(name))
    record(made)
    once = Counter(asked)
    assert once["having"] > 100
    assert once["over"] > 10
    record(made), account_of(made)
    assert asked == once
