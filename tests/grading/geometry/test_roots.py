"""Crossings of zero, against SciPy's solver and closed forms."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.optimize import brentq

from grading.geometry.roots import root_between


@pytest.mark.parametrize(
    ("function", "low", "high", "root"),
    [
        (lambda x: x * x - 2, 0.0, 2.0, math.sqrt(2)),
        (lambda x: 2 - x * x, 0.0, 2.0, math.sqrt(2)),
        (math.cos, 0.0, 3.0, math.pi / 2),
        (lambda x: x**3, -1.0, 2.0, 0.0),
        (lambda x: x - 1, 1.0, 5.0, 1.0),
        (lambda x: x - 5, 1.0, 5.0, 5.0),
    ],
)
def test_known_roots_are_found_to_the_last_digit(function, low, high, root):
    assert root_between(function, low, high) == pytest.approx(root, rel=3e-16, abs=1e-100)


@given(st.floats(0.1, 3), st.floats(0.01, 50))
def test_it_finds_what_scipy_finds(power, level):
    def function(x):
        return x**power + x - level

    found = root_between(function, 0.0, 60.0)
    assert found == pytest.approx(brentq(function, 0.0, 60.0, xtol=1e-13), rel=1e-9, abs=1e-12)


def test_a_function_of_one_sign_has_none():
    with pytest.raises(ValueError, match="does not change its sign"):
        root_between(lambda x: x * x + 1, 0.0, 1.0)
