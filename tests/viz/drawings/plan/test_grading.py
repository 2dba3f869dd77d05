"""The grading plan: contours at their level, spot levels, section marks, layers."""

from __future__ import annotations

from functools import cache

import numpy as np
import pytest
import shapely
from make.by_lot import by_lot
from make.plans.drawn import ALL, SQUARE, planned
from make.plans.folded import FOLDED
from make.plans.furnished import NAMES, furnished
from make.sites.handmade import grid_of_spots, site_of
from measure.on_paper import bar_ratio, outside, overlaps

import sample_sites
from grading.design.contours import finish_contours
from grading.design.folds import panes_of, warped
from grading.design.points import corners_of
from grading.geometry.outline import Arc, curves_of, outline_polygon
from grading.pipeline import plan
from grading.units import feet_inches, length
from viz.drawings.plan.cut_and_fill import cutfill_sheet
from viz.drawings.plan.grading import grading_sheet
from viz.drawings.plan.levels import levels_sheet
from viz.drawings.plan.view import draw_house
from viz.paper.compose import View, compose, words_of
from viz.paper.drawing import Area, Drawing
from viz.paper.page import page_for, scales
from viz.words.figures import run, small

SITES = (*sample_sites.names(), *FOLDED, *NAMES)


@cache
def sheet_of(name, number=0, paper=None):
    made = planned(name)
    sheet = grading_sheet(made, made.areas[number], page_for(made.site.unit, paper))
    return sheet, compose(sheet)


def text_of(inks):
    return [words.words for words in words_of(inks)]


@pytest.mark.parametrize("paper", ["letter", "a4"])
@pytest.mark.parametrize("name", by_lot([*ALL, *NAMES], 0.25))
def test_no_words_overlap_and_nothing_leaves_the_page(name, paper):
    made = planned(name)
    page = page_for(made.site.unit, paper)
    for number, area in enumerate(made.areas):
        for sheet in (
            sheet_of(name, number, paper)[0],
            levels_sheet(made, area, page),
            cutfill_sheet(made, area, page),
        ):
            inks = compose(sheet)
            assert not overlaps(inks), (sheet.name, area.area.name)
            assert not outside(inks, sheet.page), (sheet.name, area.area.name)


@pytest.mark.parametrize("name", by_lot(SITES))
def test_the_sheet_tells_intervals_levels_falls_and_layers(name):
    made = planned(name)
    unit = made.site.unit
    for number, area in enumerate(made.areas):
        sheet, inks = sheet_of(name, number)
        text = text_of(inks)
        step, _ = finish_contours(area, unit)
        assert f"{small(step, unit)} on the finish" in text
        for at, _ in corners_of(area.outline, 16):
            finish = float(area.finish.surface.at(np.array([at]))[0])
            ground = float(made.ground.elevation(np.array([at]))[0])
            levels = [feet_inches(finish) if unit == "ft" else length(finish, "m"),
                      feet_inches(ground, 8) if unit == "ft" else length(ground, "m")]  # fmt: skip
            assert any(row.endswith(f"\N{BLACK CIRCLE} {levels[0]}") for row in text)
            assert f"\N{MULTIPLICATION SIGN} {levels[1]}" in text
        for layer in area.chosen_dig.system.layers:
            assert small(layer.thickness, unit) in text
        assert f"{small(area.chosen_dig.build_up, unit)} from finish to subgrade" in text
        arrows = [part for part in sheet.views[0].drawing.of("fall") if hasattr(part, "head")]
        panes = panes_of(area)
        if not warped(panes):
            assert len(arrows) == sum(pane.plane.fall >= 5e-4 for pane in panes)


@pytest.mark.parametrize("name", sample_sites.names())
def test_section_marks_stand_on_the_lines_that_the_sections_cut(name):
    made = planned(name)
    for number, area in enumerate(made.areas):
        sheet, _ = sheet_of(name, number)
        marks = [part for part in sheet.views[0].drawing.of("section mark")
                 if hasattr(part, "kind")]  # fmt: skip
        assert len(marks) == 4
        for pair, which in ((marks[:2], "down"), (marks[2:], "across")):
            cut = made.sections.of(area, which)
            for mark in pair:
                away = np.asarray(mark.at) - cut.start
                assert abs(away[0] * cut.along[1] - away[1] * cut.along[0]) < 1e-9


@pytest.mark.parametrize("name", by_lot([*sample_sites.names(), "in feet"]))
def test_the_scale_bar_is_true(name):
    made = planned(name)
    sheet, inks = sheet_of(name)
    ratio = bar_ratio(inks, made.site.unit)
    assert ratio == pytest.approx(sheet.views[0].scale.ratio)


def test_what_the_site_has_is_drawn_and_told():
    sheet, inks = sheet_of("in metres")
    text = text_of(inks)
    draw = sheet.views[0].drawing
    made = planned("in metres")
    drawn = [part for part in draw.of("feature") if hasattr(part, "rings")]
    assert len(drawn) == len(made.site.features)
    areas = sorted(shapely.Polygon(part.rings[0]).area for part in drawn)
    assert areas == pytest.approx(sorted(f.polygon.area for f in made.site.features))
    for words in ("fire table", "thing that stands on it", "siding or the like over it"):
        assert words in text
    assert draw.of("ceiling")
    _, inks = sheet_of("side-walkway")
    assert any("dryer vent" in row for row in text_of(inks))
    assert sheet_of("front-walk")[0].views[0].drawing.of("what is met")


def test_a_round_edge_tells_the_radius_of_the_circle_through_its_points():
    """The circumradius, a b c over four times the area: Euclid, Elements IV.5."""
    edges = [(0.0, 0.0), (4.0, 0.0), Arc((5.0, 1.0), (4.0, 2.0)), (0.0, 2.0)]
    (curve,) = curves_of(edges)
    assert curve.centre == pytest.approx((4.0, 1.0))
    assert curve.radius == pytest.approx(1.0)
    assert curve.middle == pytest.approx((5.0, 1.0))
    for outline in (
        [(0, 0), (6, 0), Arc((6.4, 3.1), (5.2, 5.0)), (0, 5)],
        [(0, 0), (0, 5), (5, 5), Arc((4.2, 2.0), (5.5, 0))],
    ):
        (curve,) = curves_of(outline)
        a, b, c = (np.array(p, float) for p in (curve.start, next(
            e.through for e in outline if isinstance(e, Arc)), curve.end))  # fmt: skip
        sides = [np.hypot(*(p - q)) for p, q in ((a, b), (b, c), (c, a))]
        twice = abs((b - a)[0] * (c - a)[1] - (b - a)[1] * (c - a)[0])
        assert curve.radius == pytest.approx(np.prod(sides) / (2 * twice))
        for point in (a, b, c, np.array(curve.middle)):
            assert np.hypot(*(point - curve.centre)) == pytest.approx(curve.radius)
        # The middle is on the paving's edge: between the chords that stand for the arc.
        edge = outline_polygon(outline).boundary
        assert edge.distance(shapely.Point(curve.middle)) < 2e-3


@pytest.mark.parametrize("name", ["back-patio", "raised-patio", "garden-court"])
def test_the_plan_of_levels_tells_every_radius_and_marks_its_centre(name):
    made = planned(name)
    area = made.areas[0]
    sheet = levels_sheet(made, area, page_for(made.site.unit))
    text = text_of(compose(sheet))
    radii = {round(c.radius, 6) for edges in (area.area.outline, *area.area.holes)
             for c in curves_of(edges)}  # fmt: skip
    assert radii
    for radius in radii:
        assert f"radius {run(radius, made.site.unit)}" in text
    centres = sheet.views[0].drawing.of("centre of an arc")
    assert len(centres) >= 1


def test_words_keep_off_the_doors_of_the_cut_and_fill_plan():
    from viz.paper.ink import Ink

    for name in ("back-patio", "front-walk", "garden-court"):
        made = planned(name)
        inks = compose(cutfill_sheet(made, made.areas[0], page_for(made.site.unit)))
        doors = [shapely.Polygon(ink.rings[0]) for ink in inks
                 if isinstance(ink, Ink) and ink.name == "door"]  # fmt: skip
        assert doors
        for words in words_of(inks):
            box = shapely.Polygon(words.corners)
            if words.words in ("A", "B"):
                continue  # a section mark stands where the section is cut
            assert all(box.intersection(door).area < 0.05 for door in doors), words.words


def test_ground_is_not_told_under_other_paving():
    made = furnished("two terraces")
    for area in made.areas:
        (other,) = (each for each in made.areas if each is not area)
        draw = grading_sheet(made, area, page_for("m")).views[0].drawing
        lines = shapely.union_all(
            [shapely.LineString(p.points) for p in draw.of("existing contour")]
        )
        assert lines.length > 1
        assert lines.intersection(other.outline.buffer(-1e-6)).length < 1e-6
        for part in draw.of("existing contour level"):
            assert lines.distance(shapely.Point(part.at)) < 1e-6


def test_a_door_ends_with_its_wall_and_with_the_plan():
    """A door 0.9 m wide, 0.2 m from the edge of the plan and 0.1 m from the end of the wall."""
    site = site_of(
        grid_of_spots(lambda x, y: 10 - 0.02 * y), [{"name": "patio", "outline": SQUARE}],
        house={"walls": [(-1.0, 0.0), (5.9, 0.0)], "inside": (3.0, -4.0)},
        doors=[{"name": "one", "at": [2.0, 0], "sill": 10.2},
               {"name": "two", "at": [5.8, 0], "sill": 10.2}],
    )  # fmt: skip
    made = plan(site)
    window = shapely.box(1.8, -2, 7, 5)
    view = View(Drawing(""), scales("m")[0], (0.0, 0.0))
    draw_house(view, made, window)
    doors = [np.array(part.rings[0])[:, 0] for part in view.drawing.of("door")
             if isinstance(part, Area)]  # fmt: skip
    ends = [(x.min(), x.max()) for x in doors]
    assert ends[0] == pytest.approx((1.8, 2.45))
    assert ends[1] == pytest.approx((5.35, 5.9))


def test_the_sheet_is_frozen_data_of_the_plan():
    made = planned("back-patio")
    with pytest.raises(AttributeError):
        made.areas = ()
    first = compose(grading_sheet(made, made.areas[0], page_for("ft")))
    again = compose(grading_sheet(made, made.areas[0], page_for("ft")))
    assert text_of(first) == text_of(again)
