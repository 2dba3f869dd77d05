"""Crew hours: each task, its amount, and the rate that it is reckoned with."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence

from msgspec import Struct

from grading.crew.estimate import Points, Spread, mean_of
from grading.crew.factor import Factor, JobTime
from grading.crew.lines import Line, Work
from grading.crew.model import Crew
from grading.order.hauling import Haul
from grading.order.quantities import kind_of
from grading.order.takeoff import Takeoff


class Task(Struct, frozen=True):
    """One task.

    Attributes
    ----------
    title : str
    amount : float
        How much there is of it, in `measure`.
    measure : "m3", "m2", "m", "kg", "each" or ""
    rate : str
        Its name in the crew's rates.
    time : (low, likely, high)
        Of one person, at the crew's own factor. [s]
    machine : bool
        Whether the machine runs meanwhile.
    """

    title: str
    amount: float
    measure: str
    rate: str
    time: Points
    machine: bool = False

    @property
    def mean(self) -> float:
        """The mean time of one person. [s]"""
        return mean_of(self.time)


LAYING = ("lay-pavers", "lay-pavers-on-panels")
"""The rates that pavers are laid at: on a screeded bed that nobody may walk on, and on panels."""


def tasks_of(
    jobs: Sequence[Takeoff], lines: Sequence[Line], haul: Haul, crew: Crew, whole_site: bool
) -> tuple[Task, ...]:
    """Return the tasks of some areas together.

    Parameters
    ----------
    jobs, lines, haul, whole_site : as for `works_of`
    crew : Crew
        Rates.
    """
    return timed(works_of(jobs, lines, haul, whole_site), crew)


def timed(works: Sequence[Work], crew: Crew) -> tuple[Task, ...]:
    """Return the tasks that work makes at the rates of a crew, and at the factor of its own jobs.

    Parameters
    ----------
    works : sequence of Work
    crew : Crew
    """
    tasks, told = [], crew.factor.told
    for title, amount, measure, rate, machine in works:
        low, likely, high = crew.rates[rate].values
        time = (amount * low * told, amount * likely * told, amount * high * told)
        tasks.append(Task(title, amount, measure, rate, time, machine))
    return tuple(tasks)


def works_of(
    jobs: Sequence[Takeoff], lines: Sequence[Line], haul: Haul, whole_site: bool
) -> tuple[Work, ...]:
    """Return the work of some areas together, whoever does it.

    Parameters
    ----------
    jobs : sequence of Takeoff
    lines : sequence of Line
        Of these jobs.
    haul : Haul
    whole_site : bool
        Whether setting out and mobilising count too.
    """
    works = list(_FIXED if whole_site and jobs else ())
    works += _digging(jobs, haul)
    works += _carrying(haul)
    works += _building(jobs, lines)
    works += (work for job in jobs for each in job.structures for work in each.works)
    return tuple(_summed(work for work in works if work.amount > 0))


def _summed(works: Iterable[Work]) -> Iterator[Work]:
    """Yield work that is called alike once: two drains have their pipe laid in one row."""
    alike: dict[tuple[str, str, str, bool], float] = {}
    for title, amount, measure, rate, machine in works:
        key = title, measure, rate, machine
        alike[key] = alike.get(key, 0.0) + amount
    for (title, measure, rate, machine), amount in alike.items():
        yield Work(title, amount, measure, rate, machine)


_FIXED = (
    Work("mobilise, protect, clean up", 1, "", "mobilise"),
    Work("set out, levels", 1, "", "set-out"),
)


def _digging(jobs: Sequence[Takeoff], haul: Haul) -> Iterator[Work]:
    if haul.way.digs:
        dug = haul.spoil.bank + haul.spoil.kept
        yield Work("dig and lift, in the bank", dug, "m3", "dig-by-loader", True)
        return
    soils: dict[str, float] = {}
    for job in jobs:
        soils[job.soil] = soils.get(job.soil, 0.0) + job.dug
    for soil, bank in soils.items():
        yield Work("dig by hand, in the bank", bank, "m3", f"dig-{soil}")
    yield Work("shovel spoil, in the bank", haul.spoil.bank, "m3", "load-spoil")


def _carrying(haul: Haul) -> Iterator[Work]:
    way = haul.way
    machine = way.carrier != "barrow"
    load = "load-by-loader" if way.digs else "load-stone"
    yield Work("load stone and sand, loose", haul.stone_loose, "m3", load, way.digs)
    yield Work("load and stack pavers", haul.pavers_mass, "kg", "carry-pavers")
    trips = haul.trips + haul.pavers.count
    there_and_back = 2 * way.path * trips
    yield Work("way there and back", there_and_back, "m", way.speed, machine)
    yield Work("tip and wait, trips", trips, "each", way.tip, machine)


_JOINTS = (
    ("compact, fill joints, clean", "joint", ("polymeric sand",)),
    ("compact, sweep in what stays loose", "joint-loose", ("jointing sand", "chips")),
    ("compact, work in compound, wash off", "joint-wet-laid", ("wet-laid compound",)),
)
"""What filling the joints is called, its rate, and with what they are filled."""


def _building(jobs: Sequence[Takeoff], lines: Sequence[Line]) -> Iterator[Work]:
    total: dict[str, float] = {}
    for line in lines:
        kind = kind_of(line.item)
        total[kind] = total.get(kind, 0.0) + line.net
    bedding = {layer.layer.name for job in jobs for layer in job.layers
               if layer.layer.role == "bedding"}  # fmt: skip
    stone = sum(line.net for line in lines
                if line.compacted and line.item and line.title not in bedding)  # fmt: skip
    yield Work("lay geotextile", total.get("geotextile", 0.0), "m2", "lay-fabric")
    yield Work("lay geogrid", total.get("geogrid", 0.0), "m2", "lay-fabric")
    yield Work("lay underdrain", total.get("underdrain", 0.0), "m", "lay-underdrain")
    yield Work("waterproof the wall", total.get("waterproofing", 0.0), "m2", "waterproof")
    yield Work("spread and compact stone", stone, "kg", "place-base")
    layers = [layer for job in jobs for layer in job.layers]
    screeded = sum(layer.area for layer in layers if layer.layer.role == "bedding")
    yield Work("screed bedding", screeded, "m2", "screed")
    panels = sum(layer.area for layer in layers if layer.layer.role == "panel")
    yield Work("lay panels", panels, "m2", "lay-panels")
    yield Work("fix panels", total.get("fixings", 0.0), "each", "fix-panels")
    for on_panels, rate in zip((False, True), LAYING, strict=True):
        laid = sum(job.pavers.area for job in jobs if _on_panels(job) == on_panels)
        words = "lay pavers on panels" if on_panels else "lay pavers"
        yield Work(words, laid, "m2", rate)
    cut = sum(job.pavers.field.cut_length for job in jobs)
    yield Work("cut pavers", cut, "m", "cut-pavers")
    yield Work("fix edge restraint", total.get("edging", 0.0), "m", "edge-restraint")
    shoulders = sum(job.free_edge for job in jobs if job.shoulder_area > 0)
    yield Work("shoulder of the edge", shoulders, "m", "shoulder")
    yield Work("lay border units", total.get("border", 0.0), "m", "lay-border")
    yield Work("form and place concrete", total.get("concrete", 0.0), "kg", "concrete")
    for words, rate, joints in _JOINTS:
        filled = sum(job.pavers.area for job in jobs if job.joint in joints)
        yield Work(words, filled, "m2", rate)
    yield Work("backfill the edge, lay sod", total.get("sod", 0.0), "m2", "repair-lawn")
    yield Work("loosen and seed lawn", total.get("seed", 0.0), "m2", "seed-lawn")


def _on_panels(job: Takeoff) -> bool:
    """Whether pavers are laid straight on panels, which may be walked on."""
    return job.panels is not None and job.dig.system.walked_on


def time_of(tasks: Sequence[Task], factor: Factor) -> JobTime:
    """Return the time of one person for all the tasks, with its range. [s]

    Parameters
    ----------
    tasks : sequence of Task
    factor : Factor
        Of the crew.

    Notes
    -----
    Tasks at one rate are slow or fast together; different rates vary independently, and one factor
    goes over all of them.
    """
    return JobTime(Spread(tuple(by_rate(tasks).values())), factor)


def by_rate(tasks: Iterable[Task]) -> dict[str, Points]:
    """Return the time that is worked at each rate. [s]"""
    parts: dict[str, Points] = {}
    for task in tasks:
        low, likely, high = parts.get(task.rate, (0.0, 0.0, 0.0))
        parts[task.rate] = low + task.time[0], likely + task.time[1], high + task.time[2]
    return parts
