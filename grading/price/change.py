"""The price of a change to a job that was agreed: what is asked otherwise, and what was found.

What is asked otherwise costs what a quote of it says, by the prices that were agreed: whole bins
and whole packages, as they are bought. What the ground turns out to be costs what was agreed for
that: its unit prices, or nothing where a reserve for it is in the price.
"""

from __future__ import annotations

from collections.abc import Iterator
from functools import lru_cache

from msgspec import Struct
from msgspec.structs import replace

from grading.crew.price_table import PriceTable
from grading.errors import GradingError
from grading.kept import fingerprint
from grading.pipeline import Plan, plan
from grading.price.mean_cost import counted
from grading.price.model import Price, price_of
from grading.price.sums import sums_of

_NOT_ASKED = ("folder", "ground", "spots", "as_surveyed", "settled", "warnings", "levels",
              "benchmarks", "references", "done")  # fmt: skip
"""What a site says of its survey and its ground, and nothing that is asked for."""


class ChangePrice(Struct, frozen=True, eq=False):
    """What a change adds to a price, or takes off it, tax and all.

    Attributes
    ----------
    agreed : Price
        Of the plan as it was agreed.
    asked : int
        For what is asked otherwise: the difference of two quotes.
    found : int
        For ground that is not what the agreed plan reckons with.
    ground : bool
        Whether it is not.
    """

    agreed: Price
    asked: int
    found: int
    ground: bool

    @property
    def before(self) -> int:
        """What was to be paid in all, tax and all."""
        return self.agreed.total

    @property
    def more(self) -> int:
        """What comes to it, tax and all; negative where it is less."""
        return self.asked + self.found

    @property
    def after(self) -> int:
        """What is to be paid in all now."""
        return self.before + self.more

    @property
    def in_reserve(self) -> bool:
        """Whether what the ground costs more is in the price that was agreed."""
        return self.ground and has_reserve(self.agreed.terms)

    @property
    def last_payment(self) -> float | None:
        """What the last payment becomes; None where it does not hold what is taken off."""
        last = self.agreed.payments[-1].amount + self.more
        return last if last >= 0 else None


def has_reserve(terms: PriceTable) -> bool:
    """Return whether a price holds a reserve for what the ground may cost more."""
    return terms.contingency > 0 and not terms.by_the_unit


@lru_cache(maxsize=4)  # asked by the figures and by the paper
def change_price(before: Plan, after: Plan) -> ChangePrice | None:
    """Return the price of a change, None where no crew says how it makes one.

    Parameters
    ----------
    before : Plan
        As it was agreed: its prices, rates and margin hold for the change too.
    after : Plan
    """
    terms = before.crew.pricing or after.crew.pricing
    if terms is None:
        return None
    if before.crew.pricing is None:
        before = replace(before, crew=replace(before.crew, pricing=terms))
    same = replace(
        after.crew,
        prices={**after.crew.prices, **before.crew.prices},
        rates={**after.crew.rates, **before.crew.rates},
        factor=before.crew.factor,
        pricing=terms,
    )
    now = replace(after, crew=same)
    agreed = _quoted(before)
    if fingerprint(before.site.ground) == fingerprint(after.site.ground):
        return ChangePrice(agreed, _quoted(now).total - agreed.total, 0, False)
    reckoned = _over_agreed_ground(before, now)
    asked = _quoted(reckoned).total - agreed.total
    return ChangePrice(agreed, asked, _found(reckoned, now, terms), True)


def _quoted(made: Plan) -> Price:
    price = price_of(made)
    assert price is not None
    return price


def _over_agreed_ground(before: Plan, now: Plan) -> Plan:
    """Return what is asked for now, on its bases, over the ground that was reckoned with."""
    if list(_asked(before)) == list(_asked(now)):
        return before
    site = replace(now.site, ground=before.site.ground, areas=now.areas_on_their_bases)
    try:
        return replace(plan(site), crew=now.crew)
    except GradingError:
        return now  # it cannot be built there: all of it is asked otherwise


def _asked(made: Plan) -> Iterator[object]:
    """Yield what tells what is asked for from anything else, and on what it is built."""
    fields = (name for name in made.site.__struct_fields__ if name not in _NOT_ASKED)
    yield fingerprint(*(getattr(made.site, name) for name in fields), made.crew.pavers)
    yield from (area.chosen for area in made.areas)


def _found(reckoned: Plan, now: Plan, terms: PriceTable) -> int:
    """Return what ground that is not what was reckoned with costs more. [money]"""
    if has_reserve(terms):
        return 0
    if not terms.by_the_unit:
        return _quoted(now).total - _quoted(reckoned).total
    # On average, parts of bins and of loads, as the unit prices that were signed are made.
    orders = now.order, reckoned.order
    found, known = (counted(each.total.jobs, each) for each in orders)
    sums = sums_of(found.more(known), terms)
    return round(sums.price + sums.taxed(sums.price))
