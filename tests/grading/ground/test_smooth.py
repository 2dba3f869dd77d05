"""The thin plate, and how far each surface misses a spot that is left out."""

from __future__ import annotations

import numpy as np
import pytest

from grading.geometry.tin import Tin
from grading.geometry.triangulation import triangulate
from grading.ground import smooth
from grading.ground.smooth import leave_one_out, thin_plate


def spots(count, seed=0):
    rng = np.random.default_rng(seed)
    plan = rng.uniform(0, 15, (count, 2))
    z = 100 + 0.3 * np.sin(plan[:, 0] / 3) + 0.02 * plan[:, 1] + rng.normal(0, 0.01, count)
    return np.column_stack((plan, z))


def left_out(xyz, interior):
    """Both surfaces made anew without each spot."""
    tin, plate = [], []
    for spot in interior:
        rest = np.delete(xyz, spot, axis=0)
        at = xyz[spot : spot + 1, :2]
        tin.append(xyz[spot, 2] - Tin(rest, triangulate(rest[:, :2]).corners).elevation(at)[0])
        plate.append(xyz[spot, 2] - thin_plate(rest, at)[0])
    return np.array(tin), np.array(plate)


@pytest.mark.parametrize("count", [5, 12, 60])
def test_closed_forms_agree_with_surfaces_made_anew(count):
    xyz = spots(count, seed=count)
    interior = np.setdiff1d(np.arange(count), triangulate(xyz[:, :2]).ring)
    tin, plate = left_out(xyz, interior)
    errors = leave_one_out(xyz)
    assert errors.count == errors.interior == len(interior)
    assert errors.tin_rms == pytest.approx(np.sqrt(np.mean(tin**2)), rel=1e-9)
    assert errors.tin_worst == pytest.approx(np.abs(tin).max(), rel=1e-9)
    assert errors.smooth_rms == pytest.approx(np.sqrt(np.mean(plate**2)), rel=1e-6)
    assert errors.smooth_worst == pytest.approx(np.abs(plate).max(), rel=1e-6)


def test_no_interior_spot_no_error_known():
    errors = leave_one_out(np.array([[0, 0, 1], [9, 0, 2], [9, 9, 3], [0, 9, 4.0]]))
    assert errors.count == errors.interior == 0
    assert np.isnan([errors.tin_rms, errors.tin_worst]).all()
    assert np.isnan([errors.smooth_rms, errors.smooth_worst]).all()


def test_a_large_survey_is_sampled_and_says_so():
    errors = leave_one_out(spots(600))
    assert errors.count == 400
    assert 500 < errors.interior < 600


def test_a_survey_too_large_for_one_plate_uses_the_spots_around(monkeypatch):
    """The local plate, allowed all spots, is the plate through all of them."""
    xyz = spots(90)
    whole = leave_one_out(xyz)
    monkeypatch.setattr(smooth, "MOST_SPOTS", 50)
    near = leave_one_out(xyz)
    assert near.tin_rms == whole.tin_rms
    assert near.smooth_rms == pytest.approx(whole.smooth_rms, rel=0.05)
    monkeypatch.setattr(smooth, "_LOCAL_SPOTS", 89)
    everything = leave_one_out(xyz)
    assert everything.smooth_rms == pytest.approx(whole.smooth_rms, rel=1e-9)
    assert everything.smooth_worst == pytest.approx(whole.smooth_worst, rel=1e-9)


def test_the_plate_goes_through_its_spots_and_gives_a_plane_back():
    xyz = spots(40)
    assert thin_plate(xyz, xyz[:, :2]) == pytest.approx(xyz[:, 2], abs=1e-10)
    flat = np.column_stack((xyz[:, :2], xyz[:, :2] @ [0.1, 0.2]))
    assert thin_plate(flat, np.array([[3, 4], [40, 40]])) == pytest.approx([1.1, 12])
