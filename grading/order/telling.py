"""How money is told: in a currency where the crew gave prices, else as a part of the job.

Prices that are built in weigh one base against another; they are nobody's money. Where a crew gave
none of its own an amount is told by how large it is beside what the job costs as it is planned.
"""

from __future__ import annotations

from msgspec import Struct

from grading.crew.model import Crew
from grading.order.model import Order
from grading.units import percent
from grading.worded import Worded

_NO_PRICES = (
    Worded("crew.toml gives no prices", "the crew gave no prices")
    + ". What costs more is weighed by prices that are built in, and told in % of what the job "
    "costs as it is planned; write yours "
    + Worded("under [prices] ", "down ", "below ")
    + "to see money"
)
"""Why costs are told as parts of the job."""

_ONE = 0.01
"""A part of the job that is less than one in a hundred is told to a tenth of it. [ratio]"""


def money(amount: float, currency: str, cents: bool = False) -> str:
    """Write an amount of money: $1,234, CHF 1,234, - $20.

    Parameters
    ----------
    amount : float
    currency : str
        A sign stands close before it, letters stand apart.
    cents : bool
        Whether to a hundredth, of what is little.
    """
    sign = f"{currency}\u00a0" if currency[-1:].isalpha() else currency
    written = f"{abs(amount):,.2f}" if cents else f"{abs(round(amount)):,.0f}"
    minus = "- " if amount < 0 and float(written.replace(",", "")) else ""
    return f"{minus}{sign}{written}"


class Telling(Struct, frozen=True):
    """How amounts of money are told.

    Attributes
    ----------
    currency : str
        The sign before them.
    whole : float
        What the job costs as it is planned. [money]
    priced : bool
        Whether prices are given; else amounts are told as parts of the whole.
    quoted : bool
        Whether a price of the job is told in money all the same, made of prices that are built in.
    """

    currency: str
    whole: float
    priced: bool
    quoted: bool = False

    @property
    def why(self) -> Worded:
        """Said once beside costs that are told as parts of the job: why they are."""
        if self.quoted:
            return (
                "Only the price is told in money, made of prices that are built in, for "
                + _NO_PRICES
            )
        return "No money is told, for " + _NO_PRICES

    @property
    def head(self) -> str:
        """What stands in the header of a column of amounts."""
        return self.currency if self.priced else "% of the job"

    @property
    def title(self) -> str:
        """What stands over a column whose cells have their unit with them."""
        return "cost" if self.priced else "cost, of the job"

    def number(self, amount: float, places: int = 0) -> float:
        """Return an amount for a cell below that header.

        Parameters
        ----------
        amount : float
            [money]
        places : int
            Of money, how many are kept; of parts of the job one is.
        """
        if not self.priced:
            return round(100 * self.part(amount), 1)
        return round(amount, places) if places else round(amount)

    def column(self, amount: float) -> str:
        """Write an amount below that header: 9,275, or 84.9.

        Parameters
        ----------
        amount : float
            [money]
        """
        number = self.number(amount)
        return f"{number:,.0f}" if self.priced else f"{number:.1f}"

    def between(self, low: float, high: float) -> str:
        """Write a range below that header: 8600 to 9900, or 78.5 to 91.2.

        Parameters
        ----------
        low, high : float
            [money]
        """
        places = 0 if self.priced else 1
        return f"{self.number(low):.{places}f} to {self.number(high):.{places}f}"

    def words(self, amount: float, cents: bool = False) -> str:
        """Write an amount in a sentence: $1,234, or 12 %.

        Parameters
        ----------
        amount : float
            [money]
        cents : bool
            Whether money is told to a hundredth.
        """
        if self.priced:
            return money(amount, self.currency, cents)
        part = self.part(amount)
        return f"{'- ' if part < 0 else ''}{percent(abs(part), 0 if abs(part) >= _ONE else 1)}"

    def part(self, amount: float) -> float:
        """Return which part of the job an amount [money] is. [ratio]"""
        return amount / self.whole if self.whole else 0.0


def telling_of(order: Order) -> Telling:
    """Return how the amounts of an order are told.

    Parameters
    ----------
    order : Order
    """
    return telling_by(order.crew, order.total.cost.total)


def telling_by(crew: Crew, whole: float) -> Telling:
    """Return how amounts are told beside what a whole job costs.

    Parameters
    ----------
    crew : Crew
    whole : float
        [money]
    """
    return Telling(crew.currency, whole, crew.priced, crew.pricing is not None)
