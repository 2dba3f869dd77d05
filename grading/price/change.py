"""The price of a change to a job that was agreed: what it takes more, at the prices agreed."""

from __future__ import annotations

from msgspec import Struct
from msgspec.structs import replace

from grading.pipeline import Plan
from grading.price.mean_cost import counted
from grading.price.model import Price, price_of
from grading.price.sums import Sums, sums_of


class ChangePrice(Struct, frozen=True, eq=False):
    """What a change adds to a price, or takes off it.

    Attributes
    ----------
    agreed : Price
        Of the plan as it was agreed.
    sums : Sums
        From what the change costs more on average, parts of bins and loads, to its price: as unit
        prices are made, so that both say one thing.
    """

    agreed: Price
    sums: Sums

    @property
    def before(self) -> int:
        """What was to be paid in all, tax and all."""
        return self.agreed.total

    @property
    def more(self) -> int:
        """What comes to it, tax and all; negative where it is less."""
        return round(self.sums.price + self.sums.taxed(self.sums.price))

    @property
    def after(self) -> int:
        """What is to be paid in all now."""
        return self.before + self.more

    @property
    def last_payment(self) -> float | None:
        """What the last payment becomes; None where it does not hold what is taken off."""
        last = self.agreed.payments[-1].amount + self.more
        return last if last >= 0 else None


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
    agreed = price_of(before)
    assert agreed is not None
    then, now = before.order, after.order
    same = replace(
        now.crew,
        prices={**now.crew.prices, **then.crew.prices},
        rates={**now.crew.rates, **then.crew.rates},
        factor=then.crew.factor,
    )
    again = now.having(same)
    more = counted(again.total.jobs, again).more(counted(then.total.jobs, then))
    return ChangePrice(agreed, sums_of(more, terms))
