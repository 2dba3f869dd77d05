"""What moves the verdict on cost, and where a base system stops paying: solved on the plan."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, replace
from itertools import pairwise

import numpy as np

from grading.crew import Crew, Entry
from grading.hauling import way_of
from grading.order import Job, Order, job_of
from grading.pipeline import plan
from grading.takeoff import Takeoff
from grading.units import INCH

PRICE_SWING = 0.25
FIGURE_SWING = 0.15
"""How far a price, and a density or package, is moved either way: common practice, no source.
A rate is moved to its own low and high."""

_SIZES = ("panel-length", "panel-width", "geotextile-roll", "geotextile-overlap", "paver-layer",
          "paver-pallet", "crew-")  # fmt: skip

DEEPEST = 24 * INCH
"""Depth of organics to which a break-even is looked for. [m]"""

_STEPS = 13


@dataclass(frozen=True)
class Swing:
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


@dataclass(frozen=True)
class BreakEven:
    """Where two base systems cost the same.

    Attributes
    ----------
    base, against : str
        The base system asked about, and the cheapest of the others there.
    what : "price" or "organics"
    value : float or None
        The price of one [money/each], or the depth [m]; None where there is none in the range.
    present : float
        The value now.
    searched : (float, float)
        The range looked through.
    pays_now : bool
        Whether the base system is the cheapest now.
    """

    base: str
    against: str
    what: str
    value: float | None
    present: float
    searched: tuple[float, float]
    pays_now: bool


def jobs_of(order: Order, area: int | None, crew: Crew | None = None) -> dict[str, Job]:
    """Return the job on each base system, of one area or of the whole site.

    Parameters
    ----------
    order : Order
    area : int or None
        Which of its areas; the whole site where None.
    crew : Crew, optional
        Reckons in the order's place; of the same sizes of pieces.
    """
    if not order.areas:
        return {}
    crew = crew or order.crew
    site = order.plan.site
    way = way_of(site.access, crew, site.unit)
    parts = order.areas if area is None else (order.areas[area],)
    return {
        name: job_of([part.takeoffs[name] for part in parts], way, crew, site.unit, area is None)
        for name in parts[0].takeoffs
    }


def cheapest(costs: Mapping[str, float]) -> str:
    """Return the base system that costs least."""
    return min(costs, key=lambda name: costs[name])


def _costs(jobs: Mapping[str, Job]) -> dict[str, float]:
    return {name: job.cost.total for name, job in jobs.items()}


def _margin(costs: Mapping[str, float], base: str) -> float:
    """Return what a base system saves over the cheapest of the others. [money]"""
    return min(cost for name, cost in costs.items() if name != base) - costs[base]


def swings_of(order: Order, area: int | None = None) -> tuple[Swing, ...]:
    """Return how each figure of the crew moves the comparison, the strongest first.

    Parameters
    ----------
    order : Order
    area : int or None
        Which of its areas; the whole site where None.
    """
    costs = _costs(jobs_of(order, area))
    if len(costs) < 2:
        return ()
    best = cheapest(costs)
    swings = []
    for entry, low, high in _ranges(order.crew):
        crews = (order.crew.having(entry, value) for value in (low, high))
        margins = [_margin(_costs(jobs_of(order, area, crew)), best) for crew in crews]
        swings.append(Swing(entry, (low, high), (margins[0], margins[1])))
    moved = [swing for swing in swings if swing.width > 0.005 or swing.turns]
    return tuple(sorted(moved, key=lambda swing: -swing.width))


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


def _root(saved: Callable[[float], float], low: float, high: float, near: float) -> float | None:
    """Return where a saving changes sign, the crossing nearest above the low end."""
    from scipy.optimize import brentq

    steps = np.linspace(low, high, _STEPS)
    before = saved(float(steps[0]))
    for start, end in pairwise(steps):
        after = saved(float(end))
        if before == 0:
            return float(start)
        if before * after < 0:
            return float(brentq(saved, float(start), float(end), xtol=near))
        before = after
    return None


def price_break_even(
    order: Order, base: str = "panel", price: str = "panels", area: int | None = None
) -> BreakEven | None:
    """Return the price at which a base system costs as much as the cheapest of the others.

    Parameters
    ----------
    order : Order
    base : str
        The base system asked about.
    price : str
        The price that is moved.
    area : int or None
        Which of its areas; the whole site where None.

    Returns
    -------
    BreakEven or None
        None where the site has no such base system, or no other.
    """
    now = _costs(jobs_of(order, area))
    if base not in now or len(now) < 2:
        return None
    entry = order.crew.prices[price]

    def costs(value: float) -> dict[str, float]:
        return _costs(jobs_of(order, area, order.crew.having(entry, value)))

    high = 10 * max(entry.likely, 1.0)
    found = _root(lambda value: _margin(costs(value), base), 0.0, high, 1e-4)
    against = _rival(now if found is None else costs(found), base)
    pays = _margin(now, base) > 0
    return BreakEven(base, against, "price", found, entry.likely, (0.0, high), pays)


def organics_break_even(
    order: Order, base: str = "panel", area: int | None = None
) -> BreakEven | None:
    """Return the depth of organics at which a base system stops being the cheapest.

    Parameters
    ----------
    order : Order
    base : str
        The base system asked about.
    area : int or None
        Which of its areas; the whole site where None.

    Returns
    -------
    BreakEven or None
        None where the site has no such base system, or no other.

    Notes
    -----
    The whole plan is computed for each depth, one depth all over the site; the finish is fitted
    again where none is given. Bins come whole, so that the saving may jump across zero.
    """
    if not order.areas or base not in order.areas[0].bases or len(order.areas[0].bases) < 2:
        return None

    def costs(depth: float) -> dict[str, float]:
        deeper = _replanned(order, depth)
        return _costs(jobs_of(deeper, area))

    now = _costs(jobs_of(order, area))
    found = _root(lambda depth: _margin(costs(depth), base), 0.0, DEEPEST, 0.5e-3)
    against = _rival(now if found is None else costs(found), base)
    spec = order.plan.site.ground
    present = spec.organics if spec.probes is None else float(np.mean(spec.probes[:, 2]))
    pays = _margin(now, base) > 0
    return BreakEven(base, against, "organics", found, present, (0.0, DEEPEST), pays)


def _rival(costs: Mapping[str, float], base: str) -> str:
    return cheapest({name: cost for name, cost in costs.items() if name != base})


def _replanned(order: Order, depth: float) -> Order:
    """Return the order of the same site with another depth of organics; layouts stay."""
    site = order.plan.site
    ground = replace(site.ground, organics=depth, probes=None)
    deeper = plan(replace(site, ground=ground))
    areas = []
    for part, again in zip(order.areas, deeper.areas, strict=True):
        takeoffs: dict[str, Takeoff] = {
            name: replace(takeoff, area=again, dig=again.digs[name])
            for name, takeoff in part.takeoffs.items()
        }
        areas.append(replace(part, area=again, takeoffs=takeoffs, bases={}))
    return replace(order, plan=deeper, areas=tuple(areas))
