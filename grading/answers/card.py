"""The decision card: what every base takes over every depth of topsoil, and where the advice turns.

For the first visit, when the topsoil is a guess, and for the day of the dig, when it is found out.
The finish stays as it is planned, on every base and over every depth.
"""

from __future__ import annotations

from collections.abc import Mapping
from functools import cache, lru_cache

from msgspec import Struct

from grading.design.over_topsoil import (
    CARD_STEP,
    CARD_STEPS,
    over_deeper,
    over_topsoil,
    topsoil_of,
    topsoil_steps,
)
from grading.geometry.tolerances import ROUNDING
from grading.order.margins.break_even import (
    BreakEven,
    Turn,
    cheapest_turns,
    organics_break_even,
    turns_along,
)
from grading.order.model import CHOSEN, Job
from grading.order.money import cheapest
from grading.pipeline import Plan

Advised = tuple[str | None, ...]
"""The base advised for each area, in the order of the plan; None where every one is ruled out."""

_FINE = 1e-5  # own: m, how finely the depth is found at which the advice turns
_DEEPER = (1, 2, 3)
"""Steps deeper than what is reckoned with that are told to who pays."""


class CardRow(Struct, frozen=True):
    """One depth of topsoil.

    Attributes
    ----------
    depth : float or None
        All over the site; None for the topsoil as it was probed, which is not one depth. [m]
    reckoned : bool
        Whether it is what the site says, and the plan reckons with.
    jobs : mapping of str to Job
        The whole site on each base system.
    areas : tuple of mapping of str to Job
        Each area on each base system, rounded up for itself.
    advised : tuple of str or None
        The base advised for each area.
    """

    depth: float | None
    reckoned: bool
    jobs: Mapping[str, Job]
    areas: tuple[Mapping[str, Job], ...]
    advised: Advised

    @property
    def cheapest(self) -> str:
        """The base system that costs least under the whole site."""
        return cheapest({name: job.cost.total for name, job in self.jobs.items()})


class Deeper(Struct, frozen=True):
    """What topsoil that is deeper all over the site takes more, on the bases chosen.

    Attributes
    ----------
    more : float
        How much deeper. [m]
    cut, fill : float
        Dug in the bank, and refilled compacted. [m3]
    trips, bins : int
        Of soil and stone, and of soil.
    time : float
        Of one person, the mean. [s]
    cost : float
        [money]
    over : Plan
        The plan over that topsoil.
    """

    more: float
    cut: float
    fill: float
    trips: int
    bins: int
    time: float
    cost: float
    over: Plan

    @property
    def advised(self) -> Advised:
        """The base that is advised for each area there."""
        return advised_bases(self.over)


class Card(Struct, frozen=True):
    """The decision card of a plan.

    Attributes
    ----------
    plan : Plan
    rows : tuple of CardRow
        The shallowest first; topsoil that was probed before all of them.
    advised_turns : tuple of Turn
        Depths at which another base is advised for an area. [m]
    cheapest_turns : tuple of Turn
        Depths at which another base is the cheapest under the whole site. [m]
    break_even : BreakEven or None
        That of panels, which is the first of those that concern them.
    """

    plan: Plan
    rows: tuple[CardRow, ...]
    advised_turns: tuple[Turn[Advised], ...]
    cheapest_turns: tuple[Turn[str], ...]
    break_even: BreakEven | None

    @property
    def reckoned(self) -> CardRow:
        """The row of the topsoil that the plan reckons with."""
        return next(row for row in self.rows if row.reckoned)


def card_of(plan: Plan) -> Card:
    """Return the decision card of a plan.

    Parameters
    ----------
    plan : Plan
    """
    unit = plan.site.unit
    steps = topsoil_steps(unit)
    reckoned = reckoned_depth(plan)

    @cache
    def over(depth: float) -> Plan:
        return over_topsoil(plan, depth)

    def advised(depth: float) -> Advised:
        return advised_bases(over(depth))

    depths = list(steps)
    if reckoned is not None and not any(abs(reckoned - depth) < ROUNDING for depth in steps):
        depths = sorted([*depths, reckoned])
    rows = [] if reckoned is not None else [_row(plan, None, reckoned=True)]
    for depth in depths:
        own = reckoned is not None and abs(depth - reckoned) < ROUNDING
        rows.append(_row(plan, reckoned, True) if own else _row(over(depth), depth, False))
    deepest = steps[-1]
    return Card(
        plan=plan,
        rows=tuple(rows),
        advised_turns=tuple(turns_along(advised, steps, _FINE)),
        cheapest_turns=tuple(
            turn for turn in cheapest_turns(plan.order, CARD_STEPS) if turn.value < deepest
        ),
        break_even=organics_break_even(plan.order),
    )


def reckoned_depth(plan: Plan) -> float | None:
    """Return the depth of topsoil that a plan reckons with; None where it was probed. [m]"""
    ground = plan.site.ground
    least, most = topsoil_of(plan)
    return ground.organics if ground.probes is None and most - least < ROUNDING else None


def advised_bases(plan: Plan) -> Advised:
    """Return the base that is advised for each area of a plan."""
    found = (plan.advice.of(area).base.advised for area in plan.areas)
    return tuple(None if best is None else best.option.name for best in found)


def _row(plan: Plan, depth: float | None, reckoned: bool) -> CardRow:
    order = plan.order
    areas = tuple(area.bases for area in order.areas)
    return CardRow(depth, reckoned, order.alike, areas, advised_bases(plan))


@lru_cache(maxsize=4)  # asked by the record, the report and the sheets
def deeper_of(plan: Plan) -> tuple[Deeper, ...]:
    """Return what one, two and three steps of topsoil more than a plan reckons with take.

    Parameters
    ----------
    plan : Plan
    """
    now = plan.order.site[CHOSEN]
    found = []
    for steps in _DEEPER:
        more = steps * CARD_STEP[plan.site.unit]
        deep = over_deeper(plan, more)
        job = deep.order.site[CHOSEN]
        found.append(
            Deeper(
                more=more,
                cut=job.cut - now.cut,
                fill=job.fill - now.fill,
                trips=job.haul.trips - now.haul.trips,
                bins=job.haul.bins.count - now.haul.bins.count,
                time=job.time.mean - now.time.mean,
                cost=job.cost.total - now.cost.total,
                over=deep,
            )
        )
    return tuple(found)
