"""Working days of the crew, as they are told everywhere: to half a day, with what may come of them.

A day that is told in one place to a tenth, in another as a middle and in a third as a mean is
three promises. Every paper, screen and table that names days takes them from here.
"""

from __future__ import annotations

from msgspec import Struct

from grading.crew.factor import Factor
from grading.crew.model import Crew
from grading.geometry.tolerances import ROUNDING
from grading.order.model import Job, Order
from grading.order.money import LIKELY_RANGE
from grading.units import HOUR, counted, noun
from grading.worded import Worded

RAIN = "rain days not counted"


class Days(Struct, frozen=True):
    """Working days that the whole crew takes for a job.

    Attributes
    ----------
    people : float
        In the crew.
    mean : float
        To half a day; at least half a day of any work.
    low, high : float
        One such job in ten takes less, one more. To half a day.
    """

    people: float
    mean: float
    low: float
    high: float

    @property
    def words(self) -> str:
        """The days: 6 1/2."""
        return halves(self.mean)

    @property
    def between(self) -> str:
        """What eight jobs in ten take: 5 to 8 1/2."""
        low, high = halves(self.low), halves(self.high)
        return low if low == high else f"{low} to {high}"

    @property
    def counted(self) -> str:
        """With their word: 6 1/2 days, 1 day."""
        return counted_days(self.mean)

    @property
    def crew(self) -> str:
        """Who works them: 3 people."""
        return counted(float(self.people), "person", "people")


def days_of(order: Order, job: Job) -> Days:
    """Return the working days that the crew of an order takes for a job of it.

    Parameters
    ----------
    order : Order
    job : Job
    """
    low, high = (order.days(job, share) for share in LIKELY_RANGE)
    told = (half_days(each) for each in (order.mean_days(job), low, high))
    return Days(order.crew["crew-size"], *told)


def half_days(days: float) -> float:
    """Return days to the nearest half, and half a day of any work."""
    return max(round(2 * days) / 2, 0.5) if days > ROUNDING else 0.0


def halves(days: float) -> str:
    """Write days to the nearest half: 6 1/2."""
    whole, half = divmod(round(2 * days), 2)
    if not half:
        return f"{whole}"
    return f"{whole} 1/2" if whole else "1/2"


def counted_days(days: float) -> str:
    """Write days to the nearest half with their word: 6 1/2 days, 1 day."""
    return f"{halves(days)} {noun(days, 'day')}"


def days_words(order: Order, job: Job) -> str:
    """Say how long the crew takes: about 2 days for 3 people; eight such jobs in ten take ...

    Parameters
    ----------
    order : Order
    job : Job
    """
    days = days_of(order, job)
    return (
        f"about {days.counted} for {days.crew}; eight such jobs in ten take {days.between}, {RAIN}"
    )


def hours_words(order: Order, job: Job) -> str:
    """Say how many hours of one person a job takes, and what eight such jobs in ten take.

    Parameters
    ----------
    order : Order
    job : Job
    """
    low, high = (job.time.quantile(share) / HOUR for share in LIKELY_RANGE)
    return (
        f"{job.time.mean / HOUR:.0f} hours of one person; eight such jobs in ten take "
        f"{low:.0f} to {high:.0f}"
    )


def factor_words(crew: Crew) -> Worded:
    """Say what the range of the hours rests on: common practice, or jobs of the crew's own.

    Parameters
    ----------
    crew : Crew
    """
    return _own(crew.factor) if crew.factor.own else _none_yet(crew.factor)


def _none_yet(factor: Factor) -> Worded:
    known = len(factor.jobs)
    so_far = f" ({known} so far)" if known else ""
    return (
        f"How far a crew and a yard slow or speed all of it together, {100 * factor.scale:.0f} %, "
        "is common practice, no source, until three jobs of your own "
        + Worded("stand in hours.csv", "are written down")
        + so_far
    )


def _own(factor: Factor) -> Worded:
    inside, known = factor.inside
    low, high = factor.band
    said = f"From {known} jobs of your own" + Worded(" in hours.csv", "")
    said += (
        f": hours by the rates times {factor.told:.2f}, eight such jobs in ten {low:.2f} to "
        f"{high:.2f} times; {inside} of {known} took what was foretold for eight in ten when they "
        "were estimated"
    )
    if factor.plain is not None:
        least, middle, most = factor.plain
        said += (
            f". Of these jobs plainly: one in ten took less than {least:.2f} times its estimate, "
            f"half of them less than {middle:.2f}, one in ten more than {most:.2f}"
        )
    return said
