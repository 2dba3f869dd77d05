"""Crew hours: each task, its amount, and the rate that it is reckoned with."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from grading.crew import Crew
from grading.estimate import Points, Spread, mean_of
from grading.hauling import Haul
from grading.quantities import Line
from grading.takeoff import Takeoff


@dataclass(frozen=True)
class Task:
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
        Of one person. [s]
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


def tasks_of(
    jobs: Sequence[Takeoff], lines: Sequence[Line], haul: Haul, crew: Crew, whole_site: bool
) -> tuple[Task, ...]:
    """Return the tasks of some areas together.

    Parameters
    ----------
    jobs : sequence of Takeoff
    lines : sequence of Line
        Of these jobs.
    haul : Haul
    crew : Crew
        Rates.
    whole_site : bool
        Whether setting out and mobilising count too.
    """
    tasks = list(_fixed(crew) if whole_site and jobs else ())
    tasks += _digging(jobs, haul, crew)
    tasks += _carrying(haul, crew)
    tasks += _building(jobs, lines, crew)
    return tuple(task for task in tasks if task.amount > 0)


def _task(
    title: str, amount: float, measure: str, rate: str, crew: Crew, machine: bool = False
) -> Task:
    low, likely, high = crew.rates[rate].values
    return Task(
        title, amount, measure, rate, (amount * low, amount * likely, amount * high), machine
    )


def _fixed(crew: Crew) -> Iterator[Task]:
    yield _task("mobilise, protect, clean up", 1, "", "mobilise", crew)
    yield _task("set out, levels", 1, "", "set-out", crew)


def _digging(jobs: Sequence[Takeoff], haul: Haul, crew: Crew) -> Iterator[Task]:
    if haul.way.digs:
        yield _task("dig and lift, in the bank", haul.spoil.bank, "m3", "dig-by-loader", crew, True)
        return
    soils: dict[str, float] = {}
    for job in jobs:
        soils[job.soil] = soils.get(job.soil, 0.0) + job.dig.spoil_bank
    for soil, bank in soils.items():
        yield _task("dig by hand, in the bank", bank, "m3", f"dig-{soil}", crew)
    yield _task("shovel spoil, in the bank", haul.spoil.bank, "m3", "load-spoil", crew)


def _carrying(haul: Haul, crew: Crew) -> Iterator[Task]:
    way = haul.way
    machine = way.carrier != "barrow"
    load = "load-by-loader" if way.digs else "load-stone"
    yield _task("load stone and sand, loose", haul.stone_loose, "m3", load, crew, way.digs)
    yield _task("load and stack pavers", haul.pavers_mass, "kg", "carry-pavers", crew)
    trips = haul.trips + haul.pavers.count
    there_and_back = 2 * way.path * trips
    yield _task("way there and back", there_and_back, "m", way.speed, crew, machine)
    yield _task("tip and wait, trips", trips, "each", way.tip, crew, machine)


def _building(jobs: Sequence[Takeoff], lines: Sequence[Line], crew: Crew) -> Iterator[Task]:
    total: dict[str, float] = {}
    for line in lines:
        total[line.item] = total.get(line.item, 0.0) + line.net
    bedding = {layer.layer.name for job in jobs for layer in job.layers
               if layer.layer.role == "bedding"}  # fmt: skip
    stone = sum(line.net for line in lines
                if line.compacted and line.item and line.title not in bedding)  # fmt: skip
    yield _task("lay geotextile", total.get("geotextile", 0.0), "m2", "lay-fabric", crew)
    yield _task("lay underdrain", total.get("underdrain", 0.0), "m", "lay-underdrain", crew)
    yield _task("waterproof the wall", total.get("waterproofing", 0.0), "m2", "waterproof", crew)
    yield _task("spread and compact stone", stone, "kg", "place-base", crew)
    layers = [layer for job in jobs for layer in job.layers]
    screeded = sum(layer.area for layer in layers if layer.layer.role == "bedding")
    yield _task("screed bedding", screeded, "m2", "screed", crew)
    panels = sum(layer.area for layer in layers if layer.layer.role == "panel")
    yield _task("lay panels", panels, "m2", "lay-panels", crew)
    for on_panels, rate in ((False, "lay-pavers"), (True, "lay-pavers-on-panels")):
        laid = sum(job.pavers.area for job in jobs if (job.panels is not None) == on_panels)
        words = "lay pavers on panels" if on_panels else "lay pavers"
        yield _task(words, laid, "m2", rate, crew)
    cut = sum(job.pavers.field.cut_length for job in jobs)
    yield _task("cut pavers", cut, "m", "cut-pavers", crew)
    yield _task("fix edge restraint", total.get("edging", 0.0), "m", "edge-restraint", crew)
    yield _task("compact, fill joints, clean", sum(job.pavers.area for job in jobs), "m2", "joint",
                crew)  # fmt: skip
    yield _task("backfill the edge, lay sod", total.get("sod", 0.0), "m2", "repair-lawn", crew)


def time_of(tasks: Sequence[Task]) -> Spread:
    """Return the time of one person for all the tasks, with its range. [s]

    Parameters
    ----------
    tasks : sequence of Task

    Notes
    -----
    Tasks at one rate are slow or fast together; different rates vary independently.
    """
    parts: dict[str, Points] = {}
    for task in tasks:
        low, likely, high = parts.get(task.rate, (0.0, 0.0, 0.0))
        parts[task.rate] = low + task.time[0], likely + task.time[1], high + task.time[2]
    return Spread(tuple(parts.values()))
