"""What holds a raised edge, every way side by side, told in one place."""

from __future__ import annotations

from collections.abc import Iterator

from grading.choice.hold_ways import HoldWay
from grading.design.area import AreaPlan
from grading.order.telling import telling_of
from grading.pipeline import Plan
from grading.signs import listed
from grading.structures.holding.holds import holding_of
from grading.units import HOUR
from viz.table import Table


def hold_lines(plan: Plan) -> Iterator[str]:
    """Yield the ways to hold each raised edge, what the whole job takes with each beside them."""
    telling = telling_of(plan.order)
    for area in dict.fromkeys(way.area for way in plan.hold_ways):
        ways = [way for way in plan.hold_ways if way.area == area]
        counted = [way for way in ways if not way.refused]
        yield f"What holds the raised edge of {area}, every way on the same base:"
        yield Table.of(
            {
                "way": f"{way.kind}{' *' if way.planned else ''}",
                "hours": f"{way.time / HOUR:.0f}", "trips": way.trips,
                f"material ({telling.head})": telling.column(way.material),
                f"whole cost ({telling.head})": telling.column(way.cost),
                "": _said(way),
            }
            for way in counted
        ).grid()  # fmt: skip
        yield "* planned; hours, trips and cost are those of the whole job"
        for way in counted:
            yield from (f"  {way.kind}, beside that: {words}" for words in way.not_counted)
        yield from (f"  not {way.kind}: {way.refused}" for way in ways if way.refused)


def held_by(plan: Plan, area: AreaPlan) -> str:
    """Say what holds the raised edge of an area as it is planned; empty where some is not held."""
    holding = holding_of(plan, area, area.chosen)
    if holding.unheld or not holding.parts:
        return ""
    return listed(list(dict.fromkeys(f"the {part.kind}" for part in holding.parts)))


def _said(way: HoldWay) -> str:
    said = ["advised"] if way.advised else []
    return "; ".join([*said, *way.against[:1]])
