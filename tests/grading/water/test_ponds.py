"""The outline of standing water is that of the low spot."""

from __future__ import annotations

import numpy as np
import pytest
import shapely
from drawn import planned

from grading.water.ponds import pond_of


def test_a_pond_is_as_large_as_the_low_spot():
    made = planned("water")
    for spot in made.water.low_spots:
        shape = pond_of(made.water, spot)
        assert shape.area == pytest.approx(spot.area, rel=0.1)
        assert shape.covers(shapely.Point(spot.at))
        inside = made.ground.elevation(np.array([shape.representative_point().coords[0]]))
        assert inside[0] < spot.level
