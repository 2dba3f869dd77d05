"""The sheet of details: steps at doors and between areas, wedges under things, the high edge."""

from __future__ import annotations

from collections.abc import Callable, Iterator

from grading.conditions.seats import Seat
from grading.design.area import AreaPlan
from grading.design.door_steps import door_steps
from grading.design.steps import shared_edges
from grading.pipeline import Plan
from grading.structures.holding.holds import holding_of
from viz.drawings.details.cuts import (
    Detail,
    door_detail,
    draw_cut_detail,
    edge_detail,
    riser_detail,
)
from viz.drawings.details.wedge import draw_wedge
from viz.drawings.placing import end_sheet, sheets_of_groups
from viz.paper.compose import Sheet, View
from viz.paper.furniture import heading
from viz.paper.page import Box, Page

MOST = 4  # details on a sheet
Maker = Callable[[Sheet, Box], View]


def details_of(plan: Plan, area: AreaPlan) -> Iterator[Maker]:
    """Yield a function for each detail that there is to show: it draws one into a box."""
    unit, name = plan.site.unit, area.area.name

    def cut(detail: Detail | None) -> Iterator[Maker]:
        if detail is not None:
            yield lambda sheet, box: draw_cut_detail(sheet, box, detail, unit)

    def thing(seat: Seat) -> Maker:
        return lambda sheet, box: draw_wedge(sheet, box, area, seat, unit)

    for step in door_steps(area):
        yield from cut(door_detail(plan, area, step, unit))
    for edge in shared_edges(plan):
        if edge.risers and name == edge.upper:
            yield from cut(riser_detail(plan, edge, unit))
    yield from (thing(seat) for seat in plan.advice.features if seat.area == name)
    yield from cut(edge_detail(plan, area, unit))


def details_sheets(plan: Plan, area: AreaPlan, page: Page) -> Iterator[Sheet]:
    """Yield the details of one area, four to a sheet; none where there is nothing to show."""
    makers = list(details_of(plan, area))
    groups = [makers[k : k + MOST] for k in range(0, len(makers), MOST)]
    title = heading(area.area.name, "details")
    notes = "Layers are compacted thicknesses. Wall thickness, doors and footings are not surveyed."
    if any(not part.kind for part in holding_of(plan, area, area.chosen).parts):
        notes += " What holds a raised edge is outlined, not designed."
    for sheet, group in sheets_of_groups(page, "details", title, groups):
        words = [
            make(sheet, box).scale.words.split(" (")[0]
            for box, make in zip(_boxes(page.body, len(group)), group, strict=False)
        ]
        yield end_sheet(
            sheet, plan, [area], ", ".join(dict.fromkeys(words)), notes
        )  # fmt: skip


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
