"""The outline of standing water is that of the low spot."""

from __future__ import annotations

from types import SimpleNamespace

import numpy as np
import pytest
import shapely
from make.plans.drawn import planned
from msgspec.structs import replace

from grading.water.course import Course, LowSpot
from grading.water.grid.flow import Downhill
from grading.water.grid.pools import Pool
from grading.water.grid.relief import GROUND, Relief
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


BESIDE = [(row, column) for row in (-1, 0, 1) for column in (-1, 0, 1) if row or column]


@pytest.mark.parametrize("aside", BESIDE)
def test_water_touches_paving_on_whichever_side_of_it_it_stands(aside):
    """One cell amid a grid is paved, and one beside it holds water."""
    kind = np.full((7, 7), GROUND, dtype=np.int16)
    kind[3, 3] = 0
    grid = Relief(np.full((7, 7), 30.0), kind, 0.5, np.zeros(2), np.array([1.0, 0.0]))

    def standing(row, column):
        cell = 7 * row + column
        pool = Pool(0.05, 0.01, 0.25, 30.05, np.array([cell]), cell, cell)
        course = Course(grid, ("patio",), np.zeros(49, int), (pool,), Downhill(np.arange(49)),
                        np.zeros(49, bool), np.zeros(49, int), (("", ""),))  # fmt: skip
        return [spot.touching for spot in course.low_spots(shapely.Polygon(), 1.0)]

    row, column = aside
    assert standing(3 + row, 3 + column) == [("patio",)]
    assert standing(3 + 2 * row, 3 + 2 * column) == []
