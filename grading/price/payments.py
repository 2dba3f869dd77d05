"""What is paid when: a deposit under the cap that was typed in, and the rest against work done."""

from __future__ import annotations

import math

from msgspec import Struct

from grading.crew.price_table import PriceTable
from grading.geometry.tolerances import ROUNDING


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
