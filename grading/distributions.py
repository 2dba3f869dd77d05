"""Distributions that every plan asks: the normal, Student's t and the beta, without SciPy.

Importing `scipy.special` takes longer than a whole plan does when all is loaded. What rarer
commands ask (as-built checks, boards) still comes from there, and the tests hold these to it.

Press, Teukolsky, Vetterling and Flannery, "Numerical Recipes", 3rd edition, sections 6.4 and 6.14
(from memory): the continued fraction of the incomplete beta, and Student's t by it.
"""

from __future__ import annotations

import math
from functools import cache
from statistics import NormalDist

import numpy as np

from grading.geometry.arrays import Floats

_NORMAL = NormalDist()
_TINY = 1e-300  # own: what Lentz puts for nothing, to divide by
_DIGITS = 4e-16  # own: two of the last digit that a double has
_TERMS = 10_000


def normal_quantile(share: float) -> float:
    """Return what a standard normal stays below in a share of all cases.

    Parameters
    ----------
    share : float
        More than 0 and less than 1.
    """
    return _NORMAL.inv_cdf(share)


def normal_share(x: Floats) -> Floats:
    """Return the share (n,) of a standard normal below x (n,)."""
    return np.array([0.5 * math.erfc(-each / math.sqrt(2.0)) for each in x])


@cache
def student_quantile(freedom: float, share: float) -> float:
    """Return what Student's t stays below in a share of all cases.

    Parameters
    ----------
    freedom : float
        Degrees of freedom, more than 0.
    share : float
        More than 0 and less than 1.
    """
    if share == 0.5:
        return 0.0
    tail, x = min(share, 1.0 - share), 0.0
    log = math.lgamma((freedom + 1) / 2) - math.lgamma(freedom / 2)
    peak = math.exp(log) / math.sqrt(freedom * math.pi)
    # Newton from the middle out: the share above falls ever less steeply, so it never oversteps.
    while True:
        density = peak * (1 + x * x / freedom) ** (-(freedom + 1) / 2)
        further = x + (_above(freedom, x) - tail) / density
        if not further > x * (1 + _DIGITS):
            return math.copysign(x, share - 0.5)
        x = further


def student_share(freedom: float, x: Floats) -> Floats:
    """Return the share (n,) of Student's t of some degrees of freedom below x (n,)."""
    tail = 0.5 * beta_share(freedom / 2, 0.5, freedom / (freedom + np.square(x)))
    return np.where(x > 0, 1.0 - tail, tail)


def beta_share(a: float, b: float, x: Floats) -> Floats:
    """Return the share (n,) of a beta distribution below x (n,), 0 to 1.

    Parameters
    ----------
    a, b : float
        More than 0, and not both in the thousands.
    x : (n,) float
        0 to 1.
    """
    found = np.where(x >= 1.0, 1.0, 0.0)
    inside = (x > 0.0) & (x < 1.0)
    x = x[inside]
    # The fraction comes to rest at once on this side of the middle; the other is its mirror image.
    left = x <= (a + 1) / (a + b + 2)
    share = _fraction(np.where(left, a, b), np.where(left, b, a), np.where(left, x, 1.0 - x))
    share *= math.exp(math.lgamma(a + b) - math.lgamma(a) - math.lgamma(b))
    found[inside] = np.where(left, share, 1.0 - share)
    return found


def _above(freedom: float, x: float) -> float:
    """Return the share of Student's t above x, more than 0."""
    return 0.5 * float(beta_share(freedom / 2, 0.5, np.array([freedom / (freedom + x * x)]))[0])


def _fraction(a: Floats, b: Floats, x: Floats) -> Floats:
    """Return the incomplete beta at x (n,), not over its whole, as Lentz works it out."""
    front = x**a * (1.0 - x) ** b / a
    upper = np.ones_like(x)
    lower = 1.0 / _far_from_zero(1.0 - (a + b) * x / (a + 1.0))
    value = lower.copy()
    for m in range(1, _TERMS):
        change = np.ones_like(x)
        for term in (
            m * (b - m) * x / ((a + 2 * m - 1) * (a + 2 * m)),
            -(a + m) * (a + b + m) * x / ((a + 2 * m) * (a + 2 * m + 1)),
        ):
            lower = 1.0 / _far_from_zero(1.0 + term * lower)
            upper = _far_from_zero(1.0 + term / upper)
            change *= lower * upper
        value *= change
        if not (np.abs(change - 1.0) > _DIGITS).any():
            break
    return front * value


def _far_from_zero(x: Floats) -> Floats:
    return np.where(np.abs(x) < _TINY, _TINY, x)
