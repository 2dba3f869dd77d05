"""The plan that the crew sets out from: centres and radii of arcs, and corners of holes."""

from __future__ import annotations

import numpy as np
import pytest
import shapely
from drawn import ALL, planned
from furnished import NAMES, furnished
from onpaper import outside, overlaps

from grading.design.levels import grid_of
from grading.design.points import circles_of, letters, named_points, with_holes
from grading.setout.model import set_out
from grading.units import FOOT
from viz.paper.compose import compose, words_of
from viz.paper.drawing import Arrow, Symbol
from viz.sheets.grid_plan import grid_plan
from viz.sheets.plain_plan import plain_plan
from viz.sheets.taped import _centres
from viz.words.figures import run


def plan_of(name):
    return furnished(name) if name in NAMES else planned(name)


def drawn(name, number):
    plan = plan_of(name)
    area = plan.areas[number]
    points = with_holes(area, named_points(area))
    grid = grid_of(area, plan.site.unit, points.xy)
    count = len(points.names)
    centres = letters(count + len(circles_of(area)))[count:]
    sheet = grid_plan(plan, area, grid, points, 182.0, centres)
    return area, points, grid, centres, sheet


@pytest.mark.parametrize("name", ["two terraces", "pocket", "raised-patio", "garden-court"])
def test_nothing_overlaps_on_the_plan_that_is_set_out_from(name):
    for number in range(len(plan_of(name).areas)):
        sheet = drawn(name, number)[-1]
        inks = compose(sheet)
        assert not overlaps(inks)
        assert not outside(inks, sheet.page)


def test_arcs_tell_their_radius_on_the_plan_and_their_centre_in_a_table():
    """By hand: a sagitta of 1.5 m on a chord of 8 m, and a round pocket of half a metre."""
    area, points, grid, centres, sheet = drawn("two terraces", 1)
    radius = (4.0**2 + 1.5**2) / (2 * 1.5)
    expected = [((5.0, 8.5 - radius), radius), ((3.5, 6.5), 0.5)]
    circles = circles_of(area)
    assert len(circles) == 2
    assert len(points.names) == points.corners
    text = " ".join(words.words for words in words_of(compose(sheet)))
    stakes = set_out(plan_of("two terraces")).areas[1]
    (table,) = _centres(stakes, "m")
    draw = sheet.views[0].drawing
    arrows = [part for part in draw.of("radius") if isinstance(part, Arrow)]
    assert len(arrows) == 2
    for circle, (at, long), name, row in zip(circles, expected, centres, table["rows"],
                                             strict=True):  # fmt: skip
        assert (*circle.centre, circle.radius) == pytest.approx((*at, long))
        assert f"radius {run(long, 'm')}" in text
        tips = np.array([arrow.end for arrow in arrows]) - at
        assert np.abs(np.hypot(*tips.T) - long).min() < 1e-6
        along, out = (np.array(at) - grid.origin) @ np.array([grid.along, grid.out]).T
        told = [name, f"{run(along, 'm')} along", f"{run(out, 'm')} out", run(long, "m")]
        assert [cell[0] for cell in row] == told
    # The centre of the outline lies beyond the plan: its name stands with the radius.
    assert f"radius {run(radius, 'm')}, centre {centres[0]}" in text
    (mark,) = (part for part in draw.of("centre of an arc") if isinstance(part, Symbol))
    assert mark.at == pytest.approx((3.5, 6.5))


def test_an_area_of_straight_sides_has_no_table_of_centres():
    assert not list(_centres(set_out(plan_of("pocket")).areas[0], "ft"))


def test_the_corners_of_a_hole_are_lettered_with_the_others():
    area, points, _, _, sheet = drawn("pocket", 0)
    plain = named_points(area)
    assert points.names[: len(plain.names)] == plain.names
    hole = {(2.5, 1.5), (3.5, 1.5), (3.5, 2.5), (2.5, 2.5)}
    assert {tuple(at) for at in (points.xy[len(plain.xy) :] / FOOT).round(6)} == hole
    away = points.xy[len(plain.xy) :] + 0.02 * points.away[len(plain.xy) :]
    assert not shapely.contains_xy(area.outline, *away.T).any()
    marked = [part.at for part in sheet.views[0].drawing.of("corner") if isinstance(part, Symbol)]
    assert hole <= {(round(x / FOOT, 6), round(y / FOOT, 6)) for x, y in marked}


@pytest.mark.parametrize("name", [*ALL, *NAMES])
def test_no_dimension_of_the_plan_for_the_homeowner_is_cut_off(name):
    plan = plan_of(name)
    for area in plan.areas:
        sheet = plain_plan(plan, area)
        inks = compose(sheet)
        for words in words_of(inks):
            corners = np.array(words.corners)
            assert corners.min() >= 0, words.words
            assert np.all(corners.max(axis=0) <= (sheet.page.width, sheet.page.height)), words.words
