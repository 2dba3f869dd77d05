"""Sites with things that a drawing cannot show: out of its window, too high, too small."""

from __future__ import annotations

from types import SimpleNamespace

import numpy as np
import pytest
import shapely
from make.sites.site_folder import AREA, HEAD, write_site

import grading
from grading.water.course import LowSpot
from grading.water.grid.relief import GROUND, Relief
from grading.water.ponds import pond_of
from viz.drawings.answers.edge import edge_answer
from viz.drawings.plan.grading import grading_sheet
from viz.drawings.plan.site_marks import draw_site_marks, site_keys
from viz.drawings.plan.water_marks import _pond
from viz.paper.compose import View, compose, words_of
from viz.paper.drawing import Drawing
from viz.paper.page import page_for, scales

SPOTS = "x,y,z\n0,0,100\n60,0,100\n60,20,99\n0,20,99\n30,10,99.5\n"

FAR_APART = (
    HEAD
    + """
[house]
walls  = [[0, 0], [60, 0]]
inside = [16, -8]

[[floor]]
kind = "lawn"
name = "low lawn"
at   = [[50, 13], [56, 13]]
z    = 90

[[meet]]
name = "old walk"
at   = [[50, 12], [56, 12]]
z    = 99.3
area = "far"

[[ceiling]]
kind = "siding"
name = "boarding"
at   = [[50, 0], [56, 0]]
z    = 101

[[area]]
name    = "near"
outline = [[2, 0], [12, 0], [12, 8], [2, 8]]

[[area]]
name    = "far"
outline = [[50, 0], [56, 0], [56, 12], [50, 12]]
"""
)


def planned(folder, text, **files):
    return grading.plan(grading.read_site(write_site(folder, text, **files)))


@pytest.fixture(scope="module")
def far_apart(tmp_path_factory):
    return planned(tmp_path_factory.mktemp("far"), FAR_APART, spots=SPOTS)


def test_what_lies_outside_the_plan_of_one_area_is_drawn_on_that_of_the_other(far_apart):
    said = []
    for area in far_apart.areas:
        page = page_for("ft", None)
        words = [each.words for each in words_of(compose(grading_sheet(far_apart, area, page)))]
        said.append(" ".join(words))
    near, far = said
    for name in ("low lawn", "old walk"):
        assert name in far
        assert name not in near


@pytest.mark.parametrize(
    "window",
    [shapely.box(0, 0, 4, 3), shapely.box(15.2, 3.9, 16.0, 4.1), shapely.box(17.0680, 3, 18, 4),
     shapely.Polygon()],
    ids=["elsewhere", "a part of it", "an end of it", "nothing"],
)  # fmt: skip
def test_a_window_may_leave_any_of_it_out(far_apart, window):
    for area in far_apart.areas:
        view = View(Drawing("plan"), scales("ft")[8], (0.0, 0.0))
        draw_site_marks(view, far_apart, area, window)
        site_keys(far_apart, area, window)


def test_a_plane_far_above_the_ground_is_drawn_at_a_scale_at_which_it_fits(tmp_path):
    high = '{at = [2, 0], z = 145, fall = "2 %", bearing = 0}'
    plan = planned(tmp_path, f"{HEAD}{AREA}plane = {high}\n")
    *_, sheet = edge_answer(plan, plan.areas[0])
    strip = sheet.views[-1]
    highest = max(float(np.nanmax(one.height)) for one in plan.areas[0].edge_runs)
    assert highest > 13
    assert strip.exaggeration == 1
    assert strip.scale.mm(highest) < sheet.page.height


def small_pond(wet):
    """Return a pond in the cells given on a grid of 10 cm that is 1 m all over, and its water."""
    z = np.ones((9, 9))
    z[wet] = 0.5
    kind = np.full(z.shape, GROUND, np.int16)
    grid = Relief(z, kind, 0.1, np.zeros(2), np.array([1.0, 0.0]))
    at = grid.centres(np.flatnonzero(z.ravel() < 1)[:1])[0]
    cells = int((z < 1).sum())
    spot = LowSpot(at, at, 0.5, 1.0, 0.005 * cells, 0.01 * cells, (), None, 0.0)
    return SimpleNamespace(relief=grid), spot


@pytest.mark.parametrize("wet", [np.s_[4, 4], np.s_[4, 2:6], np.s_[3:5, 3:5]])
def test_a_pond_of_a_cell_or_a_row_of_them_is_drawn(wet):
    water, spot = small_pond(wet)
    shape = pond_of(water, spot)
    assert shape.area == pytest.approx(spot.area, rel=0.5)
    assert shape.covers(shapely.Point(spot.at))
    view = View(Drawing("water"), scales("m")[3], (0.0, 0.0))
    _pond(view, water, spot, 1, "m")
    assert view.drawing.of("pond")
    assert view.drawing.of("pond dashes")
