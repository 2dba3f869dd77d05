"""The Gaussian process of the ground against a worked example, and against another library.

* Ordinary kriging: E. H. Isaaks and R. M. Srivastava, *An Introduction to Applied Geostatistics*,
  1989, chapter 12: seven samples, C(h) = 10 exp(-0.3 h), the estimate at (65, 137). Inputs and
  answers from memory.
* scikit-learn's GaussianProcessRegressor, with the kernel fixed and a wide prior on the plane.
"""

from __future__ import annotations

import numpy as np
import pytest

from grading.ground.process import Process, distance, fitted, matern
from grading.ground.trend import Bend

SAMPLES = np.array([
    [61, 139, 477], [63, 140, 696], [64, 129, 227], [68, 128, 646], [71, 140, 606], [73, 141, 791],
    [75, 128, 783],
], float)  # fmt: skip
ASKED = np.array([[65.0, 137.0]])


class _Ordinary(Process):
    """The same with the example's covariance, and a level for a trend."""

    def covariance(self, one, other):
        return 10 * np.exp(-0.3 * distance(one, other))

    def trend(self, xy):
        return np.ones((len(xy), 1))


def test_ordinary_kriging_of_seven_samples():
    process = _Ordinary(SAMPLES, 7, (), 1.0, 1.0, 0.0)
    (weights,) = process.weights(ASKED)
    assert weights.round(3) == pytest.approx([0.173, 0.318, 0.129, 0.086, 0.151, 0.057, 0.086])
    assert weights @ SAMPLES[:, 2] == pytest.approx(592.7, abs=0.05)
    assert process.left(ASKED, ASKED)[0, 0] == pytest.approx(8.96, abs=0.005)


def spots(count=40, seed=4):
    rng = np.random.default_rng(seed)
    xy = rng.uniform(0, 16, (count, 2))
    z = 30 - 0.02 * xy[:, 1] + 0.08 * np.sin(xy[:, 0] / 2) * np.cos(xy[:, 1] / 3)
    return np.column_stack((xy, z + rng.normal(0, 0.004, count)))


def test_another_library_foretells_the_same():
    process_of = pytest.importorskip("sklearn.gaussian_process")
    from sklearn.gaussian_process.kernels import ConstantKernel, DotProduct, Matern

    shot, asked = spots(), np.random.default_rng(1).uniform(1, 15, (25, 2))
    ours = fitted(shot)
    middle, wide = ours.origin, 30.0
    kernel = ConstantKernel(ours.size**2) * Matern(ours.length, nu=1.5)
    kernel += ConstantKernel(wide**2) * DotProduct(1.0)
    theirs = process_of.GaussianProcessRegressor(kernel, alpha=ours.noise**2, optimizer=None)
    level = shot[:, 2].mean()
    theirs.fit(shot[:, :2] - middle, shot[:, 2] - level)
    mean, sd = theirs.predict(asked - middle, return_std=True)
    assert ours.weights(asked) @ shot[:, 2] == pytest.approx(mean + level, abs=1e-6)
    assert np.sqrt(np.diagonal(ours.left(asked, asked))) == pytest.approx(sd, abs=1e-6)


def restricted_likelihood(shot, length, ratio, stated):
    """By contrasts that no plane is in (Harville 1977), with the variance at its best. [for a test]

    Their density is the restricted likelihood but for a constant.
    """
    xy = shot[:, :2] - shot[:, :2].mean(axis=0)
    basis = np.column_stack((np.ones(len(xy)), xy))
    contrast = np.linalg.svd(basis, full_matrices=True)[0][:, 3:]
    whole = contrast.T @ (matern(distance(xy, xy) / length) + ratio * np.eye(len(xy))) @ contrast
    left = contrast.T @ shot[:, 2]
    free = len(left)
    variance = left @ np.linalg.solve(whole, left) / free
    likely = -0.5 * (free * np.log(variance) + np.linalg.slogdet(whole)[1])
    short = np.log(max(stated / np.sqrt(variance * ratio), 1.0))
    return likely - short**2 / 2, np.sqrt(variance)


@pytest.mark.parametrize("seed", range(4))
def test_the_likeliest_of_the_grid_is_taken(seed):
    shot = spots(25, seed)
    xy = shot[:, :2]
    away = distance(xy, xy) + np.diag(np.full(len(xy), np.inf))
    nearest, extent = np.median(away.min(axis=1)), np.hypot(*np.ptp(xy, axis=0))
    best = max(
        (*restricted_likelihood(shot, length, ratio, 0.003), length, ratio)
        for length in np.geomspace(nearest / 2, 2 * extent, 11)
        for ratio in (1e-7, 1e-5, 1e-4, 1e-3, 1e-2, 1e-1, 3e-1)
    )
    found = fitted(shot)
    assert found.length == pytest.approx(best[2])
    assert found.size == pytest.approx(best[1])
    assert found.noise == pytest.approx(max(best[1] * np.sqrt(best[3]), 0.003))


def test_a_bend_in_the_trend_is_carried_beyond_the_spots_beside_it():
    """Ground that creases by 30 %, told where: forecast in a gap at the crease to the reading."""
    rng = np.random.default_rng(2)
    xy = rng.uniform(0, 16, (60, 2))
    xy = xy[np.abs(xy[:, 0] - 8) > 1.5]

    def level(at):
        return 30 + 0.3 * np.maximum(at[:, 0] - 8, 0)

    shot = np.column_stack((xy, level(xy) + rng.normal(0, 0.003, len(xy))))
    bend = Bend(np.array([8.0, 0.0]), np.array([1.0, 0.0]))
    gap = np.column_stack((np.full(9, 8.0), np.linspace(2, 14, 9)))
    flat, bent = fitted(shot), fitted(shot, [bend])
    off = [np.abs(each.weights(gap) @ shot[:, 2] - level(gap)).max() for each in (flat, bent)]
    assert off[1] < 0.01 < 0.03 < off[0]
