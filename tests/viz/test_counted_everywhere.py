"""What is built beside the paving is counted and shown in every place, and none says it is not."""

from __future__ import annotations

import numpy as np
import pytest
import shapely
from make.plans.raised_yard import yard
from make.plans.sampled import sampled
from msgspec.structs import replace

import grading
import sample_sites
from grading.crew.price_table import PriceTable
from grading.order.sequence import build_ups
from grading.price.model import price_of
from grading.section.built import built_in
from grading.section.line import Line
from grading.setout.stated import by_rod
from grading.site.feature_tables import Backfill
from grading.units import FOOT
from viz.paper.page import page_for
from viz.scene.staging import stage
from viz.sheets.compile import Compiled
from viz.sheets.crew.built import built_page
from viz.sheets.head import Job
from viz.words.paving.structures import structure_lines, structures_in
from viz.words.uncounted import not_counted


def drained_on_backfill():
    site = grading.read_site(sample_sites.path("drained-patio"))
    table = {"treatment": "stone", "depth": "18 in", "width": "4 ft"}
    return replace(site, backfill=Backfill.model_validate(table, context={"unit": "ft"}))


YARDS = {
    "curb": ({"curb"}, lambda: yard(5, {"kind": "curb"})),
    "raised": (
        {"block wall", "membrane", "underdrain"},
        lambda: sampled("raised-patio"),
    ),
    "drained": (
        {"channel drain", "downspout extension", "dry well", "backfill treatment"},
        lambda: grading.plan(drained_on_backfill()),
    ),
}
"""What is built in each, by its kind."""


def through(area, structure):
    """Return a line out of the paving through what is built nearest to it, and how far that is."""
    inside = shapely.buffer(area.outline, -0.05)
    near = min(structure.solids, key=lambda each: float(each.footprint.distance(inside)))
    there = near.footprint.representative_point()
    start, end = shapely.get_coordinates(shapely.shortest_line(inside, there))
    if np.hypot(*(end - start)) < 0.01:
        start = shapely.get_coordinates(inside.centroid)[0]
    along = end - start
    return Line(start, along / np.hypot(*along)), float(there.distance(area.outline))


@pytest.mark.parametrize("name", YARDS)
def test_what_is_counted_is_in_the_dig_the_order_the_hours_and_every_picture_and_paper(name):
    kinds, make = YARDS[name]
    plan = make()
    (area,) = plan.areas
    order = plan.order.of(area)
    takeoff = order.takeoffs[area.chosen]
    structures = structures_in(plan.order)
    assert {each.kind for each in structures} == kinds
    # The dig: a union with the hole, so what each adds is summed with it.
    assert takeoff.dug == pytest.approx(
        area.chosen_dig.cut + sum(each.dug.bank for each in structures)
    )
    tasks = {task.title for task in plan.order.total.tasks}
    supplied = {supply.item for supply in plan.order.total.supplies}
    ordered = {line for _, line in order.chosen.lines}
    job = Job(plan, plan.order, page_for(plan.site.unit, None, portrait=True))
    with Compiled("crew") as sheet:
        (page,) = built_page(job, by_rod(plan), sheet)
    told, reported = str(page.data()), "\n".join(structure_lines(plan))
    drawn = {body.name for body in stage(plan, area, area.chosen).bodies}
    built = next(
        each for each in build_ups(plan.order, area, (area.outline,), plan.site.unit)
        if each.base == area.chosen
    )  # fmt: skip
    asked = {"margin": "28 %", "tax": "none", "deposit_most": "none"}
    crew = replace(plan.crew, pricing=PriceTable.model_validate(asked))
    price = price_of(replace(plan, crew=crew))
    for each in structures:
        # It is paid for, in a line of its own.
        (line,) = [line for line in price.lines if line.name == each.name]
        assert (line.area, line.kind, line.said) == (area.area.name, each.kind, each.plain)
        assert line.price > 0
    # What is bought for all of it is in the cost, by the crew's price of each, at the least.
    bought = sum(
        line.amount * crew.price(line.item)
        for each in structures for maker in each.makers for line in maker.lines(plan.crew)
    )  # fmt: skip
    assert 0 < bought <= price.sums.direct.material
    assert price.sums.direct_cost == pytest.approx(plan.order.total.cost.total)
    assert sum(line.price for line in price.lines) == pytest.approx(
        plan.order.total.cost.total / 0.72, abs=10
    )
    in_the_film = [each.name for step in built.steps for each in step.structures]
    for each in structures:
        assert each.solids
        if each.kind != "membrane":
            assert each.dug.bank > 0
        lines = [line for maker in each.makers for line in maker.lines(plan.crew)]
        assert lines
        assert ordered >= set(lines)
        # Each of its lines is bought, and each of its works takes time.
        assert supplied >= {line.item for line in lines}
        assert tasks >= {work.title for work in each.works}
        assert each.name in drawn
        assert in_the_film.count(each.name) == 1
        assert each.name in told
        assert each.said in reported
        assert each.plain
        line, far = through(area, each)
        # A section shows the ground beside the paving, not the whole yard.
        assert far > FOOT or built_in([each], plan.sections.along(area, line))
        assert not any(each.name in said for said in not_counted(plan))
