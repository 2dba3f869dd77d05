"""The price of a job as it is told: lines, options, allowances, unit prices, tax and payments.

Costs go no further than `sums`: what is for the customer is a price, lines of it to ten, the whole
to one.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from functools import cached_property, lru_cache
from typing import NamedTuple

import numpy as np
from msgspec import Struct
from msgspec.structs import replace

from grading.choice.sills import SillWay
from grading.crew.model import Entry, default_crew
from grading.crew.price_table import Extra, PriceTable
from grading.geometry.tolerances import ROUNDING
from grading.order.days import Days, days_of
from grading.order.model import AreaOrder, Order, job_of
from grading.order.quantities import kind_of
from grading.pipeline import Plan
from grading.price.ground import Ground, ground_of
from grading.price.options import Option, Refused, options_of
from grading.price.sums import Direct, Sums, direct_of, sums_of
from grading.units import Unit
from grading.units.measures import in_one, own_unit


class Due(Struct, frozen=True):
    """One payment: when, how much [money], and its part of the price."""

    when: str
    amount: float
    share: float


WITH_SIGNATURE = "With the signature"


def deposit_of(price: float, terms: PriceTable) -> float:
    """Return what is asked with the signature: never more than any cap that was typed in.

    Parameters
    ----------
    price : float
        With the tax on it. [money]
    terms : PriceTable
    """
    caps = [value if kind == "money" else value * price for kind, value in terms.deposit_most]
    # Down to whole money: a cap is not passed by rounding.
    return float(math.floor(min(terms.deposit * price, *caps, price) + ROUNDING))


def payments_of(price: float, terms: PriceTable) -> tuple[Due, ...]:
    """Return the payments of a price, which they add up to.

    Parameters
    ----------
    price : float
        With the tax on it. [money]
    terms : PriceTable
    """
    deposit = deposit_of(price, terms)
    due = [Due(WITH_SIGNATURE, deposit, deposit / price)] if deposit else []
    left = rest = price - deposit
    for payment in terms.payments[:-1]:
        amount = min(float(round(payment.share * left)), rest)
        due.append(Due(payment.when, amount, amount / price))
        rest -= amount
    due.append(Due(terms.payments[-1].when, rest, rest / price))
    return tuple(due)


LINE_STEP = 10
"""What a line of a price, an option and a deposit are told to; the whole is their sum. [money]"""

_CHOSEN_BY_EYE = ("pavers", "wall-units", "caps", "step-units")
"""Items that the customer picks: one that is dearer or cheaper changes the price by so much."""


class Line(NamedTuple):
    """One line of the price.

    `kind` is "paving", or that of what is built beside it; `name` that of the thing, empty of the
    paving; `amount` is the paved area [m2], None of anything else.
    """

    area: str
    kind: str
    name: str
    said: str
    amount: float | None
    price: int


class Allowance(NamedTuple):
    """What one of something that the customer picks has in the price: [money] for each measure."""

    title: str
    measure: str
    price: float


class Offered(NamedTuple):
    """Another way to build it all: its whole price, and what it is more than the price told."""

    option: Option
    price: int
    more: int


class Price(Struct, frozen=True, eq=False, dict=True):
    """What a job is offered for.

    Attributes
    ----------
    plan : Plan
    terms : PriceTable
    sums : Sums
        The arithmetic from the cost, for the crew alone.
    lines : tuple of Line
        They add up to `price`.
    allowances : tuple of Allowance
    days : Days
    built_in : tuple of Entry
        Prices that it is made of that are built in, and not the crew's own.
    """

    plan: Plan
    terms: PriceTable
    sums: Sums
    lines: tuple[Line, ...]
    allowances: tuple[Allowance, ...]
    days: Days
    built_in: tuple[Entry, ...]

    @cached_property
    def _ways(self) -> tuple[tuple[Option, ...], tuple[Refused, ...]]:
        """Other ways to build it, each a plan of the whole site: made when asked for."""
        return options_of(self.plan)

    @property
    def options(self) -> tuple[Offered, ...]:
        """Other ways to build it, each whole."""
        found = []
        for option in self._ways[0]:
            whole = _told(option.sums.price)
            found.append(Offered(option, whole, whole - self.price))
        return tuple(found)

    @property
    def refused(self) -> tuple[Refused, ...]:
        """Ways that were planned and are not offered, for the crew alone."""
        return self._ways[1]

    def more_for(self, other: SillWay, planned: SillWay) -> int:
        """Return what another way to lay paving at a high sill is more than the one planned."""
        first, second = (
            Direct(way.material, 0.0, way.cost - way.material, way.time) for way in (planned, other)
        )
        return _told(sums_of(second.less(first), self.terms).price)

    @cached_property
    def ground(self) -> Ground | None:
        """Unit prices for what the ground may hold; None where a reserve stands for it."""
        return ground_of(self.plan.order, self.terms) if self.terms.by_the_unit else None

    @property
    def price(self) -> int:
        """The price before tax on it."""
        return sum(line.price for line in self.lines)

    @property
    def tax(self) -> int:
        """The tax that is listed beside it, to one; 0 where the crew pays it on what it buys."""
        return round(self.sums.taxed(self.price))

    @property
    def total(self) -> int:
        """What is paid in all."""
        return self.price + self.tax

    @property
    def payments(self) -> tuple[Due, ...]:
        """What is paid when."""
        return payments_of(self.total, self.terms)

    @property
    def extras(self) -> tuple[Extra, ...]:
        """Prices that the crew typed in, each of one of the site's own unit."""
        return tuple(_in_unit(each, self.plan.site.unit) for each in self.terms.extra)

    @property
    def currency(self) -> str:
        """The sign before money."""
        return self.plan.crew.currency


@lru_cache(maxsize=4)  # asked by the paper, the record and the screen
def price_of(made: Plan) -> Price | None:
    """Return the price of a plan, None where its crew does not say how it makes one.

    Parameters
    ----------
    made : Plan
    """
    crew, order = made.crew, made.order
    terms = crew.pricing
    if terms is None:
        return None
    sums = sums_of(direct_of(order.total.cost), terms)
    lines = tuple(_lines(made, sums.price))
    return Price(
        plan=made,
        terms=terms,
        sums=sums,
        lines=lines,
        allowances=tuple(_allowances(order, terms)),
        days=days_of(order, order.total),
        built_in=tuple(_built_in(order)),
    )


def _in_unit(extra: Extra, unit: Unit) -> Extra:
    """Return a price of so much of a unit as one of the site's own: the same money for as much."""
    own = own_unit(extra.each, unit)
    if own == extra.each:
        return extra
    price = extra.price * in_one(extra.each, own)
    return extra.model_copy(update={"each": own, "price": price})


def _told(price: float) -> int:
    return LINE_STEP * round(price / LINE_STEP)


def in_steps(weights: Sequence[float], total: int, step: int = LINE_STEP) -> list[int]:
    """Return a total parted by weights into multiples of a step that add up to it.

    Parameters
    ----------
    weights : sequence of float
        None negative, one at least more than nothing.
    total : int
        A multiple of the step.
    step : int

    Notes
    -----
    By the largest remainder, as shares of a whole are told.
    """
    exact = np.asarray(weights, dtype=float) * (total / step) / sum(weights)
    floor = np.floor(exact + ROUNDING).astype(int)
    missing = total // step - int(floor.sum())
    floor[np.argsort(floor - exact, kind="stable")[: max(missing, 0)]] += 1
    return [step * int(each) for each in floor]


def _lines(made: Plan, price: float) -> Iterator[Line]:
    parts: list[tuple[Line, float]] = []
    for area in made.order.areas:
        parts += _parts(made.order, area)
    shares = in_steps([weight for _, weight in parts], _told(price))
    yield from (line._replace(price=share) for (line, _), share in zip(parts, shares, strict=True))


def _parts(order: Order, area: AreaOrder) -> Iterator[tuple[Line, float]]:
    """Yield what an area's price is parted into, each with what it costs by itself. [money]"""
    takeoff = area.takeoffs[area.area.chosen]
    name, unit = area.area.name, order.plan.site.unit
    whole = area.chosen.cost.total
    beside: list[tuple[Line, float]] = []
    for structure in takeoff.structures:
        rest = tuple(each for each in takeoff.structures if each is not structure)
        less = job_of([replace(takeoff, structures=rest)], order.way, order.crew, unit, False)
        said = structure.alone or structure.plain
        line = Line(name, structure.kind, structure.name, said, None, 0)
        beside.append((line, max(whole - less.cost.total, 0.0)))
    left = max(whole - sum(weight for _, weight in beside), 0.0)
    yield Line(name, "paving", "", "", area.area.outline.area, 0), left
    yield from beside


def _allowances(order: Order, terms: PriceTable) -> Iterator[Allowance]:
    for supply in order.total.supplies:
        if kind_of(supply.item) in _CHOSEN_BY_EYE:
            material = Direct(order.crew.price(supply.item), 0.0, 0.0, 0.0)
            yield Allowance(supply.title, supply.measure, sums_of(material, terms).price)


def _built_in(order: Order) -> Iterator[Entry]:
    """Yield the prices that the job is made of and that are no figures of the crew's own."""
    crew, job = order.crew, order.total
    names = [supply.item for supply in job.supplies if supply.count]
    haul = job.haul
    names += [name for name, found in (("bin", haul.bins), ("delivery", haul.deliveries))
              if found.count]  # fmt: skip
    names.append("labour")
    if any(task.machine for task in job.tasks):
        names.append(haul.way.carrier.replace(" ", "-"))
    known = default_crew().prices
    for name in dict.fromkeys(names):
        # What a base system of the crew's own tells has its source; what it is silent of, ours.
        if crew.prices[name].source == known[kind_of(name)].source:
            yield crew.prices[name]
