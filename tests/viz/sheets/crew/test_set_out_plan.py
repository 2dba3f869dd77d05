"""The plan that the crew sets out from: turned to the house, arcs off strings, holes, tapes."""

from __future__ import annotations

import numpy as np
import pytest
import shapely
from make.plans.drawn import ALL, planned
from make.plans.furnished import NAMES
from make.sites.handmade import grid_of_spots, site_of
from measure.on_paper import outside, overlaps

from grading.design.points import named_points
from grading.pipeline import plan as grading_plan
from grading.setout.stated import by_rod
from grading.units import FOOT
from viz.paper.compose import Sheet, compose, words_of
from viz.paper.drawing import Area, Polyline, Symbol
from viz.paper.page import Page
from viz.sheets.crew.set_out_plan import WIDE, height_of, set_out_plan, stated_scales
from viz.sheets.homeowner.plain_plan import plain_plan
from viz.sheets.lettered import lettered


def drawn(name, number):
    plan = planned(name)
    found = by_rod(plan)
    each = found.areas[number]
    return each, set_out_plan(plan, found, each, stated_scales(plan, found)[0])


@pytest.mark.parametrize(
    "name", ["two terraces", "pocket", "raised-patio", "garden-court", "side-walkway"]
)
def test_nothing_overlaps_on_the_plan_that_is_set_out_from(name):
    for number in range(len(planned(name).areas)):
        _, sheet = drawn(name, number)
        inks = compose(sheet)
        assert not overlaps(inks)
        assert not outside(inks, sheet.page)


@pytest.mark.parametrize("turn", [0.0, 33.0, 118.0, 180.0, 290.0])
def test_the_house_lies_along_the_top_however_it_stands(turn):
    cos, sin = np.cos(np.radians(turn)), np.sin(np.radians(turn))

    def at(points):
        return (np.array(points, float) @ np.array([[cos, sin], [-sin, cos]])).tolist()

    spots = grid_of_spots(lambda x, y: 30.0 - 0.03 * y, ((-3, -2), (13, 10)))
    spots[:, :2] = at(spots[:, :2])
    made = grading_plan(site_of(
        spots, [{"name": "patio", "outline": at([[1, 0], [9, 0], [9, 4], [1, 4]])}],
        house={"walls": at([[-1, 0], [11, 0]]), "inside": at([[5, -3]])[0]},
    ))  # fmt: skip
    found = by_rod(made)
    sheet = set_out_plan(made, found, found.areas[0], stated_scales(made, found)[0])
    (view,) = sheet.views
    # One faces the house: its outside shows down the sheet, its wall across it.
    assert view.way(np.array(at([[0, 1]])[0])) == pytest.approx([0.0, -1.0], abs=1e-6)
    corners = np.array([view.paper(each) for each in at([[1, 0], [9, 0], [9, 4], [1, 4]])])
    assert corners[0, 1] == pytest.approx(corners[1, 1])
    assert corners[1, 1] > corners[2, 1]


def test_an_arc_is_told_off_its_string_and_a_round_hole_by_its_radius():
    """By hand: a sagitta of 1.5 m on a chord of 8 m, and a round pocket of half a metre."""
    each, sheet = drawn("two terraces", 1)
    radius = (4.0**2 + 1.5**2) / (2 * 1.5)
    draw = sheet.views[0].drawing
    offsets = [part for part in draw.of("chord offset") if isinstance(part, Polyline)]
    centre = np.array([5.0, 8.5 - radius])
    assert len(offsets) == sum(len(bent.marks) for bent in each.curves) > 2
    for part in offsets:
        _, tip = np.array(part.points)
        assert np.hypot(*(tip - centre)) == pytest.approx(radius, abs=1e-6)
    text = " ".join(words.words for words in words_of(compose(sheet)))
    assert "radius 0.500 m" in text
    (mark,) = (part for part in draw.of("centre of an arc") if isinstance(part, Symbol))
    assert mark.at == pytest.approx((3.5, 6.5))


def test_the_corners_of_a_hole_are_lettered_with_the_others():
    each, sheet = drawn("pocket", 0)
    plain = named_points(each.area)
    points = each.points
    assert points.names[: len(plain.names)] == plain.names
    hole = {(2.5, 1.5), (3.5, 1.5), (3.5, 2.5), (2.5, 2.5)}
    assert {tuple(at) for at in (points.xy[len(plain.xy) :] / FOOT).round(6)} == hole
    away = points.xy[len(plain.xy) :] + 0.02 * points.away[len(plain.xy) :]
    assert not shapely.contains_xy(each.area.outline, *away.T).any()
    marked = [part.at for part in sheet.views[0].drawing.of("corner") if isinstance(part, Symbol)]
    assert hole <= {(round(x / FOOT, 6), round(y / FOOT, 6)) for x, y in marked}


@pytest.mark.parametrize("name", ["raised-patio", "two terraces", "side-walkway"])
def test_a_plan_is_as_high_as_told_at_every_scale_that_the_page_is_wide_enough_for(name):
    plan = planned(name)
    found = by_rod(plan)
    offered = stated_scales(plan, found)
    assert [each.ratio for each in offered] == sorted(each.ratio for each in offered)
    for each in found.areas:
        for scale in offered[:2]:
            sheet = set_out_plan(plan, found, each, scale)
            assert sheet.page.height == pytest.approx(height_of(plan, found, each, scale))
            assert sheet.page.width == WIDE
            assert not outside(compose(sheet), sheet.page)


def test_a_dry_well_near_the_paving_is_shown_whole():
    """As the site is written: from (22.5, 13) to (29.5, 19.5) ft, beyond the hubs of the patio."""
    _, sheet = drawn("drained-patio", 0)
    (view,) = sheet.views
    rings = [np.array(part.rings[0]) for part in view.drawing.of("structure")
             if isinstance(part, Area)]  # fmt: skip
    well = np.array([[22.5, 13.0], [29.5, 19.5]]) * FOOT
    shown = [ring for ring in rings if np.allclose([ring.min(axis=0), ring.max(axis=0)], well)]
    assert len(shown) == 1
    corners = np.array([view.paper(at) for at in well])
    assert (corners > 0).all()
    assert (corners < [sheet.page.width, sheet.page.height]).all()


@pytest.mark.parametrize(
    "name", ["back-patio", "drained-patio", "front-walk", "garden-court", "raised-patio"]
)
def test_the_name_of_a_door_stands_at_it_or_is_led_back(name):
    """It stands along its wall, as far from the middle of its door as half of it and 2 cm more."""
    plan = planned(name)
    for number, area in enumerate(plan.areas):
        _, sheet = drawn(name, number)
        inks = compose(sheet)
        for door in plan.site.doors:
            for words in (each for each in words_of(inks) if each.words.startswith(door.name)):
                at = np.array(sheet.views[0].paper(door.at))
                corners = np.array(words.corners)
                long = max(np.ptp(corners, axis=0))
                led = name == "front-walk"  # between its corners' letters there is no room
                assert led or np.hypot(*(corners.mean(axis=0) - at)) < long / 2 + 20, area.name


def test_an_area_at_no_wall_is_turned_to_the_wall_nearest_to_it():
    """The lower of two terraces lies beyond the upper: the house is on top of its plan too."""
    each, sheet = drawn("two terraces", 1)
    assert not each.area.walls
    (view,) = sheet.views
    house = np.array(planned("two terraces").site.house.segments()[0][0])
    middle = np.array(each.area.outline.centroid.coords[0])
    assert view.paper(house)[1] > view.paper(middle)[1]


@pytest.mark.parametrize("name", [*ALL, *NAMES])
def test_no_dimension_of_the_plan_for_the_homeowner_is_cut_off(name):
    plan = planned(name)
    for area in plan.areas:
        sheet = plain_plan(plan, area)
        inks = compose(sheet)
        for words in words_of(inks):
            corners = np.array(words.corners)
            assert corners.min() >= 0, words.words
            assert np.all(corners.max(axis=0) <= (sheet.page.width, sheet.page.height)), words.words


@pytest.mark.parametrize("wide", [70.0, 150.0])
def test_the_words_of_a_door_are_whole_on_a_wide_plan_and_on_a_narrow_one(wide):
    """In one row or in two: the letters that a reader gets are those that were written."""
    words = "sliding door of the den, sill = benchmark"
    made = Sheet(Page("figure", wide, 60.0), "plan", "Plan")
    made.paper.text((wide / 2, 30.0), words, size=2.5, bold=True, others=((0.0, 5.0),))
    (shown,) = lettered(made).paper.parts
    assert shown.words.replace("\n", " ") == words
    assert ("\n" in shown.words) == (wide < 100)


def test_a_door_that_numbers_crowd_is_named_at_its_wall_and_not_on_the_lawn():
    """At a scale so small that the numbers of points leave no room: within 16 mm of its door."""
    made = planned("raised-patio")
    found = by_rod(made)
    (each,) = found.areas
    named = 0
    for scale in stated_scales(made, found)[-2:]:
        sheet = set_out_plan(made, found, each, scale)
        (view,) = sheet.views
        for text in words_of(compose(sheet)):
            if text.words.endswith("sill = benchmark"):
                door = next(one for one in made.site.doors if text.words.startswith(one.name))
                away = np.subtract(text.at, view.paper(door.at))
                assert abs(away[1]) < 16.0
                named += 1
    assert named == 2
