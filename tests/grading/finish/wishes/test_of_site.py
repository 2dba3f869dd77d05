"""What a site wishes beside lines with levels: of those that go on past the paving, too."""

import numpy as np
import pytest
from make.sites.handmade import PATIO, grid_of_spots, site_of

from grading.finish.layout import Block
from grading.finish.shapes import plane_shape
from grading.finish.wishes.of_site import Maker
from grading.pipeline import plan

WALK = {**PATIO, "name": "walk", "outline": [(2, 0), (3.2, 0), (3.2, 5), (2, 5)]}
ALONG = -0.015
"""How a public walk falls along itself. [ratio]"""


def level(x):
    """By hand: 29.86 m where the walk's left corner meets it."""
    return 29.86 + ALONG * (x - 2)


@pytest.mark.parametrize("ends", [(2.0, 3.2), (1.6, 3.7), (1.2, 3.9), (-3.0, 9.0), (9.0, -3.0)])
@pytest.mark.parametrize("turn", [0.0, 33.0])
def test_a_line_that_goes_on_past_the_paving_is_met_at_its_level_beside_it(ends, turn):
    """However much of a straight line was measured, its level at each corner is the same."""
    angle = np.radians(turn)
    turned = np.array([[np.cos(angle), np.sin(angle)], [-np.sin(angle), np.cos(angle)]])
    corners = np.array(WALK["outline"]) @ turned
    line = np.array([(x, 5.0) for x in ends]) @ turned
    site = site_of(
        grid_of_spots(lambda x, y: 29.8 - 0.01 * y + 0 * x, ((-12, -12), (12, 12))), [
            {**WALK, "outline": corners.tolist()}],
        meets=[{"name": "public walk", "at": line.tolist(), "z": [level(x) for x in ends]}],
    )  # fmt: skip
    surface = plan(site).areas[0].finish.surface
    met = surface.at(corners[2:])
    assert met == pytest.approx([level(3.2), level(2.0)], abs=1e-6)


def test_the_part_beside_the_paving_is_the_feet_of_its_corners():
    """0.9 m off the paving and askew: the ends are the feet of the corners on the line."""
    site = site_of(grid_of_spots(lambda x, y: 30 + 0 * x), [WALK])
    area = site.areas[0]
    maker = Maker(Block(area, plane_shape(area.polygon), np.array([2.6, 2.5]), 0, 3))
    at, z = np.array([[-4.0, 5.4], [9.0, 5.4]]), np.array([29.0, 30.3])
    points, levels = maker.nearby(at, z)
    assert points == pytest.approx(np.array([[2.0, 5.4], [3.2, 5.4]]))
    assert levels == pytest.approx([29.6, 29.72])
    # Straight out from the edge only the near end is beside it.
    points, levels = maker.nearby(np.array([[2.6, 5.0], [2.6, 9.0]]), np.array([29.0, 31.0]))
    assert (points, levels) == (pytest.approx(np.array([[2.6, 5.0]])), pytest.approx([29.0]))
