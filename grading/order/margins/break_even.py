"""Where a base system stops, or starts, to pay, solved on the plan, and where any answer turns."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from functools import cache, lru_cache
from itertools import pairwise
from typing import Generic, Literal, TypeVar

import numpy as np
from msgspec import Struct
from msgspec.structs import replace

from grading.design.over_topsoil import CARD_STEPS, clip_over, topsoil_steps
from grading.geometry.tolerances import ROUNDING
from grading.order.model import Order
from grading.order.money import Cost, cheapest, margin, rival, totals
from grading.order.takeoff import Takeoff

T = TypeVar("T")


class Turn(Struct, Generic[T], frozen=True):
    """One place where it changes: the value there, and what is found below and above it."""

    value: float
    before: T
    after: T


def turns_along(
    found: Callable[[float], T], steps: Sequence[float], fine: float
) -> Iterator[Turn[T]]:
    """Give each place along a range where what is found changes, from its low end up.

    Parameters
    ----------
    found : callable
        What is found at a value; asked for a value more than once.
    steps : sequence of float
        Rising; between two at which the same is found nothing is looked for.
    fine : float
        How finely a place is found.
    """
    for low, high in pairwise(steps):
        start, last = low, found(high)
        while (first := found(start)) != last:
            end = high
            while end - start > fine:
                middle = (start + end) / 2
                if found(middle) == first:
                    start = middle
                else:
                    end = middle
            yield Turn((start + end) / 2, first, found(end))
            start = end


DEEPEST_STEPS = 2 * CARD_STEPS
"""Steps of depth to which a break-even of the topsoil is looked for: 24 in, or 600 mm."""

_STEPS = 13
_FINE = 1e-7  # own: of the range that is searched: how finely a break-even is found
_LEAP = 0.05  # money; no figure that varies by degrees moves so much over so little

_Costs = Callable[[float], Mapping[str, Cost]]


class Step(Struct, frozen=True):
    """What a base system takes more, or fewer, of: the base, what, its package, and how many."""

    base: str
    title: str
    each: str
    more: float


class BreakEven(Struct, frozen=True):
    """Where two base systems cost the same.

    Attributes
    ----------
    base, against : str
        The base system asked about, and the cheapest of the others there.
    what : "price" or "organics"
    value : float or None
        The price of one [money/each], or the depth [m]; None where there is none in the range.
        Where the saving jumps there, they cost the same nowhere.
    present : float
        The value now.
    searched : (float, float)
        The range looked through.
    pays_now : bool
        Whether the base system is the cheapest now.
    below, above : float
        What the base system saves over the cheapest of the others just under the value, and just
        over it; negative where it costs more. [money]
    steps : tuple of Step
        What is bought or hired one more or one fewer of in between, the dearest first.
    """

    base: str
    against: str
    what: Literal["price", "organics"]
    value: float | None
    present: float
    searched: tuple[float, float]
    pays_now: bool
    below: float = 0.0
    above: float = 0.0
    steps: tuple[Step, ...] = ()

    @property
    def jumps(self) -> bool:
        """Whether the one passes the other at a leap, and they cost the same nowhere."""
        return self.value is not None and abs(self.above - self.below) >= _LEAP


@lru_cache(maxsize=4)  # asked by the record, the tables and the sheets
def break_evens_of(order: Order) -> tuple[BreakEven, ...]:
    """Return where the panel base stops, or starts, to pay: by its price, and by the topsoil.

    Parameters
    ----------
    order : Order
        Of a whole site; none where it has no panel base, or no other.
    """
    found = (price_break_even(order), organics_break_even(order))
    return tuple(one for one in found if one is not None)


def price_break_even(order: Order, base: str = "panel") -> BreakEven | None:
    """Return the price of its panels at which a base system costs as much as the cheapest other.

    Parameters
    ----------
    order : Order
    base : str
        The base system asked about.

    Returns
    -------
    BreakEven or None
        None where the site has no such base system, or no other.
    """
    now = totals(order.costs)
    if base not in now or len(now) < 2:
        return None
    entry = order.crew.prices[order.areas[0].takeoffs[base].dig.system.panels]
    high = 10 * max(entry.likely, 1.0)

    def costs(value: float) -> Mapping[str, Cost]:
        return order.having_one(entry, value)

    found = _root(lambda value: margin(totals(costs(value)), base), 0.0, high)
    return _told(base, "price", costs, now, entry.likely, high, found)


@lru_cache(maxsize=4)
def organics_break_even(order: Order, base: str = "panel") -> BreakEven | None:
    """Return the depth of organics at which a base system stops being the cheapest.

    Parameters
    ----------
    order : Order
    base : str
        The base system asked about.

    Returns
    -------
    BreakEven or None
        None where the site has no such base system, or no other.

    Notes
    -----
    One depth all over the site. The finish stays as it is planned: that the topsoil goes deeper is
    found when it is dug. Bins come whole, so that the saving may leap over nothing.
    """
    now = totals(order.costs)
    if base not in now or len(now) < 2:
        return None
    spec = order.plan.site.ground
    present = spec.organics if spec.probes is None else float(np.mean(spec.probes[:, 2]))
    costs = _costs_over_topsoil(order)
    high = topsoil_steps(order.plan.site.unit, DEEPEST_STEPS)[-1]
    turns = _cheapest_turns(order, costs, DEEPEST_STEPS)
    found = next((turn.value for turn in turns if base in (turn.before, turn.after)), None)
    return _told(base, "organics", costs, now, present, high, found)


def cheapest_turns(order: Order, steps: int = CARD_STEPS) -> tuple[Turn[str], ...]:
    """Return the depths of topsoil at which another base system becomes the cheapest.

    Parameters
    ----------
    order : Order
        Of a whole site.
    steps : int
        How far down it is looked for: see `topsoil_steps`.

    Notes
    -----
    The first of them that concerns a base system is its break-even, `organics_break_even`.
    """
    return tuple(_cheapest_turns(order, _costs_over_topsoil(order), steps))


def _cheapest_turns(order: Order, costs: _Costs, steps: int) -> Iterator[Turn[str]]:
    unit = order.plan.site.unit
    fine = _FINE * topsoil_steps(unit, DEEPEST_STEPS)[-1]

    def found(depth: float) -> str:
        return cheapest(totals(costs(depth)))

    return turns_along(found, topsoil_steps(unit, steps), fine)


@lru_cache(maxsize=4)  # the card and the break-even look at the same depths
def _costs_over_topsoil(order: Order) -> _Costs:
    """Return the cost of each base system over topsoil of a depth, each depth counted once."""

    @cache
    def costs(depth: float) -> Mapping[str, Cost]:
        return {
            name: one.over(tuple(_deeper(job, depth) for job in one.jobs))
            for name, one in order.recounts.items()
        }

    return costs


def _deeper(job: Takeoff, depth: float) -> Takeoff:
    """Return the take-off of the same finish over another depth of organics."""
    clip = clip_over(job.dig.clip, lambda organics: np.full_like(organics, depth))
    return replace(job, dig=replace(job.dig, clip=clip))


def _root(saved: Callable[[float], float], low: float, high: float) -> float | None:
    """Return where a saving changes sign, the crossing nearest above the low end.

    To `_FINE` of the range, whether it passes through nothing there or leaps over it.
    """
    steps = np.linspace(low, high, _STEPS)
    before = saved(float(steps[0]))
    for start, end in pairwise(steps.tolist()):
        after = saved(end)
        if before == 0:
            return float(start)
        if before * after < 0:
            a, b = start, end
            while b - a > _FINE * (high - low):
                middle = (a + b) / 2
                if before * saved(middle) > 0:
                    a = middle
                else:
                    b = middle
            return float((a + b) / 2)
        before = after
    return None


def _told(
    base: str, what: Literal["price", "organics"], costs: _Costs,
    now: Mapping[str, float], present: float, high: float, found: float | None,
) -> BreakEven:  # fmt: skip
    """Return what is told of a place where a base system stops, or starts, to be the cheapest."""
    pays = margin(now, base) > 0
    if found is None:
        return BreakEven(base, rival(now, base), what, None, present, (0.0, high), pays)
    aside = _FINE * high
    below, above = costs(max(found - aside, 0.0)), costs(found + aside)
    # The rival is the one that it is dearer than on the side where it does not pay.
    margins = margin(totals(below), base), margin(totals(above), base)
    against = rival(totals(below if margins[0] < margins[1] else above), base)
    return BreakEven(
        base, against, what, found, present, (0.0, high), pays, *margins,
        _steps_of(below, above, (base, against)),
    )  # fmt: skip


def _steps_of(
    below: Mapping[str, Cost], above: Mapping[str, Cost], bases: tuple[str, str]
) -> tuple[Step, ...]:
    """Return what comes in whole pieces that differs between two sides, the dearest first."""
    found = []
    for base in bases:
        # Hours and machines are not counted by the piece.
        counts = [
            {
                (charge.title, charge.each): charge
                for charge in costs[base].charges
                if charge.group != "hours" and charge.each != "h"
            }
            for costs in (below, above)
        ]
        for key in dict.fromkeys([*counts[0], *counts[1]]):
            few, many = (side[key].count if key in side else 0.0 for side in counts)
            charge = counts[1].get(key) or counts[0][key]
            if abs(many - few) > ROUNDING:
                more = round(many - few, 6)
                found.append((abs(more) * charge.price, Step(base, *key, more)))
    return tuple(step for _, step in sorted(found, key=lambda one: -one[0]))
