"""The arithmetic from cost to price, in the order in which the crew reads it.

Cost, and the tax that the crew pays on what it buys; contingency and overhead, the one first that
the crew says; then the margin, which is a part of the price and no part of the cost:
price = cost / (1 - margin). A markup of a fifth is a margin of a sixth.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import NamedTuple

from msgspec import Struct

from grading.crew.price_table import PriceTable
from grading.order.money import Cost
from grading.units import HOUR


class Direct(NamedTuple):
    """What is paid for a job, or a part of one: material, haul and hours [money], and time [s]."""

    material: float
    haul: float
    hours: float
    time: float

    @property
    def total(self) -> float:
        """All of it. [money]"""
        return self.material + self.haul + self.hours

    def less(self, other: Direct) -> Direct:
        """Return what it is more than another."""
        return Direct(
            self.material - other.material,
            self.haul - other.haul,
            self.hours - other.hours,
            self.time - other.time,
        )


def direct_of(cost: Cost) -> Direct:
    """Return the cost of a job as it goes into a price: its mean."""
    return Direct(cost.of("material"), cost.of("haul"), cost.of("hours"), cost.time.mean)


class Sums(Struct, frozen=True):
    """The steps from cost to price. [money]

    Attributes
    ----------
    direct : Direct
    tax_in_cost : float
        On what is bought, where the crew pays it.
    contingency, overhead : float
    margin : float
        The crew's own part of the price.
    price : float
        Before any tax on it, to the cent.
    terms : PriceTable
    """

    direct: Direct
    tax_in_cost: float
    contingency: float
    overhead: float
    margin: float
    price: float
    terms: PriceTable

    @property
    def direct_cost(self) -> float:
        """What is paid directly, the tax on it too where the crew pays that."""
        return self.direct.total + self.tax_in_cost

    @property
    def cost(self) -> float:
        """All but the margin."""
        return self.price - self.margin

    @property
    def markup(self) -> float:
        """What the price is over all that it covers, as a part of that. [ratio]"""
        return self.margin / self.cost if self.cost else 0.0

    def taxed(self, price: float) -> float:
        """Return the tax that is listed beside a price: on what is bought, or on all of it.

        Parameters
        ----------
        price : float
            As it is told. What is bought has the same part of it as of the cost.
        """
        terms = self.terms
        if terms.tax_on == "total":
            return terms.tax * price
        if terms.tax_on == "materials" and self.direct.total:
            return terms.tax * self.listed(price)
        return 0.0

    def listed(self, price: float) -> float:
        """Return the part of a price that is material: as large a part of it as of the cost."""
        return price * self.direct.material / self.direct.total if self.direct.total else 0.0


def sums_of(direct: Direct, terms: PriceTable) -> Sums:
    """Return the price of what is paid directly.

    Parameters
    ----------
    direct : Direct
    terms : PriceTable

    Notes
    -----
    Each step is in proportion to what it is taken of, so that the price of two jobs is the sum of
    theirs, and the price of a difference the difference of prices.
    """
    tax = terms.tax * direct.material if terms.tax_on == "cost" else 0.0
    base = direct.total + tax
    by_hour = terms.overhead_hour * direct.time / HOUR
    if terms.first == "contingency":
        contingency = terms.contingency * base
        overhead = terms.overhead * (base + contingency) + by_hour
    else:
        overhead = terms.overhead * base + by_hour
        contingency = terms.contingency * (base + overhead)
    cost = base + contingency + overhead
    price = priced(cost, terms.margin)
    return Sums(direct, tax, contingency, overhead, price - cost, price, terms)


def priced(cost: float, margin: float) -> float:
    """Return the price of which a margin is a part and the cost the rest: cost / (1 - margin)."""
    return cost / (1 - margin)


class Step(Struct, frozen=True):
    """One line of the arithmetic: what it is, how it was reached, and how much. [money]"""

    title: str
    how: str
    amount: float


def steps_of(sums: Sums) -> Iterator[Step]:
    """Yield the arithmetic line by line, in its order, from material down to the price.

    Parameters
    ----------
    sums : Sums
    """
    terms, direct = sums.terms, sums.direct
    yield Step("material", "as it is sold, rounded up", direct.material)
    if sums.tax_in_cost:
        yield Step("sales tax", f"{_percent(terms.tax)} of material, paid by the crew",
                   sums.tax_in_cost)  # fmt: skip
    yield Step("hauling", "bins, deliveries, machines", direct.haul)
    yield Step("hours", f"{direct.time / HOUR:.0f} h, wages and all", direct.hours)
    yield Step("direct cost", "", sums.direct_cost)
    both = "of the direct cost and the {}"
    reserve = Step(
        "contingency",
        _of(terms.contingency, both.format("overhead"), terms.first == "overhead"),
        sums.contingency,
    )
    if terms.overhead_hour:
        how = f"{terms.overhead_hour:,.2f} on every hour"
    else:
        later = terms.first == "contingency" and terms.contingency > 0
        how = _of(terms.overhead, both.format("contingency"), later)
    over = Step("overhead", how, sums.overhead)
    for step in (reserve, over) if terms.first == "contingency" else (over, reserve):
        if step.amount:
            yield step
    yield Step("all that it costs", "", sums.cost)
    yield Step("margin", f"{_percent(terms.margin)} of the price: cost / (1 - "
               f"{terms.margin:g}), {_percent(sums.markup)} on the cost", sums.margin)  # fmt: skip
    yield Step("price", "before tax on it and before rounding", sums.price)


def _of(share: float, both: str, later: bool) -> str:
    return f"{_percent(share)} {both if later else 'of the direct cost'}"


def _percent(share: float) -> str:
    return f"{round(100 * share, 1):g} %"
