"""The distributions that every plan asks, held to SciPy's, a library of its own."""

import numpy as np
import pytest
from scipy import special

from grading.distributions import (
    beta_share,
    normal_quantile,
    normal_share,
    student_quantile,
    student_share,
)

SHARES = [1e-9, 1e-4, 0.02, 0.1, 0.3, 0.5, 0.6, 0.8, 0.9, 0.975, 0.9995, 1 - 1e-9]


@pytest.mark.parametrize("share", SHARES)
def test_the_normal_is_scipy_s(share):
    x = normal_quantile(share)
    assert x == pytest.approx(special.ndtri(share), rel=1e-13, abs=1e-15)
    assert normal_share(np.array([x, -x])) == pytest.approx([share, 1 - share], rel=1e-12)


@pytest.mark.parametrize("freedom", [0.5, 1, 2, 3, 4, 7.5, 26, 100, 1000])
def test_student_s_t_is_scipy_s(freedom):
    for share in SHARES:
        x = student_quantile(freedom, share)
        assert x == pytest.approx(special.stdtrit(freedom, share), rel=1e-11, abs=1e-15)
    x = np.array([-30, -2.0, -0.1, 0.0, 0.3, 1.7, 12.0])
    assert student_share(freedom, x) == pytest.approx(special.stdtr(freedom, x), rel=1e-10)


def test_student_s_t_of_two_degrees_of_freedom_has_a_closed_form():
    for share in (0.6, 0.9, 0.995):  # x = (2 p - 1) / sqrt(2 p (1 - p)), Abramowitz and Stegun 26.7
        closed = (2 * share - 1) / np.sqrt(2 * share * (1 - share))
        assert student_quantile(2, share) == pytest.approx(closed, rel=1e-12)


@pytest.mark.parametrize("seed", range(6))
def test_the_beta_is_scipy_s(seed):
    lot = np.random.default_rng(seed)
    for a, b in np.exp(lot.uniform(-1.5, 5, (40, 2))):
        x = np.concatenate(([0.0, 1.0], lot.uniform(0, 1, 20), lot.beta(a, b, 20)))
        assert beta_share(a, b, x) == pytest.approx(special.betainc(a, b, x), rel=1e-9, abs=1e-12)
