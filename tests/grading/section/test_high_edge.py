"""The edge that is drawn where it stands highest is one where no steps and no drain stand."""

from __future__ import annotations

import numpy as np
import pytest
import shapely
from make.plans.sampled import sampled

from grading.section.square import high_edge_cut
from viz.words.paving.structures import structures_in


@pytest.mark.parametrize("name", ["drained-patio", "garden-court", "raised-patio"])
def test_the_cut_keeps_off_steps_and_drains_and_is_the_highest_that_does(name):
    """By every free edge gone along inch by inch, and the pieces that are built seen from above."""
    plan = sampled(name)
    built = structures_in(plan.order)
    apart = shapely.union_all(
        [
            solid.footprint
            for each in built
            if any(word in each.kind for word in ("steps", "channel", "basin", "well", "extension"))
            for solid in each.solids
        ]
    )
    for area in plan.areas:
        made = high_edge_cut(plan.sections, area, built)
        seen = shapely.LineString([made.cut.plan_point(made.at + s) for s in (-0.4, 0.4)])
        assert not seen.intersects(apart)
        ground = plan.ground.under(area.area.name)
        found = []
        for line in area.free_edges:
            xy = shapely.get_coordinates(shapely.segmentize(line, 0.0254))
            height = area.finish.surface.at(xy) - ground.elevation(xy)
            clear = shapely.distance(shapely.points(xy), apart) > 0.6
            found.append((height, clear | bool(apart.is_empty)))
        height = np.concatenate([each for each, _ in found])
        clear = np.concatenate([each for _, each in found])
        assert made.height == pytest.approx(np.nanmax(height[clear]), abs=2e-3)
        assert made.aside == (np.nanmax(height) > np.nanmax(height[clear]) + 2e-3)


def test_a_drain_at_the_highest_place_is_told_in_the_title_s_own_words():
    """The drained patio stands 45 mm over the lawn beside its drain and 38 where none is."""
    plan = sampled("drained-patio")
    (area,) = plan.areas
    beside = high_edge_cut(plan.sections, area)
    made = high_edge_cut(plan.sections, area, structures_in(plan.order))
    assert made.aside
    assert not beside.aside
    assert beside.height == pytest.approx(area.edge_heights[0])
    assert made.height < beside.height
