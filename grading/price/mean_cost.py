"""What a job costs on average: no bin, bag or load rounded up, as the price of a little more is.

A yard more of soil fills a part of a bin. Whoever pays for it by the yard pays that part each time,
and whole bins come to the same over many jobs.
"""

from __future__ import annotations

from collections.abc import Sequence

from grading.crew.model import Crew
from grading.order.hauling import haul_of
from grading.order.labour import tasks_of
from grading.order.model import Order
from grading.order.quantities import lines_of
from grading.order.supplies import supplies_of
from grading.order.takeoff import Takeoff
from grading.price.sums import Direct


def mean_cost(jobs: Sequence[Takeoff], order: Order) -> Direct:
    """Return what some areas cost together, every count as large as it is and not rounded up.

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
    # Trips with pavers and panels are the same however deep the hole is.
    rounded = haul.out.count + haul.stone.count
    exact = _loads(spoil.loose, spoil.mass, way.soil, limit) + _loads(*stone, way.stone, limit)
    trips = haul.trips + haul.pavers.count
    share = (trips - rounded + exact) / trips if trips else 1.0
    time = running = 0.0
    for task in tasks_of(jobs, lines, haul, crew, whole_site=False):
        mean = task.mean * (share if task.rate in (way.speed, way.tip) else 1.0)
        time += mean
        running += mean if task.machine else 0.0
    haul_cost = bins * crew.price("bin") + deliveries * crew.price("delivery")
    haul_cost += _machine(way.carrier, running, crew)
    return Direct(material, haul_cost, time * crew.price("labour"), time)


def _machine(carrier: str, running: float, crew: Crew) -> float:
    return running * crew.price(carrier.replace(" ", "-")) if running else 0.0


def _loads(volume: float, mass: float, room: float, limit: float) -> float:
    return max(volume / room, mass / limit)
