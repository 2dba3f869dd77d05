"""Sections measured back: layers in order, thickness, levels as the plan has them."""

from __future__ import annotations

from itertools import pairwise

import numpy as np
import pytest
import shapely
from make.plans.drawn import ALL, planned
from make.plans.folded import FOLDED
from make.plans.furnished import furnished

from grading.design.levels import levels_at
from grading.dig.beds import REFILL
from grading.section.cut import crossings
from grading.section.line import down_and_across, long_side
from grading.section.through import between
from grading.structures.flights import flights_of
from grading.structures.pads import left_out_for
from grading.units import FOOT

SITES = ("back-patio", "raised-patio", "garden-court", "hill behind", "pocket", "narrow")
NAMES = list(FOLDED)


def cuts(name):
    made = planned(name)
    for area in made.areas:
        for dig in area.digs.values():
            for which in ("down", "across"):
                yield made, area, dig, made.sections.of(area, which, dig.system.name)


def terraces(which):
    made = furnished("two terraces")
    for area in made.areas:
        yield made, area, made.sections.of(area, which)


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
            stepped = shapely.union_all(list(left_out_for(made, neighbour)))
            bare = not stepped.buffer(1e-6).covers(shapely.Point(cut.plan_point(s)))
            if other.paving[0] < s < other.paving[1] and bare:
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
    """12 in out from the edge, half of the way down less half of what the tread falls."""
    heights = []
    for made, _, cut in terraces("down"):
        _, lower = made.areas
        (flight,) = flights_of(made)
        (step,), (tread,) = flight.treads, cut.treads
        left, _, right, _ = tread.bounds
        assert right - left == pytest.approx(FOOT)
        for s in (left, right):
            xy = np.array([cut.plan_point(s)])
            low, top = float(lower.finish.surface.at(xy)[0]), float(step.top.at(xy)[0])
            met = tread.intersection(shapely.LineString([(s, 0), (s, 99)]))
            assert met.bounds[1::2] == pytest.approx((low, top), abs=1e-6)
        high, low = flight.levels.mean(axis=1)
        middle = (step.back + step.front) / 2
        assert middle == pytest.approx((high + low) / 2, abs=1e-6)
        heights.append(tread.area)
    assert heights[0] == pytest.approx(heights[1], rel=0.05)


def test_under_steps_no_paver_is_cut_and_their_bed_fills_what_is_left_out():
    for made, area, cut in terraces("down"):
        lower = made.areas[1]
        mine = cut if area is lower else cut.others[0]
        feet, _ = left_out_for(made, lower)
        pavers = [solid for solid in mine.solids if solid.role == "paver"]
        assert any(solid.name == "bed of steps" for solid in mine.solids)
        for solid in pavers:
            for s in np.linspace(*solid.shape.bounds[::2], 50):
                here = shapely.intersection(
                    solid.shape, shapely.LineString([(s, 0), (s, 99)])
                ).length
                under = feet.buffer(-1e-3).covers(shapely.Point(cut.plan_point(s)))
                assert not (under and here > 1e-6)


@pytest.mark.parametrize("name", ALL)
def test_the_section_down_the_fall_lies_down_the_fall(name):
    made = planned(name)
    for area in made.areas:
        down, across = down_and_across(made, area)
        along = down.along
        assert area.outline.contains(shapely.Point(down.through))
        assert float(along @ across.along) == pytest.approx(0.0, abs=1e-9)
        if area.finish.plane.fall > 1e-6:
            fall = np.asarray(area.finish.plane.downhill)
            side = long_side(area.outline)
            if side is None:
                assert along == pytest.approx(fall)
            else:
                # With or square to the longer side, whichever is nearer to the fall.
                with_side = abs(float(along @ side))
                assert with_side == pytest.approx(round(with_side), abs=1e-9)
                assert float(along @ fall) >= np.sqrt(0.5) - 1e-9


@pytest.mark.parametrize("turn", [0.0, 27.0, 141.0])
def test_a_long_walk_is_cut_square_to_its_longer_side(turn):
    """By hand: 8 m by 1.2 m, however it is turned, and however askew it falls."""
    box = shapely.affinity.rotate(shapely.box(0.0, 0.0, 8.0, 1.2), turn, origin=(0, 0))
    expected = np.array([np.cos(np.radians(turn)), np.sin(np.radians(turn))])
    assert abs(float(long_side(box) @ expected)) == pytest.approx(1.0)
    # A patio is not long, an L fills too little of what is round it.
    assert long_side(shapely.box(0, 0, 5.0, 3.0)) is None
    bent = shapely.union_all([shapely.box(0, 0, 8, 1), shapely.box(0, 0, 1, 3.5)])
    assert long_side(bent) is None
    made = planned("side-walkway")
    (area,) = made.areas
    fall = np.asarray(area.finish.plane.downhill)
    assert 0.1 < abs(float(fall @ long_side(area.outline))) < 0.99
    square = made.sections.of(area, "down")
    near, far = square.paved[0]
    assert far - near == pytest.approx(4 * FOOT)
    along = made.sections.of(area, "across")
    assert along.paved[0][1] - along.paved[0][0] == pytest.approx(36 * FOOT)


def test_a_planting_pocket_is_left_out_of_the_paving():
    made = planned("pocket")
    area = made.areas[0]
    cut = made.sections.of(area, "across")
    assert len(cut.paved) == 2
    far = np.array([cut.plan_point(-20.0), cut.plan_point(40.0)])
    pocket = shapely.Polygon(area.outline.interiors[0])
    gap = shapely.LineString(far).intersection(pocket).length
    assert gap > 0.1
    assert cut.paved[1][0] - cut.paved[0][1] == pytest.approx(gap)


def test_area_between_lines_that_cross_is_exact():
    s = np.array([0.0, 2.0])
    shape = between(s, np.array([1.0, -1.0]), np.array([0.0, 0.0]))
    assert shape.area == pytest.approx(0.5)
    assert crossings(s, np.array([1.0, -1.0])) == pytest.approx([1.0])
    assert between(s, np.array([0.0, 0.0]), np.array([1.0, 1.0])).is_empty


@pytest.mark.parametrize("name", NAMES)
def test_a_section_is_exact_everywhere(name):
    made, random = planned(name), np.random.default_rng(3)
    for area in made.areas:
        for dig in area.digs.values():
            for which in ("down", "across"):
                cut = made.sections.of(area, which, dig.system.name)
                for low, high in cut.dug:
                    s = random.uniform(low, high, 300)
                    xy = np.array([cut.plan_point(v) for v in s])
                    finish, formation = area.finish.surface.at(xy), dig.formation.at(xy)
                    assert cut.finish_at(s) == pytest.approx(finish, abs=1e-12)
                    assert cut.formation_at(s) == pytest.approx(formation, abs=1e-12)


@pytest.mark.parametrize("name", ["back-patio", "garden-court", "hill behind"])
def test_levels_along_a_section_are_those_of_the_plan(name):
    for made, area, dig, cut in cuts(name):
        low, high = cut.dug[0]
        s = np.linspace(low + 1e-3, high - 1e-3, 9)
        along = cut.levels_at(s)
        wanted = levels_at(made, area, along.xy, dig.system.name)
        for what in ("existing", "finish", "subgrade", "dug", "depth", "refill"):
            assert getattr(along, what) == pytest.approx(getattr(wanted, what), abs=1e-6), what


@pytest.mark.parametrize("name", SITES)
def test_beds_under_a_place_reach_from_the_finish_to_the_dug_surface(name):
    for _, _, dig, cut in cuts(name):
        s = sum(cut.paved[0]) / 2
        beds = cut.beds_at(s)
        depth = float(cut.finish_at(s) - cut.dug_at(s))
        assert beds[-1].bottom == pytest.approx(depth, abs=1e-3)
        assert [bed.name for bed in beds if bed.name != REFILL] == [
            layer.name for layer in dig.system.layers
        ]
        for one, two in pairwise(beds):
            assert one.bottom == pytest.approx(two.top, abs=1e-9)


@pytest.mark.parametrize("name", ["raised-patio", "side-walkway"])
def test_distances_count_from_the_same_place_under_every_base(name):
    """Base systems reach differently far beyond the paving: what is beside it stays put."""
    made = planned(name)
    for area in made.areas:
        assert len({dig.dig_area for dig in area.digs.values()}) > 1  # else it shows nothing
        for which in ("down", "across"):
            found = [made.sections.of(area, which, base) for base in area.digs]
            for cut in found:
                assert cut.start == pytest.approx(found[0].start)
                assert np.array(cut.paved) == pytest.approx(np.array(found[0].paved))
