"""Generated surveys: spots on a millimetre grid, as a tape and a level give them."""

from __future__ import annotations

import numpy as np
from hypothesis import strategies as st

MILLIMETRE = 1e-3


@st.composite
def plan_points(draw, fewest=3, most=40, width=20_000):
    """Distinct points (n, 2), not all on one line. [m]"""
    coordinate = st.integers(-width // 2, width // 2)
    # a coarse step now and then gives rows and columns, where rounding and ties live
    step = draw(st.sampled_from([2, 500, 2000]))
    count = {"min_size": fewest, "max_size": most}
    cells = draw(st.lists(st.tuples(coordinate, coordinate), unique=True, **count))
    points = np.unique(np.array(cells) // step * step, axis=0) * MILLIMETRE
    corners = np.array([[-12.0, -11.0], [12.5, -10.5], [1.5, 13.0]])
    return np.concatenate((points, corners))


@st.composite
def surveys(draw, fewest=3, most=40):
    """Spots (n, 3) with elevations within a metre of each other. [m]"""
    points = draw(plan_points(fewest, most))
    level = st.integers(-500, 500)
    z = draw(st.lists(level, min_size=len(points), max_size=len(points)))
    return np.column_stack((points, 100 + np.array(z) * MILLIMETRE))


@st.composite
def slopes(draw):
    """A plane z = c + a x + b y as (a, b, c). [ratio, ratio, m]"""
    ratio = st.floats(-0.3, 0.3)
    return np.array([draw(ratio), draw(ratio), draw(st.floats(-50, 150))])


@st.composite
def lines(draw, most=4):
    """A straight or bent line (k, 2) over or past the surveys. [m]"""
    coordinate = st.integers(-16_000, 16_000)
    corners = draw(
        st.lists(st.tuples(coordinate, coordinate), min_size=2, max_size=most, unique=True)
    )
    return np.array(corners) * MILLIMETRE
