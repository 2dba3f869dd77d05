"""What a job costs on average: no bin, bag or load rounded up, as the price of a little more is.

A yard more of soil fills a part of a bin. Whoever pays for it by the yard pays that part each time,
and whole bins come to the same over many jobs.
"""

from __future__ import annotations

from collections.abc import Sequence
from math import inf
from typing import NamedTuple

from grading.crew.model import Crew
from grading.geometry.tolerances import TOUCH
from grading.order.hauling import haul_of
from grading.order.labour import tasks_of
from grading.order.model import Order
from grading.order.quantities import lines_of
from grading.order.supplies import supplies_of
from grading.order.takeoff import Takeoff
from grading.price.sums import Direct

_LEAST = TOUCH  # m3: what is less is nothing dug


class Counted(NamedTuple):
    """What some areas take on average: their cost, what of it soil takes that leaves, and earth.

    `dug` and `filled` are volumes. [m3]
    """

    cost: Direct
    soil: Direct
    dug: float
    filled: float

    def more(self, before: Counted) -> Direct:
        """Return what it costs more than something else.

        Parameters
        ----------
        before : Counted

        Notes
        -----
        Soil that leaves costs no less where no less is dug, and no more where no more is: lighter
        soil out of the same hole is nobody's gain.
        """
        found, soil = self.cost.less(before.cost), self.soil.less(before.soil)
        dug = self.dug - before.dug
        least = 0.0 if dug > -_LEAST else -inf
        most = 0.0 if dug < _LEAST else inf
        told = Direct(
            soil.material,
            min(max(soil.haul, least), most),
            min(max(soil.hours, least), most),
            min(max(soil.time, least), most),
        )
        return found.less(soil.less(told))


def counted(jobs: Sequence[Takeoff], order: Order) -> Counted:
    """Return what some areas take together on average, no count of it rounded up.

    Parameters
    ----------
    jobs : sequence of Takeoff
    order : Order
        Whose crew and way it is.
    """
    crew, unit, way = order.crew, order.plan.site.unit, order.way
    lines = [line for job in jobs for line in lines_of(job, crew, unit)]
    supplies = supplies_of(lines, crew, unit)
    haul = haul_of(jobs, supplies, way, crew)
    material = sum(supply.amount / supply.package.size * supply.price for supply in supplies)
    spoil, limit = haul.spoil, way.limit
    bins = _loads(spoil.loose, spoil.mass, crew["bin-volume"], crew["bin-mass"])
    stone = haul.stone_loose, haul.stone_mass
    deliveries = _loads(*stone, crew["truck-volume"], crew["truck-mass"])
    out, into = _loads(spoil.loose, spoil.mass, way.soil, limit), _loads(*stone, way.stone, limit)
    # Trips with pavers and panels are the same however deep the hole is.
    trips = haul.trips + haul.pavers.count
    exact = trips - haul.out.count - haul.stone.count + out + into
    time = running = carried = 0.0
    for task in tasks_of(jobs, lines, haul, crew, whole_site=False):
        carries = task.rate in (way.speed, way.tip)
        mean = task.mean * (exact / trips if carries and trips else 1.0)
        time += mean
        carried += mean if carries else 0.0
        running += mean if task.machine else 0.0
    wage = crew.price("labour")
    haul_cost = bins * crew.price("bin") + deliveries * crew.price("delivery")
    haul_cost += _machine(way.carrier, running, crew)
    cost = Direct(material, haul_cost, time * wage, time)
    leaves = carried * out / exact if exact else 0.0
    by_machine = _machine(way.carrier, leaves, crew) if running else 0.0
    soil = Direct(0.0, bins * crew.price("bin") + by_machine, leaves * wage, leaves)
    filled = sum(job.dig.fill for job in jobs)
    return Counted(cost, soil, sum(job.dug for job in jobs), filled)


def _machine(carrier: str, running: float, crew: Crew) -> float:
    return running * crew.price(carrier.replace(" ", "-")) if running else 0.0


def _loads(volume: float, mass: float, room: float, limit: float) -> float:
    return max(volume / room, mass / limit)
