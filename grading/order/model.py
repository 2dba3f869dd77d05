"""The order of a plan: what every area takes on every base system, and the site as a whole."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from functools import cached_property

from msgspec import Struct

from grading.catalogue.bases import base_systems
from grading.crew.factor import JobTime
from grading.crew.lines import Line
from grading.crew.model import Crew, Entry
from grading.design.area import AreaPlan
from grading.design.model import Design
from grading.order.hauling import Haul, Way, haul_of, loads, way_of
from grading.order.labour import Task, tasks_of, time_of
from grading.order.lawn_worn import SITE, site_makers
from grading.order.money import Cost, cost_of
from grading.order.quantities import lines_of
from grading.order.recount import Recount
from grading.order.supplies import Supply, supplies_of
from grading.order.takeoff import Takeoff, takeoffs_of
from grading.units import Unit

CHOSEN = "chosen"
"""The site with every area on the base system chosen for it."""


class Job(Struct, frozen=True):
    """Some areas, each on one base system: what is ordered, moved, worked and paid.

    Attributes
    ----------
    jobs : tuple of Takeoff
    lines : tuple of (str, Line)
        Each with the name of its area; `SITE` for what no area takes.
    supplies : tuple of Supply
        Rounded up once for all areas.
    haul : Haul
    tasks : tuple of Task
    time : JobTime
        Of one person. [s]
    cost : Cost
    """

    jobs: tuple[Takeoff, ...]
    lines: tuple[tuple[str, Line], ...]
    supplies: tuple[Supply, ...]
    haul: Haul
    tasks: tuple[Task, ...]
    time: JobTime
    cost: Cost

    @property
    def cut(self) -> float:
        """Everything dug, in the bank. [m3]"""
        return sum(job.dug for job in self.jobs)

    @property
    def fill(self) -> float:
        """Everything refilled below the build-up, compacted. [m3]"""
        return sum(job.dig.fill for job in self.jobs)


def job_of(jobs: Sequence[Takeoff], way: Way, crew: Crew, unit: Unit, whole_site: bool) -> Job:
    """Return what some areas take together.

    Parameters
    ----------
    jobs : sequence of Takeoff
    way : Way
    crew : Crew
    unit : "ft" or "m"
        Stone is ordered by the ton or by the tonne.
    whole_site : bool
        Whether setting out, mobilising and the lawn that the way in wears count too.
    """
    named = tuple((job.area.name, line) for job in jobs for line in lines_of(job, crew, unit))
    if whole_site:
        makers = site_makers(jobs, way.access, unit)
        named += tuple((SITE, line) for maker in makers for line in maker.lines(crew))
    lines = [line for _, line in named]
    supplies = supplies_of(lines, crew, unit)
    haul = haul_of(jobs, supplies, way, crew)
    tasks = tasks_of(jobs, lines, haul, crew, whole_site)
    time = time_of(tasks, crew.factor)
    cost = cost_of(supplies, haul, tasks, time, crew)
    return Job(tuple(jobs), named, supplies, haul, tasks, time, cost)


class AreaOrder(Struct, frozen=True):
    """One area: its plan, and the job on each base system, rounded up for itself."""

    area: AreaPlan
    takeoffs: Mapping[str, Takeoff]
    bases: Mapping[str, Job]

    @property
    def chosen(self) -> Job:
        """The job on the base system chosen."""
        return self.bases[self.area.chosen]


class Order(Struct, frozen=True, eq=False, dict=True):
    """A plan with all that it takes.

    Attributes
    ----------
    plan : Design
    crew : Crew
    way : Way
    areas : tuple of AreaOrder
    """

    plan: Design
    crew: Crew
    way: Way
    areas: tuple[AreaOrder, ...]

    @cached_property
    def site(self) -> Mapping[str, Job]:
        """The whole site: with the bases chosen, and with each base system under every area."""
        chosen = [area.area.chosen for area in self.areas]
        same = self.alike[chosen[0]] if len(set(chosen)) == 1 else self._counted(chosen)
        return {CHOSEN: same, **self.alike}

    @cached_property
    def alike(self) -> Mapping[str, Job]:
        """The whole site with each base system under every area."""
        return {name: self._counted([name] * len(self.areas)) for name in self.bases}

    @property
    def bases(self) -> tuple[str, ...]:
        """The base systems that are counted."""
        return tuple(self.areas[0].bases) if self.areas else ()

    @property
    def costs(self) -> Mapping[str, Cost]:
        """What the whole site costs on each base system."""
        return {name: job.cost for name, job in self.alike.items()}

    def _counted(self, bases: Sequence[str]) -> Job:
        jobs = [area.takeoffs[base] for area, base in zip(self.areas, bases, strict=True)]
        return job_of(jobs, self.way, self.crew, self.plan.site.unit, True)

    @cached_property
    def recounts(self) -> Mapping[str, Recount]:
        """The whole site on each base system, ready to be counted with one thing changed."""
        site = self.plan.site
        return {
            name: Recount(
                tuple(area.takeoffs[name] for area in self.areas), site.access, self.crew, site.unit
            )
            for name in self.bases
        }

    def having_one(self, entry: Entry, value: float) -> Mapping[str, Cost]:
        """Return what the site costs, on each base system, a crew with another value of a figure.

        Parameters
        ----------
        entry, value : as for `Recount.having`
        """
        return {name: one.having(entry, value) for name, one in self.recounts.items()}

    def of(self, area: AreaPlan) -> AreaOrder:
        """Return what one area of the plan takes."""
        return next(each for each in self.areas if each.area.name == area.name)

    def alone(self, area: AreaOrder) -> Mapping[str, Job]:
        """Return what an area takes on each base system, as it is told of: where it is the whole
        site, with setting up and cleaning up, so that one job has one figure of hours and days.
        """
        return area.bases if len(self.areas) > 1 else self.alike

    @property
    def total(self) -> Job:
        """The whole site with the bases chosen."""
        return self.site[CHOSEN]

    def days(self, job: Job, share: float) -> float:
        """Return the working days of the crew that a share of such jobs stay below.

        Parameters
        ----------
        job : Job
        share : float
            0.5 for as many above as below.
        """
        return job.time.quantile(share) / self.crew_day

    @property
    def crew_day(self) -> float:
        """Time that the whole crew works in a day. [s]"""
        return self.crew["crew-day"] * self.crew["crew-size"]

    def mean_days(self, job: Job) -> float:
        """Return the working days that the whole crew takes for a job, the mean."""
        return job.time.mean / self.crew_day

    def bin_filled(self, job: Job) -> tuple[float, float]:
        """Return how full each bin of a job comes out, and how full its weight lets it be. [ratio]

        1 is its brim; what its weight allows is 1 where the room in it governs.
        """
        spoil, bins, full = job.haul.spoil, job.haul.bins, self.crew["bin-volume"]
        if not bins.count:
            return 0.0, 1.0
        heavy = bins.governed == "weight"
        limit = spoil.loose / spoil.mass * self.crew["bin-mass"] / full if heavy else 1.0
        return min(spoil.loose / bins.count / full, 1.0), limit

    def having(self, crew: Crew) -> Order:
        """Return the order of a crew whose figures differ in anything but the sizes of pieces.

        Parameters
        ----------
        crew : Crew
            With the same panels, rolls and pavers: what was laid out stays as it is.
        """
        way = way_of(self.plan.site.access, crew, self.plan.site.unit)
        return _order(self.plan, crew, way, [area.takeoffs for area in self.areas])


def order_of(plan: Design, crew: Crew) -> Order:
    """Return all that a plan takes.

    Parameters
    ----------
    plan : Design
    crew : Crew
    """
    crew = crew.selling(base_systems(plan.site.systems, plan.site.nominal).values())
    way = way_of(plan.site.access, crew, plan.site.unit)
    return _order(plan, crew, way, [takeoffs_of(plan, area, crew) for area in plan.areas])


def _order(plan: Design, crew: Crew, way: Way, takeoffs: Sequence[Mapping[str, Takeoff]]) -> Order:
    unit = plan.site.unit
    return Order(
        plan,
        crew,
        way,
        tuple(
            AreaOrder(
                area,
                jobs,
                {name: job_of([job], way, crew, unit, False) for name, job in jobs.items()},
            )
            for area, jobs in zip(plan.areas, takeoffs, strict=True)
        ),
    )


def bins_between(order: Order) -> tuple[int, int] | None:
    """Return the least and the most bins of soil that the whole job may fill, nine times in ten.

    None where the spots are too few to say how well the ground is known.

    Parameters
    ----------
    order : Order

    Notes
    -----
    What the ground lies higher or lower than drawn is subsoil: topsoil is as deep as it was probed.
    """
    known = order.plan.uncertainty
    if known is None:
        return None
    crew, soil, spoil = order.crew, order.plan.site.ground.soil, order.total.haul.spoil

    # How well the ground is known is told of the holes of the paving, trenches beside them apart.
    drawn = order.plan.dug

    def count(cut: float) -> int:
        more = cut - drawn
        loose = max(spoil.loose + more * (1 + crew[f"{soil}-swell"]), 0.0)
        mass = max(spoil.mass + more * crew[f"{soil}-bank"], 0.0)
        return loads(loose, mass, crew["bin-volume"], crew["bin-mass"]).count

    return count(known.cut.low), count(known.cut.high)
