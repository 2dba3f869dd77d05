"""Triangles, their boundary, and what rounding does to it."""

from __future__ import annotations

import numpy as np
import pytest
import shapely

from grading.geometry.tin import Tin
from grading.geometry.triangulation import CrossingEdgesError, sides, triangulate


def turned_grid(count, angle):
    grid = np.stack(np.meshgrid(np.arange(count), np.arange(count)), axis=-1).reshape(-1, 2)
    cos, sin = np.cos(angle), np.sin(angle)
    return grid @ np.array([[cos, sin], [-sin, cos]]) + [500_000.3, 4_000_000.7]


def test_three_points_are_one_triangle_counter_clockwise():
    mesh = triangulate(np.array([[0, 0], [0, 1], [1, 0.0]]))
    assert sorted(mesh.corners[0].tolist()) == [0, 1, 2]
    start = mesh.ring.tolist().index(0)
    assert np.roll(mesh.ring, -start).tolist() == [0, 2, 1]
    assert mesh.neighbours.tolist() == [[-1, -1, -1]]


@pytest.mark.parametrize("angle", [0.0, 0.3, 1.0, 2.1])
def test_a_turned_grid_has_no_needles_at_its_edge(angle):
    """Its straight edges are bent by rounding, here by some 1e-10 m at state plane coordinates."""
    points = turned_grid(40, angle)
    mesh = triangulate(points)
    assert len(mesh.corners) == 2 * 39 * 39
    assert len(mesh.ring) == 4 * 39
    spots = np.column_stack((points, points @ [0.02, 0.01]))
    slope = Tin(spots, mesh.corners).slopes
    assert np.abs(slope - [0.02, 0.01]).max() < 1e-6


def test_needles_that_are_peeled_leave_every_point_in_place():
    row = np.column_stack((np.arange(50.0), np.random.default_rng(0).uniform(-1, 1, 50) * 1e-8))
    points = np.concatenate((row, [[25, 10]]))
    mesh = triangulate(points)
    assert set(mesh.corners.ravel().tolist()) == set(range(51))
    heights = 2 * shapely.area(shapely.polygons(points[mesh.corners])) / 11
    assert heights.min() > 1e-6
    assert shapely.Polygon(points[mesh.ring]).area == pytest.approx(245, rel=1e-8)


def test_edges_are_kept():
    rng = np.random.default_rng(2)
    points = rng.uniform(0, 10, (60, 2))
    points[:2] = [[-1, 5], [11, 5.01]]
    kept = sides(triangulate(points, np.array([[0, 1]])).corners)
    assert [0, 1] in kept.tolist()
    assert [0, 1] not in sides(triangulate(points).corners).tolist()


def test_crossing_edges_are_refused():
    square = np.array([[0, 0], [1, 0], [1, 1], [0, 1.0]])
    with pytest.raises(CrossingEdgesError):
        triangulate(square, np.array([[0, 2], [1, 3]]))


@pytest.mark.parametrize(
    ("points", "said"),
    [
        ([[0, 0], [1, np.nan], [1, 1]], "finite"),
        ([[0, 0], [1, 1]], "fewer than three"),
        ([[0, 0], [1, 1], [2, 2]], "one line"),
    ],
)
def test_points_that_span_nothing_are_refused(points, said):
    with pytest.raises(ValueError, match=said):
        triangulate(np.array(points, float))


def test_needles_across_a_survey_do_not_fill_the_search_grid():
    """A fan of slanting slivers enters the cells along each, not its bounding box."""
    angle = np.linspace(0.2, 1.2, 400)
    rim = 100 * np.column_stack((np.cos(angle), np.sin(angle)))
    points = np.concatenate(([[0.0, 0.0]], rim))
    tin = Tin(np.column_stack((points, points @ [0.1, -0.2])), triangulate(points).corners)
    where = np.random.default_rng(1).uniform(0, 80, (2000, 2))
    z = tin.elevation(where)
    inside = shapely.contains_xy(shapely.Polygon(points), where)
    assert np.isfinite(z).tolist() == inside.tolist()
    assert z[inside] == pytest.approx(where[inside] @ [0.1, -0.2])
    assert len(tin._window(where).cells.triangles) < 60 * len(tin.corners)


def test_a_mesh_tells_each_side_once():
    rng = np.random.default_rng(4)
    mesh = triangulate(rng.uniform(0, 10, (200, 2)))
    told = mesh.sides()
    assert (told[:, 0] < told[:, 1]).all()
    assert sorted(map(tuple, told.tolist())) == list(map(tuple, sides(mesh.corners).tolist()))
