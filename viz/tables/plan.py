"""A plan for a spreadsheet: base systems, layers, checks, and the tables of all its parts."""

from __future__ import annotations

from grading.catalogue.rules import RULES
from grading.pipeline import Plan
from viz.table import Table, plan_areas, thicknesses, volumes
from viz.tables.advice import advice_tables
from viz.tables.answer import answer_tables
from viz.tables.finish import finish_tables
from viz.tables.water import water_tables
from viz.words.figures import DIRT


def plan_tables(plan: Plan) -> dict[str, Table]:
    """Return the tables that a spreadsheet opens, by their names; those with no rows left out.

    Parameters
    ----------
    plan : Plan
    """
    found = {
        "base-systems": _bases(plan), "layers": _layers(plan), **finish_tables(plan),
        **answer_tables(plan), **water_tables(plan), **advice_tables(plan.advice),
        "checks": checks_table(plan),
    }  # fmt: skip
    return {name: table for name, table in found.items() if table.rows}


def _bases(plan: Plan) -> Table:
    return Table.of(
        {
            "area": each.area.name, "base": name, "chosen": "yes" if name == each.chosen else "",
            **thicknesses("build-up", dig.build_up), **volumes("cut bank", dig.cut),
            **volumes("refill", dig.fill), **volumes("spoil loose", dig.spoil_loose),
            **thicknesses("deepest dig", dig.max_dig, DIRT), **plan_areas("dig area", dig.dig_area),
            **volumes("cut against chosen", each.difference(name)),
        }
        for each in plan.areas
        for name, dig in each.digs.items()
    )  # fmt: skip


def _layers(plan: Plan) -> Table:
    return Table.of(
        {
            "area": each.area.name, "base": name, "layer": part.layer.name,
            **thicknesses("thickness", part.layer.thickness, digits=1),
            **plan_areas("area", part.area), **volumes("compacted", part.volume),
        }
        for each in plan.areas
        for name, dig in each.digs.items()
        for part in dig.layers
    )  # fmt: skip


def checks_table(plan: Plan) -> Table:
    """Return what a plan is held to, in SI; nothing where a check has no value or no limit."""

    def plain(value: float | None) -> float | str:
        return "" if value is None else value

    return Table.of(
        {
            "status": check.status, "area": check.area, "rule": RULES[check.rule].title,
            "where": check.where, "value": plain(check.value),
            "limit": plain(check.limit), "unit": check.unit, "text": check.text,
            "source": check.source,
        }
        for check in plan.checks
    )  # fmt: skip
