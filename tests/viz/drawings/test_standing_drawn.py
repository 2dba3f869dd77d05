"""What stands on a base of its own, drawn as it is ordered: in section, plan and scene."""

from __future__ import annotations

from functools import cache

import numpy as np
import pytest
import shapely
from advised import AT_THE_WALL, patio, planned
from onpaper import outside, overlaps

from grading.crew.model import default_crew
from grading.order.model import order_of
from grading.order.sequence import build_ups
from grading.order.takeoff import takeoffs_of
from grading.units import INCH
from viz.drawings.details.sheet import details_sheets
from viz.drawings.plan.grading import grading_sheet
from viz.drawings.section.sheet import section_cut, section_sheet
from viz.paper.compose import compose
from viz.paper.page import page_for
from viz.scene.frame import frame_of
from viz.scene.layers.cutaway import cutaway_of
from viz.scene.staging import stage

PIT = {"name": "pit", "kind": "wood fire", "at": [5, 2.8], "size": [1.0, 1.0], "height": 0.4}
BENCH = {"name": "bench", "kind": "seat wall", "at": [7.5, 2.5], "size": [4.2, 0.45],
         "height": 0.45}  # fmt: skip
TABLE = {"name": "table", "kind": "gas fire feature", "at": [2.5, 3.0], "size": [1.2, 1.2]}
FALL = 0.028
SPREAD = 12 * INCH
"""Round a wood fire: common practice, no source."""


@cache
def made():
    steep = {**AT_THE_WALL, "fall": f"{100 * FALL} %"}
    return planned([patio(plane=steep)], features=[PIT, BENCH, TABLE])


def rod(cut, x, y):
    s = float((np.array([x, y]) - cut.start) @ cut.along)
    return shapely.LineString([(s, 0.0), (s, 99.0)])


def met(cut, name, x, y):
    """Return how thick a solid of the cut is at a place in plan. [m]"""
    shapes = [solid.shape for solid in cut.solids if solid.name == name]
    return shapely.union_all(shapes).intersection(rod(cut, x, y)).length


def test_the_section_cuts_the_paving_out_as_the_order_does():
    """Down the fall at x = 5, through the pit: it lies from y = 2.3 to 3.3, its base 12 in more."""
    area = made().areas[0]
    cut = section_cut(made(), area, area.chosen_dig, "down")
    layers = {layer.name: layer for layer in area.chosen_dig.system.layers}
    for y, paved, based in (
        (1.0, True, True), (2.3 - SPREAD - 0.01, True, True), (2.3 - SPREAD + 0.01, True, False),
        (2.29, True, False), (2.31, False, False), (3.29, False, False), (3.31, True, False),
        (3.3 + SPREAD + 0.01, True, True),
    ):  # fmt: skip
        for name, layer in layers.items():
            laid = paved if layer.role == "paver" else based
            assert met(cut, name, 5, y) == pytest.approx(layer.thickness if laid else 0.0), (
                y,
                name,
            )


def test_its_base_lies_where_and_as_deep_as_the_plan_says():
    area = made().areas[0]
    cut = section_cut(made(), area, area.chosen_dig, "down")
    (pit,) = cut.standing
    assert pit.name == "pit"
    a, low, b, high = pit.base.bounds
    level = 30.1 - FALL * 3.3  # of the lowest finish beside it
    assert b - a == pytest.approx(1.0 + 2 * SPREAD)
    assert (low, high) == pytest.approx((level - 6 * INCH, level))
    assert pit.material == "dense-graded"
    a, low, b, _ = pit.body.bounds
    assert (b - a, low) == pytest.approx((1.0, level))


def test_solids_things_and_bases_do_not_overlap():
    area = made().areas[0]
    for which in ("down", "across"):
        for dig in area.digs.values():
            cut = section_cut(made(), area, dig, which)
            for k, one in enumerate(cut.solids):
                for two in cut.solids[k + 1 :]:
                    assert one.shape.intersection(two.shape).area < 1e-7, (one.name, two.name)
                for thing in cut.standing:
                    assert one.shape.intersection(thing.body).area < 1e-7


def test_on_another_base_what_stands_on_bedding_there_is_not_cut_out():
    area = made().areas[0]
    standing = {
        name: [thing.name for thing in section_cut(made(), area, dig, "across").standing]
        for name, dig in area.digs.items()
    }
    assert standing == {"panel": ["pit", "bench"], "dense": ["bench"], "open": ["bench"]}


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
