"""What fills the joints of an area on each base: what its site gives, or what is advised."""

from __future__ import annotations

from grading.catalogue.bases import BaseSystem
from grading.catalogue.suitability import Fact, judged, options, verdict
from grading.conditions.season import is_cold, laid_words
from grading.design.area import AreaPlan
from grading.design.underfoot import fall_of
from grading.dig.edge_choice import base_facts
from grading.site.model import Site
from grading.site.paver_table import Pavers
from grading.units import percent, size


def joint_facts(site: Site, area: AreaPlan, pavers: Pavers) -> dict[str, Fact]:
    """Return what the rules of joints ask of an area, whatever it is built on.

    Parameters
    ----------
    site : Site
    area : AreaPlan
    pavers : Pavers
        What is laid where the area says nothing else.
    """
    fall, laid = fall_of(area), laid_words(site.laying)
    wide = (area.area.pavers or pavers).joint
    return {
        "fall": Fact(fall, percent(fall)),
        "joint_width": Fact(wide, size(wide, site.unit)),
        "cold": Fact(is_cold(site.laying, site.frost), ""),
        "laid": Fact(laid, laid),
    }


def joint_laid(site: Site, area: AreaPlan, system: BaseSystem, pavers: Pavers) -> str:
    """Return what fills the joints of an area on a base system.

    Parameters
    ----------
    site : Site
    area : AreaPlan
    system : BaseSystem
    pavers : Pavers
        As for `joint_facts`.

    Returns
    -------
    str
        What is given, where the base can take it; else what is advised.
    """
    facts = {**base_facts(system), **joint_facts(site, area, pavers)}
    limits, unit = site.in_force, site.unit
    verdicts = [verdict(each, "joint", facts, limits, unit) for each in options("joint", unit)]
    for one in verdicts:
        if one.option.name == area.area.joint and one.level != "rules out":
            return one.option.name
    return judged("joint", verdicts, {}).verdicts[0].option.name
