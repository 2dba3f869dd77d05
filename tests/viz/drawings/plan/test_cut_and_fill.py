"""The cut-and-fill plan: bands from the exact triangles, colours neutral at zero."""

from __future__ import annotations

import pytest
import shapely
from make.plans.drawn import ALL, inks, planned, sheets

from grading.design.points import corners_of
from grading.units import feet_inches, slope
from viz.drawings.plan.cut_and_fill import shade
from viz.paper.compose import words_of
from viz.paper.drawing import Polyline
from viz.words.figures import DIRT, earth, small


def test_brown_is_dug_blue_green_is_built_and_zero_is_neutral():
    assert shade(0.0, 0.3) == "#f5f5f5"
    for depth in (0.05, 0.1, 0.3):
        red, green, blue = (int(shade(depth, 0.3)[k : k + 2], 16) for k in (1, 3, 5))
        assert red > green > blue
        red, green, blue = (int(shade(-depth, 0.3)[k : k + 2], 16) for k in (1, 3, 5))
        assert green > red
        assert blue > red


@pytest.mark.parametrize("name", ALL)
def test_the_coloured_bands_cover_the_dig(name):
    made = planned(name)
    for area in made.areas:
        view = sheets(name)[f"{area.area.name} cut-and-fill"].views[0]
        rings = [shapely.Polygon(part.rings[0], part.rings[1:]) for part in view.drawing.of("band")]
        covered = sum(ring.area for ring in rings)
        assert covered == pytest.approx(area.chosen_dig.dig_area, rel=1e-3)


@pytest.mark.parametrize("name", ["back-patio", "raised-patio"])
def test_the_plan_tells_the_figures_of_the_dig(name):
    made = planned(name)
    area = made.areas[0]
    dig = area.chosen_dig
    text = [w.words for w in words_of(inks(name, f"{area.area.name} cut-and-fill"))]
    assert earth(dig.cut, "ft") in text
    assert small(dig.max_dig, "ft", DIRT) in text
    assert f"fall {slope(area.finish.plane.fall, 'ft')}" in text
    assert ("no cut, no fill" in text) == bool(
        dig.above_formation.min() < 0 < dig.above_formation.max()
    )


def test_the_depth_at_a_corner_is_ground_less_subgrade():
    made = planned("raised-patio")
    area = made.areas[0]
    text = [w.words for w in words_of(inks("raised-patio", "raised patio cut-and-fill"))]
    for at, _ in corners_of(area.outline):
        xy = at[None]
        depth = float((made.ground.elevation(xy) - area.chosen_dig.formation.at(xy))[0])
        word = "fill" if depth < 0 else "cut"
        assert f"{word} {small(abs(depth), 'ft', DIRT)}" in text


def test_the_table_of_levels_holds_every_corner():
    made = planned("back-patio")
    area = made.areas[0]
    text = [w.words for w in words_of(inks("back-patio", "patio levels"))]
    corners = corners_of(area.outline)
    assert len(corners) == 7
    for at, _ in corners:
        finish = float(area.finish.plane.at(at[None])[0])
        assert feet_inches(finish) in text


def test_corners_of_a_round_paving_are_few():
    ring = shapely.Point(0, 0).buffer(3.0, quad_segs=64)
    assert 4 <= len(corners_of(ring)) <= 20


def test_every_line_of_the_key_looks_different():
    sheet = sheets("ridge")["patio cut-and-fill"]
    found = [part.pen for part in sheet.paper.of("key") if isinstance(part, Polyline)]
    zero = [part.pen for part in sheet.views[0].drawing.of("zero line")]
    pens = {(pen.dash, pen.width >= 0.3) for pen in found if pen.colour == "#1a1a1a"}
    assert len(pens) == len([pen for pen in found if pen.colour == "#1a1a1a"])
    assert zero
    assert all(pen in found and pen.dash for pen in zero)
