"""Ground that two areas would both dig goes to the nearer one, whichever comes first."""

from __future__ import annotations

import itertools

import numpy as np
import pytest
import shapely
from make.sites.handmade import grid_of_spots, site_of

from grading.dig.hole import over_dug
from grading.geometry.nearer import parted
from grading.pipeline import plan

BOX = shapely.box(0, 0, 5, 3)
PAIRS = {
    "flush, one shorter": (BOX, shapely.box(5, 0, 9, 2)),
    "a gap between": (BOX, shapely.box(5.1, -1, 9, 2)),
    "corner to corner": (BOX, shapely.box(5, 3, 9, 6)),
    "a round one": (BOX, shapely.Point(7, 1).buffer(1.95)),
    "askew": (BOX, shapely.Polygon([(5, 0), (9, -1), (9, 4), (5, 3)])),
    "a notch": (
        shapely.Polygon([(0, 0), (5, 0), (5, 1), (4, 1), (4, 2), (5, 2), (5, 3), (0, 3)]),
        shapely.box(4.2, 1.1, 8, 1.9),
    ),
}


def between(one, other, wide=0.15):
    both = over_dug(one, wide).intersection(over_dug(other, wide))
    return both.difference(one.union(other))


@pytest.mark.parametrize("name", PAIRS)
def test_a_fine_raster_of_nearest_areas_agrees(name):
    """Brute force: 200,000 points, each asked which polygon is nearer (shapely's own distance)."""
    one, other = PAIRS[name]
    ground = between(one, other)
    mine, its = parted(ground, one, other)
    assert mine.area + its.area == pytest.approx(ground.area, rel=1e-9)
    assert mine.intersection(its).area < 1e-9
    x0, y0, x1, y1 = ground.bounds
    places = np.random.default_rng(1).uniform((x0, y0), (x1, y1), (200_000, 2))
    places = places[shapely.contains_xy(ground, *places.T)]
    at = shapely.points(places)
    by = shapely.distance(one, at) - shapely.distance(other, at)
    wrong = shapely.contains_xy(mine, *places.T) != (by < 0)
    assert np.abs(by[wrong]).max(initial=0.0) < 2e-4
    assert wrong.mean() < 1e-3


@pytest.mark.parametrize("name", PAIRS)
@pytest.mark.parametrize("turn", [0.0, 0.7, 2.2])
def test_neither_order_nor_turn_nor_place_moves_it(name, turn):
    one, other = PAIRS[name]
    mine, _ = parted(between(one, other), one, other)
    spin = np.array([[np.cos(turn), -np.sin(turn)], [np.sin(turn), np.cos(turn)]])
    moved = [shapely.transform(each.reverse(), lambda xy: xy @ spin.T + [6e5, 4e6])
             for each in (one, other)]  # fmt: skip
    _, again = parted(between(*moved), *moved[::-1])
    assert again.area == pytest.approx(mine.area, abs=2e-5)


@pytest.mark.parametrize(("alpha", "beta"), [(45, 45), (30, 60), (90, 60)])
def test_round_a_corner_of_both_it_is_parted_evenly(alpha, beta):
    """All places beyond a corner that two areas share are as near to both: a line from the corner
    halves them, but for the half inch by it."""
    a, b = np.radians([alpha, beta])
    one = shapely.Polygon([(0, 0), (4, 0), (4 * np.cos(a), 4 * np.sin(a))])
    end = (4 * np.cos(a + b), 4 * np.sin(a + b))
    other = shapely.Polygon([(0, 0), (4 * np.cos(a), 4 * np.sin(a)), end])
    beyond = shapely.Point(0, 0).buffer(0.1) - shapely.Point(0, 0).buffer(0.02)
    # The places that are nearest to the corner: square to both outer sides.
    out = a + b + np.pi / 2, 3 * np.pi / 2
    fan = shapely.Polygon([(0, 0), *[(np.cos(t), np.sin(t)) for t in np.linspace(*out, 40)]])
    ground = beyond & fan
    mine, its = parted(ground, one, other)
    assert mine.area == pytest.approx(its.area, rel=0.12)


AREAS = [
    {"name": "patio", "outline": [(0, 0), (5, 0), (5, 3), (0, 3)], "base": "dense"},
    {"name": "walk", "outline": [(5, 0.5), (9, 0.2), (9, 1.6), (5, 1.8)], "base": "dense"},
    {"name": "terrace", "outline": [(1, 3.2), (4, 3.2), (5.2, 5), (0, 5)], "base": "panel"},
]  # fmt: skip
HOUSE = {"walls": [(-2, 0), (9, 0)], "inside": (3, -4)}


def site(areas):
    spots = grid_of_spots(lambda x, y: 10 - 0.02 * y + 0.01 * np.sin(3 * x), ((-3, -2), (12, 8)))
    planes = {"at": [0, 0], "z": 10.05, "fall": "2 %", "bearing": 0}
    return plan(site_of(spots, [{**area, "plane": planes} for area in areas], house=HOUSE))


def digs(made):
    return {(area.area.name, base): (dig.cut, dig.fill, dig.dig_area)
            for area in made.areas for base, dig in area.digs.items()}  # fmt: skip


@pytest.mark.parametrize("order", list(itertools.permutations(range(3)))[1:])
def test_the_order_of_areas_in_the_file_changes_no_dig(order):
    first, again = digs(site(AREAS)), digs(site([AREAS[k] for k in order]))
    for key, values in first.items():
        assert again[key] == pytest.approx(values, rel=1e-9), key


def test_no_ground_is_dug_twice_or_left_between_areas():
    made = site(AREAS)
    holes = [area.digs[area.chosen].polygon for area in made.areas]
    for one, other in itertools.combinations(holes, 2):
        assert one.intersection(other).area < 1e-9
    wide = shapely.union_all([over_dug(area.outline, area.chosen_dig.system.over_dig(
        made.groups[0].group.limits)) for area in made.areas])  # fmt: skip
    clear = wide.difference(made.site.house.polygon(3.0))
    assert shapely.union_all(holes).symmetric_difference(clear).area < 1e-6


def test_the_narrower_over_dig_of_a_neighbour_leaves_its_strip_to_who_digs_wider():
    """0.18 m apart. Dense stone 12 in deep is over-dug by 0.3048 m, the panel base by 0.1524 m:
    the middle is 0.09 m from both, and the ground from 0.1524 to 0.18 m is the wider one's."""
    deep = [{"name": "dense", "layers": [
        {"name": "paver", "thickness": "2 3/8 in"}, {"name": "bedding sand", "thickness": "1 in"},
        {"name": "dense-graded base", "thickness": "12 in"}]}]  # fmt: skip
    spots = grid_of_spots(lambda x, y: 10 - 0.02 * y + 0 * x, ((-3, -3), (13, 8)))
    plane = {"at": [0, 0], "z": 10.05, "fall": "2 %", "bearing": 0}
    areas = [
        {"name": "one", "outline": [(0, 0), (4, 0), (4, 3), (0, 3)], "base": "dense"},
        {"name": "two", "outline": [(4.18, 0), (9, 0), (9, 3), (4.18, 3)], "base": "panel"},
    ]
    for order in (areas, areas[::-1]):
        made = plan(site_of(spots, [{**area, "plane": plane} for area in order], bases=deep))
        found = {area.area.name: area.chosen_dig.polygon for area in made.areas}
        line = shapely.LineString([(4, 1.5), (4.18, 1.5)])
        assert found["one"].intersection(line).length == pytest.approx(0.09, abs=1e-6)
        assert found["two"].intersection(line).length == pytest.approx(0.09, abs=1e-6)
        below = shapely.LineString([(4.09, -0.3), (4.09, -0.2)])
        assert found["one"].intersection(below).length == pytest.approx(0.1, abs=1e-6)
