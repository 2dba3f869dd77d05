"""What each base takes, beside what speaks for and against it: dig, trips, hours and cost.

All of it is read off the plan's order: nothing is counted for the advice alone, and the order asks
nothing of the advice.
"""

from __future__ import annotations

from collections.abc import Mapping

from msgspec import Struct

from grading.catalogue.verdicts import Choice, Verdict
from grading.order.labour import LAYING
from grading.order.model import Order
from grading.units import percent

TOLD_FROM = 0.01
"""A base that is dearer by less than this is as dear: common practice, no source. [ratio]"""

COUNTED = "this area alone, hauling and hours counted, setting up and cleaning up not"
"""What the cost of a base is the cost of, where costs stand beside each other."""


class Weighed(Struct, frozen=True):
    """What one base system takes under an area: means, without what is alike on every base.

    Attributes
    ----------
    base : str
    cut : float
        Dug, in the bank. [m3]
    trips : int
        Of soil, stone and panels.
    time : float
        Of one person. [s]
    cost : float
        [money]
    currency : str
        The sign before it; empty where nobody gave prices.
    laying : float
        What of the time is for laying the pavers. [s]
    """

    base: str
    cut: float
    trips: int
    time: float
    cost: float
    currency: str
    laying: float = 0.0


def weighed_of(order: Order) -> Mapping[str, Mapping[str, Weighed]]:
    """Return what each base system takes under each area, by the names of both.

    Parameters
    ----------
    order : Order
    """
    currency = order.crew.currency if order.crew.priced else ""
    return {
        each.area.name: {
            name: Weighed(
                base=name,
                cut=job.cut,
                trips=job.haul.trips,
                time=job.time.mean,
                cost=job.cost.total,
                currency=currency,
                laying=sum(task.mean for task in job.tasks if task.rate in LAYING),
            )
            for name, job in each.bases.items()
        }
        for each in order.areas
    }


def dearer_words(choice: Choice, weighed: Mapping[str, Weighed], plain: bool = False) -> str:
    """Say how much dearer the base advised is than the cheapest, and why it is advised.

    Parameters
    ----------
    choice : Choice
        Of the bases.
    weighed : mapping of str to Weighed
    plain : bool
        Whether it is told to who pays: what a job costs its crew is not.

    Returns
    -------
    str
        Empty where none that may be built is cheaper.
    """
    best = choice.advised
    left = [one for one in choice.verdicts if one.level != "rules out"]
    if best is None or not weighed:
        return ""
    cheapest = min(left, key=lambda one: weighed[one.option.name].cost)
    cost, least = (weighed[one.option.name].cost for one in (best, cheapest))
    if cost <= least * (1 + TOLD_FROM):
        return ""
    if plain:
        return (
            f"{cheapest.option.called} would come cheaper; {best.option.called} is advised all "
            f"the same, for what speaks {_what(best, cheapest)}"
        )
    return (
        f"{best.option.called} costs {percent(cost / least - 1, 0)} more than "
        f"{cheapest.option.called}, the cheapest that can be built, hauling and hours "
        f"counted{by_words(weighed[best.option.name])}; it is advised all the same, for what "
        f"speaks {_what(best, cheapest)}"
    )


def by_words(weighed: Weighed) -> str:
    """Say that a cost was weighed by prices that are built in; empty where the crew gave its own.

    Parameters
    ----------
    weighed : Weighed
    """
    return "" if weighed.currency else ", by prices that are built in"


def _what(best: Verdict, cheapest: Verdict) -> str:
    """Name what of the reasons outweighs the cost: they stand beside it, and are said once."""
    if cheapest.count("against"):
        return f"against {cheapest.option.called}"
    spoken_for = any(one.level == "for" for one in best.reasons)
    return "for it" if spoken_for else f"against {cheapest.option.called}"
