"""A fit that one wrong shot does not pull, against another library and by its own coverage."""

import numpy as np
import pytest
from scipy.optimize import least_squares as general
from scipy.special import stdtrit

from grading.asbuilt.robust import TUNED, least_squares, robust_fit


def strip(rng, count, blunder):
    """Shots before a wall: paving that falls 2 % with waves of 3 mm, read to 2 mm."""
    along, out = rng.uniform(0, 5, count), rng.uniform(0, 3, count)
    turn = rng.uniform(0, 2 * np.pi, 2)
    waves = 0.003 * np.sin(2.1 * along + turn[0]) * np.cos(2.7 * out + turn[1])
    z = 1.0 - 0.02 * out + waves + rng.normal(0, 0.002, count)
    if blunder:
        z[rng.integers(count)] += rng.choice([-1, 1]) * rng.uniform(0.025, 0.05)
    return np.column_stack([np.ones(count), along, out]), z


@pytest.mark.parametrize("seed", range(12))
def test_the_fit_is_that_of_a_general_optimiser_at_its_own_scale(seed):
    rng = np.random.default_rng(seed)
    rows, z = strip(rng, 15, blunder=seed % 2 == 0)
    fit = robust_fit(rows, z)
    other = general(
        lambda x: (rows @ x - z) / fit.scale, fit.at * 0, loss="huber", f_scale=TUNED,
        xtol=1e-15, ftol=1e-15, gtol=1e-15,
    )  # fmt: skip
    assert fit.at == pytest.approx(other.x, abs=2e-7)
    assert fit.scale == pytest.approx(np.median(np.abs(z - rows @ fit.at)) / 0.6744897501960817)


def test_without_a_blunder_it_is_all_but_least_squares_and_with_one_it_is_not_pulled():
    rng = np.random.default_rng(4)
    rows, z = strip(rng, 30, blunder=False)
    assert robust_fit(rows, z).at[2] == pytest.approx(least_squares(rows, z).at[2], abs=1e-3)
    z[3] += 0.3  # a foot misread
    assert abs(robust_fit(rows, z).at[2] + 0.02) < 2e-3
    assert robust_fit(rows, z).weights[3] < 0.1


def test_shots_in_one_plane_have_no_scale():
    rows, _ = strip(np.random.default_rng(1), 9, blunder=False)
    fit = robust_fit(rows, rows @ np.array([1.0, 0.01, -0.02]))
    assert fit.at == pytest.approx([1.0, 0.01, -0.02])
    assert np.abs(fit.covariance).max() < 1e-15


@pytest.mark.parametrize(("count", "blunder", "least"), [(15, False, 0.85), (15, True, 0.83)])
def test_nine_intervals_of_ten_hold_what_was_built(count, blunder, least):
    # On 2,000 surveys of another simulation 0.88 to 0.90 clean, 0.87 with one blunder of 1 to 2 in.
    rng = np.random.default_rng(20)
    held, cases = 0, 200
    for _ in range(cases):
        rows, z = strip(rng, count, blunder)
        fit = robust_fit(rows, z)
        half = np.sqrt(fit.covariance[2, 2]) * stdtrit(count - 4, 0.95)
        held += abs(fit.at[2] + 0.02) <= half
    assert least <= held / cases <= 0.97
