"""What the shape of a finish, and the way that it is to fall, ask of it."""

import numpy as np
import pytest
from make.sites.handmade import PATIO, grid_of_spots, site_of

from grading.finish.layout import Block
from grading.finish.shapes import plane_shape
from grading.finish.wishes.of_shape import least_fall_wish


def test_a_least_fall_is_a_floor_under_what_the_plane_falls():
    """A plane that falls less than it misses it by the difference, and one that falls more has it.

    Where nothing ends a conflict but a gentler fall, that gentler fall is what is told.
    """
    site = site_of(grid_of_spots(lambda x, y: 30 + 0 * x), [PATIO])
    block = Block(site.areas[0], plane_shape(site.areas[0].polygon), np.array([5.0, 2.5]), 0, 3)
    least = site.in_force["least-fall"]
    wish = least_fall_wish(block, site.in_force, 90.0)
    for fall in (0.0, least / 2, least, 2 * least):
        plane = np.array([30.0, -fall, 0.0])  # bearing 90: water runs to +x
        assert wish.quantity(plane) == pytest.approx(fall)
        assert wish.margin(plane) == pytest.approx(fall - least)
    assert f"{100 * (least - 0.005):.1f}" in wish.told(0.005)
    assert f"{100 * (least + 0.005):.1f}" not in wish.told(0.005)
