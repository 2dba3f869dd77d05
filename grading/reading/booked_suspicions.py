"""What of level books is possible but hardly meant: long sights, points that are no ground."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from grading.site.model import Site
from grading.site.survey_tables import same_name
from grading.site.tables import Along
from grading.site.water_tables import Outfall
from grading.survey.booked import idle_points, levels_against
from grading.survey.closure import TOLD
from grading.survey.levels import levels_of
from grading.survey.taped import taped_of


def booked_suspicions(site: Site) -> Iterator[str]:
    """Give a sentence for each thing in the level books of a site that is worth a second look.

    Parameters
    ----------
    site : Site
        A site that was read without error.
    """
    levels = levels_of(site)
    if levels is None:
        return
    places, told = taped_of(site), _told(site)
    yield from levels.warnings
    yield from idle_points(levels, places, told)
    yield from levels_against(levels, told, site.in_force[TOLD], site.unit)
    for each in places.tied:
        yield from each.warnings(site.unit)


def _told(site: Site) -> dict[str, tuple[float, ...]]:
    """Return the levels that the site file has for things, by what a book may call them. [m]"""
    told: dict[str, tuple[float, ...]] = {}
    for door in site.doors:
        told[same_name(door.name)] = told[same_name(f"{door.name} sill")] = (door.sill,)
    things: Sequence[Along | Outfall] = (
        *site.ceilings, *site.floors, *site.meets, *site.outfalls,
    )  # fmt: skip
    for thing in things:
        if thing.z:
            z = thing.z if isinstance(thing.z, tuple) else (thing.z,)
            told[same_name(thing.name)] = (*told.get(same_name(thing.name), ()), *z)
    return told
