"""What holds for every survey."""

from __future__ import annotations

from itertools import pairwise

import numpy as np
import pytest
import shapely
from hypothesis import assume, given
from hypothesis import strategies as st
from make.sites.strategies import bent_lines, plan_points, slopes, surveys

from grading.geometry.triangulation import sides, triangulate
from grading.ground.model import surface
from grading.ground.smooth import leave_one_out


def area_of(points, triangles):
    a, b, c = (points[triangles[:, i], :2] for i in range(3))
    ab, ac = b - a, c - a
    return (ab[:, 0] * ac[:, 1] - ab[:, 1] * ac[:, 0]) / 2


def steepest(ground):
    return float(np.hypot(*ground.tin.slopes.T).max())


@given(plan_points())
def test_triangles_cover_the_hull_once(points):
    mesh = triangulate(points)
    area = area_of(points, mesh.corners)
    assert (area > 0).all()
    assert area.sum() == pytest.approx(shapely.MultiPoint(points).convex_hull.area, rel=1e-7)
    assert set(mesh.corners.ravel().tolist()) == set(range(len(points)))
    # Euler: triangles = 2 n - 2 - points on the boundary
    assert len(mesh.corners) == 2 * len(points) - 2 - len(mesh.ring)
    assert len(sides(mesh.corners)) == 3 * len(points) - 3 - len(mesh.ring)
    for side in range(3):
        across = mesh.neighbours[:, side]
        inner = np.flatnonzero(across >= 0)
        assert (mesh.neighbours[across[inner]] == inner[:, None]).any(axis=1).all()


@given(plan_points())
def test_no_point_lies_in_the_circle_through_a_triangle(points):
    corners = triangulate(points).corners
    local = points[corners][:, None] - points[None, :, None]  # triangle, point, corner
    square = (local**2).sum(axis=-1)
    inside = np.linalg.det(np.concatenate((local, square[..., None]), axis=-1))
    # positive inside; the determinant has the unit m^4
    assert inside.max() < 1e-8


@given(surveys(), bent_lines())
def test_section_agrees_with_elevation_everywhere(spots, line):
    ground = surface(spots)
    section = ground.section(line)
    assume(len(section) > 1)
    distance, z = section.T
    assert (np.diff(distance) >= 0).all()
    run = np.concatenate(([0.0], np.cumsum(np.hypot(*np.diff(line, axis=0).T))))
    share = np.linspace(0, 1, 7)[:, None]
    d = (distance[:-1] + share * np.diff(distance)).ravel()
    between = (z[:-1] + share * np.diff(z)).ravel()
    x, y = (np.interp(d, run, axis) for axis in line.T)
    expected = ground.elevation(np.column_stack((x, y)))
    known = np.isfinite(between)
    assert known.any()
    assert np.isfinite(expected[known]).all()
    limit = 1e-12 + 1e-13 * steepest(ground)
    assert np.abs(between - expected)[known].max() <= limit * max(1, np.abs(spots[:, 2]).max())


@given(surveys(), bent_lines(most=3))
def test_section_is_as_long_as_the_line_on_the_ground(spots, line):
    ground = surface(spots)
    distance, z = ground.section(line).T
    whole = np.isfinite(z[:-1]) & np.isfinite(z[1:])
    inside = sum(
        shapely.intersection(shapely.LineString(part), ground.surveyed).length
        for part in pairwise(line)
    )
    assert np.diff(distance)[whole].sum() == pytest.approx(inside, abs=2e-3)


@given(plan_points(), slopes(), st.sampled_from(["tin", "smooth"]))
def test_a_plane_comes_back(points, slope, kind):
    spots = np.column_stack((points, points @ slope[:2] + slope[2]))
    ground = surface(spots, kind=kind)
    where = points.mean(axis=0) + (points - points.mean(axis=0)) * 0.7
    assert ground.elevation(where) == pytest.approx(where @ slope[:2] + slope[2], abs=1e-9)
    thinnest = (2 * area_of(ground.points, ground.triangles)).min() / 30
    assert np.abs(ground.gradient(where) - slope[:2]).max() < 1e-9 / thinnest
    assert not ground.warnings


@given(plan_points(), slopes(), st.floats(0.0, 0.9))
def test_a_plane_goes_on_beyond_the_survey(points, slope, reach):
    spots = np.column_stack((points, points @ slope[:2] + slope[2]))
    ground = surface(spots)
    work = shapely.buffer(ground.surveyed, reach)
    wide = ground.reaching(work)
    corner = shapely.get_coordinates(work)
    assert wide.elevation(corner) == pytest.approx(corner @ slope[:2] + slope[2], abs=1e-6)
    assert wide.outline.buffer(1e-6).covers(work) or work.is_empty


@given(surveys(), st.floats(0.01, 0.9))
def test_reaching_leaves_the_survey_as_it_was(spots, reach):
    ground = surface(spots, organics=0.1)
    wide = ground.reaching(shapely.buffer(ground.surveyed, reach))
    count = len(ground.triangles)
    assert (wide.triangles[:count] == ground.triangles).all()
    assert (wide.points[: len(ground.points)] == ground.points).all()
    assert not wide.beyond[:count].any()
    assert wide.beyond[count:].all()
    assert wide.organics == pytest.approx(0.1)
    area = area_of(wide.points, wide.triangles)
    assert (area > 0).all()
    assert area.sum() == pytest.approx(wide.outline.area, rel=1e-6)
    assert wide.reaching(shapely.buffer(ground.surveyed, reach / 2)) is wide


@given(surveys(), plan_points(most=8), st.data())
def test_probes_are_met_and_the_surface_stays(spots, probed, data):
    depth = st.integers(0, 400).map(lambda d: d / 1000)
    depths = data.draw(st.lists(depth, min_size=len(probed), max_size=len(probed)))
    probes = np.column_stack((probed, depths))
    plain = surface(spots)
    ground = surface(spots, probes=probes)
    on_it = np.isfinite(plain.elevation(probed))
    assert ground.organics_at(probed[on_it]) == pytest.approx(probes[on_it, 2], abs=1e-12)
    assert ground.organics.min() >= probes[:, 2].min() - 1e-12
    assert ground.organics.max() <= probes[:, 2].max() + 1e-12
    where = np.random.default_rng(0).uniform(-12, 12, (200, 2))
    before, after = plain.elevation(where), ground.elevation(where)
    known = np.isfinite(before) & np.isfinite(after)
    assert np.abs(after - before)[known].max(initial=0) <= 1e-9 * (1 + steepest(plain))


@given(surveys(), st.integers(-500, 500))
def test_contours_lie_on_their_level(spots, level):
    z = 100 + level / 1000
    ground = surface(spots)
    for line in ground.contours(np.array([z]))[0]:
        met = ground.elevation(line)
        assert np.abs(met - z).max() <= 1e-11 * (1 + steepest(ground))
        closed = (line[0] == line[-1]).all()
        edge = shapely.distance(ground.surveyed.exterior, shapely.points(line[[0, -1]]))
        at_spot = np.hypot(*(line[[0, -1], None] - ground.points[None, :, :2]).transpose(2, 0, 1))
        assert closed or ((edge < 1e-6) | (at_spot.min(axis=1) < 1e-9)).all()


@given(surveys(), st.integers(-500, 500))
def test_contours_part_high_from_low(spots, level):
    """Low and high ground touch only along the contour."""
    z = 100.0005 + level / 1000
    ground = surface(spots)
    contour = shapely.MultiLineString(ground.contours(np.array([z]))[0])
    a, b = ground.points[sides(ground.triangles)].transpose(1, 0, 2)
    parted = (a[:, 2] < z) != (b[:, 2] < z)
    segment = shapely.linestrings(np.stack((a, b), axis=1)[..., :2])
    gap = shapely.distance(segment, contour) if parted.any() else np.zeros(0)
    if parted.any():
        assert gap[parted].max() < 1e-9
    else:
        assert contour.is_empty


@given(surveys(fewest=6), st.data())
def test_a_breakline_between_two_spots_is_in_the_surface(spots, data):
    which = st.integers(0, len(spots) - 1)
    start, end = data.draw(st.tuples(which, which).filter(lambda pair: pair[0] != pair[1]))
    ground = surface(spots, breaklines=[spots[[start, end], :2]])
    path = chain(ground, start, end)
    assert path[0] == start
    assert path[-1] == end
    line = shapely.LineString(spots[[start, end], :2])
    assert shapely.distance(line, shapely.points(ground.points[path, :2])).max() <= 0.005 + 1e-9


def chain(ground, start, end):
    """Return the points of the surface's sides from start to end that keep to the straight line."""
    near = ground.points[:, :2]
    line = shapely.LineString(near[[start, end]])
    beside = shapely.distance(line, shapely.points(near)) <= 0.005
    edges = sides(ground.triangles)
    edges = edges[beside[edges].all(axis=1)]
    after = {}
    for a, b in edges.tolist():
        after.setdefault(a, []).append(b)
        after.setdefault(b, []).append(a)
    paths, seen = [[start]], {start}
    while paths:
        path = paths.pop(0)
        if path[-1] == end:
            return path
        for point in after.get(path[-1], []):
            if point not in seen:
                seen.add(point)
                paths.append([*path, point])
    raise AssertionError("no chain of sides joins the ends")


@given(plan_points(fewest=6), slopes())
def test_nothing_is_missed_on_a_plane(points, slope):
    errors = leave_one_out(np.column_stack((points, points @ slope[:2] + slope[2])))
    assume(errors.count)
    assert errors.tin_worst < 1e-9
    assert errors.smooth_worst < 1e-6
