"""Base systems beside each other: what each takes, costs and lets freeze, and the words of it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from msgspec import Struct

from grading.catalogue.suitability import Fact
from grading.catalogue.verdicts import Choice, Verdict
from grading.conditions.frost import FrostDepth
from grading.conditions.one_base import OneBase
from grading.design.area import AreaPlan
from grading.geometry.tolerances import ROUNDING
from grading.order.labour import LAYING
from grading.order.model import Order
from grading.units import HOUR, Unit, percent, size, volume

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


def called(area: AreaPlan, base: str | None) -> str:
    """Return what a base is called within a sentence: a site's own as it was written."""
    return "a base that is not given" if base is None else area.digs[base].system.called


def frost_facts(
    area: AreaPlan, frost: Mapping[str, FrostDepth], name: str, unit: Unit
) -> Mapping[str, Fact]:
    """Return how much less of the soil freezes under a base system than under one of stone.

    Parameters
    ----------
    area : AreaPlan
    frost : mapping of str to FrostDepth
        Under each base system; empty where the winter is not given.
    name : str
        The base system.
    unit : "ft" or "m"

    Notes
    -----
    Beside the base of stone under which most of the soil freezes. In the soil, and not below the
    finish: stone does not heave, and the bases are not as thick.
    """
    stone = [each for each in frost.values() if not area.digs[each.base].system.on_panels]
    if name not in frost or not stone:
        return {each: Fact(None, "") for each in ("frost_less", "frost_soil", "frost_stone")}
    own, most = frost[name], max(stone, key=lambda each: each.in_subgrade)
    less = 1 - own.in_subgrade / most.in_subgrade if most.in_subgrade > 0 else 0.0
    told = f"{size(most.in_subgrade, unit, 1)} under {called(area, most.base)}"
    return {
        "frost_less": Fact(less, percent(less, 0)),
        "frost_soil": Fact(own.in_subgrade, size(own.in_subgrade, unit, 1)),
        "frost_stone": Fact(told, told),
    }


def laying_facts(area: AreaPlan, weighed: Mapping[str, Weighed], name: str) -> Mapping[str, Fact]:
    """Return what laying the pavers takes on a base system, beside what it takes on a bed.

    Parameters
    ----------
    area : AreaPlan
    weighed : mapping of str to Weighed
        What each takes; empty where it was not counted.
    name : str
        The base system.
    """
    beds = [each for each in weighed.values() if not area.digs[each.base].system.walked_on]
    if name not in weighed or not beds:
        return {"laying": Fact(0.0, "")}
    own, most = weighed[name].laying, max(each.laying for each in beds)
    told = f": {own / HOUR:.1f} hours of one person to lay them, {most / HOUR:.1f} from such a bed"
    return {"laying": Fact(own, told)}


def one_base_facts(one: OneBase | None, name: str) -> dict[str, Fact]:
    """Return whether a base system is that of the piece of paving that an area is a part of.

    Parameters
    ----------
    one : OneBase or None
        None where it was not asked.
    name : str
        The base system.
    """
    as_one = one is not None and bool(one.joined) and one.base == name
    joined = "" if one is None else " and ".join(one.joined)
    other = one is not None and one.by_itself != one.base
    alone = f" (by itself it would be {one.by_itself})" if one is not None and other else ""
    return {
        "as_one": Fact(as_one, ""),
        "joined": Fact(joined, joined),
        "by_itself": Fact(alone, alone),
    }


def dig_facts(
    area: AreaPlan, name: str, candidates: Sequence[str], unit: Unit
) -> Mapping[str, Fact]:
    """Return how a base system's dig compares with the least of those that may be built.

    Parameters
    ----------
    area : AreaPlan
    name : str
        The base system.
    candidates : sequence of str
        The base systems that nothing speaks against, or those that nothing rules out.
    unit : "ft" or "m"
    """
    least = min(candidates, key=lambda other: area.digs[other].cut)
    beside_others = len(candidates) > 1
    more = area.digs[name].cut - area.digs[least].cut
    whole = area.digs[least].cut
    return {
        "digs_least": Fact(beside_others and name in candidates and more <= ROUNDING * whole, ""),
        "more_dig": Fact(more / whole if whole > 0 else 0.0, ""),
        "more_cut": Fact(more, volume(more, unit)),
        "least_dig": Fact(least, called(area, least)),
    }


def cost_facts(
    area: AreaPlan, weighed: Mapping[str, Weighed], name: str, candidates: Sequence[str]
) -> Mapping[str, Fact]:
    """Return how a base system's cost compares with the least of those that may be built.

    Parameters
    ----------
    area : AreaPlan
    weighed : mapping of str to Weighed
        What each takes; empty where it was not counted.
    name : str
        The base system.
    candidates : sequence of str
        The base systems that nothing speaks against, or those that nothing rules out.
    """
    if not weighed:
        nothing = dict.fromkeys(
            ("cheapest", "trips", "other_trips", "next_fewest", "weighed_by"), Fact("", "")
        )
        unasked = {"costs_least": Fact(False, ""), "spared_trips": Fact(0.0, "")}
        return {"more_cost": Fact(0.0, ""), **nothing, **unasked}
    cheapest = min(candidates, key=lambda other: weighed[other].cost)
    least = weighed[cheapest].cost
    more = weighed[name].cost / least - 1 if least > 0 else 0.0
    beside = name in candidates and len(candidates) > 1
    return {
        "more_cost": Fact(more, percent(more, 0)),
        "cheapest": Fact(cheapest, called(area, cheapest)),
        "weighed_by": Fact("", by_words(weighed[name])),
        "costs_least": Fact(beside and more <= ROUNDING, ""),
        **_trip_facts(area, weighed, name),
    }


def _trip_facts(area: AreaPlan, weighed: Mapping[str, Weighed], name: str) -> dict[str, Fact]:
    """Return how many trips a base system takes beside the next fewest of all the others."""
    others = [other for other in weighed if other != name]
    own = weighed[name].trips
    fewest = min(others, key=lambda other: weighed[other].trips, default=name)
    trips = weighed[fewest].trips
    return {
        "trips": Fact("", f"{own} trip{'' if own == 1 else 's'}"),
        "other_trips": Fact("", f"{trips}"),
        "next_fewest": Fact(fewest, called(area, fewest)),
        "spared_trips": Fact(1 - own / trips if trips else 0.0, ""),
    }
