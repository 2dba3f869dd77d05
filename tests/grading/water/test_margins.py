import numpy as np
import pytest

from grading.units import FOOT, INCH
from grading.water.margins import BACKFILL_ZONE, margin


def test_settlement_that_uses_up_the_fall_leaves_none():
    left = margin(0.02, 12 * FOOT)
    again = margin(0.02, 12 * FOOT, settlement=left.used_up)
    assert again.settled == pytest.approx(0.0, abs=1e-15)


def test_the_fall_left_is_that_of_the_surface_after_it_moved():
    """The paving as a line of points, its inner end settled or its outer end lifted."""
    fall, run, zone = 0.025, 4.2, BACKFILL_ZONE
    x = np.linspace(0, run, 4201)
    level = -fall * x
    settled = level - INCH * np.clip(1 - x / zone, 0, None)
    heaved = level + INCH * x / run
    left = margin(fall, run)
    inside = x < zone - 1e-3
    assert left.settled == pytest.approx(-np.polyfit(x[inside], settled[inside], 1)[0])
    assert left.heaved == pytest.approx(-np.polyfit(x, heaved, 1)[0])
    assert left.fall == fall


def test_a_walk_narrower_than_the_backfill_settles_over_its_own_width():
    assert margin(0.02, 3 * FOOT).settled == pytest.approx(0.02 - INCH / (3 * FOOT))
    assert margin(0.02, 3 * FOOT).used_up == pytest.approx(0.06 * FOOT)
