"""The gap under a straightedge: closed forms, and when shots cannot tell."""

import numpy as np
import pytest
import shapely

from grading.asbuilt.straightedge import BOARD, straightedge
from grading.units import INCH

YARD = shapely.box(0, 0, 6, 5)
LIMIT = 3 / 8 * INCH


def grid(step, surface, box=(6.0, 5.0)):
    x, y = np.meshgrid(np.arange(0, box[0] + 1e-9, step), np.arange(0, box[1] + 1e-9, step))
    xy = np.column_stack([x.ravel(), y.ravel()])
    return np.column_stack([xy, surface(*xy.T)])


def test_a_trough_has_the_gap_of_its_depth():
    # A straight trough 1.2 m wide, 12 mm deep: every straightedge across it stands on both rims.
    shots = grid(0.6, lambda x, y: -0.012 * np.maximum(1 - np.abs(x - 3.0) / 0.6, 0))
    found = straightedge(shots, YARD, LIMIT, 5e-4)
    assert found.gap == pytest.approx(0.012, abs=1e-9)
    assert found.at[0] == pytest.approx(3.0)
    assert found.verdict == "fail"
    assert found.places


def test_a_long_dish_is_measured_by_the_straightedge_and_not_by_the_yard():
    # z = c x^2: between ends 10 ft apart the chord stands c (L / 2)^2 above the middle.
    c = 0.004
    shots = grid(0.1, lambda x, y: c * (x - 3.0) ** 2, (6.0, 1.0))
    found = straightedge(shots, shapely.box(0, 0, 6, 1), LIMIT, 5e-4)
    # Profiles that run askew lie as deep over the same length seen along x, and never deeper.
    assert found.gap == pytest.approx(c * (BOARD["ft"] / 2) ** 2, rel=0.01)


def test_a_plane_and_a_crown_have_no_gap_but_that_of_rounding():
    plane = straightedge(grid(0.5, lambda x, y: 0.01 * x - 0.02 * y), YARD, LIMIT, 5e-4)
    assert plane.gap == pytest.approx(0.0, abs=1e-12)
    assert (plane.verdict, plane.places) == ("pass", ())


def test_shots_too_far_apart_never_pass():
    found = straightedge(grid(1.0, lambda x, y: 0.0 * x), YARD, LIMIT, 5e-4)
    assert found.verdict == "unknown"
    assert found.apart == pytest.approx(1.0)
    assert len(found.places) == 3
    for place in found.places:
        assert np.hypot(*(grid(1.0, lambda x, y: 0.0 * x)[:, :2] - place).T).min() > 0.7 - 1e-9


def test_a_gap_that_reading_could_have_made_is_not_known():
    shots = grid(0.6, lambda x, y: -0.0105 * np.maximum(1 - np.abs(x - 3.0) / 0.6, 0))
    assert straightedge(shots, YARD, LIMIT, 2e-3).verdict == "unknown"
    assert straightedge(shots, YARD, LIMIT, 1e-4).verdict == "fail"


def test_a_few_shots_on_a_line_tell_nothing():
    shots = np.array([[0, 0, 0], [1, 0, 0.01], [2, 0, 0], [3, 0, 0.0]])
    found = straightedge(shots, YARD, LIMIT, 5e-4)
    assert (found.gap, found.verdict) == (None, "unknown")
    assert len(found.places) == 1


@pytest.mark.parametrize(
    ("step", "least", "most"), [(0.6, 0.75, 1.0), (1.0, 0.2, 0.7), (2.0, 0, 0.3)]
)
def test_how_often_a_dip_of_half_an_inch_is_seen(step, least, most):
    # A dip 12.7 mm deep, 0.6 m in radius, anywhere; another simulation has 0.97, 0.45 and 0.03.
    rng = np.random.default_rng(7)
    seen, cases = 0, 20
    for _ in range(cases):
        at = rng.uniform((0.8, 0.8), (5.2, 4.2))

        def dished(x, y, at=at):
            far = np.hypot(x - at[0], y - at[1]) / 0.6
            dip = -0.0127 * (1 - np.minimum(far, 1) ** 2)
            return dip + rng.normal(0, 1.5e-3, len(x))

        shots = grid(step, dished)
        seen += straightedge(shots, YARD, LIMIT, 0.0).gap > LIMIT
    assert least <= seen / cases <= most
