"""What slows or speeds every task of a job alike: one factor over the sum of its tasks.

Rates vary each for itself, so that their sum hardly varies: 5 % where each varies by a third. A
crew that is new to a base, a wet week, a yard with a dog in it slow every task. Without own jobs
that is a figure of common practice; with them it is what they took, drawn towards no difference by
as much as few jobs tell little (credibility, or shrinkage).
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from functools import cache, cached_property, partial

import numpy as np
from msgspec import Struct, field

from grading.catalogue.tables import table
from grading.crew.estimate import Spread
from grading.distributions import normal_quantile, normal_share, student_quantile, student_share
from grading.geometry.arrays import Floats
from grading.geometry.tolerances import ROUNDING

BAND = (0.1, 0.9)
"""Eight jobs out of ten come out between these shares of all cases."""

_CELLS = 128  # values that the sum of the tasks is told by
_HALVINGS = 48


def figure(name: str) -> float:
    """Return a figure of the common factor as it is built in."""
    return float(table("crew", "common_factor")[name]["value"])


class PastJob(Struct, frozen=True):
    """One job of the crew's own: what it was estimated at, by the rates alone, and what it took.

    Attributes
    ----------
    name : str
    estimated, actual : float
        Time of one person. [s]
    """

    name: str
    estimated: float
    actual: float

    @property
    def ratio(self) -> float:
        """What it took for each hour that was estimated."""
        return self.actual / self.estimated


class Factor(Struct, frozen=True, dict=True):
    """The common factor of a crew.

    Attributes
    ----------
    told : float
        What the hours by the rates are multiplied by wherever hours are told.
    middle : float
        Logarithm of the middle of the factor, over `told`.
    scale : float
        Of its logarithm: the standard deviation, or the scale of Student's t. Of own jobs it is
        that of the whole job, in which what the rates vary has its part.
    freedom : float or None
        Degrees of freedom of Student's t; None of a normal law.
    jobs : tuple of PastJob
        The own jobs that are known, whether they are enough to count or not.
    """

    told: float
    middle: float
    scale: float
    freedom: float | None = None
    jobs: tuple[PastJob, ...] = ()

    @property
    def own(self) -> bool:
        """Whether it is that of own jobs."""
        return len(self.jobs) >= figure("least-jobs")

    def below(self, ratio: Floats, scale: float) -> Floats:
        """Return the share of cases, (n,), in which the factor is below ratios, over `told`.

        Parameters
        ----------
        ratio : (n,) float
            More than zero.
        scale : float
            As `scale`, less what else varies.
        """
        x = (np.log(ratio) - self.middle) / scale
        return normal_share(x) if self.freedom is None else student_share(self.freedom, x)

    @cached_property
    def inside(self) -> tuple[int, int]:
        """How many own jobs took what the jobs before them foretold for eight in ten; of how many.

        Each is held against what was known when it was estimated, not against itself.
        """
        kept = 0
        for at, job in enumerate(self.jobs):
            low, high = factor_of(self.jobs[:at]).band
            kept += low <= job.ratio <= high
        return kept, len(self.jobs)

    @property
    def band(self) -> tuple[float, float]:
        """What eight jobs in ten take for each hour that the rates estimate, at least and most."""
        low, high = (
            self.told
            * float(
                np.exp(
                    self.middle
                    + self.scale
                    * (
                        normal_quantile(share)
                        if self.freedom is None
                        else student_quantile(self.freedom, share)
                    )
                )
            )
            for share in BAND
        )
        return low, high

    @property
    def plain(self) -> tuple[float, float, float] | None:
        """What own jobs took for each hour estimated, one in ten less, half of them less, and one
        in ten more; None of too few.
        """
        if len(self.jobs) < figure("quantile-jobs"):
            return None
        ratios = [job.ratio for job in self.jobs]
        low, middle, high = np.quantile(ratios, (BAND[0], 0.5, BAND[1])).tolist()
        return low, middle, high


def credibility(count: float, within: float, between: float) -> float:
    """Return what own cases count for beside all others: Z = n / (n + k), k = within / between.

    Parameters
    ----------
    count : float
        Of own cases.
    within, between : float
        Variance of one's own cases, and of those that one is compared with.
    """
    return count / (count + within / between)


def factor_of(jobs: Sequence[PastJob] = ()) -> Factor:
    """Return the common factor that own jobs tell of.

    Parameters
    ----------
    jobs : sequence of PastJob
        In the order in which they were built.

    Notes
    -----
    Below `least-jobs` it is `unknown` about 1, with the mean 1, for the rates are means. From
    there logarithms of actual over estimated are drawn towards 0: with n of them, s2 between jobs
    and t2 between crews, the middle is Z times their mean, Z = n / (n + s2 / t2), and the next job
    varies by s2 + t2 s2 / (n t2 + s2). From `own-scatter-jobs` s2 is pooled with their own scatter,
    and the law is Student's t. Greatest accuracy credibility: Bühlmann and Straub, 1970, from
    memory; Gelman and others, Bayesian Data Analysis, chapter 2, from memory.
    """
    count = len(jobs)
    if count < figure("least-jobs"):
        scale = figure("unknown")
        return Factor(1.0, -(scale**2) / 2, scale, None, tuple(jobs))
    logs = np.log([job.ratio for job in jobs])
    mean = float(logs.mean())
    crews, between, freedom = figure("between-crews") ** 2, figure("between-jobs") ** 2, None
    if count >= figure("own-scatter-jobs"):
        weight = figure("jobs-it-counts-for")
        freedom = weight + count - 1
        between = (weight * between + float(((logs - mean) ** 2).sum())) / freedom
    credible = credibility(count, between, crews)
    left = crews * between / (count * crews + between)
    told = float(np.exp(credible * mean))
    return Factor(told, 0.0, float(np.sqrt(between + left)), freedom, tuple(jobs))


class JobTime(Struct, frozen=True, dict=True):
    """The time of a job, of one person: the sum of its tasks times the factor of the crew. [s]

    Attributes
    ----------
    tasks : Spread
        The sum of the tasks at what is told of each, each rate varying for itself.
    factor : Factor
    """

    tasks: Spread
    factor: Factor = field(default_factory=factor_of)

    @property
    def parts(self) -> tuple[tuple[float, float, float], ...]:
        """The tasks, a part for each rate."""
        return self.tasks.parts

    @property
    def low(self) -> float:
        """The least that the tasks can be, the factor left out."""
        return self.tasks.low

    @property
    def high(self) -> float:
        """The most that the tasks can be, the factor left out."""
        return self.tasks.high

    @property
    def mean(self) -> float:
        """The time that is told: the mean of the tasks, at the crew's own factor."""
        return self.tasks.mean

    @property
    def by_rates(self) -> float:
        """The mean of the tasks at the rates alone: what goes into hours.csv as estimated."""
        return self.mean / self.factor.told

    @property
    def _rates_vary(self) -> float:
        """Variance of the logarithm of the sum of the tasks."""
        return float(np.log1p((self.tasks.deviation / self.mean) ** 2)) if self.mean else 0.0

    @cached_property
    def scale(self) -> float:
        """Of the factor's logarithm; of own jobs less what the rates vary each for itself."""
        scale = self.factor.scale
        if not self.factor.own:
            return scale
        # How far own jobs lie from their estimates has in it what the rates varied each for itself.
        return float(np.sqrt(max(scale**2 - self._rates_vary, 0.0)))

    @property
    def deviation(self) -> float:
        """The standard deviation, of a law of Student's that of the normal one of its scale."""
        vary = np.exp(self.scale**2 + self._rates_vary) - 1
        return float(self.mean * np.sqrt(vary))

    def quantile(self, share: float) -> float:
        """Return the time that a share of such jobs stay below. [s]

        Parameters
        ----------
        share : float
            0 to 1, both left out.
        """
        return self._quantile(share)

    @cached_property
    def _quantile(self) -> Callable[[float], float]:
        """What is sought once for each share: days, money and record ask for the same few."""
        return cache(partial(quantile, self.tasks, self.factor, self.scale))


def quantile(tasks: Spread, factor: Factor, scale: float, share: float) -> float:
    """Return what a sum of tasks, or a difference of two sums, times the factor stays below.

    Parameters
    ----------
    tasks : Spread
        May be negative: what one base takes less than another.
    factor : Factor
    scale : float
        Of the factor's logarithm; see `Factor.below`.
    share : float
        0 to 1, both left out.

    Notes
    -----
    P(F S <= t) is the sum over the values of S of P(F <= t / s): exact in F. Nodes for F would
    have to lie nearer than S varies, which of a sum of many rates is little.
    """
    if scale <= ROUNDING:
        return tasks.quantile(share) * float(np.exp(factor.middle))
    values, shares = _coarse(*tasks.distribution)
    # Beyond these lies less than any share that is asked for.
    far = float(np.exp(abs(factor.middle) + 12 * scale))
    low = min(values[0] * far, values[0] / far, 0.0)
    high = max(values[-1] * far, values[-1] / far, 0.0)
    for _ in range(_HALVINGS):
        middle = (low + high) / 2
        if _below(values, shares, factor, scale, middle) < share:
            low = middle
        else:
            high = middle
    return float((low + high) / 2)


def share_below(tasks: Spread, factor: Factor, scale: float, value: float) -> float:
    """Return the share of cases in which a sum of tasks times the factor is below a value."""
    values, shares = _coarse(*tasks.distribution)
    if scale <= ROUNDING:
        return float(shares[values * np.exp(factor.middle) <= value].sum())
    return _below(values, shares, factor, scale, value)


def _below(values: Floats, shares: Floats, factor: Factor, scale: float, t: float) -> float:
    more, less = values > 0, values < 0
    found = float(shares[values == 0].sum()) if t >= 0 else 0.0
    if t > 0:
        found += float(shares[more] @ factor.below(t / values[more], scale))
        return found + float(shares[less].sum())
    if t < 0:
        found += float(shares[less] @ (1 - factor.below(t / values[less], scale)))
        return found
    return found + float(shares[less].sum())


def _coarse(values: Floats, shares: Floats) -> tuple[Floats, Floats]:
    """Return a law by fewer values, with the same mean: each is that of some neighbours."""
    total = shares.sum()
    each = -(-len(values) // _CELLS)
    if each > 1:
        starts = np.arange(0, len(values), each)
        held = np.add.reduceat(shares, starts)
        sums = np.add.reduceat(values * shares, starts)
        kept = held > 0
        values, shares = sums[kept] / held[kept], held[kept]
    return np.asarray(values), np.asarray(shares / total)
