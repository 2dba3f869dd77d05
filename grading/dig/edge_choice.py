"""What holds the free edge of an area on each base: the edge that its site gives, or the advised.

The edge decides how far the hole reaches beyond the paving, so it is chosen before the dig, from
the base, the use and what the area meets; what is raised is a wall's in any case.
"""

from __future__ import annotations

from collections.abc import Mapping

import shapely

from grading.catalogue.bases import BaseSystem, tags_of
from grading.catalogue.edge_kinds import SHOULDER, WALL
from grading.catalogue.suitability import Fact, Facts, judged, options, verdict
from grading.catalogue.verdicts import Verdict
from grading.geometry.free_edges import BESIDE
from grading.site.model import Site
from grading.site.tables import Area

_NOT_KNOWN = Fact(None, "")


def meeting_facts(site: Site, area: Area) -> dict[str, Fact]:
    """Return what an area's edge runs along that the site says it meets."""
    met = [
        each.name
        for each in site.meets
        if each.area in (None, area.name)
        and len(each.at) > 1
        and shapely.distance(shapely.LineString(each.at), area.polygon) < BESIDE
    ]
    names = " and ".join(met)
    return {"meets_any": Fact(bool(met), ""), "met": Fact(names, names)}


def base_facts(system: BaseSystem) -> dict[str, Fact]:
    """Return what a base system is built of, as the rules of edges and joints ask it."""
    tags = tags_of(system)
    return {
        "on_panels": Fact("panel" in tags, ""),
        "on_open": Fact("open" in tags, ""),
        "on_dense": Fact("dense" in tags, ""),
    }


def _before_the_finish(site: Site, area: Area, system: BaseSystem) -> Mapping[str, Fact]:
    """Return the facts of edges that are known before there is a finish."""
    raised = ("raised_edge_share", "raised_edge", "free_edge", "edge_above")
    return {
        "use": Fact(area.use, area.use),
        **base_facts(system),
        **meeting_facts(site, area),
        **dict.fromkeys(raised, _NOT_KNOWN),
    }


def edge_verdicts(facts: Facts, site: Site) -> tuple[Verdict, ...]:
    """Return what the rules say of every edge, in the order of the table."""
    limits, unit = site.in_force, site.unit
    return tuple(verdict(each, "edge", facts, limits, unit) for each in options("edge", unit))


def edge_laid(site: Site, area: Area, system: BaseSystem) -> str:
    """Return the edge that is laid along an area's free edge on a base system.

    Parameters
    ----------
    site : Site
    area : Area
    system : BaseSystem

    Returns
    -------
    str
        The one given, where the base can take it; else the one that suits the base best.
    """
    verdicts = edge_verdicts(_before_the_finish(site, area, system), site)
    shouldered = any(each.kind == SHOULDER for each in site.holds_of(area.name))
    asked = area.edge or (SHOULDER if shouldered else None)
    for one in verdicts:
        if one.option.name == asked and one.level != "rules out":
            return one.option.name
    others = [one for one in verdicts if one.option.name != WALL]
    return judged("edge", others, {}).verdicts[0].option.name
