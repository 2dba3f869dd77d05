"""Two bases under one yard, by one crew, in one week of weather: what the one costs more.

What slows the crew slows it on both, and a rate that is low is low on both. So the two differ by
far less than their own ranges overlap.
"""

from __future__ import annotations

from collections.abc import Iterator

from msgspec import Struct

from grading.crew.estimate import Points, Spread
from grading.crew.factor import quantile, share_below
from grading.order.labour import by_rate
from grading.order.model import Job, Order
from grading.order.money import LIKELY_RANGE
from grading.order.telling import Telling


class Apart(Struct, frozen=True):
    """What a job costs more on one base than on another, both inside one common factor.

    Attributes
    ----------
    base, against : str
    mean : float
        Negative where it costs less. [money]
    low, high : float
        One such pair of jobs in ten lies below, one above. [money]
    dearer : float
        The share of cases in which it costs more.
    """

    base: str
    against: str
    mean: float
    low: float
    high: float
    dearer: float


def apart(job: Job, other: Job, names: tuple[str, str]) -> Apart:
    """Return what a job costs more than another of the same yard and crew.

    Parameters
    ----------
    job, other : Job
    names : (str, str)
        What they are told as.
    """
    tasks = _difference(job, other)
    wage, mean = job.cost.wage, job.cost.total - other.cost.total
    fixed = mean - wage * tasks.mean
    factor, scale = job.time.factor, job.time.scale
    if not tasks.parts or not wage:
        return Apart(*names, mean, mean, mean, float(mean > 0))
    low, high = (fixed + wage * quantile(tasks, factor, scale, share) for share in LIKELY_RANGE)
    less = share_below(tasks, factor, scale, -fixed / wage)
    return Apart(*names, mean, low, high, 1 - less)


def _difference(job: Job, other: Job) -> Spread:
    """Return the hours of one person that a job takes more: rate by rate, each rate drawn once."""
    first, second = (by_rate(each.tasks) for each in (job, other))
    parts: list[Points] = []
    for rate in dict.fromkeys((*first, *second)):
        one, two = (each.get(rate, (0.0, 0.0, 0.0)) for each in (first, second))
        # Of one rate, so that the one is a multiple of the other: the ends belong together.
        ends = [a - b for a, b in zip(one, two, strict=True)]
        if ends[0] <= ends[2]:
            parts.append((ends[0], ends[1], ends[2]))
        else:
            parts.append((ends[2], ends[1], ends[0]))
    return Spread(tuple(part for part in parts if part != (0.0, 0.0, 0.0)))


def aparts_of(order: Order, chosen: str) -> Iterator[Apart]:
    """Yield what the whole site costs more on each other base than on one.

    Parameters
    ----------
    order : Order
    chosen : str
        A base system, or "chosen" for the site as it is planned.
    """
    jobs = order.site
    for name, job in order.alike.items():
        if name != chosen and job is not jobs[chosen]:
            yield apart(job, jobs[chosen], (name, chosen))


def apart_words(found: Apart, telling: Telling) -> str:
    """Say what a base costs more or less: open costs $400 more than panel; eight times in ten ...

    Parameters
    ----------
    found : Apart
    telling : Telling
    """

    def money(amount: float) -> str:
        return telling.words(abs(amount))

    def sign(amount: float) -> str:
        return "more" if amount >= 0 else "less"

    ends = sorted((found.low, found.high), key=abs)
    if sign(found.low) == sign(found.high):
        between = f"{money(ends[0])} to {money(ends[1])}"
    else:
        between = " to ".join(f"{money(each)} {sign(each)}" for each in (found.low, found.high))
    share = found.dearer if found.mean >= 0 else 1 - found.dearer
    times = round(100 * share)
    told = "in at least 99" if times > 98 else f"in {times}"
    return (
        f"{found.base} costs {money(found.mean)} {sign(found.mean)} than {found.against}: eight "
        f"times in ten {between}; {sign(found.mean)} {told} of a hundred"
    )
