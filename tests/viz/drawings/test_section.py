"""Sections measured back: layers in order, thickness, levels and figures as the plan has them."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
import shapely
from advised import planned as yard
from drawn import ALL, inks, planned, sheets
from furnished import furnished
from onpaper import outside

from grading.section.cut import crossings
from grading.section.through import between
from grading.units import FOOT
from viz.drawings.section.notes import sill_words
from viz.drawings.section.sheet import section_cut, section_lines, section_sheet
from viz.paper.compose import compose, words_of
from viz.paper.page import page_for
from viz.words.figures import DIRT, earth, earth_between, level, small

SITES = ("back-patio", "raised-patio", "garden-court", "hill behind", "pocket", "narrow")


def cuts(name):
    made = planned(name)
    for area in made.areas:
        for dig in area.digs.values():
            for which in ("down", "across"):
                yield made, area, dig, section_cut(made, area, dig, which)


def said(name, sheet):
    return [w.words for w in words_of(inks(name, sheet))]


@pytest.mark.parametrize("name", SITES)
def test_layers_lie_in_order_and_are_as_thick_as_the_system_says(name):
    for _, area, dig, cut in cuts(name):
        a, b = cut.paved[0]
        for s in np.linspace(a + 1e-4, b - 1e-4, 5):
            top = float(area.finish.plane.at(np.array([cut.plan_point(s)]))[0])
            rod = shapely.LineString([(s, top - 5), (s, top + 5)])
            for layer, solid in zip(dig.system.layers, cut.solids, strict=False):
                assert solid.name == layer.name
                met = shapely.intersection(rod, solid.shape)
                assert met.bounds[3] == pytest.approx(top, abs=1e-6)
                assert met.length == pytest.approx(layer.thickness, abs=1e-6)
                top -= layer.thickness
            assert top == pytest.approx(float(cut.formation_at(s)), abs=1e-9)


@pytest.mark.parametrize("name", SITES)
def test_solids_do_not_overlap(name):
    for _, _, _, cut in cuts(name):
        for k, one in enumerate(cut.solids):
            for two in cut.solids[k + 1 :]:
                assert one.shape.intersection(two.shape).area < 1e-7, (one.name, two.name)


@pytest.mark.parametrize("name", SITES)
def test_the_cut_follows_the_ground_and_the_dug_surface_of_the_plan(name):
    for made, _, dig, cut in cuts(name):
        for low, high in cut.dug:
            s = np.linspace(low + 1e-3, high - 1e-3, 7)
            xy = np.array([cut.plan_point(v) for v in s])
            ground, peat = made.ground.elevation(xy), made.ground.organics_at(xy)
            assert cut.ground_at(s) == pytest.approx(ground, abs=1e-7)
            dug = np.minimum(dig.formation.at(xy), ground - peat)
            assert cut.dug_at(s) == pytest.approx(dug, abs=1e-7)


@pytest.mark.parametrize("name", SITES)
def test_layers_that_spread_fill_the_dig_and_the_others_end_with_the_paving(name):
    for _, _, dig, cut in cuts(name):
        for layer, solid in zip(dig.system.layers, cut.solids, strict=False):
            spans = cut.dug if layer.spreads else cut.paved
            assert solid.shape.bounds[0] == pytest.approx(spans[0][0])
            assert solid.shape.bounds[2] == pytest.approx(spans[-1][1])


def terraces(which):
    made = furnished("two terraces")
    for area in made.areas:
        yield made, area, section_cut(made, area, area.chosen_dig, which)


def test_another_area_in_the_cut_is_dug_and_laid_as_it_is_planned():
    for made, area, cut in terraces("down"):
        (other,) = cut.others
        (neighbour,) = (each for each in made.areas if each is not area)
        dig = neighbour.chosen_dig
        low, high = other.dug[0]
        for s in np.linspace(low + 1e-4, high - 1e-4, 7):
            xy = np.array([cut.plan_point(s)])
            top = float(neighbour.finish.surface.at(xy)[0])
            rod = shapely.LineString([(s, top - 5), (s, top + 5)])
            if other.span[0] < s < other.span[1]:
                for layer, solid in zip(dig.system.layers, other.solids, strict=False):
                    met = shapely.intersection(rod, solid.shape)
                    assert met.bounds[3] == pytest.approx(top, abs=1e-6)
                    assert met.length == pytest.approx(layer.thickness, abs=1e-6)
                    top -= layer.thickness
            (hole,) = (each for each in cut.holes if each.start < s < each.end)
            ground, peat = made.ground.elevation(xy), made.ground.organics_at(xy)
            dug = np.minimum(dig.formation.at(xy), ground - peat)
            assert cut.floor_of(hole, s) == pytest.approx(dug[0], abs=1e-7)
        # Topsoil is left only where nobody digs.
        for start, end in cut.undug:
            assert all(end <= hole.start + 1e-9 or start >= hole.end - 1e-9 for hole in cut.holes)
        for one in cut.solids:
            for two in other.solids:
                assert one.shape.intersection(two.shape).area < 1e-7, (one.name, two.name)


def test_treads_stand_on_the_lower_area_whichever_is_cut():
    heights = []
    for made, _, cut in terraces("down"):
        upper, lower = made.areas
        (tread,) = cut.treads
        left, _, right, _ = tread.bounds
        assert right - left == pytest.approx(FOOT)
        for s in (left, right):
            xy = np.array([cut.plan_point(s)])
            low, high = (float(one.finish.surface.at(xy)[0]) for one in (lower, upper))
            met = tread.intersection(shapely.LineString([(s, 0), (s, 99)]))
            assert met.bounds[1::2] == pytest.approx((low, (low + high) / 2), abs=1e-6)
        heights.append(tread.area)
    assert heights[0] == pytest.approx(heights[1], rel=0.05)


def test_a_door_of_another_area_is_told_above_that_area():
    """The wall stands before the upper terrace; the lower is cut 5 m away from it."""
    made = furnished("two terraces")
    upper = made.areas[0]
    cut = section_cut(made, upper, upper.chosen_dig, "down")
    (wall,) = cut.walls
    strip = replace(cut.others[0], name="strip", span=(wall.at, wall.at + 1.0))
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


@pytest.mark.parametrize("name", ALL)
def test_the_section_down_the_fall_lies_down_the_fall(name):
    made = planned(name)
    for area in made.areas:
        (through, along), (_, across) = section_lines(made, area)
        assert area.outline.contains(shapely.Point(through))
        assert float(along @ across) == pytest.approx(0.0, abs=1e-9)
        if area.finish.plane.fall > 1e-6:
            assert along == pytest.approx(area.finish.plane.downhill)


def test_a_door_in_line_is_cut_with_its_sill():
    made = planned("raised-patio")
    area = made.areas[0]
    cut = section_cut(made, area, area.chosen_dig, "down")
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
        cut = section_cut(made, area, dig, "down")
        for layer in dig.system.layers:
            assert layer.name in joined
            assert small(layer.thickness, unit) in joined
        for end in cut.paving:
            xy = np.array([cut.plan_point(end)])
            assert level(float(area.finish.plane.at(xy)[0]), unit) in text
            assert level(float(made.ground.elevation(xy)[0]), unit, DIRT) in text
        build_up = small(dig.build_up, unit)
        assert build_up in text or set(build_up.split(" (")[:1]) <= set(text)


def test_a_planting_pocket_is_left_out_of_the_paving():
    made = planned("pocket")
    area = made.areas[0]
    cut = section_cut(made, area, area.chosen_dig, "across")
    assert len(cut.paved) == 2
    far = np.array([cut.plan_point(-20.0), cut.plan_point(40.0)])
    pocket = shapely.Polygon(area.outline.interiors[0])
    gap = shapely.LineString(far).intersection(pocket).length
    assert gap > 0.1
    assert cut.paved[1][0] - cut.paved[0][1] == pytest.approx(gap)


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
    assert earth_between(one, two, "ft") == "0.2 yd³ (0.2 m³) less"
    assert earth_between(two, one, "m").endswith("more")
    assert earth_between(one, one + 1e-3, "ft") == "no more and no less"


def test_area_between_lines_that_cross_is_exact():
    s = np.array([0.0, 2.0])
    shape = between(s, np.array([1.0, -1.0]), np.array([0.0, 0.0]))
    assert shape.area == pytest.approx(0.5)
    assert crossings(s, np.array([1.0, -1.0])) == pytest.approx([1.0])
    assert between(s, np.array([0.0, 0.0]), np.array([1.0, 1.0])).is_empty
