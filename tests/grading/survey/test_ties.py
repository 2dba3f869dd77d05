"""Places by ties, against closed form, Monte Carlo and SciPy's own least squares."""

from __future__ import annotations

from math import asin, cos, degrees, hypot, radians, sin, sqrt

import numpy as np
import pytest
from scipy.optimize import least_squares
from scipy.stats import chi2

from grading.survey.ties import NINETY_FIVE, ODD, crossings, fixes, placed

WALL = np.array([[0.0, 0.0], [12.0, 0.0]])
SD = 0.006


def far(point, references):
    return np.hypot(*(np.asarray(point) - references).T)


def test_two_circles_cross_where_the_closed_form_has_it():
    # Intersection of two circles: x = (d2 + a2 - b2) / 2d, y = +-sqrt(a2 - x2).
    left, right = crossings(WALL[0], WALL[1], 5.0, sqrt(12**2 + 25 - 24 * 3))[0]
    assert left == pytest.approx([3, 4], abs=1e-12)
    assert right == pytest.approx([3, -4], abs=1e-12)


def test_two_ties_are_met_exactly_and_their_mirror_too():
    point = np.array([3.7, 8.1])
    found = fixes(WALL, far(point, WALL), np.full(2, SD))
    assert len(found) == 2
    assert sorted(fix.xy[1] for fix in found) == pytest.approx([-8.1, 8.1], abs=1e-9)
    assert all(np.isnan(fix.odd).all() for fix in found)
    assert all(abs(fix.residuals).max() < 1e-9 for fix in found)
    assert not any(fix.astray for fix in found)


@pytest.mark.parametrize("shape", ["2 ties", "3 ties", "4 ties"])
def test_the_place_is_that_of_another_solver(shape):
    rng = np.random.default_rng(3)
    refs = np.vstack([WALL, [[15.0, 9.0], [-2.0, 14.0]]])[: int(shape[0])]
    for _ in range(20):
        point = rng.uniform([0, 1], [12, 12])
        lengths = far(point, refs) + rng.normal(0, SD, len(refs))
        fix = min(fixes(refs, lengths, np.full(len(refs), SD)),
                  key=lambda each: hypot(*(each.xy - point)))  # fmt: skip

        def short(at, refs=refs, lengths=lengths):
            return far(at, refs) - lengths

        other = least_squares(short, point, xtol=1e-15, ftol=1e-15, gtol=1e-15)
        assert fix.xy == pytest.approx(other.x, abs=1e-7)
        assert fix.covariance == pytest.approx(
            np.linalg.inv(other.jac.T @ other.jac) * SD**2, rel=1e-5
        )


def at_angle(angle):
    """Return the point on the middle line of the wall at which its two ends show so far apart."""
    return np.array([6.0, 6.0 / np.tan(radians(angle) / 2)])


@pytest.mark.parametrize("angle", [30.0, 60.0, 90.0, 120.0, 150.0, 170.0])
def test_the_ellipse_of_two_like_ties_is_that_of_the_closed_form(angle):
    point = at_angle(angle)
    fix = placed(WALL, far(point, WALL), np.full(2, SD), point)
    assert fix.angle == pytest.approx(angle, abs=1e-6)
    half = radians(angle) / 2
    # Sum of squared direction cosines: s / (sqrt 2 sin) along the wall, s / (sqrt 2 cos) out.
    axes = sorted([SD / (sqrt(2) * sin(half)), SD / (sqrt(2) * cos(half))])
    ellipse = fix.ellipse
    assert [ellipse.minor, ellipse.major] == pytest.approx(np.array(axes) * NINETY_FIVE, rel=1e-6)
    if angle != 90.0:
        assert ellipse.bearing == pytest.approx(90.0 if angle < 90 else 0.0, abs=1e-3) or (
            ellipse.bearing == pytest.approx(180.0, abs=1e-3)
        )
    assert fix.flat == (angle in (170.0,))


def test_the_factor_is_that_of_chi_squared():
    assert pytest.approx(sqrt(chi2.ppf(0.95, 2)), rel=1e-12) == NINETY_FIVE


# Where the corner, the angle and the semi-axes [mm] are as measured beforehand with 20,000 draws
# for a wall of 12 m and a tape of 6 mm.
@pytest.mark.parametrize(
    ("angle", "major", "minor"),
    [(100, 6.6, 5.5), (157, 21.3, 4.3), (46, 10.8, 4.6), (27, 18.2, 4.4)],
)
def test_the_ellipse_is_what_monte_carlo_finds(angle, major, minor):
    point, draws = at_angle(angle), 20_000
    rng = np.random.default_rng(int(angle))
    a, b = far(point, WALL)[:, None] + rng.normal(0, SD, (2, draws))
    along = (12**2 + a**2 - b**2) / 24  # closed form, for all draws at once
    cloud = np.column_stack([along, np.sqrt(a**2 - along**2)])
    fix = placed(WALL, far(point, WALL), np.full(2, SD), point)
    spread = np.sqrt(np.linalg.eigvalsh(np.cov(cloud.T)))[::-1]
    told = np.array([fix.ellipse.major, fix.ellipse.minor]) / NINETY_FIVE
    assert told == pytest.approx(spread, rel=0.03)
    assert told * 1000 == pytest.approx([major, minor], abs=0.4)
    away = cloud - fix.xy
    inside = np.einsum("ij,jk,ik->i", away, np.linalg.inv(fix.covariance), away) < NINETY_FIVE**2
    assert inside.mean() == pytest.approx(0.95, abs=0.006)


def test_the_rule_of_the_sine_understates_a_flat_angle():
    point = at_angle(157)
    fix = placed(WALL, far(point, WALL), np.full(2, SD), point)
    assert fix.ellipse.major / NINETY_FIVE > 1.3 * SD / sin(radians(157))


def test_circles_that_do_not_meet_tell_by_how_much():
    for lengths, short in (((5.0, 6.0), 1.0), ((20.0, 6.0), 2.0), ((6.0, 20.0), 2.0)):
        assert crossings(WALL[0], WALL[1], *lengths)[1] == pytest.approx(short)
    assert fixes(WALL, np.array([5.0, 6.0]), np.full(2, SD)) == []


def test_references_in_one_line_leave_the_mirror_open_and_one_off_it_settles_it():
    point = np.array([5.0, 7.0])
    line = np.array([[0.0, 0.0], [6.0, 0.0], [12.0, 0.0]])
    assert len(fixes(line, far(point, line), np.full(3, SD))) == 2
    off = np.array([[0.0, 0.0], [12.0, 0.0], [12.0, 9.0]])
    (only,) = fixes(off, far(point, off), np.full(3, SD))
    assert only.xy == pytest.approx(point, abs=1e-8)


REFS = np.array([[0.0, 0.0], [12.0, 0.0], [14.0, 9.0], [-1.0, 12.0], [6.0, 15.0]])
# Flagged, and the right one named, of 500 surveys with one tie that is off, as measured
# beforehand: the bar is what a survey must hold, with room for another set of draws.
BARS = {3: {0.03: (0.25, 0), 0.10: (0.75, 0), 0.3048: (0.9, 0)},
        4: {0.03: (0.45, 0.35), 0.10: (0.95, 0.85), 0.3048: (0.99, 0.94)},
        5: {0.03: (0.6, 0.55), 0.10: (0.99, 0.98), 0.3048: (0.99, 0.99)}}  # fmt: skip


@pytest.mark.parametrize("ties", [3, 4, 5])
def test_a_bad_tie_is_found_and_named_where_there_are_four(ties):
    rng, count = np.random.default_rng(ties), 150
    refs = REFS[:ties]
    for off, (flagged, named) in BARS[ties].items():
        found = right = 0
        for _ in range(count):
            point = rng.uniform([2, 2], [10, 10])
            lengths = far(point, refs) + rng.normal(0, SD, ties)
            bad = int(rng.integers(ties))
            lengths[bad] += off * rng.choice([-1, 1])
            fix = placed(refs, lengths, np.full(ties, SD), point)
            found += fix.astray
            right += fix.suspect == bad
        assert found / count >= flagged, off
        assert right / count >= named, off
        if ties == 3:
            assert right == 0  # three cannot say which


def test_good_ties_are_left_alone():
    rng, count, wrong = np.random.default_rng(9), 600, 0
    for _ in range(count):
        point = rng.uniform([2, 2], [10, 10])
        lengths = far(point, REFS[:4]) + rng.normal(0, SD, 4)
        wrong += placed(REFS[:4], lengths, np.full(4, SD), point).astray
    assert wrong / count <= 0.01


def test_of_three_ties_all_stand_out_alike():
    point = np.array([5.0, 6.0])
    lengths = far(point, REFS[:3]) + np.array([0.0, 0.1, 0.0])
    fix = placed(REFS[:3], lengths, np.full(3, SD), point)
    assert abs(fix.odd) == pytest.approx([abs(fix.odd[0])] * 3, rel=1e-6)
    assert abs(fix.odd[0]) > ODD
    assert fix.off(1) == pytest.approx(0.1, abs=0.005)


def test_the_bearing_of_the_ellipse_is_clockwise_from_y():
    refs = np.array([[0.0, 0.0], [10.0, 10.0]])
    fix = placed(refs, far([4.5, 5.5], refs), np.full(2, SD), np.array([4.5, 5.5]))
    # Both tapes lie all but along the line to the north-east: the point is lost across it.
    assert fix.flat
    assert fix.ellipse.bearing == pytest.approx(135, abs=1e-6)
    assert degrees(asin(fix.ellipse.minor / fix.ellipse.major)) < 10
