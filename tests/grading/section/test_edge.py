"""What lies along an edge in a section is what the order counts along it."""

from __future__ import annotations

import pytest
from make.plans.jobs import DEPTHS, level_yard

from grading.catalogue.rules import Limits
from grading.dig.edge_sections import edging_of
from grading.section.edge import concrete_of
from grading.units import INCH


@pytest.mark.parametrize("edge", ["concrete edge", "border"])
@pytest.mark.parametrize("base", ["panel", "dense", "open"])
def test_concrete_in_a_section_is_that_of_the_order(edge, base):
    made = level_yard(bases=DEPTHS, edge=edge, base=base)
    cut = made.sections.of(made.areas[0], "across")
    wanted = edging_of(made.areas[0].chosen_dig.system, Limits({})).concrete
    ends = cut.free_ends
    assert len(ends) == 2  # the house lies along the cut, not across it
    for end, out in zip(ends, (-1.0, 1.0), strict=True):
        concrete, unit = concrete_of(cut, end.at, out)
        assert concrete.area / end.slant == pytest.approx(wanted, rel=1e-9)
        assert unit.area / end.slant == pytest.approx(
            4 * 2.375 * INCH**2 if edge == "border" else 0.0
        )
        # Beside the paving and its layers, never in them; on the bottom that carries it.
        for solid in cut.solids:
            if solid.role in ("paver", "panel", "bedding", "base"):
                assert concrete.intersection(solid.shape).area < 1e-9, solid.name
