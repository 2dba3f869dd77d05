"""Money: material, haul and hours of a job, how far it varies, and bases side by side by it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from msgspec import Struct

from grading.crew.factor import BAND, JobTime
from grading.crew.model import Crew
from grading.order.hauling import Haul
from grading.order.labour import Task
from grading.order.supplies import Supply
from grading.units import HOUR

LIKELY_RANGE = BAND
"""Eight jobs out of ten come out between these shares of all cases."""


class Charge(Struct, frozen=True):
    """One amount of money: what for, how many at what price. [money]"""

    group: str
    title: str
    count: float
    each: str
    price: float

    @property
    def cost(self) -> float:
        """Count times price. [money]"""
        return self.count * self.price


class Cost(Struct, frozen=True):
    """The whole cost of a job.

    Attributes
    ----------
    charges : tuple of Charge
        Groups "material", "haul" and "hours".
    time : JobTime
        Of one person: the hours vary, prices do not. [s]
    wage : float
        [money/s]
    """

    charges: tuple[Charge, ...]
    time: JobTime
    wage: float

    def of(self, group: str) -> float:
        """Return the cost of one group. [money]"""
        return sum(charge.cost for charge in self.charges if charge.group == group)

    @property
    def total(self) -> float:
        """The mean cost of it all. [money]"""
        return sum(charge.cost for charge in self.charges)

    def quantile(self, share: float) -> float:
        """Return the cost that is not exceeded in a share of all cases. [money]"""
        return self.total + (self.time.quantile(share) - self.time.mean) * self.wage

    @property
    def low(self) -> float:
        """One job in ten costs less. [money]"""
        return self.quantile(LIKELY_RANGE[0])

    @property
    def high(self) -> float:
        """One job in ten costs more. [money]"""
        return self.quantile(LIKELY_RANGE[1])


def cost_of(
    supplies: Sequence[Supply], haul: Haul, tasks: Sequence[Task], time: JobTime, crew: Crew
) -> Cost:
    """Return what a job costs.

    Parameters
    ----------
    supplies : sequence of Supply
    haul : Haul
    tasks : sequence of Task
    time : JobTime
        Of one person. [s]
    crew : Crew
        Prices.
    """
    charges = [Charge("material", supply.title, supply.count, supply.package.word, supply.price)
               for supply in supplies]  # fmt: skip
    charges += [
        Charge("haul", "bins of soil", haul.bins.count, "bin", crew.price("bin")),
        Charge("haul", "deliveries of stone", haul.deliveries.count, "load",
               crew.price("delivery")),
    ]  # fmt: skip
    rate = crew.price("labour")
    charges.append(Charge("hours", "crew", time.mean / HOUR, "h", rate * HOUR))
    running = sum(task.mean for task in tasks if task.machine)
    if running:
        name = haul.way.carrier.replace(" ", "-")
        charges.append(
            Charge("haul", haul.way.carrier, running / HOUR, "h", crew.price(name) * HOUR)
        )
    return Cost(tuple(charge for charge in charges if charge.count), time, rate)


def cheapest(costs: Mapping[str, float]) -> str:
    """Return the base system that costs least."""
    return min(costs, key=lambda name: costs[name])


def totals(costs: Mapping[str, Cost]) -> dict[str, float]:
    """Return what each base system costs. [money]"""
    return {name: cost.total for name, cost in costs.items()}


def margin(costs: Mapping[str, float], base: str) -> float:
    """Return what a base system saves over the cheapest of the others. [money]"""
    return min(cost for name, cost in costs.items() if name != base) - costs[base]


def rival(costs: Mapping[str, float], base: str) -> str:
    """Return the base system that costs least of the others."""
    return cheapest({name: cost for name, cost in costs.items() if name != base})
