"""The common factor of a crew: with own jobs and without, by routes that share none of its code."""

from __future__ import annotations

import numpy as np
import pytest
from numpy.polynomial.hermite import hermgauss
from scipy import stats

from grading.crew.estimate import Spread
from grading.crew.factor import Factor, JobTime, PastJob, credibility, factor_of, figure

SPREAD = Spread(tuple((k + 2.0, k + 3.0, k + 6.0) for k in range(10)))


def jobs(*ratios):
    return [PastJob(f"job {k}", 50 * 3600, 50 * 3600 * each) for k, each in enumerate(ratios)]


def sums(rng, count):
    """Return draws of the sum of SPREAD, each part a beta law by NumPy's own generator."""
    total = np.zeros(count)
    for low, likely, high in SPREAD.parts:
        wide = high - low
        total += low + wide * rng.beta(
            1 + 4 * (likely - low) / wide, 1 + 4 * (high - likely) / wide, count
        )
    return total


@pytest.mark.parametrize("scale", [0.05, 0.2, 0.4])
def test_the_factor_over_the_sum_is_what_a_million_draws_of_both_are(scale):
    rng = np.random.default_rng(5)
    drawn = sums(rng, 1_000_000) * np.exp(rng.normal(-(scale**2) / 2, scale, 1_000_000))
    time = JobTime(SPREAD, Factor(1.0, -(scale**2) / 2, scale))
    for share in (0.05, 0.1, 0.5, 0.9, 0.95):
        assert time.quantile(share) == pytest.approx(np.quantile(drawn, share), rel=2.5e-3)
    assert time.deviation == pytest.approx(drawn.std(), rel=5e-3)
    assert drawn.mean() == pytest.approx(time.mean, rel=1e-3)


def test_without_the_factor_the_hours_are_the_sum_of_the_rates_alone():
    rng = np.random.default_rng(6)
    drawn = sums(rng, 500_000)
    time = JobTime(SPREAD, Factor(1.0, 0.0, 0.0))
    for share in (0.1, 0.5, 0.9):
        assert time.quantile(share) == SPREAD.quantile(share)
        assert time.quantile(share) == pytest.approx(np.quantile(drawn, share), rel=2e-3)


def test_quadrature_over_the_factor_gives_the_same_shares():
    """P(F S <= t) by Gauss and Hermite's nodes for ln F, the other way round than it is reckoned.

    So many nodes that they lie nearer than the sum varies.
    """
    scale = 0.2
    time = JobTime(SPREAD, Factor(1.0, -(scale**2) / 2, scale))
    nodes, weights = hermgauss(180)
    factors = np.exp(-(scale**2) / 2 + np.sqrt(2) * scale * nodes)
    values, shares = SPREAD.distribution
    reached = np.cumsum(shares)
    for share in (0.1, 0.3, 0.5, 0.9):
        t = time.quantile(share)
        below = np.interp(t / factors, values, reached, left=0.0, right=1.0)
        assert float(weights @ below / np.sqrt(np.pi)) == pytest.approx(share, abs=2e-3)


@pytest.mark.parametrize(
    ("scale", "low", "high"), [(0.0, 50, 57), (0.10, 46, 61), (0.15, 43, 65), (0.20, 40, 68)]
)
def test_a_small_job_of_53_hours_varies_by_more_than_its_rates(scale, low, high):
    """Rates that vary 53 hours by 5 % leave 50 to 57; a factor of 20 % over them 40 to 68.

    Worked by hand from lognormal quantiles: 53.2 exp(-f2/2 +- 1.2816 sqrt(f2 + .05^2)).
    """
    part = Spread(tuple((1.0, 1.3, 2.2) for _ in range(9)))
    time = JobTime(part, Factor(1.0, -(scale**2) / 2, scale))
    wide = np.sqrt(scale**2 + np.log1p((part.deviation / part.mean) ** 2))
    for share, found in zip((0.1, 0.9), (low, high), strict=True):
        by_hand = time.mean * np.exp(-(wide**2) / 2 + stats.norm.ppf(share) * wide)
        assert time.quantile(share) == pytest.approx(by_hand, rel=1e-2)
        assert time.quantile(share) * 53.2 / time.mean == pytest.approx(found, abs=1.0)


def test_until_three_own_jobs_are_known_it_is_the_figure_of_common_practice():
    for known in ((), (1.3,), (1.3, 1.4)):
        found = factor_of(jobs(*known))
        assert (found.own, found.told, found.scale) == (False, 1.0, figure("unknown"))
        # The rates are means: the factor is 1 on average, not in the middle.
        assert np.exp(found.middle + found.scale**2 / 2) == pytest.approx(1.0)
        assert len(found.jobs) == len(known)
    assert factor_of(jobs(1.3, 1.4, 1.2)).own


def test_four_own_jobs_are_drawn_towards_their_estimates():
    """Ratios 1.10, 1.25, .95, 1.20: mean logarithm .11237, Z .8767, factor 1.104, .89 to 1.36.

    Worked by hand; the method is that of credibility and of a normal mean that is not known.
    """
    found = factor_of(jobs(1.10, 1.25, 0.95, 1.20))
    assert found.told == pytest.approx(1.1035, abs=1e-4)
    assert found.band == pytest.approx((0.892, 1.364), abs=1e-3)
    assert found.freedom is None
    # A small job of which the rates vary little keeps that band: what they vary is part of it.
    time = JobTime(SPREAD, found)
    for share, ratio in zip((0.1, 0.9), found.band, strict=True):
        assert time.quantile(share) / time.mean * found.told == pytest.approx(ratio, rel=5e-3)


def test_from_five_own_jobs_their_own_scatter_counts_by_students_law():
    ratios = (1.0, 1.6, 0.7, 1.3, 1.1, 0.9)
    found = factor_of(jobs(*ratios))
    x = np.log(ratios)
    nu = 4 + len(x) - 1
    s2 = (4 * 0.15**2 + ((x - x.mean()) ** 2).sum()) / nu
    z = len(x) / (len(x) + s2 / 0.2**2)
    left = 0.2**2 * s2 / (len(x) * 0.2**2 + s2)
    law = stats.t(nu, loc=z * x.mean(), scale=np.sqrt(s2 + left))
    assert found.freedom == nu
    assert found.told == pytest.approx(np.exp(z * x.mean()))
    assert found.band == pytest.approx((np.exp(law.ppf(0.1)), np.exp(law.ppf(0.9))))
    calm = factor_of(jobs(1.0, 1.01, 0.99, 1.0, 1.02, 0.98))
    assert calm.band[1] - calm.band[0] < found.band[1] - found.band[0]


def test_credibility_is_that_of_the_handbooks():
    """Buhlmann's: EPV 8,000 over VHM 40 is k 200; 1,800 exposures of mean 11.11 beside 20 give 12.

    Course material for an actuarial examination, worked example, from memory; recomputed.
    """
    z = credibility(1800, 8000, 40)
    mean = (800 * 15 + 600 * 10 + 400 * 5) / 1800
    assert z == pytest.approx(0.9)
    assert z * mean + (1 - z) * 20 == pytest.approx(12)


@pytest.mark.parametrize("known", [3, 4, 6, 12])
def test_eight_in_ten_of_the_next_jobs_of_simulated_crews_come_out_as_promised(known):
    """Two thousand crews, each with an own pace, and jobs that scatter about it; the next is held
    against what is foretold from those before it."""
    rng = np.random.default_rng(known)
    crews, inside = 2000, 0
    pace = rng.normal(0, 0.20, crews)
    logs = pace[:, None] + rng.normal(0, 0.15, (crews, known + 1))
    ratios = np.exp(logs) * sums(rng, crews * (known + 1)).reshape(crews, -1) / SPREAD.mean
    for each in ratios:
        low, high = factor_of(jobs(*each[:-1])).band
        inside += low <= each[-1] <= high
    assert 0.77 <= inside / crews <= 0.84


def test_without_own_jobs_eight_in_ten_of_all_crews_come_out_as_promised():
    rng = np.random.default_rng(9)
    took = sums(rng, 20_000) * np.exp(rng.normal(-0.02, 0.2, 20_000))
    time = JobTime(SPREAD, factor_of())
    inside = (took >= time.quantile(0.1)) & (took <= time.quantile(0.9))
    assert inside.mean() == pytest.approx(0.8, abs=0.01)
    # The rates alone, each for itself, would have kept their promise to half of them or fewer.
    narrow = (took >= SPREAD.quantile(0.1)) & (took <= SPREAD.quantile(0.9))
    assert narrow.mean() < 0.5


def test_each_past_job_is_held_against_what_was_foretold_before_it():
    """Three jobs on their estimate, then one that took twice its own: three of four."""
    assert factor_of(jobs(1.0, 1.0, 1.0, 2.0)).inside == (3, 4)
    # The first already took twice its estimate: common practice did not foretell it.
    assert factor_of(jobs(2.0, 1.0, 1.0)).inside == (2, 3)


def test_ten_own_jobs_are_told_plainly_too():
    ratios = [0.8, 0.9, 1.0, 1.0, 1.1, 1.1, 1.2, 1.3, 1.5]
    assert factor_of(jobs(*ratios)).plain is None
    found = factor_of(jobs(*ratios, 1.6)).plain
    assert found == pytest.approx(tuple(np.quantile([*ratios, 1.6], (0.1, 0.5, 0.9))))


def symmetric(mean, deviation):
    """Return the three points of a beta law of this mean and deviation, 1/7 of its half width."""
    half = deviation * np.sqrt(7)
    return mean - half, mean, mean + half


def test_a_sum_of_three_activities_is_that_of_the_textbook():
    """Means 3, 8, 6 and deviations 1, 2, 2: mean 17, deviation 3, P(sum <= 20) = .8413.

    A textbook's example of a path of three activities, curioustab.com, seen in a copy; normal.
    """
    three = Spread(tuple(symmetric(*each) for each in ((3, 1), (8, 2), (6, 2))))
    assert three.mean == pytest.approx(17)
    assert three.deviation == pytest.approx(3)
    values, shares = three.distribution
    assert shares[values <= 20].sum() == pytest.approx(0.8413, abs=0.01)


@pytest.mark.parametrize(("count", "less"), [(10, 40), (30, 62), (100, 78)])
def test_parts_taken_as_independent_vary_too_little_by_the_table_of_cost_risk(count, less):
    """Equal parts correlated by .2, their correlation left out: 40, 62, 78 % too little.

    The table of cost risk (Book), from memory; by hand 1 - 1 / sqrt(1 + (n - 1) r). Here what
    correlates them is the common factor, whose variance is found from the correlation.
    """
    part, r = (2.0, 3.0, 6.0), 0.2
    one = Spread((part,))
    c2 = (one.deviation / one.mean) ** 2
    # Of two parts times one factor with variance g: r = g / ((1 + g)(1 + c2) - 1).
    g = r * c2 / (1 - r * (1 + c2))
    scale = float(np.sqrt(np.log1p(g)))
    time = JobTime(Spread((part,) * count), Factor(1.0, -(scale**2) / 2, scale))
    each = one.mean * np.sqrt((1 + g) * (1 + c2) - 1)
    apart = each * np.sqrt(count)
    assert 100 * (1 - apart / time.deviation) == pytest.approx(less, abs=0.5)
