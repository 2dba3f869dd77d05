"""Lawn that the work wears beside the paving: the way in, and the heaps of soil kept meanwhile."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from grading.crew.lines import Line, Maker, with_more
from grading.crew.model import Crew
from grading.order.soil import LEAST, Wanted, balance
from grading.order.takeoff import Takeoff
from grading.site.feature_tables import Access
from grading.units import Unit, area, run

SITE = "site"
"""Whose lines are those of no area."""


def site_makers(jobs: Sequence[Takeoff], access: Access, unit: Unit) -> Iterator[Maker]:
    """Yield what makes the lines that a whole site takes beside those of its areas.

    Parameters
    ----------
    jobs : sequence of Takeoff
        All of the site's.
    access : Access
    unit : "ft" or "m"
        What `how` is written in.
    """
    if not jobs or access.repair == "owner":
        return
    path = access.path if access.over == "lawn" else None
    wanted = tuple(job.soil_wanted for job in jobs)
    yield Maker(_worn, (wanted, jobs[0].soil, path, access.repair, unit))


def worn(
    wanted: Sequence[Wanted], soil: str, path: float | None, crew: Crew
) -> tuple[float, float]:
    """Return the lawn that the way in takes, and that under heaps of soil kept. [m2]

    Parameters
    ----------
    wanted : sequence of Wanted
        Of each area.
    soil : str
        Of the site.
    path : float or None
        Length of the way over lawn. [m]
    crew : Crew
        How wide it wears, and how high soil is heaped.
    """
    kept = [balance(each, crew) for each in wanted]
    loose = sum(
        each.topsoil * (1 + crew["organics-swell"]) + each.subsoil * (1 + crew[f"{soil}-swell"])
        for each in kept
    )
    return (path or 0.0) * crew["way-width"], loose / crew["heap-height"]


def _worn(
    wanted: Sequence[Wanted], soil: str, path: float | None, repair: str, unit: Unit, crew: Crew
) -> Iterator[Line]:
    way, heaps = worn(wanted, soil, path, crew)
    parts = []
    if way > LEAST:
        parts.append(f"{run(way / crew['way-width'], unit)} of way {run(crew['way-width'], unit)} "
                     "wide")  # fmt: skip
    if heaps > LEAST:
        parts.append(f"{area(heaps, unit)} under soil kept in heaps")
    if not parts:
        return
    title, how = "lawn worn by the work", " and ".join(parts)
    yield with_more(repair, title, "m2", way + heaps, how, crew[f"{repair}-waste"])
