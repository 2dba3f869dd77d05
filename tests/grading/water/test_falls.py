import tracemalloc

import numpy as np
import pytest
import shapely
from make.plans.water_grid import box, yard

from grading.geometry.plane import Plane
from grading.units import FOOT
from grading.water.falls import LEAST_RUN, REACH, falls_away

HOUSE = box(-1, -4, 13, 0)
WALL = ("wall 1", np.array([0.0, 0.0]), np.array([12.0, 0.0]), np.array([0.0, 1.0]))


def found(ground, surfaces=(), house=HOUSE, walls=(WALL,)):
    (fall,) = falls_away(walls, ground, surfaces, house)
    return fall


def test_a_yard_on_a_plane_falls_as_the_plane_does():
    fall = found(yard(lambda x, y: 5 - 0.06 * y + 0.01 * x))
    assert fall.paved is None
    assert fall.ground.fall == pytest.approx(0.06, rel=1e-9)
    assert (fall.ground.distance, fall.ground.length) == (0, pytest.approx(REACH))


def test_the_worst_plane_of_a_patio_is_found_and_where():
    left, right = Plane(5, 0, -0.02), Plane(5, 0, -0.015)
    surfaces = [(box(1, 0, 5, 3), left.at), (box(5, 0, 9, 3), right.at)]
    fall = found(yard(lambda x, y: 5 - 0.06 * y), surfaces)
    assert fall.paved.fall == pytest.approx(0.015)
    assert 5 <= fall.paved.at[0] <= 9
    assert fall.paved.length == pytest.approx(3.0)


def test_one_facet_that_tips_back_is_found_behind_one_that_falls_away():
    surfaces = [
        (box(1, 0, 9, 1), Plane(5, 0, -0.03).at),
        (box(1, 1, 9, 2.5), Plane(4.9, 0, 0.01).at),
    ]
    fall = found(yard(lambda x, y: 5 - 0.06 * y), surfaces)
    assert fall.paved.fall == pytest.approx(-0.01)
    assert (fall.paved.distance, fall.paved.length) == (pytest.approx(1.0), pytest.approx(1.5))


def test_the_ground_is_judged_from_end_to_end_and_never_over_a_short_strip():
    def height(x, y):
        return 5 - 0.06 * y - 0.3 * ((abs(x - 7) < 0.1) & (abs(y - 1) < 0.1))

    fall = found(yard(height))
    assert fall.ground.fall == pytest.approx(0.06)  # end to end over the ten feet
    shallow = [(box(0, 0.9, 12, 6), Plane(5, 0, -0.03).at)]
    fall = falls_away([WALL], yard(height), shallow, HOUSE)[0]
    assert fall.ground is None  # the strip before the paving is too short to tell


def test_paving_within_reach_is_told_apart_from_the_ground_beyond_it():
    surfaces = [(box(0, 0, 12, 2), Plane(5, 0, -0.02).at)]
    fall = found(yard(lambda x, y: 5 - 0.01 * y), surfaces)
    assert fall.paved.fall == pytest.approx(0.02)
    assert fall.ground.fall == pytest.approx(0.01)
    assert fall.ground.distance == pytest.approx(2.0)
    assert fall.ground.length == pytest.approx(REACH - 2.0)


def test_a_ray_ends_at_another_wing():
    wing = HOUSE.union(box(-1, 2, 13, 4))
    surfaces = [(box(0, 0, 12, 2), Plane(5, 0, -0.02).at)]
    fall = found(yard(lambda x, y: 5 + 0.05 * y), surfaces, house=wing)
    assert fall.paved.length == pytest.approx(2.0)
    assert fall.ground is None


def test_ground_that_was_not_surveyed_hides_none_of_the_rest():
    fall = found(yard(lambda x, y: 5 - 0.06 * y, size=(6.0, 10.0)))
    assert fall.ground.fall == pytest.approx(0.06)


def test_every_foot_of_a_wall_is_looked_along():
    """A narrow strip of paving that tips back is not missed between two rays."""
    for left in np.arange(0.5, 11.0, 0.37):
        strip = box(left, 0, left + 1.01 * FOOT, 2)
        fall = found(yard(lambda x, y: 5 - 0.06 * y), [(strip, Plane(5, 0, 0.02).at)])
        assert fall.paved.fall == pytest.approx(-0.02)


def test_paving_too_short_to_be_laid_to_a_fall_tells_none():
    short, long = (box(2, 0, 9, depth) for depth in (0.9 * LEAST_RUN, 1.1 * LEAST_RUN))
    ground, back = yard(lambda x, y: 5 - 0.06 * y), Plane(5, 0, 0.02)
    assert found(ground, [(short, back.at)]).paved is None
    assert found(ground, [(long, back.at)]).paved.fall == pytest.approx(-0.02)


def test_of_stretches_that_fall_alike_the_one_that_reaches_the_edge_is_told():
    """A valley from the corner cuts the rays beside it short of the edge of the paving."""
    wall = ("wall 1", np.array([12.0, 0.0]), np.array([0.0, 0.0]), np.array([0.0, 1.0]))
    own, other = Plane(5, 0, -0.02), Plane(5 + 12 * 0.01, -0.01, -0.03)
    surfaces = [
        (shapely.Polygon([(12, 0), (12, 3), (9, 3)]), other.at),
        (shapely.Polygon([(12, 0), (9, 3), (4, 3), (4, 0)]), own.at),
    ]
    paved = found(yard(lambda x, y: 5 - 0.06 * y), surfaces, walls=(wall,)).paved
    assert (paved.fall, paved.distance, paved.length) == pytest.approx((0.02, 0.0, 3.0))


def test_two_areas_on_one_plane_are_one_stretch_and_a_step_parts_them():
    plane, gap = Plane(5, 0, -0.02), 5e-4  # written to a millimetre they may miss each other
    near, far = box(1, 0, 9, 1.5 - gap), box(1, 1.5, 9, 2.5)
    ground = yard(lambda x, y: 5 - 0.06 * y)
    assert found(ground, [(near, plane.at), (far, plane.at)]).paved.length == pytest.approx(2.5)
    lower = plane.lowered(0.15)
    assert found(ground, [(near, plane.at), (far, lower.at)]).paved.length < 1.6


@pytest.mark.parametrize("turn", [0, 30, 111, 250])
def test_turning_the_site_changes_no_fall(turn):
    angle = np.radians(turn)
    rotation = np.array([[np.cos(angle), -np.sin(angle)], [np.sin(angle), np.cos(angle)]])
    ground = yard(lambda x, y: 5 - 0.06 * y + 0.1 * np.sin(x))
    from grading.ground.model import surface

    spots = np.column_stack([ground.points[:, :2] @ rotation.T, ground.points[:, 2]])
    turned = surface(spots, warn=False)
    patio = box(2, 0, 9, 2)
    moved = shapely.transform(patio, lambda xy: xy @ rotation.T)
    house = shapely.transform(HOUSE, lambda xy: xy @ rotation.T)
    wall = (WALL[0], *(rotation @ vector for vector in WALL[1:]))
    plane = Plane(5, 0.002, -0.02)
    first = found(ground, [(patio, plane.at)])
    second = found(turned, [(moved, lambda xy: plane.at(xy @ rotation))], house, (wall,))
    assert second.paved.fall == pytest.approx(first.paved.fall)
    # Squares of spots may be cut by the other diagonal, so the ground is another surface.
    assert second.ground.fall == pytest.approx(first.ground.fall, abs=0.01)


def test_a_long_wall_before_a_dense_survey_takes_little_room():
    ground = yard(lambda x, y: 5 - 0.03 * y, (100.0, 4.0), 0.25)
    wall = ("wall 1", np.array([0.0, 0.0]), np.array([100.0, 0.0]), np.array([0.0, 1.0]))
    tracemalloc.start()
    fall = found(ground, house=box(-1, -4, 101, 0), walls=[wall])
    _, peak = tracemalloc.get_traced_memory()
    tracemalloc.stop()
    assert fall.ground.fall == pytest.approx(0.03, rel=1e-9)
    # Each ray with each side of a triangle would be 330 times 18,000 pairs of numbers.
    assert peak < 50e6
