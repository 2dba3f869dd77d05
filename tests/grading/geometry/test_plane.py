import numpy as np
import pytest

from grading.geometry.plane import Plane


@pytest.mark.parametrize(
    ("bearing", "gradient"),
    [(0, (0, -0.02)), (90, (-0.02, 0)), (180, (0, 0.02)), (270, (0.02, 0))],
)
def test_water_runs_along_the_bearing(bearing, gradient):
    plane = Plane.through(np.array([2.0, 3.0]), 30.0, 0.02, bearing)
    assert plane.gradient == pytest.approx(np.array(gradient), abs=1e-15)
    assert plane.at(np.array([[2.0, 3.0]])) == pytest.approx([30.0])
    assert plane.fall == pytest.approx(0.02)
    assert plane.bearing == pytest.approx(bearing)
    assert plane.fall_along(plane.downhill) == pytest.approx(0.02)


def test_a_level_plane_runs_nowhere():
    level = Plane(30.0, 0.0, 0.0)
    assert (level.fall, level.bearing) == (0.0, 0.0)
    assert level.downhill.tolist() == [0.0, 0.0]


def test_lowering_keeps_the_slope():
    assert Plane(30.0, 0.01, -0.02).lowered(0.25) == Plane(29.75, 0.01, -0.02)
