"""What a wish may give where wishes conflict, and how far."""

import numpy as np
import pytest
from make.sites.handmade import PATIO, grid_of_spots, site_of

from grading.finish.wishes.mends import mends_of
from grading.finish.wishes.model import wish_of
from grading.units import INCH


@pytest.mark.parametrize("limit", [2.0, 7.75])
def test_a_step_at_a_door_may_be_as_deep_as_a_flight_without_a_landing(limit):
    """Eight risers as high as the code lets them be, less what the one step may be already."""
    limits = site_of(grid_of_spots(lambda x, y: 30 + 0 * x), [PATIO]).in_force
    wish = wish_of(
        "door-step", "a step", "a step: {by}", np.array([[-1.0, 0.0, 0.0]]), 0.0, limit * INCH,
        about="door", limit=limit * INCH,
    )  # fmt: skip
    (mend,) = mends_of(wish, limits)
    assert mend.most + wish.limit == pytest.approx(8 * limits.pair("riser")[1])
