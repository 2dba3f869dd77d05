"""The exact integral against booleans of the same solids, and its areas against shapely.

Sources: manifold3d in double precision (Mesh64), trimesh booleans (single precision inside),
shapely areas; exact rational arithmetic from the standard library's fractions.
"""

from __future__ import annotations

import numpy as np
import pytest
import shapely
from make.plans.grounds import corners_of, earth, gridded, ground_of
from measure.exact import exact_volumes
from measure.solids import manifold, manifold_volumes, slab_mesh, trimesh_volumes
from shapely.affinity import rotate

from grading.finish.cutting import clip


def scattered(count, seed, size=(24.0, 15.0)):
    rng = np.random.default_rng(seed)
    xy = rng.uniform([0, 0], size, (count, 2))
    xy = np.vstack(
        [xy, [(-1, -1), (size[0] + 1, -1), (size[0] + 1, size[1] + 1), (-1, size[1] + 1)]]
    )
    z = 0.15 * np.sin(xy[:, 0] / 3) + 0.02 * xy[:, 1] + rng.normal(0, 0.03, len(xy))
    return ground_of(np.column_stack([xy, z]))


def patio():
    """A concave outline with a rounded side, a notch and a round hole, turned off the axes."""
    whole = shapely.box(4, 3, 19, 12).union(shapely.Point(19, 7.5).buffer(2.5))
    notch = shapely.box(9, 10, 11.5, 12.5)
    tree = shapely.Point(8, 6).buffer(0.8)
    return rotate(whole - notch - tree, 17, origin=(12, 7.5))


PLANES = [(0.1, 0.0, 0.0), (0.25, -0.015, 0.02), (-0.2, 0.03, 0.01)]


@pytest.mark.parametrize("plane", PLANES)
@pytest.mark.parametrize("seed", [1, 2])
def test_cut_and_fill_are_the_volumes_of_the_solids(seed, plane):
    ground, outline = scattered(120, seed), patio()
    moved = earth(ground, outline, plane)
    cut, fill = manifold_volumes(ground, outline, plane)
    assert moved.cut == pytest.approx(cut, rel=1e-9)
    assert moved.fill == pytest.approx(fill, rel=1e-9)
    assert min(cut, fill) > 0.1


def test_trimesh_agrees_to_its_single_precision():
    ground, outline = scattered(120, 3), patio()
    moved = earth(ground, outline, PLANES[1])
    cut, fill = trimesh_volumes(ground, outline, PLANES[1])
    assert moved.cut == pytest.approx(cut, rel=3e-6)
    assert moved.fill == pytest.approx(fill, rel=3e-6)


@pytest.mark.parametrize("plane", PLANES)
def test_areas_are_shapelys(plane):
    ground, outline = scattered(120, 4), patio()
    piece = clip(ground, outline)
    moved = piece.volumes(*plane)
    assert piece.area == pytest.approx(outline.area, rel=1e-12)
    assert moved.cut_area + moved.fill_area == pytest.approx(outline.area, rel=1e-12)
    assert (piece.areas > 0).all()
    triangles = shapely.polygons(piece.xy)
    assert shapely.union_all(triangles).symmetric_difference(outline).area < 1e-9


def test_a_layer_of_even_thickness_is_its_area_times_its_thickness():
    outline = patio()
    layer = manifold(slab_mesh(outline, (0.0, 0.02, -0.01), (0.1524, 0.02, -0.01)))
    assert layer.volume() == pytest.approx(outline.area * 0.1524, rel=1e-9)


@pytest.mark.parametrize("plane", PLANES)
def test_rational_arithmetic_agrees_to_rounding(plane):
    ground = scattered(40, 5)
    outline = [(4.0, 2.5), (18.0, 3.0), (21.0, 9.0), (12.0, 13.5), (3.0, 9.5)]
    moved = earth(ground, shapely.Polygon(outline), plane)
    cut, fill = exact_volumes(ground, outline, plane)
    assert moved.cut == pytest.approx(float(cut), rel=1e-12)
    assert moved.fill == pytest.approx(float(fill), rel=1e-12)


def test_a_far_origin_costs_few_digits():
    """State-plane coordinates put single-precision booleans tens of per cent out."""
    near, far = np.array([0.0, 0.0]), np.array([500_000.0, 4_000_000.0])
    ground, outline, plane = scattered(120, 6), patio(), PLANES[1]
    moved = earth(ground, outline, plane)
    shifted = ground_of(ground.points + np.append(far - near, 0), ground.triangles)
    there = (plane[0] - plane[1] * far[0] - plane[2] * far[1], *plane[1:])
    again = earth(shifted, shapely.transform(outline, lambda xy: xy + far), there)
    assert again.cut == pytest.approx(moved.cut, rel=1e-7)
    assert again.fill == pytest.approx(moved.fill, rel=1e-7)


@pytest.mark.parametrize("count", [20, 60])
def test_an_outline_along_the_triangles_edges_takes_whole_triangles(count):
    """Few and many triangles go by two roads; both meet edges that lie on the outline."""
    side = np.linspace(0, 10, count + 1)
    ground = gridded(side, side, lambda x, y: 0.01 * x * y)
    step = 10 / count
    outline = shapely.box(4 * step, 4 * step, 10 - 4 * step, 10 - 5 * step)
    piece = clip(ground, outline)
    assert piece.area == pytest.approx(outline.area, rel=1e-12)
    assert (piece.areas > 1e-9).sum() == 2 * (count - 8) * (count - 9)
    on_ground = corners_of(piece)
    expected = 0.01 * on_ground[..., 0] * on_ground[..., 1]
    assert on_ground[..., 2] == pytest.approx(expected, abs=1e-12)
