"""The outline of standing water is that of the low spot."""

from __future__ import annotations

from types import SimpleNamespace

import numpy as np
import pytest
import shapely
from drawn import planned
from msgspec.structs import replace

from grading.water.course import LowSpot
from grading.water.ponds import pond_of
from grading.water.words import low_spot_words


def test_a_pond_is_as_large_as_the_low_spot():
    made = planned("water")
    for spot in made.water.low_spots:
        shape = pond_of(made.water, spot)
        assert shape.area == pytest.approx(spot.area, rel=0.1)
        assert shape.covers(shapely.Point(spot.at))
        inside = made.ground.elevation(np.array([shape.representative_point().coords[0]]))
        assert inside[0] < spot.level


def test_water_that_is_deepest_beside_the_paving_is_told_as_deep_as_it_stands_on_it():
    """What fails, what is told of it and by how much the paving is raised are one figure."""
    places = SimpleNamespace(unit="ft", at=lambda xy, wall=None: "there")
    spot = LowSpot(np.zeros(2), np.ones(2), 0.1016, 30.0, 0.2, 9.0, ("patio",), None, 0.0127)
    said = low_spot_words(spot, places)
    assert said.startswith("water stands 1/2 in deep on paving and 4 in deep beside it, there")
    whole = replace(spot, on_paving=0.1016)
    assert low_spot_words(whole, places).startswith("water stands 4 in deep on paving, there")
    lawn = replace(spot, on_paving=0.0)
    assert low_spot_words(lawn, places).startswith("water stands 4 in deep on the ground, there")
