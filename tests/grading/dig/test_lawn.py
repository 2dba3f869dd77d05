"""Lawn brought to the paving, against closed forms."""

import numpy as np
import pytest
import shapely
from make.sites.handmade import PATIO, WALL, grid_of_spots, site_of
from msgspec.structs import replace

from grading.dig.lawn import lawn_level, tie_in
from grading.geometry.facets import Surface
from grading.geometry.plane import Plane
from grading.ground.model import survey_to_ground
from grading.pipeline import plan

WIDE = ((-8.0, -8.0), (18.0, 16.0))
HOUSE = shapely.box(-9, -9, 20, 0)
LIP = 0.0127


def tied(height, level, edge="bevelled", **kwargs):
    site = site_of(grid_of_spots(height, corners=WIDE), [PATIO])
    paving = site.areas[0].polygon
    finish = Surface.of(Plane(level, 0, 0), paving.buffer(3))
    return tie_in(paving, finish, survey_to_ground(site), HOUSE, edge, LIP, **kwargs)


def flat(x, y):
    return 30 + 0 * x


def test_lawn_raised_to_high_paving_is_a_wedge_with_quarter_cones_at_its_corners():
    found = tied(flat, 30.1 + LIP)
    # 0.1 m high at 1 in 3: 0.3 m wide along 5 + 8 + 5 m of edge, and a quarter cone at each of
    # the two corners away from the house.
    wedge = 18 * 0.1 * 0.3 / 2
    cones = 2 * np.pi * 0.3**2 * 0.1 / 3 / 4
    assert found.fill == pytest.approx(wedge + cones, rel=1e-9)
    assert found.cut == 0
    assert found.area == pytest.approx(18 * 0.3 + 2 * np.pi * 0.3**2 / 4, rel=1e-9)
    assert found.widest == pytest.approx(0.3, rel=1e-9)
    assert found.outline.bounds == pytest.approx((0.7, 0.0, 9.3, 5.3), abs=0.06)
    assert found.outline.area == pytest.approx(found.area, rel=0.05)
    assert found.open == 0
    assert found.reveal == pytest.approx((0.1 + LIP, 0.1 + LIP))


def test_lawn_cut_down_to_low_paving_is_the_same_wedge():
    found = tied(flat, 29.9 + LIP)
    assert found.cut == pytest.approx(18 * 0.1 * 0.3 / 2 + np.pi * 0.3**2 * 0.1 / 6, rel=1e-9)
    assert found.fill == 0


def test_ground_that_falls_away_is_met_farther_out():
    # Off the far edge the ground falls 1 in 6: lawn at 1 in 3 from 0.1 m above meets it at 0.6 m.
    found = tied(lambda x, y: 30 - np.maximum(y - 5, 0) / 6, 30.1 + LIP)
    # The crease lies between spots, so the surveyed ground rounds it off a little.
    assert found.widest == pytest.approx(0.6, abs=0.08)


def test_ground_steeper_than_the_lawn_is_never_met_and_is_said_so():
    found = tied(lambda x, y: 30 - 0.2 * np.maximum(y - 5, 0), 30.1 + LIP, "flush")
    assert found.open >= 8 - 0.2


def test_a_stepped_edge_leaves_the_lawn_alone_and_tells_the_step():
    found = tied(lambda x, y: 30 - 0.02 * y, 30.1, "stepped")
    assert (found.slope, found.cut, found.fill, found.area) == (0, 0, 0, 0)
    assert found.reveal == pytest.approx((0.1, 0.2), abs=0.003)


def test_a_site_asks_for_it_and_the_house_side_is_left_out():
    area = {**PATIO, "lawn": {"edge": "flush", "slope": "10 %"}}
    made = plan(
        site_of(
            grid_of_spots(flat, corners=WIDE),
            [
                area,
            ],
            house=WALL,
        )
    ).areas[0]
    assert made.tie_in.slope == 0.1
    assert made.tie_in.fill > 0 or made.tie_in.cut > 0
    assert shapely.intersection(made.tie_in.outline, shapely.box(1, -5, 9, -0.01)).area < 0.1
    assert plan(site_of(grid_of_spots(flat), [PATIO], house=WALL)).areas[0].tie_in is None


@pytest.mark.parametrize("above", [0.1, -0.1])
def test_the_regraded_lawn_leaves_the_paving_at_its_slope_until_it_meets_the_ground(above):
    """0.1 m above or below the lawn, at 1 in 3: they meet 0.3 m out."""
    site = site_of(grid_of_spots(flat, corners=WIDE), [PATIO])
    paving, ground = site.areas[0].polygon, survey_to_ground(site)
    finish = Surface.of(Plane(30 + above + LIP, 0, 0), paving.buffer(3))
    tie = tie_in(paving, finish, ground, HOUSE, "bevelled", LIP)
    level = lawn_level(tie, paving, finish, ground, LIP)
    out = np.array([0.0, 0.15, 0.3, 0.6])
    beside = np.column_stack([np.full(4, 5.0), 5.0 + out])
    assert level(beside) == pytest.approx(30 + above * np.maximum(1 - out / 0.3, 0), abs=1e-9)


@pytest.mark.parametrize(("feet", "open_"), [(9.5, 0.0), (10.5, 18.0)])
def test_lawn_is_regraded_for_ten_feet_and_no_farther(feet, open_):
    """Level lawn, at 5 % down to it: it is met as far out as it lies below, over 0.05."""
    found = tied(flat, 30 + LIP + 0.05 * feet * 0.3048, "flush")
    assert found.open == pytest.approx(open_, rel=1e-9)
    assert found.widest == pytest.approx(min(feet, 10) * 0.3048, rel=1e-9)


def test_lawn_that_lies_where_it_begins_is_not_regraded():
    site = site_of(grid_of_spots(lambda x, y: 0 * x, corners=WIDE), [PATIO])
    paving = site.areas[0].polygon
    finish = Surface.of(Plane(0.25, 0, 0), paving.buffer(3))
    found = tie_in(paving, finish, survey_to_ground(site), HOUSE, "bevelled", 0.25)
    assert (found.cut, found.fill, found.area, found.widest, found.open) == (0, 0, 0, 0, 0)


def test_lawn_beyond_the_survey_is_left_open_and_counted_as_far_as_it_is_known():
    """Surveyed 0.5 m out all round: at 5 % from 0.1 m, 2 m would be wanted."""
    outer = shapely.box(*shapely.Polygon(PATIO["outline"]).buffer(0.5).bounds)
    site = site_of(grid_of_spots(flat, corners=(outer.bounds[:2], outer.bounds[2:])), [PATIO])
    paving = site.areas[0].polygon
    finish = Surface.of(Plane(30.1 + LIP, 0, 0), paving.buffer(3))
    found = tie_in(paving, finish, survey_to_ground(site), HOUSE, "flush", LIP)
    assert found.open == pytest.approx(18.0)
    assert found.widest <= 0.5 * 2**0.5 + 1e-9
    # A strip 0.1 m high at the paving and 0.075 m at the end of the survey.
    assert 18 * 0.5 * (0.1 + 0.075) / 2 <= found.fill <= 18.5 * 0.5 * (0.1 + 0.075) / 2 + 0.1


def test_lawn_is_regraded_across_a_gap_in_the_survey():
    """Between what is known on both sides of it the ground is taken to run straight on."""
    site = site_of(grid_of_spots(flat, corners=WIDE), [PATIO])
    paving, whole = site.areas[0].polygon, survey_to_ground(site)
    finish = Surface.of(Plane(30.13 + LIP, 0, 0), paving.buffer(3))
    x, y = whole.points[whole.triangles, :2].mean(axis=1).T
    gap = (x > 3) & (x < 7) & (y > 5.9) & (y < 6.6)
    gapped = replace(whole, triangles=whole.triangles[~gap])
    one, other = (tie_in(paving, finish, each, HOUSE, "flush", LIP) for each in (whole, gapped))
    assert other.fill == pytest.approx(one.fill, rel=1e-9)
    assert (other.cut, other.open) == (one.cut, one.open)


def turned(turn):
    """Tie a lawn that falls 10 % along a small patio, all of it turned by an angle. [rad]"""
    cos, sin = np.cos(turn), np.sin(turn)
    matrix, centre = np.array([[cos, -sin], [sin, cos]]), np.array([5.0, 2.5])
    ring = (np.array([[2.0, 1.0], [8.0, 1.0], [8.0, 4.0], [2.0, 4.0]]) - centre) @ matrix.T + centre

    def height(x, y):
        return 30 + 0.1 * ((np.stack([x, y], -1) - centre) @ matrix[:, 0])

    site = site_of(grid_of_spots(height, corners=WIDE), [{**PATIO, "outline": ring.tolist()}])
    paving = site.areas[0].polygon
    finish = Surface.of(Plane(30.35 + LIP, 0, 0), paving.buffer(6))
    found = tie_in(paving, finish, survey_to_ground(site), shapely.Polygon(), "bevelled", LIP)
    return [found.cut, found.fill, found.area, found.widest, found.open]


@pytest.mark.parametrize("turn", [0.7, np.pi / 2, 3.0])
def test_a_yard_that_is_turned_moves_the_same_lawn(turn):
    """The fans at its corners open where the corners do, uphill and down."""
    assert turned(turn) == pytest.approx(turned(0.0), rel=1e-4)
