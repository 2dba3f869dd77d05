"""Whether the backfill of a foundation is still to settle, and why not where it is not."""

from __future__ import annotations

from grading.site.model import Site
from grading.site.walls import walls_in_reach

SETTLED = 7.0
"""Age from which the backfill of a house counts as settled: common practice, no source. [years]"""
FIRST_YEAR = 1.0
"""Least wait before paving on backfill at all: common practice, no source. [years]"""


def settles(age: float | None) -> bool | None:
    """Say whether the backfill of a house of this age [years] settles; None if it is not known."""
    return None if age is None else age < SETTLED


def age_words(age: float) -> str:
    """Say how old a house is, and what its backfill does for it. [years]"""
    does = "settles still" if settles(age) else "has settled"
    return f"the house is {age:g} years old: its backfill {does}"


def rests(site: Site) -> str:
    """Say why paving need not bear settlement by the wall; nothing where it must.

    Parameters
    ----------
    site : Site

    Returns
    -------
    str
        A sentence without its full stop, empty where the backfill settles, or may, untreated.
    """
    chosen, depth = site.backfill.treatment, site.backfill.depth
    done = {
        "strip": "the paving keeps off the backfill, which a strip of planting or stone covers"
        if _keeps_off(site)
        else "",
        "stone": "the backfill is rebuilt in compacted stone",
        "firm": "the backfill is dug to firm ground and filled in lifts" if depth else "",
        "slab": "a slab bridges the backfill",
    }.get(chosen, "")
    age = None if site.house is None else site.house.age
    if done or age is None or settles(age):
        return done
    return f"the backfill of a house {age:g} years old has settled"


def _keeps_off(site: Site) -> bool:
    """Whether no paving lies on the backfill: a strip that is paved all the same is none."""
    width = site.backfill.width or site.in_force["backfill-zone"]
    return not any(walls_in_reach(site.house, area.polygon, width) for area in site.areas)
