"""Triangles cut along an outline: what lies inside of each is what shapely's overlay says."""

from __future__ import annotations

import numpy as np
import pytest
import shapely
from make.plans.grounds import ground_of
from scipy.spatial import Delaunay

from grading.finish import cutting
from grading.finish.boundary import crossed, edges_of
from grading.finish.cutting import clip

CIRCLE = shapely.Point(5, 5).buffer(3)
OUTLINES = {
    "a square": shapely.box(2, 2, 7.3, 8.1),
    "round": CIRCLE,
    "with a notch": CIRCLE - shapely.box(4.9, 5, 5.03, 12),
    "with holes": CIRCLE - shapely.Point(4, 4).buffer(0.7) - shapely.box(6, 5, 6.02, 5.03),
    "in two parts": shapely.box(1, 1, 3.3, 9) | shapely.box(3.31, 1, 9, 2.2),
    "clockwise": shapely.Polygon(shapely.get_coordinates(CIRCLE)[::-1]),
    "corners said twice": shapely.Polygon([[1, 1], [1, 1], [9, 2], [9, 2], [4, 8], [1, 1]]),
    "a comb": shapely.unary_union(
        [shapely.box(1, 1, 9, 1.3), *(shapely.box(x, 1, x + 0.05, 9) for x in np.arange(1, 9, 0.3))]
    ),
}


def triangles(count, seed=1):
    """Return triangles (k, 3, 2) of random points and the corners of a square of 10 m."""
    rng = np.random.default_rng(seed)
    ends = [[0, 0], [10, 0], [10, 10], [0, 10]]
    xy = np.vstack([rng.uniform(0, 10, (count, 2)), ends])
    return xy, Delaunay(xy).simplices


@pytest.mark.parametrize("name", OUTLINES)
@pytest.mark.parametrize("count", [4, 60, 400])
def test_what_lies_in_each_triangle_is_what_an_overlay_says(name, count):
    xy, corners = triangles(count)
    flat, outline = xy[corners], OUTLINES[name]
    found = crossed(flat, edges_of(outline, np.zeros(2)))
    whole = shapely.polygons(flat)
    told = shapely.area(shapely.intersection(whole, outline))
    a, b, c = found.pieces.transpose(1, 2, 0)
    areas = 0.5 * ((b - a)[0] * (c - a)[1] - (b - a)[1] * (c - a)[0])
    assert (areas >= 0).all()
    ours = np.bincount(found.source, areas, len(flat))
    cut = found.met & ~found.doubtful
    assert ours[cut] == pytest.approx(told[cut], abs=1e-12)
    assert (ours[~cut] == 0).all()
    clear = ~found.met & ~found.doubtful
    inside = shapely.contains_xy(outline, flat.mean(axis=1))
    assert told[clear] == pytest.approx(np.where(inside, shapely.area(whole), 0)[clear], abs=1e-12)


def test_nearly_all_are_cut_without_the_polygon_library():
    xy, corners = triangles(2000)
    found = crossed(xy[corners], edges_of(OUTLINES["round"], np.zeros(2)))
    assert found.met.sum() > 150
    assert found.doubtful.sum() <= 6


def test_a_ring_wholly_in_a_triangle_is_left_to_the_library():
    """Here the edge that comes in and those of the hole are as many as go once round."""
    flat = np.array([[[0.0, 0], [10, 0], [0, 10]]])
    square = shapely.box(-1, -1, 4.1, 20)
    hole = shapely.Polygon([[1, 1], [2, 1], [3, 2], [1, 2]])
    found = crossed(flat, edges_of(square - hole, np.zeros(2)))
    assert found.doubtful.tolist() == [True]
    assert not len(found.pieces)


def test_a_tree_of_boxes_finds_what_every_pair_of_them_does(monkeypatch):
    xy, corners = triangles(200)
    edges = edges_of(OUTLINES["a comb"], np.zeros(2))
    pairs = crossed(xy[corners], edges)
    monkeypatch.setattr("grading.finish.boundary._PAIRS", 0)
    tree = crossed(xy[corners], edges)
    for one, other in zip(pairs, tree, strict=True):
        assert np.array_equal(one, other)


@pytest.mark.parametrize("name", OUTLINES)
def test_few_triangles_and_many_give_the_same_earth(name, monkeypatch):
    """By the library alone, by arrays, and by arrays on a grid of cells."""
    xy, corners = triangles(600)
    z = np.sin(xy[:, 0]) + 0.1 * xy[:, 1]
    ground = ground_of(np.column_stack([xy, z]), corners)
    found = []
    for few, small in ((10**9, 10**9), (0, 10**9), (0, 0)):
        monkeypatch.setattr(cutting, "_FEW", few)
        monkeypatch.setattr(cutting, "_SMALL", small)
        pieces = clip(ground, OUTLINES[name])
        moved = pieces.volumes(0.4, 0.05, 0.02)
        found.append([pieces.area, moved.cut, moved.fill])
    assert found[1] == pytest.approx(found[0], rel=1e-12)
    assert found[2] == pytest.approx(found[0], rel=1e-12)
