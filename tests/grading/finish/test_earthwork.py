import numpy as np
import pytest
import shapely
from make.sites.handmade import PATIO, grid_of_spots, site_of

from grading.finish.cutting import clip
from grading.finish.earthwork import Clip, positive_and_negative
from grading.ground.model import survey_to_ground


def ground_of(height, **kwargs):
    return survey_to_ground(site_of(grid_of_spots(height, **kwargs), [PATIO]))


def bumpy(x, y):
    return 30 - 0.01 * y + 0.08 * np.sin(x) * np.cos(y / 2)


def test_the_pieces_cover_the_outline_and_nothing_else():
    outline = shapely.Polygon([[1, 0], [9, 1], [7, 6], [3, 4]]).difference(
        shapely.Point(5, 3).buffer(0.7)
    )
    pieces = clip(ground_of(bumpy), outline)
    assert pieces.area == pytest.approx(outline.area, rel=1e-13)
    assert pieces.areas.min() > 0
    centres = shapely.points(pieces.xy.mean(axis=1))
    assert shapely.covers(outline.buffer(1e-9), centres).all()


def test_heights_on_the_boundary_are_those_of_the_ground():
    ground = ground_of(bumpy)
    pieces = clip(ground, shapely.Polygon([[1.3, 0.2], [8.7, 0.9], [4.1, 6.3]]))
    found = ground.elevation(pieces.xy.reshape(-1, 2))
    assert np.allclose(found, pieces.ground.ravel(), rtol=0, atol=1e-11)


def test_a_many_sided_outline_on_a_dense_survey_is_cut_exactly():
    # More triangles than the direct predicates take, so the grid of cells decides.
    rng = np.random.default_rng(3)
    xy = rng.uniform([-2, -2], [12, 10], (6000, 2))
    spots = np.column_stack([xy, bumpy(*xy.T)])
    ground = survey_to_ground(site_of(spots, [PATIO]))
    outline = shapely.Point(5, 4).buffer(3.3, quad_segs=40).difference(shapely.box(4, 3, 5, 4.5))
    assert clip(ground, outline).area == pytest.approx(outline.area, rel=1e-12)


def test_flat_ground_over_a_level_plane_is_area_times_depth():
    pieces = clip(ground_of(lambda x, y: 30 + 0 * x), shapely.box(1, 1, 5, 4))
    volumes = pieces.volumes(29.75, 0, 0)
    assert (volumes.cut, volumes.fill) == pytest.approx((12 * 0.25, 0), rel=1e-12)
    assert (volumes.cut_area, volumes.fill_area) == (pytest.approx(12), 0)


def test_ground_tipped_about_the_middle_cuts_two_wedges():
    # A plane of slope s about the middle of a rectangle a by b: each wedge is s a^2 b / 8.
    pieces = clip(ground_of(lambda x, y: 30 + 0.1 * (x - 5)), shapely.box(2, 1, 8, 5))
    volumes = pieces.volumes(30, 0, 0)
    wedge = 0.1 * 6**2 * 4 / 8
    assert (volumes.cut, volumes.fill) == pytest.approx((wedge, wedge), rel=1e-12)
    assert (volumes.cut_area, volumes.fill_area) == pytest.approx((12, 12), rel=1e-12)


@pytest.mark.parametrize(
    ("depth", "cut", "fill"),
    [
        # One unit right triangle of area 1/2; the corner alone cuts off s t of it.
        ([3, 3, 3], 1.5, 0),
        ([-1, -1, -1], 0, 0.5),
        ([1, -1, -1], 0.5 * 0.25 / 3, 0.5 * 0.25 / 3 + 0.5 / 3),
        ([1, 1, -1], 0.5 * 0.25 / 3 + 0.5 / 3, 0.5 * 0.25 / 3),
        ([0, 0, 1], 0.5 / 3, 0),
        ([0, -2, 0], 0, 1 / 3),
        ([1, 0, -1], 0.5 * 0.5 / 3, 0.5 * 0.5 / 3),
        ([0, 0, 0], 0, 0),
    ],
)
def test_one_triangle_by_hand(depth, cut, fill):
    for turn in range(3):
        turned = np.roll(np.array([depth], dtype=float), turn, axis=1)
        volumes = positive_and_negative(turned, np.array([0.5]))
        assert (volumes.cut, volumes.fill) == pytest.approx((cut, fill), abs=1e-15)


@pytest.mark.parametrize("unknowns", [[29.96, 0.01, -0.01], [29.9, 0, 0], [30.2, -0.01, 0.02]])
def test_the_derivatives_of_earth_moved_are_those_of_finite_differences(unknowns):
    pieces = clip(ground_of(bumpy), shapely.box(1, 0, 9, 5))
    at, step = np.array(unknowns), 1e-6
    exact = pieces.moments(at)
    sides = [
        (pieces.moments(at - step * way), pieces.moments(at + step * way)) for way in np.eye(3)
    ]
    gradient = [(after.moved - before.moved) / (2 * step) for before, after in sides]
    curvature = [(after.gradient - before.gradient) / (2 * step) for before, after in sides]
    assert exact.gradient == pytest.approx(np.array(gradient), abs=1e-6)
    assert exact.curvature == pytest.approx(np.array(curvature), rel=1e-5, abs=1e-3)


def test_earth_moved_is_cut_and_fill_together():
    pieces = clip(ground_of(bumpy), shapely.box(1, 0, 9, 5))
    level, slopes = 29.97, np.array([0.004, -0.012])
    volumes = pieces.volumes(level - slopes @ pieces.centre, *slopes)
    moved = pieces.moments(np.array([level, *slopes])).moved
    assert moved == pytest.approx(volumes.cut + volumes.fill, rel=1e-13)


def test_far_from_the_origin_no_digits_are_lost():
    near = clip(ground_of(bumpy), shapely.box(1, 0, 9, 5))
    away = np.array([500_000.0, 4_000_000.0])
    far = Clip(near.xy + away, near.ground, near.organics, near.facet)
    plane = (29.95, 0.002, -0.015)
    moved = (plane[0] - away @ plane[1:], *plane[1:])
    assert far.volumes(*moved).cut == pytest.approx(near.volumes(*plane).cut, rel=1e-6)


def test_an_outline_that_rounding_turns_over_when_it_is_moved_is_cut_all_the_same():
    # One corner lies on the side across from it, within the last digit of its coordinates.
    corners = (
        (0.3557572791794984, 7.02204805066088), (8.810911710409268, 5.431869246392268),
        (3.081230235659185, 1.9313171268317286), (5.458578094754809, 6.062349730670724),
    )  # fmt: skip
    outline = shapely.Polygon(corners)
    moved = shapely.transform(outline, lambda xy: xy - np.array(outline.bounds[:2]))
    assert outline.is_valid
    assert not moved.is_valid
    pieces = clip(ground_of(lambda x, y: 30 + 0 * x), outline)
    assert pieces.area == pytest.approx(outline.area, rel=1e-12)


def test_sums_taken_in_parts_are_those_taken_whole(monkeypatch):
    """And every solve over the same pieces is given the same ones."""
    ground = ground_of(bumpy)
    pieces = clip(ground, shapely.box(1.3, 1.1, 8.2, 5.7))
    assert len(pieces.xy) > 20
    plane = np.array([29.98, 0.01, -0.02])
    whole = pieces.part(0, np.zeros(2)).stripped.moments(plane)
    assert pieces.part(0, np.zeros(2)) is pieces.part(0, np.zeros(2))
    assert pieces.part(0, np.ones(2)) is not pieces.part(0, np.zeros(2))
    monkeypatch.setattr("grading.finish.earthwork.PART", 7)
    parts = pieces.part(0, np.zeros(2)).stripped.moments(plane)
    assert parts.moved == pytest.approx(whole.moved, rel=1e-12)
    assert parts.gradient == pytest.approx(whole.gradient, rel=1e-10, abs=1e-12)
    assert parts.curvature == pytest.approx(whole.curvature, rel=1e-10, abs=1e-12)
    below = pieces.stripped
    assert below.ground == pytest.approx(pieces.ground - pieces.organics, abs=1e-12)
    assert below.areas is pieces.areas
