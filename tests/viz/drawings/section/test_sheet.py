"""Sections measured back: layers in order, thickness, levels and figures as the plan has them."""

from __future__ import annotations

import numpy as np
import pytest
import shapely
from make.plans.advised import planned as yard
from make.plans.drawn import inks, planned, sheets
from make.plans.furnished import furnished
from measure.on_paper import outside
from msgspec.structs import replace

from viz.drawings.section.body import draw_body
from viz.drawings.section.notes import sill_words
from viz.drawings.section.sheet import section_sheet, way_of
from viz.paper.compose import compose, words_of
from viz.paper.drawing import Drawing, Turf
from viz.paper.page import page_for
from viz.words.figures import DIRT, earth, earth_between, level, small

SITES = ("back-patio", "raised-patio", "garden-court", "hill behind", "pocket", "narrow")


def said(name, sheet):
    return [w.words for w in words_of(inks(name, sheet))]


def test_a_door_of_another_area_is_told_above_that_area():
    """The wall stands before the upper terrace; the lower is cut 5 m away from it."""
    made = furnished("two terraces")
    upper = made.areas[0]
    cut = made.sections.of(upper, "down")
    (wall,) = cut.walls
    strip = replace(cut.others[0], name="strip", paved=((wall.at, wall.at + 1.0),))
    beside = replace(cut, others=(strip,))
    words = sill_words(beside, wall, "m").replace("\n", " ")
    step = wall.sill - float(beside.others[0].finish.at(wall.at))
    assert words == f"{wall.door} sill {small(step, 'm')} above strip at this section"
    step = wall.sill - float(cut.finish_at(cut.paving[0]))
    told = f"{wall.door} sill {small(step, 'm')} above the finish at this section"
    assert sill_words(cut, wall, "m").replace("\n", " ") == told


def test_words_about_a_door_behind_other_paving_stay_in_the_frame():
    """A strip lies between the house and the paving that is cut: the wall is far to the left."""
    strip = {"name": "strip", "outline": [[0, 0], [9, 0], [9, 1.3], [0, 1.3]]}
    made = yard(
        [{"name": "terrace", "outline": [[0, 1.3], [9, 1.3], [9, 6.1], [0, 6.1]]}, strip],
        unit="m", doors=[{"name": "door to the mud room", "at": [4.5, 0], "sill": 30.2}],
    )  # fmt: skip
    area = made.areas[0]
    for unit in ("ft", "m"):
        sheet = section_sheet(made, area, "down", page_for(unit))
        drawn = compose(sheet)
        assert not outside(drawn, sheet.page)
        text = " ".join(words.words for words in words_of(drawn))
        assert "above strip at this section" in text


def test_the_drawing_records_each_layer_at_its_true_thickness():
    made = planned("back-patio")
    area = made.areas[0]
    view = sheets("back-patio")["patio section-down-the-fall"].views[0]
    for layer in area.chosen_dig.system.layers:
        shape = shapely.union_all(
            [shapely.Polygon(part.rings[0]) for part in view.drawing.of(layer.name)]
        )
        middle = (shape.bounds[0] + shape.bounds[2]) / 2
        rod = shapely.LineString([(middle, shape.bounds[1] - 1), (middle, shape.bounds[3] + 1)])
        assert rod.intersection(shape).length == pytest.approx(layer.thickness, abs=1e-6)


def test_a_door_in_line_is_cut_with_its_sill():
    made = planned("raised-patio")
    area = made.areas[0]
    cut = made.sections.of(area, "down")
    (wall,) = cut.walls
    assert wall.sill == pytest.approx(made.site.doors[0].sill)
    step = wall.sill - float(cut.finish_at(cut.paving[0]))
    words = said("raised-patio", "raised patio section-down-the-fall")
    assert f"sill {small(step, 'ft')}" in words
    assert f"step here {small(step, 'ft')}" in words


@pytest.mark.parametrize("name", ["back-patio", "raised-patio", "garden-court"])
def test_the_section_sheet_tells_the_figures_of_the_plan(name):
    made = planned(name)
    unit = made.site.unit
    for area in made.areas:
        dig = area.chosen_dig
        text = said(name, f"{area.area.name} section-down-the-fall")
        joined = " ".join(text)
        cut = made.sections.of(area, "down", dig.system.name)
        for layer in dig.system.layers:
            assert layer.name in joined
            assert small(layer.thickness, unit) in joined
        for end in cut.paving:
            xy = np.array([cut.plan_point(end)])
            assert level(float(area.finish.plane.at(xy)[0]), unit) in text
            assert level(float(made.ground.elevation(xy)[0]), unit, DIRT) in text
        build_up = small(dig.build_up, unit)
        assert build_up in text or set(build_up.split(" (")[:1]) <= set(text)


@pytest.mark.parametrize("name", ["back-patio", "raised-patio"])
def test_base_systems_side_by_side_tell_volumes_and_differences(name):
    made = planned(name)
    area = made.areas[0]
    text = said(name, f"{area.area.name} base-systems")
    chosen = area.chosen_dig
    assert "chosen" in text
    for key, dig in area.digs.items():
        assert earth(dig.cut, "ft") in text
        assert dig.system.title in text
        assert small(dig.max_dig, "ft", DIRT) in text
        if key != area.chosen:
            words = f"{earth_between(dig.cut, chosen.cut, 'ft')} than the one chosen"
            assert words in text


def test_base_systems_stand_at_one_scale_and_one_level():
    sheet = sheets("back-patio")["patio base-systems"]
    assert len(sheet.views) == 3
    assert len({view.scale for view in sheet.views}) == 1
    assert len({view.origin[1] for view in sheet.views}) == 1


def test_a_difference_is_that_of_the_volumes_themselves():
    # 4.56 - 4.71 m3 is 0.196 yd3; of the rounded figures it would be 0.2 or 0.1.
    one, two = 4.56, 4.71
    assert earth_between(one, two, "ft") == "0.2 yd³ less"
    assert earth_between(two, one, "m").endswith("more")
    assert earth_between(one, one + 1e-3, "ft") == "no more and no less"


def test_ground_that_lies_wholly_outside_the_window_is_left_out():
    """A pit beside the paving is deeper than the window shows."""
    made = planned("back-patio")
    cut = made.sections.of(made.areas[0], "down")
    low, high = cut.ends
    draw = Drawing()
    draw_body(draw, cut, shapely.box(low, cut.finish_at(cut.paving[0]) + 5, high, 1e3), 0.3)
    drawn = draw_body_of(cut)
    assert any(isinstance(part, Turf) for part in drawn)
    assert not any(isinstance(part, Turf) for part in draw.parts)


def draw_body_of(cut):
    low, high = cut.ends
    draw = Drawing()
    draw_body(draw, cut, shapely.box(low, -1e3, high, 1e3), 0.3)
    return draw.parts


def test_a_section_of_a_long_walk_says_how_it_runs():
    made = planned("side-walkway")
    (area,) = made.areas
    assert way_of(area, "down", made) == "square to its longer side"
    assert way_of(area, "across", made) == "along its longer side"
    patio = planned("raised-patio")
    assert way_of(patio.areas[0], "down", patio) == "down the fall"
    assert way_of(patio.areas[0], "across", patio) == "across the fall"
