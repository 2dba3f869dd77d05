"""What the ground may cost more than the plan reckons with, derived by planning it again.

The finish is set out by then, so it stays: the hole goes to the bottom of what is there, and stone
fills what the layers leave.
"""

from __future__ import annotations

from functools import lru_cache

from msgspec import Struct
from msgspec.structs import replace

from grading.crew.price_table import PriceTable
from grading.design.over_topsoil import CARD_STEP, CARD_STEPS, clip_over
from grading.geometry.arrays import Floats
from grading.geometry.tolerances import ROUNDING, TOUCH
from grading.order.hauling import loads, spoil_of
from grading.order.margins.break_even import turns_along
from grading.order.model import Order
from grading.order.takeoff import Takeoff
from grading.price.mean_cost import counted
from grading.price.sums import Direct, sums_of

_FINE = 1e-4  # own: m, how finely the depth is found at which another bin opens
_LEAST = TOUCH  # m3: what is less is nothing dug


class Deeper(Struct, frozen=True):
    """Topsoil that goes deeper all over the job than the plan reckons with.

    Attributes
    ----------
    more : float
        [m]
    dug : float
        More soil dug, in the bank. [m3]
    filled : float
        More stone brought, compacted. [m3]
    cost : Direct
        What it costs more, on average: parts of bins and of loads.
    price : float
        The same as a price. [money]
    """

    more: float
    dug: float
    filled: float
    cost: Direct
    price: float


class Ground(Struct, frozen=True):
    """Unit prices for what the ground may hold, and where they come from.

    Attributes
    ----------
    steps : tuple of Deeper
        An inch more of topsoil, or 25 mm, two of them, and so on.
    by_volume : float or None
        The price of soil dug deeper than is drawn, hauled off and replaced by compacted stone, for
        each volume in the bank. [money/m3] None where deeper topsoil needs no deeper hole.
    hour : float
        The price of an hour of one person at work that is asked for. [money/s]
    next_bin : float or None
        How much deeper the topsoil is where another bin opens [m]; None within a foot.
    """

    steps: tuple[Deeper, ...]
    by_volume: float | None
    hour: float
    next_bin: float | None


@lru_cache(maxsize=4)  # asked by the paper, the record and the screen
def ground_of(order: Order, terms: PriceTable) -> Ground:
    """Return what the ground may cost more on the bases chosen.

    Parameters
    ----------
    order : Order
    terms : PriceTable
    """
    jobs = tuple(order.total.jobs)
    step = CARD_STEP[order.plan.site.unit]
    known = counted(jobs, order)
    steps = []
    for number in range(1, CARD_STEPS + 1):
        found = counted(_deeper(jobs, number * step), order)
        dug, filled, cost = found.dug - known.dug, found.filled - known.filled, found.more(known)
        steps.append(Deeper(number * step, dug, filled, cost, sums_of(cost, terms).price))
    # Of the last step, where the hole follows the topsoil everywhere that it ever does.
    last, before = steps[-1], steps[-2]
    volume = last.dug - before.dug
    by_volume = (last.price - before.price) / volume if volume > _LEAST else None
    wage = order.crew.price("labour")
    hour = sums_of(Direct(0.0, 0.0, wage, 1.0), terms).price
    return Ground(tuple(steps), by_volume, hour, _next_bin(order, jobs, step))


def _deeper(jobs: tuple[Takeoff, ...], more: float) -> tuple[Takeoff, ...]:
    """Return take-offs of the same finish over topsoil that is deeper wherever it is."""

    def deeper(organics: Floats) -> Floats:
        return organics + more

    return tuple(
        replace(job, dig=replace(job.dig, clip=clip_over(job.dig.clip, deeper))) for job in jobs
    )


def _next_bin(order: Order, jobs: tuple[Takeoff, ...], step: float) -> float | None:
    crew = order.crew

    def bins(more: float) -> int:
        spoil = spoil_of(_deeper(jobs, more) if more > ROUNDING else jobs, crew)
        return loads(spoil.loose, spoil.mass, crew["bin-volume"], crew["bin-mass"]).count

    depths = [number * step for number in range(CARD_STEPS + 1)]
    now = bins(0.0)
    for turn in turns_along(bins, depths, _FINE):
        if turn.after > now:
            return turn.value
    return None
