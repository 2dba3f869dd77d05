"""How the work goes, day by day, and what goes through the yard: for who lives there."""

from __future__ import annotations

import math
from collections.abc import Iterator

from grading.geometry.tolerances import ROUNDING
from grading.order.days import RAIN, days_of
from grading.order.labour import Task
from grading.units import counted, run
from viz.sheets.head import Job
from viz.words.plain import table

_MOST = 10  # days that are told one by one
_SHARE = 0.12  # of a day: work that takes less of it is not told for it
_SLACK = 0.1  # of a day: what is left over after so little is done on the day before


def days_told(job: Job, likely: float) -> list[dict[str, str]]:
    """Return what is done on each day, in the order of the tasks; none where there are too many.

    Parameters
    ----------
    job : Job
    likely : float
        Working days of the whole job.
    """
    parts = list(_parts(job))
    whole = sum(time for _, time in parts)
    count = max(math.ceil(likely - _SLACK), 1)
    if not whole or count > _MOST:
        return []
    told: list[dict[str, str]] = []
    for day in range(count):
        low, high = day * whole / count, (day + 1) * whole / count
        words, start = [], 0.0
        for name, time in parts:
            shared = min(start + time, high) - max(start, low)
            start += time
            if shared > _SHARE * (high - low) or shared >= time - ROUNDING:
                words.append(name)
        told.append({"day": f"Day {day + 1}", "words": _sentence(words)})
    return told


def _sentence(words: list[str]) -> str:
    said = "; ".join(dict.fromkeys(words))
    return f"{said[:1].upper()}{said[1:]}"


def _parts(job: Job) -> Iterator[tuple[str, float]]:
    """Yield what is done as it is told, and the mean time of it, in the order of the work. [s]"""
    names = table("day")
    order = list(dict.fromkeys(names.values()))
    found: dict[str, float] = {}
    for task in job.order.total.tasks:
        words = _words(task)
        found[words] = found.get(words, 0.0) + task.mean
    known = [(words, found.pop(words)) for words in order if words in found]
    # What has no words of its own is built before the pavers are laid.
    at = next((k for k, (words, _) in enumerate(known) if words == names["lay-pavers"]), len(known))
    yield from (*known[:at], *found.items(), *known[at:])


def _words(task: Task) -> str:
    """Return the words for a task: of its rate, of the part that its rate begins with, its own."""
    names = table("day")
    rate = task.rate
    while rate:
        if rate in names:
            return str(names[rate])
        rate = rate.rpartition("-")[0]
    return task.title


def way_told(job: Job) -> str:
    """Say by which way all of it goes, and what the weather does to the days.

    Parameters
    ----------
    job : Job
    """
    gate, haul = job.plan.site.access.gate, job.order.total.haul
    said = []
    if gate and haul.trips:
        said.append(f"Everything goes through your gate, {run(gate, job.unit)} wide.")
    said.append(str(table("pace")["rain"]))
    # Sand that sets hard sets in the dry.
    joints = [job.plan.advice.area(area.area.name).joint_shown for area in job.plan.areas]
    if any(joint is not None and joint.option.name == "polymeric" for joint in joints):
        said.append(str(table("pace")["dry"]))
    return " ".join(said)


def figures_told(job: Job) -> list[dict[str, str]]:
    """Return the figures of the whole job: days, bins, loads.

    Parameters
    ----------
    job : Job
    """
    order = job.order
    haul = order.total.haul
    days = days_of(order, order.total)
    carried = "stone, panels" if haul.panels.count else "stone"
    trips = haul.trips + haul.pavers.count
    by = "by barrow" if haul.way.carrier == "barrow" else f"by {haul.way.carrier}"
    return [
        {"large": days.counted,
         "words": f"of work, {days.crew}; eight such jobs in ten take {days.between}, {RAIN}"},
        {"large": counted(haul.bins.count, "bin"),
         "words": "of soil and roots, taken away"},
        {"large": counted(trips, "load"), "words": f"of soil, {carried} and pavers, {by}"},
    ]  # fmt: skip
