"""The pattern of pavers: every pattern covers the ground once, joints left open."""

from __future__ import annotations

from itertools import combinations

import pytest
import shapely

from grading.pavertable import Pavers
from grading.units import INCH
from viz.sheets.paving_drawing import units_of

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
