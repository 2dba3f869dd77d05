"""What must hold of cut and fill whatever the ground, the outline and the plane."""

from __future__ import annotations

import numpy as np
import pytest
import shapely
from hypothesis import assume, example, given
from hypothesis import strategies as st
from make.plans.grounds import earth, ground_of
from make.sites.strategies import grounds, lines, outlines, planes, sides
from measure.exact import exact_volumes
from msgspec.structs import replace

from grading.finish.cutting import clip
from grading.finish.earthwork import positive_and_negative


def same(ours, theirs, scale=1.0, rel=1e-9):
    """Equal to rounding: of the volume, or of a hundredth of a litre."""
    assert ours.cut == pytest.approx(theirs.cut * scale, rel=rel, abs=1e-8 * scale)
    assert ours.fill == pytest.approx(theirs.fill * scale, rel=rel, abs=1e-8 * scale)


@given(grounds(), outlines(), planes())
def test_areas_fill_the_outline_and_net_is_the_mean_depth(ground, outline, plane):
    piece = clip(ground, outline)
    moved = piece.volumes(*plane)
    assert piece.area == pytest.approx(outline.area, rel=1e-10)
    assert moved.cut >= 0
    assert moved.fill >= 0
    assert moved.cut_area + moved.fill_area <= piece.area * (1 + 1e-12)
    net = float((piece.areas * piece.depth(*plane).mean(axis=1)).sum())
    assert moved.cut - moved.fill == pytest.approx(net, abs=1e-9)


@given(
    st.lists(st.floats(-1, 1) | st.floats(-1e-15, 1e-15), min_size=3, max_size=3),
    st.floats(1e-6, 100),
)
@example([-0.00291, 1.47e-17, 6.9e-19], 1.0)  # what is left of the triangle is mere rounding
@example([0.00291, -1.47e-17, -6.9e-19], 1.0)
def test_neither_cut_nor_fill_is_ever_below_zero(depths, area):
    moved = positive_and_negative(np.array([depths]), np.array([area]))
    assert min(moved.cut, moved.fill, moved.cut_area, moved.fill_area) >= 0


@given(grounds(most=8), planes(), st.integers(3, 8), st.floats(1, 5), st.floats(0, 6))
def test_exact_rational_arithmetic_agrees(ground, plane, count, radius, start):
    turns = start + 2 * np.pi * np.arange(count) / count
    ring = 6 + radius * np.column_stack([np.cos(turns), np.sin(turns)])
    cut, fill = exact_volumes(ground, ring.tolist(), plane)
    moved = earth(ground, shapely.Polygon(ring), plane)
    assert moved.cut == pytest.approx(float(cut), rel=1e-11, abs=1e-12)
    assert moved.fill == pytest.approx(float(fill), rel=1e-11, abs=1e-12)


@given(grounds(), outlines(), planes(), st.floats(0, 2 * np.pi))
def test_turning_the_site_changes_nothing(ground, outline, plane, turn):
    cos, sin = np.cos(turn), np.sin(turn)
    matrix = np.array([[cos, -sin], [sin, cos]])
    turned = replace(
        ground, points=np.column_stack([ground.points[:, :2] @ matrix.T, ground.points[:, 2]])
    )
    there = (plane[0], *(matrix @ plane[1:]))
    same(
        earth(turned, shapely.transform(outline, lambda xy: xy @ matrix.T), there),
        earth(ground, outline, plane),
    )


@given(
    grounds(), outlines(), planes(),
    st.tuples(st.floats(-500, 500), st.floats(-500, 500), st.floats(-100, 100)),
)  # fmt: skip
def test_moving_the_site_changes_nothing(ground, outline, plane, shift):
    x, y, z = shift
    moved = replace(ground, points=ground.points + np.array(shift))
    there = (plane[0] + z - plane[1] * x - plane[2] * y, *plane[1:])
    outline_there = shapely.transform(outline, lambda xy: xy + np.array([x, y]))
    same(earth(moved, outline_there, there), earth(ground, outline, plane), rel=1e-8)


@given(grounds(), outlines(), planes(), st.floats(0.01, 100))
def test_volumes_grow_with_the_cube_of_the_size(ground, outline, plane, size):
    bigger = replace(ground, points=ground.points * size)
    outline_there = shapely.transform(outline, lambda xy: xy * size)
    same(
        earth(bigger, outline_there, (plane[0] * size, *plane[1:])),
        earth(ground, outline, plane),
        scale=size**3,
    )


@given(grounds(), outlines(), planes(), st.randoms(use_true_random=False))
def test_the_order_of_spots_and_triangles_does_not_matter(ground, outline, plane, random):
    order = list(range(len(ground.points)))
    random.shuffle(order)
    new_number = np.argsort(order)
    rows = list(range(len(ground.triangles)))
    random.shuffle(rows)
    triangles = new_number[ground.triangles[rows]]
    starts = np.array([random.randrange(3) for _ in rows])
    triangles = np.take_along_axis(triangles, (starts[:, None] + np.arange(3)) % 3, axis=1)
    shuffled = ground_of(ground.points[order], triangles)
    same(earth(shuffled, outline, plane), earth(ground, outline, plane))


@given(grounds(), outlines(), planes())
def test_cut_upside_down_is_fill(ground, outline, plane):
    mirrored = replace(ground, points=ground.points * [1, 1, -1])
    ours = earth(mirrored, outline, tuple(-value for value in plane))
    theirs = earth(ground, outline, plane)
    assert ours.cut == pytest.approx(theirs.fill, rel=1e-9, abs=1e-10)
    assert ours.fill == pytest.approx(theirs.cut, rel=1e-9, abs=1e-10)
    assert ours.cut_area == pytest.approx(theirs.fill_area, rel=1e-7, abs=1e-7)


@given(grounds(), outlines(), planes())
def test_a_mirrored_yard_moves_the_same_earth(ground, outline, plane):
    mirrored = ground_of(ground.points * [-1, 1, 1], ground.triangles)
    outline_there = shapely.transform(outline, lambda xy: xy * [-1, 1])
    same(
        earth(mirrored, outline_there, (plane[0], -plane[1], plane[2])),
        earth(ground, outline, plane),
    )


@given(grounds(), outlines(), planes(), lines())
def test_splitting_an_area_moves_no_earth(ground, outline, plane, line):
    whole = earth(ground, outline, plane)
    parts = [outline & side for side in sides(line)]
    parts = [part for part in parts if part.area > 1e-9]
    moved = [earth(ground, part, plane) for part in parts]
    assert sum(p.cut for p in moved) == pytest.approx(whole.cut, rel=1e-9, abs=1e-8)
    assert sum(p.fill for p in moved) == pytest.approx(whole.fill, rel=1e-9, abs=1e-8)
    assert sum(p.cut_area for p in moved) == pytest.approx(whole.cut_area, rel=1e-8, abs=1e-7)


@given(grounds(), outlines(), planes(), st.floats(-0.5, 0.5))
def test_raising_the_plane_by_h_raises_the_net_by_h_times_the_area(ground, outline, plane, raised):
    piece = clip(ground, outline)
    before = piece.volumes(*plane)
    after = piece.volumes(plane[0] + raised, *plane[1:])
    net = (after.fill - after.cut) - (before.fill - before.cut)
    assert net == pytest.approx(raised * outline.area, rel=1e-9, abs=1e-9)
    if raised >= 0:
        assert after.cut <= before.cut + 1e-12
        assert after.fill >= before.fill - 1e-12


@given(grounds(), outlines(), planes())
def test_a_plane_at_the_mean_level_balances_cut_and_fill(ground, outline, plane):
    """Common practice, no source: any plane through the centroid at the mean level balances;
    exact only where the mean is over the area, not over the spots."""
    piece = clip(ground, outline)
    weighted = (piece.areas * piece.ground.mean(axis=1)).sum() / piece.area
    level = weighted - plane[1] * piece.centre[0] - plane[2] * piece.centre[1]
    moved = piece.volumes(level, *plane[1:])
    assert moved.cut == pytest.approx(moved.fill, rel=1e-9, abs=1e-9)


@given(grounds(least=2), outlines(), planes())
def test_the_earth_moved_and_its_slopes_are_those_of_the_volumes(ground, outline, plane):
    piece = clip(ground, outline)
    here = np.array([plane[0] + piece.centre @ plane[1:], *plane[1:]])

    def moved(unknowns):
        level, dzdx, dzdy = unknowns
        volumes = piece.volumes(level - piece.centre @ [dzdx, dzdy], dzdx, dzdy)
        return volumes.cut + volumes.fill

    exact = piece.moments(here)
    assert exact.moved == pytest.approx(moved(here), rel=1e-10, abs=1e-10)
    # A flat of ground in the plane has a corner there, and no slope to compare with.
    assume(np.abs(piece.depth(*plane)).max() > 1e-3)
    for axis, step in enumerate(np.diag([1e-5, 1e-6, 1e-6])):
        ahead, behind = moved(here + step), moved(here - step)
        by_difference = (ahead - behind) / (2 * step[axis])
        curved = 2 * abs(ahead + behind - 2 * moved(here)) / step[axis]
        assert exact.gradient[axis] == pytest.approx(by_difference, abs=curved + 1e-3)


@given(grounds(least=2), outlines(), planes())
def test_the_curvature_is_how_the_slopes_change(ground, outline, plane):
    piece = clip(ground, outline)
    here = np.array([plane[0] + piece.centre @ plane[1:], *plane[1:]])
    exact = piece.moments(here)
    flat = (np.abs(piece.depth(*plane)) < 1e-4).all(axis=1)
    assume(not flat.any())  # ground that lies in the plane has a corner there
    for axis, step in enumerate(np.diag([1e-6, 1e-7, 1e-7])):
        ahead = (piece.moments(here + step).gradient - exact.gradient) / step[axis]
        behind = (exact.gradient - piece.moments(here - step).gradient) / step[axis]
        # Where the two differ the zero line comes upon a corner or a flat within the step.
        allowed = 2 * np.abs(ahead - behind) + 1e-3 * np.abs(exact.curvature).max() + 1e-3
        assert (np.abs(exact.curvature[axis] - (ahead + behind) / 2) <= allowed).all()


@given(grounds(), outlines(), planes(), planes())
def test_the_earth_moved_lies_above_each_of_its_tangents(ground, outline, here, there):
    piece = clip(ground, outline)
    one, two = (np.array([p[0] + piece.centre @ p[1:], *p[1:]]) for p in (here, there))
    at_one, at_two = piece.moments(one), piece.moments(two)
    assert at_two.moved >= at_one.moved + at_one.gradient @ (two - one) - 1e-9
    assert np.linalg.eigvalsh(at_one.curvature).min() >= -1e-6 * max(1, at_one.curvature.max())
