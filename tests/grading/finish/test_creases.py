"""Where two planes of paving meet: which side is which, and what water does there."""

import numpy as np
import pytest
import shapely
from make.sites.handmade import PATIO, grid_of_spots, site_of

from grading.finish.creases import creases_of
from grading.finish.layout import Block
from grading.finish.shapes import plane_shape
from grading.finish.wishes.seams import Seam

LEFT = {**PATIO, "name": "left", "outline": [[0, 0], [12, 0], [12, 10], [0, 10]]}
RIGHT = {**PATIO, "name": "right", "outline": [[12, 0], [20, 0], [20, 10], [12, 10]]}


def blocks():
    site = site_of(grid_of_spots(lambda x, y: 30 + 0 * x), [LEFT, RIGHT])
    return [
        Block(area, plane_shape(area.polygon), np.array([6.0 + 10 * number, 5.0]), 3 * number, 6)
        for number, area in enumerate(site.areas)
    ]


@pytest.mark.parametrize("drawn", [[[12, 0], [12, 10]], [[12, 10], [12, 0]]])
@pytest.mark.parametrize("upper", ["left", "right"])
def test_water_comes_to_a_shared_edge_from_both_sides_however_the_edge_was_drawn(drawn, upper):
    lower = {"left": "right", "right": "left"}[upper]
    seam = Seam(upper, lower, (np.array(drawn, float),), None)
    (crease,) = creases_of(blocks(), [seam], None, 0.01)
    valley = np.array([30.0, -0.02, 0.0, 30.0, 0.02, 0.0])  # both fall to x = 12
    ridge = np.array([30.0, 0.02, 0.0, 30.0, -0.02, 0.0])
    on = np.array([30.0, -0.02, 0.0, 30.0, -0.02, 0.0])
    assert crease.gathers(valley)
    assert not crease.gathers(ridge)
    assert not crease.gathers(on)
    sign = 1 if upper == "left" else -1
    assert crease.towards @ valley == pytest.approx(0.02)
    assert crease.onwards @ valley == pytest.approx(-0.02)
    assert sign * (crease.towards @ on) == pytest.approx(0.02)
    assert shapely.LineString(crease.line).equals(shapely.LineString(drawn))
