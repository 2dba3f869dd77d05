"""The pattern of pavers: every pattern covers the ground once, joints left open."""

from __future__ import annotations

from dataclasses import replace
from itertools import combinations

import numpy as np
import pytest
import shapely
from drawn import planned
from furnished import furnished
from onpaper import outside, overlaps

import sample_sites
from grading.site.paver_table import Pavers
from grading.units import INCH
from viz.paper.compose import compose, words_of
from viz.sheets.paving_drawing import paving_sheet, units_of
from viz.sheets.takes import _down_to_soil_words
from viz.words.figures import DIRT, small

WINDOW = shapely.box(0.0, 0.0, 1.3, 0.9)


@pytest.mark.parametrize("pattern", ["running", "stack", "herringbone 90", "herringbone 45"])
@pytest.mark.parametrize("joint", [0.0, INCH / 8])
def test_a_pattern_covers_the_ground_once(pattern, joint):
    # Twice as long as wide with its joints, as a unit for herringbone is made.
    wide = 4 * INCH
    pavers = Pavers(length=2 * wide + joint, width=wide, joint=joint, pattern=pattern)
    units = list(units_of(pavers, WINDOW))
    for one, two in combinations(units, 2):
        assert one.intersection(two).area < 1e-12
    covered = sum(unit.intersection(WINDOW).area for unit in units)
    step = (pavers.length + joint) * (pavers.width + joint)
    share = pavers.length * pavers.width / step
    # The window cuts units: what it holds of joints differs by a joint along its edge.
    assert covered / WINDOW.area == pytest.approx(share, abs=4 * joint + 1e-9)


def test_running_bond_is_shifted_by_half_and_stack_is_not():
    for pattern, shifts in (("running", 2), ("stack", 1)):
        pavers = Pavers(length=0.2, width=0.1, joint=0.0, pattern=pattern)
        starts = {round(unit.bounds[0] / 0.2 % 1, 6) % 1 for unit in units_of(pavers, WINDOW)}
        assert len(starts) == shifts


@pytest.mark.parametrize("name", [*sample_sites.names(), "two terraces"])
def test_refill_lies_between_the_layers_and_the_soil_as_thick_as_it_is_on_average(name):
    plan = furnished(name) if name == "two terraces" else planned(name)
    for area in plan.areas:
        for dig in area.digs.values():
            sheet = paving_sheet(Pavers(length=0.2, width=0.1), dig, plan.site.unit)
            inks = compose(sheet)
            assert not overlaps(inks)
            assert not outside(inks, replace(sheet.page, margin=0.0))
            view = next(view for view in sheet.views if view.drawing.of("soil"))
            soil = np.array(view.drawing.of("soil")[0].rings[0])[:, 1].max()
            text = " ".join(words.words for words in words_of(inks))
            told = _down_to_soil_words(dig, plan.site.unit)
            if dig.refill is None:
                assert not view.drawing.of("refill")
                assert "refill" not in text
                assert soil == pytest.approx(-dig.build_up)
                assert told == small(dig.build_up, plan.site.unit)
                continue
            z = np.array(view.drawing.of("refill")[0].rings[0])[:, 1]
            assert z.max() == pytest.approx(-dig.build_up)
            assert np.ptp(z) == pytest.approx(dig.refill.mean)
            assert soil == pytest.approx(z.min())
            most = small(dig.refill.greatest, plan.site.unit, DIRT)
            assert f"compacted refill, up to {most}" in text
            # Elsewhere it says how deep the soil lies under the finish: there it is deepest.
            deepest = float((dig.depths - dig.above_formation).max()) + dig.build_up
            assert told == f"up to {small(deepest, plan.site.unit, DIRT)}"
