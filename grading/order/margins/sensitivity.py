"""How each figure of a crew moves the verdict on cost."""

from __future__ import annotations

from collections.abc import Iterator
from functools import lru_cache

from msgspec import Struct

from grading.crew.model import Crew, Entry
from grading.order.model import Order
from grading.order.money import cheapest, margin, totals

PRICE_SWING = 0.25
FIGURE_SWING = 0.15
"""How far a price, and a density or package, is moved either way: common practice, no source.
A rate is moved to its own low and high."""

_SIZES = ("panel-length", "panel-width", "geotextile-roll", "geotextile-overlap", "paver-layer",
          "paver-pallet", "crew-")  # fmt: skip


class Swing(Struct, frozen=True):
    """How one figure moves the comparison.

    Attributes
    ----------
    entry : Entry
    values : (low, high)
        Of the figure, in SI.
    margins : (float, float)
        What the cheapest base system saves over the next at each; negative where it is no longer
        the cheapest. [money]
    """

    entry: Entry
    values: tuple[float, float]
    margins: tuple[float, float]

    @property
    def width(self) -> float:
        """How far it moves the margin. [money]"""
        return abs(self.margins[1] - self.margins[0])

    @property
    def turns(self) -> bool:
        """Whether it moves the verdict."""
        return min(self.margins) < 0


_CENTS = 4  # own: what moves the margin by less than a hundredth of a cent more moves it alike


@lru_cache(maxsize=4)  # asked by the record, the tables and the sheets
def swings_of(order: Order) -> tuple[Swing, ...]:
    """Return how each figure of the crew moves the comparison, the strongest first.

    Parameters
    ----------
    order : Order
        Of a whole site; none where it has one base system alone.
    """
    costs = totals(order.costs)
    if len(costs) < 2:
        return ()
    best = cheapest(costs)
    swings = []
    for entry, low, high in _ranges(order.crew):
        margins = [margin(totals(order.having_one(entry, value)), best) for value in (low, high)]
        swings.append(Swing(entry, (low, high), (margins[0], margins[1])))
    moved = [swing for swing in swings if swing.width > 0.005 or swing.turns]
    # Two that move it alike stand as they are listed, whatever a library rounds in the last place.
    return tuple(sorted(moved, key=lambda swing: -round(swing.width, _CENTS)))


def _ranges(crew: Crew) -> Iterator[tuple[Entry, float, float]]:
    for entry in crew.entries():
        if entry.book == "rates":
            low, _, high = entry.values
        elif entry.name.startswith(_SIZES):
            continue
        else:
            swing = PRICE_SWING if entry.book == "prices" else FIGURE_SWING
            low, high = entry.likely * (1 - swing), entry.likely * (1 + swing)
        if high > low:
            yield entry, low, high
