"""The sheet of details: steps at doors and between areas, wedges under things, the high edge."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from typing import Any

from grading.design.area import AreaPlan
from grading.design.door_steps import door_steps
from grading.design.steps import shared_edges
from grading.pipeline import Plan
from viz.drawings.details.cuts import (
    door_detail,
    draw_cut_detail,
    edge_detail,
    riser_detail,
)
from viz.drawings.details.wedge import draw_wedge
from viz.paper.compose import Sheet
from viz.paper.furniture import heading, title_block
from viz.paper.page import Box, Page

MOST = 4  # details on a sheet
Maker = Callable[[Sheet, Box], Any]


def details_of(plan: Plan, area: AreaPlan) -> Iterator[Maker]:
    """Yield a function for each detail that there is to show: it draws one into a box."""
    unit, name = plan.site.unit, area.area.name

    def cut(detail: Any) -> Maker:
        return lambda sheet, box: draw_cut_detail(sheet, box, detail, unit)

    for step in door_steps(area):
        found = door_detail(plan, area, step, unit)
        if found is not None:
            yield cut(found)
    for edge in shared_edges(plan):
        if edge.risers and name == edge.upper:
            found = riser_detail(plan, edge, unit)
            if found is not None:
                yield cut(found)
    for seat in plan.advice.features:
        if seat.area == name:
            yield lambda sheet, box, seat=seat: draw_wedge(  # type: ignore[misc]
                sheet, box, area, seat, unit
            )
    found = edge_detail(plan, area, unit)
    if found is not None:
        yield cut(found)


def details_sheets(plan: Plan, area: AreaPlan, page: Page) -> list[Sheet]:
    """Return the details of one area, four to a sheet; none where there is nothing to show."""
    makers = list(details_of(plan, area))
    groups = [makers[k : k + MOST] for k in range(0, len(makers), MOST)]
    sheets = []
    for number, group in enumerate(groups, start=1):
        many = len(groups) > 1
        title = heading(area.area.name, "details")
        if many:
            title += f" ({number} of {len(groups)})"
        sheet = Sheet(page, f"details-{number}" if many else "details", title)
        words = []
        for box, make in zip(_boxes(page.body, len(group)), group, strict=False):
            words.append(make(sheet, box).scale.words.split(" (")[0])
        title_block(
            sheet, plan.site.name, area.area.name, plan.site.unit,
            ", ".join(dict.fromkeys(words)),
            note="Layers are compacted thicknesses. Wall thickness, doors and footings are not "
            "surveyed. What holds a raised edge is outlined, not designed.",
        )  # fmt: skip
        sheets.append(sheet)
    return sheets


def _boxes(body: Box, count: int) -> list[Box]:
    columns = body.columns([1] * min(count, 2), 6.0)
    if count <= 2:
        return columns
    half = body.height / 2
    return [
        Box(box.x0, low, box.x1, low + half - 4.0)
        for low in (body.y0 + half, body.y0)
        for box in columns
    ]
