"""What the height of a finish over the lawn costs, against the sum over many short pieces."""

from __future__ import annotations

import numpy as np
import pytest
import shapely
from make.sites.handmade import PATIO, grid_of_spots, site_of
from msgspec.structs import replace

from grading.finish.cutting import clip
from grading.finish.departure import Departure, Hinge, Lying, departure_of, profile_of
from grading.finish.layout import Block
from grading.finish.shapes import plane_shape
from grading.ground.model import survey_to_ground
from grading.site.model import House
from grading.site.walls import walls_in_reach

ROUNDED = 0.02  # m


def edge(lawn, hinge):
    """Return the cost of a level finish along 3 m of edge over a lawn with these two ends."""
    return Departure(
        ends=np.ones((1, 2, 1)), lawn=np.array([lawn]), lengths=np.array([3.0]),
        tilts=np.zeros((0, 1)), earned=np.zeros(0), paved=(), hinges=(hinge,), free=3.0,
    )  # fmt: skip


@pytest.mark.parametrize("sign", [1.0, -1.0])
@pytest.mark.parametrize(
    "lawn",
    [
        (0.0, 0.0), (-0.01, -0.01), (-0.1, -0.1), (0.1, 0.1),  # level, and by how much it lies off
        (-0.1, 0.1), (0.1, -0.1), (-0.005, -0.015), (-0.015, -0.1), (0.001, -0.021),
    ],
)  # fmt: skip
def test_a_height_costs_its_square_where_it_is_rounded_and_itself_beyond(sign, lawn):
    limit, weight = 0.03, 2.0
    # The finish stands at the limit over a lawn at nought: what the lawn lies off it is over it.
    found = edge([sign * each for each in lawn], Hinge(sign, limit, weight)).moments(
        np.array([limit]), ROUNDED
    )
    at = (np.arange(200_000) + 0.5) / 200_000
    over = np.maximum(-(lawn[0] + at * (lawn[1] - lawn[0])), 0.0)
    cost = np.where(over < ROUNDED, over**2 / (2 * ROUNDED), over - ROUNDED / 2)
    slope = np.minimum(over / ROUNDED, 1.0)
    assert found.moved == pytest.approx(weight * 3.0 * cost.mean(), rel=1e-6, abs=1e-12)
    assert found.gradient[0] == pytest.approx(sign * weight * 3.0 * slope.mean(), rel=1e-6)


def test_an_edge_that_leaves_the_survey_is_held_to_the_lawn_where_that_is_known():
    surveyed = ((-2.0, -1.0), (6.0, 9.0))  # the patio goes on to x = 9
    ground = survey_to_ground(site_of(grid_of_spots(lambda x, y: 30 - 0.02 * y, surveyed), [PATIO]))
    profile = profile_of(shapely.box(1, 0, 9, 5), [], [], ground)
    lines = [shapely.get_coordinates(each, include_z=True) for each in profile.lines]
    levels = np.concatenate(lines)
    assert np.isfinite(levels).all()
    assert levels[:, 2] == pytest.approx(30 - 0.02 * levels[:, 1], abs=1e-9)
    assert profile.length == pytest.approx(5 + 5 + 5, abs=1e-6)  # below, beside, above


def test_an_edge_across_a_gap_in_the_survey_is_held_to_nothing_there():
    whole = survey_to_ground(site_of(grid_of_spots(lambda x, y: 30 - 0.02 * y), [PATIO]))
    middle = whole.points[whole.triangles, 0].mean(axis=1)
    gapped = replace(whole, triangles=whole.triangles[(middle < 4) | (middle > 6)])
    paving = shapely.box(1, 0, 9, 5)
    known = shapely.union_all(shapely.polygons(gapped.points[gapped.triangles, :2]))
    profile = profile_of(paving, [], [], gapped)
    assert profile.length == pytest.approx(paving.exterior.intersection(known).length, rel=1e-6)
    assert profile.length < profile_of(paving, [], [], whole).length - 2


def tilted(use="patio", walls=((-1, 0), (11, 0)), slope=(0.03, 0.0)):
    """Return what a patio that falls so along the wall and away from it pays for the first."""
    outline = shapely.box(1, 0, 9, 5)
    house = House.model_validate(
        {"walls": [list(each) for each in walls], "inside": [5, -3]}, context={"unit": "m"}
    )
    site = site_of(grid_of_spots(lambda x, y: 30 - 0 * x), [{**PATIO, "use": use}])
    ground = survey_to_ground(site)
    block = Block(site.areas[0], plane_shape(outline), np.array([5.0, 2.5]), 0, 3)
    lying = Lying(block, profile_of(outline, [shapely.LineString(walls)], [], ground),
                  clip(ground, outline), walls_in_reach(house, outline, 3.0))  # fmt: skip
    found = departure_of([lying], site.in_force)
    alone = replace(found, hinges=(), paved=())
    return alone.moments(np.array([30.0, *slope])), found.free


def test_a_patio_pays_for_what_it_falls_along_its_wall_and_for_no_fall_away_from_it():
    """A level edge is worth so much of the lawn for each per cent, over all the free edge."""
    limit = site_of(np.zeros((0, 3)), []).in_force["lawn-tilt"]
    for along in (0.03, -0.03):
        cost, free = tilted(slope=(along, -0.02))
        assert free == pytest.approx(8 + 5 + 5)
        assert cost.moved == pytest.approx(3 * limit * free, rel=1e-3)
        assert cost.gradient[1] == pytest.approx(np.sign(along) * limit / 0.01 * free, rel=1e-6)
    assert tilted(slope=(0.0, -0.02))[0].moved == 0.0


def test_a_walk_pays_for_no_tilt():
    assert tilted(use="walkway")[0].moved == 0.0
