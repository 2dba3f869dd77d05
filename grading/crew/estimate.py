"""Three-point estimates: low, likely and high carried through to a distribution of the sum."""

from __future__ import annotations

import math
from functools import cached_property

import numpy as np
from msgspec import Struct

from grading.distributions import beta_share
from grading.geometry.arrays import Floats
from grading.geometry.tolerances import ROUNDING, whole_up

Points = tuple[float, float, float]

WEIGHT = 4.0
"""Weight of the likely value: Malcolm and others, Operations Research 7 (1959), from memory."""

_CELLS = 2048


def mean_of(points: Points) -> float:
    """Return the mean of a three-point estimate, (low + 4 likely + high) / 6."""
    low, likely, high = points
    return (low + WEIGHT * likely + high) / (WEIGHT + 2)


def variance_of(points: Points) -> float:
    """Return the variance of the beta distribution of a three-point estimate."""
    low, _, high = points
    mean = mean_of(points)
    return (mean - low) * (high - mean) / (WEIGHT + 3)


class Spread(Struct, frozen=True, dict=True):
    """The sum of independent three-point estimates, in their own unit.

    Attributes
    ----------
    parts : tuple of (low, likely, high)
    """

    parts: tuple[Points, ...]

    @property
    def low(self) -> float:
        """The least that it can be."""
        return sum(low for low, _, _ in self.parts)

    @property
    def high(self) -> float:
        """The most that it can be."""
        return sum(high for _, _, high in self.parts)

    @property
    def mean(self) -> float:
        """The mean."""
        return sum(mean_of(part) for part in self.parts)

    @property
    def deviation(self) -> float:
        """The standard deviation."""
        return float(np.sqrt(sum(variance_of(part) for part in self.parts)))

    @cached_property
    def distribution(self) -> tuple[Floats, Floats]:
        """Values (n,) and the share of all cases that lies at each, (n,).

        Every part is laid on one grid by hat functions, which keeps its mean, and the parts are
        convolved; nothing is drawn at random.
        """
        width = self.high - self.low
        if width <= ROUNDING * max(1.0, self.high):
            return np.array([self.low]), np.array([1.0])
        step = width / _CELLS
        total: Floats = np.array([1.0])
        for part in self.parts:
            # A part narrower than a sliver of a cell is as good as sure.
            if part[2] - part[0] > ROUNDING * step:
                total = np.asarray(np.convolve(total, _hats(part, step)), dtype=float)
        return self.low + step * np.arange(len(total), dtype=float), total

    def quantile(self, share: float) -> float:
        """Return the value that the sum stays below in a share of all cases.

        Parameters
        ----------
        share : float
            0 to 1.
        """
        values, shares = self.distribution
        if len(values) == 1:
            return float(values[0])
        # A point's share is spread over the cell about it.
        step = values[1] - values[0]
        edges = np.append(values - step / 2, values[-1] + step / 2)
        below = np.append(0.0, np.cumsum(shares))
        found = float(np.interp(share * below[-1], below, edges))
        return min(max(found, self.low), self.high)


def _hats(part: Points, step: float) -> Floats:
    """Return the shares (k,) of a beta distribution at low, low + step, ...

    The share at a grid point is the second difference of the integral of the distribution
    function, which for the beta is x I(a, b) - mean I(a + 1, b), where I(a + 1, b) is I(a, b) less
    x^a (1 - x)^b / (a B(a, b)).
    """
    low, likely, high = part
    width = high - low
    a = 1 + WEIGHT * (likely - low) / width
    b = 1 + WEIGHT * (high - likely) / width
    count = whole_up(width / step) + 1
    x = np.arange(-1, count + 1) * step / width
    inside = np.clip(x, 0.0, 1.0)
    log = math.lgamma(a + b) - math.lgamma(a + 1) - math.lgamma(b)
    share = beta_share(a, b, inside)
    further = share - math.exp(log) * inside**a * (1 - inside) ** b
    integral = inside * share - a / (a + b) * further
    integral += np.maximum(x - 1.0, 0.0)
    shares = np.diff(integral, 2) * width / step
    return np.asarray(np.maximum(shares, 0.0))
