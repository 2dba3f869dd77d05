"""How areas meet along an edge that they share: flush, or a step of so many risers."""

from __future__ import annotations

import numpy as np
import pytest
import shapely
from make.plans.drawn import planned
from make.plans.mixed_yard import mixed

from grading.conditions.joins import joins_of
from grading.design.steps import SharedEdge, shared_edges


def test_areas_meet_as_the_plan_says():
    made = planned("three areas")
    edges = {(edge.upper, edge.lower): edge for edge in shared_edges(made)}
    flush, step = edges["patio", "walk"], edges["patio", "low"]
    assert flush.flush
    assert flush.risers == 0
    patio, _, low = made.areas
    # The line runs a hair past the shared edge, where the areas have parted.
    at = np.array([p for p in step.lines[0] if low.outline.distance(shapely.Point(p)) < 1e-6])
    drops = patio.finish.surface.at(at) - low.finish.surface.at(at)
    assert step.drop == pytest.approx((drops.min(), drops.max()))


def test_the_greatest_gap_is_told_whichever_area_is_higher():
    edge = SharedEdge("one", "other", (), (-0.03, 0.01), 0, np.zeros(2), (1.0, 0.99))
    assert edge.greatest == pytest.approx(0.03)
    assert not edge.flush
    assert edge.other("one") == "other"


def test_a_join_of_bases_at_a_step_is_as_high_as_the_step():
    made = mixed()
    edges = {frozenset((each.upper, each.lower)): each for each in shared_edges(made)}
    joins = [join for join in joins_of(made) if not join.there]
    assert joins
    for join in joins:
        assert join.step == edges[frozenset(join.areas)].greatest
