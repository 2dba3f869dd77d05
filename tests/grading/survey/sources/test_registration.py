"""A scan laid onto the site by common points."""

from __future__ import annotations

import math

import numpy as np
import pytest

from grading.errors import SiteError
from grading.survey.sources.registration import Common, register

YAW = math.radians(37)
TURN = np.array([[math.cos(YAW), -math.sin(YAW), 0], [math.sin(YAW), math.cos(YAW), 0], [0, 0, 1]])
SHIFT = np.array([12.0, -3.0, 99.4])
PAVING = np.array([[0, 0], [6, 0], [6, 5], [0, 5]], float)
NOWHERE = np.zeros((0, 2))


def common(site, noise=0.0, seed=0, turn=TURN):
    """Return points of the site as a scanner sees them, off by noise along each axis."""
    site = np.asarray(site, float)
    rng = np.random.default_rng(seed)
    seen = (site - SHIFT) @ turn + rng.normal(0, noise, site.shape)
    return Common(tuple("ABCDEFGH"[: len(site)]), site, seen)


AROUND = np.array([[-1, -1, 100.1], [8, 0, 100.2], [7, 7, 99.6], [-1, 6, 99.8], [3, 9, 99.5]])
WALL = np.array([[0, 0, 100.0], [3, 1, 100.1], [8, 0.4, 100.2], [12, 1.4, 100.3]])


def said(points, paving=NOWHERE) -> str:
    with pytest.raises(SiteError) as error:
        register(points, paving, "m", "common.csv")
    return str(error.value)


def test_what_was_turned_and_shifted_is_turned_back():
    laid = register(common(WALL), PAVING, "m", "common.csv")
    assert laid.unknowns == 4
    np.testing.assert_allclose(laid.turn, TURN, atol=1e-9)
    np.testing.assert_allclose(laid.shift, SHIFT, atol=1e-9)
    np.testing.assert_allclose(laid.residuals, 0, atol=1e-9)


def test_the_turn_and_shift_are_the_best_there_are():
    """Against a search over the four unknowns by scipy, which knows no closed form."""
    from scipy.optimize import least_squares

    points = common(AROUND, 0.02, 5)
    laid = register(points, NOWHERE, "m", "common.csv")

    def off(four):
        c, s = math.cos(four[0]), math.sin(four[0])
        turn = np.array([[c, -s, 0], [s, c, 0], [0, 0, 1]])
        return (points.scan @ turn.T + four[1:] - points.site).ravel()

    best = least_squares(off, [0.3, 0, 0, 0], xtol=1e-15, ftol=1e-15, gtol=1e-15)
    assert (laid.residuals**2).sum() == pytest.approx(2 * best.cost, rel=1e-9)


def test_tilt_is_estimated_only_where_the_points_surround_the_paving():
    tilt = math.radians(0.5)
    tilted = np.array(
        [[1, 0, 0], [0, math.cos(tilt), -math.sin(tilt)], [0, math.sin(tilt), math.cos(tilt)]]
    )
    around = register(common(AROUND, turn=TURN @ tilted), PAVING, "m", "common.csv")
    assert around.unknowns == 6
    np.testing.assert_allclose(around.turn, TURN @ tilted, atol=1e-9)
    assert register(common(WALL), PAVING, "m", "common.csv").unknowns == 4
    assert register(common(AROUND), NOWHERE, "m", "common.csv").unknowns == 4


def _trial(count, unknowns, rng):
    """Return how far off a corner 18 m out is, up and on the plan, in one survey. [m]"""
    from grading.survey.sources.registration import _fit

    xy = np.column_stack([rng.uniform(0, 12, count), rng.uniform(0, 1.5, count)])
    site = np.column_stack([xy, rng.uniform(0, 0.5, count)])
    scan = (site - SHIFT) @ TURN + rng.normal(0, 0.01, site.shape)
    turn, shift = _fit(scan, site, unknowns)
    corner = np.array([6.0, 18.0, 0.0])
    found = turn @ ((corner - SHIFT) @ TURN) + shift - corner
    return found[2], np.hypot(*found[:2])


@pytest.mark.parametrize(("count", "z"), [(3, 0.006), (4, 0.005), (6, 0.004)])
def test_four_unknowns_keep_the_far_corner_where_six_lose_it(count, z):
    """Common points within 1.5 m of a 12 m wall, sd 10 mm, a corner 18 m out, by Monte Carlo.

    With 4 unknowns z is known to sd/sqrt(n): 6, 5, 4 mm; with 6 it is off by decimetres.
    """
    rng = np.random.default_rng(count)
    four = np.array([_trial(count, 4, rng) for _ in range(1500)])
    six = np.array([_trial(count, 6, rng) for _ in range(1500)])
    spread = math.sqrt((four[:, 0] ** 2).mean())
    assert spread == pytest.approx(0.01 / math.sqrt(count), rel=0.06)
    assert spread == pytest.approx(z, abs=6e-4)
    assert math.sqrt((six[:, 0] ** 2).mean()) > 0.12
    assert np.median(np.abs(six[:, 0])) > 15 * np.median(np.abs(four[:, 0]))


@pytest.mark.parametrize("surrounded", [False, True])
def test_what_is_predicted_at_the_far_corner_is_what_comes_of_it(surrounded):
    """The stated standard deviations against 2000 simulated scans."""
    where = AROUND if surrounded else WALL
    paving = PAVING if surrounded else NOWHERE
    corner = np.array([[10.0, 15.0]])
    off = []
    for seed in range(2000):
        laid = register(common(where, 0.01, seed), paving, "m", "common.csv")
        true = np.array([*corner[0], 99.0])
        off.append(laid.turn @ ((true - SHIFT) @ TURN) + laid.shift - true)
    off = np.array(off)
    laid = register(common(where), paving, "m", "common.csv")
    scale = 0.01 / laid.sd_z, 0.01 / laid.sd_xy
    assert float(laid.z_sd(corner)[0]) * scale[0] == pytest.approx(off[:, 2].std(), rel=0.05)
    along = math.sqrt((off[:, :2] ** 2).mean())
    assert float(laid.xy_sd(corner)[0]) * scale[1] == pytest.approx(along, rel=0.05)


def test_the_scatter_of_the_common_points_is_measured():
    """With eight points of 2 cm the guess of 1 cm gives way."""
    around = np.array([[3 * math.cos(k), 4 * math.sin(k), 100.0] for k in range(8)])
    found = [register(common(around, 0.02, seed), NOWHERE, "m", "c").sd_z for seed in range(60)]
    assert 0.015 < np.mean(found) < 0.021


class TestWrongPairs:
    def test_one_of_four_that_is_paired_wrongly_is_named(self):
        points = common(AROUND[:4], 0.005, 1)
        points.scan[2] += [0.9, 0.2, 0.1]
        assert '"C" lies' in said(points)

    def test_every_one_of_five_is_named_when_it_is_wrong(self):
        for wrong in range(5):
            points = common(AROUND, 0.01, wrong)
            points.scan[wrong] += [0.4, -0.3, 0.0]
            assert f'"{"ABCDE"[wrong]}" lies' in said(points)

    def test_two_that_are_exchanged_are_named(self):
        points = common(AROUND[:4], 0.005, 1)
        points.scan[[1, 3]] = points.scan[[3, 1]]
        assert '"B" and "D" exchanged' in said(points)

    def test_of_three_none_can_be_named(self):
        points = common(AROUND[:3], 0.005, 1)
        points.scan[2] += [0.9, 0.2, 0.1]
        assert "a fourth point would tell which" in said(points)

    def test_feet_that_were_taken_for_metres(self):
        points = common(AROUND)
        points = Common(points.names, points.site, points.scan / 0.3048)
        assert "units" in said(points)

    def test_a_scan_whose_y_points_up(self):
        points = common(AROUND)
        seen = np.column_stack([points.scan[:, 0], points.scan[:, 2], -points.scan[:, 1]])
        assert "--up y" in said(Common(points.names, points.site, seen))

    def test_too_few_and_too_near(self):
        assert "at least 3" in said(common(AROUND[:2]))
        near = np.array([[0, 0, 1], [0.1, 0, 1], [0, 0.2, 1]])
        assert "from the first to the last" in said(common(near))

    def test_leave_one_out_is_told_of_each(self):
        points = common(AROUND, 0.005, 3)
        laid = register(points, NOWHERE, "m", "c")
        rest = Common(points.names[1:], points.site[1:], points.scan[1:])
        without = register(rest, NOWHERE, "m", "c")
        off = without.turn @ points.scan[0] + without.shift - points.site[0]
        assert laid.alone[0] == pytest.approx(np.linalg.norm(off), rel=1e-9)
        assert np.isnan(register(common(AROUND[:3]), NOWHERE, "m", "c").alone).all()
