"""Bands and level lines cut out of triangles: exact, and sharing out what they are cut from."""

from __future__ import annotations

from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from grading.geometry.bands import band, level_lines

TRIANGLES = np.array([[(0.0, 0.0), (2.0, 0.0), (2.0, 2.0)], [(0.0, 0.0), (2.0, 2.0), (0.0, 2.0)]])


def sloping(a, b, c):
    return a + TRIANGLES @ np.array([b, c])


small_numbers = st.floats(-1, 1, allow_nan=False).map(lambda v: round(v, 3))


@given(small_numbers, small_numbers, small_numbers, st.lists(small_numbers, max_size=5))
def test_bands_share_out_the_whole_area(a, b, c, inner):
    value = sloping(a, b, c)
    limits = [-10.0, *sorted(set(inner)), 10.0]
    parts = [band(TRIANGLES, value, *pair) for pair in pairwise(limits)]
    assert sum(part.area for part in parts) == pytest.approx(4.0, abs=1e-4)


@given(small_numbers, small_numbers, small_numbers, small_numbers)
def test_a_level_line_lies_where_the_value_is(a, b, c, level):
    for line in level_lines(TRIANGLES, sloping(a, b, c), level):
        at = np.asarray(line.coords)
        assert a + at @ np.array([b, c]) == pytest.approx(level, abs=1e-5)


def test_a_band_is_the_strip_that_geometry_says():
    strip = band(TRIANGLES, sloping(0.0, 1.0, 0.0), 0.5, 1.25)
    assert strip.area == pytest.approx(0.75 * 2.0)
    assert strip.bounds == pytest.approx((0.5, 0.0, 1.25, 2.0))


def test_level_lines_of_neighbours_join_to_one():
    (line,) = level_lines(TRIANGLES, sloping(0.0, 1.0, 0.0), 0.7)
    assert line.length == pytest.approx(2.0)
