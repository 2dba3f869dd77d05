"""What stands on a base of its own, drawn as it is ordered: in section, plan and scene."""

from __future__ import annotations

import numpy as np
import pytest
import shapely
from make.plans.advised import planned
from make.plans.pitted import made
from measure.on_paper import outside, overlaps

from grading.crew.model import default_crew
from grading.order.model import order_of
from grading.order.sequence import build_ups
from grading.order.takeoff import takeoffs_of
from viz.drawings.details.sheet import details_sheets
from viz.drawings.plan.grading import grading_sheet
from viz.drawings.section.body import draw_body
from viz.drawings.section.sheet import section_sheet
from viz.paper.compose import compose
from viz.paper.drawing import Drawing, Polyline
from viz.paper.page import page_for
from viz.scene.frame import frame_of
from viz.scene.layers.cutaway import cutaway_of
from viz.scene.staging import stage


def test_sections_details_and_plan_are_drawn_with_them_and_no_words_overlap():
    area, page = made().areas[0], page_for("m")
    plan = grading_sheet(made(), area, page)
    sections = [section_sheet(made(), area, which, page) for which in ("down", "across")]
    for sheet in (plan, *sections, *details_sheets(made(), area, page)):
        inks = compose(sheet)
        assert not overlaps(inks), sheet.title
        assert not outside(inks, page), sheet.title
    for sheet, things in zip(sections, (1, 2), strict=True):
        assert len(sheet.views[0].drawing.of("own base")) == things
    drawn = plan.views[0].drawing.of("own base")
    pads = shapely.union_all([seat.own_base.pad for seat in made().advice.features
                              if seat.stands == "own base"])  # fmt: skip
    points = shapely.points([point for part in drawn for point in part.points])
    assert len(drawn) == 2
    assert shapely.distance(points, pads.boundary).max() < 1e-9


def test_a_thing_beside_what_a_window_shows_is_not_drawn_in_it():
    """What is cut away whole has no bounds: its line would go through places that are no number."""
    cut = made().sections.of(made().areas[0], "down")
    assert cut.things
    _, bottom, high, _ = cut.things[0].body.bounds
    beside = Drawing()
    draw_body(beside, cut, shapely.box(high + 0.1, bottom - 1, high + 0.4, bottom + 1), 0.3)
    drawn = [part.points for part in beside.parts if isinstance(part, Polyline)]
    assert drawn
    assert all(np.isfinite(points).all() for points in drawn)
    assert not beside.of("thing")


@pytest.mark.parametrize("base", ["panel", "dense"])
def test_the_scene_leaves_out_what_the_order_does_and_shows_the_base(base):
    area = made().areas[0]
    scene = stage(made(), area, base)
    job = takeoffs_of(made(), area, default_crew())[base]
    for part in job.layers:
        (body,) = (each for each in scene.bodies if each.name == part.layer.name
                   and "apart" in each.shown and not each.pattern)  # fmt: skip
        assert _plan_area(body) == pytest.approx(part.area, rel=1e-5)
    shown = {each.name for each in scene.bodies}
    assert ("base of pit" in shown) == (base == "panel")
    assert "base of bench" in shown
    assert "base of table" not in shown


@pytest.mark.parametrize(("x", "wide"), [(3.0, 3.6), (7.0, 3.6), (5.0, 7.9)])
def test_a_base_that_takes_the_whole_opened_corner_is_drawn_too(x, wide):
    tub = {"name": "tub", "kind": "hot tub", "at": [x, 2.5], "size": [wide, 4.9], "bearing": 90}
    plan = planned(features=[tub])
    scene = stage(plan, plan.areas[0], "panel")
    numbers = {label.number for label in scene.labels if label.kind == "layer"}
    assert numbers == {entry.number for entry in scene.legend}


def _plan_area(body):
    """Return the area that a closed body of upright sides covers in plan. [m2]"""
    a, b, c = (body.vertices[body.faces[:, k], :2] for k in range(3))
    (ux, uy), (vx, vy) = (b - a).T, (c - a).T
    return float(np.abs(ux * vy - uy * vx).sum()) / 4


def test_the_film_lays_what_the_order_counts_and_the_base_first():
    """The bases come before the layers that end beside them, and are in no count of stone."""
    plan, area = made(), made().areas[0]
    bands = cutaway_of(frame_of(plan, area), area.outline).bands(area.outline, 3)
    order = order_of(plan, plan.crew)
    for built in build_ups(order, area, bands, plan.site.unit):
        job = takeoffs_of(plan, area, plan.crew)[built.base]
        pieces = [piece for step in built.steps for piece in step.pieces]
        for part in job.layers:
            laid = [each for each in pieces if each.name == part.layer.name]
            assert sum(each.volume for each in laid) == pytest.approx(part.volume)
            assert sum(each.footprint.area * each.thickness for each in laid) == pytest.approx(
                part.volume
            )
        names = [each.name for each in pieces if each.kind == "layer"]
        (base,) = (each for each in pieces if each.name == "base of its own")
        assert names[0] == base.name
        assert base.volume == 0
        hole = job.standing.pads.intersection(built.dig.polygon)
        assert base.footprint.area == pytest.approx(hole.area)
