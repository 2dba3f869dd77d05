"""The curve of work against fall: its points are the plan's, and its words stand clear."""

from __future__ import annotations

import numpy as np
import pytest
from make.plans.drawn import planned

from viz.drawings.charts.finishes import in_unit, tradeoff_sheets
from viz.paper.compose import compose, words_of
from viz.paper.lettering import depth
from viz.paper.page import page_for


@pytest.mark.parametrize("name", ["back-patio", "raised-patio", "garden-court"])
def test_the_points_of_the_curve_are_those_of_the_plan(name):
    made = planned(name)
    unit = made.site.unit
    ((_, sheet),) = tradeoff_sheets(made, page_for(unit, None))
    group = next(each for each in made.groups if each.outcomes)
    moved = np.array([in_unit(each, unit) for each in group.tradeoff.work.tolist()])
    moved = moved[np.isfinite(moved)]
    (curve,) = sheet.paper.of("curve")
    heights = np.array(curve.points)[:, 1]
    # Up the paper as the work goes up: one scale, and the same order.
    scale = np.ptp(heights) / np.ptp(moved)
    assert heights - heights[0] == pytest.approx((moved - moved[0]) * scale, abs=1e-6)
    said = {words.words for words in words_of(compose(sheet))}
    assert {f"{value:.2f}" for value in moved} <= said
    assert any("as it lies (in use)" in words for words in said)
    assert any(words.startswith("Least dug and refilled") for words in said)
    assert not any(words.startswith("Least earth moved") for words in said)


@pytest.mark.parametrize("name", ["back-patio", "raised-patio", "garden-court"])
def test_no_words_of_the_diagram_lie_on_others(name):
    made = planned(name)
    ((_, sheet),) = tradeoff_sheets(made, page_for(made.site.unit, None))
    words = words_of(compose(sheet))
    for number, one in enumerate(words):
        for other in words[number + 1 :]:
            assert depth(one.corners, other.corners, 0.0) <= 0.05, (one.words, other.words)
