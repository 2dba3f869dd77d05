"""Many questions of a surface at once are answered as one by one, and as with a grid of cells."""

import numpy as np
import pytest

from grading.geometry.tin import Tin
from grading.geometry.triangulation import touching, triangulate


@pytest.fixture(scope="module")
def surface():
    """Return points (n, 3) of rough ground with a notch in its outline, and its triangles."""
    rng = np.random.default_rng(7)
    xy = np.vstack([rng.uniform(0, 10, (60, 2)), [[0, 0], [10, 0], [10, 10], [0, 10]]])
    corners = triangulate(xy, np.zeros((0, 2), np.intp)).corners
    middle = xy[corners].mean(axis=1)
    corners = corners[~((middle[:, 0] > 6) & (np.abs(middle[:, 1] - 5) < 2))]
    return np.column_stack([xy, rng.normal(size=len(xy))]), corners


def lines_over(points):
    rng = np.random.default_rng(3)
    yield from (rng.uniform(-1, 11, (k, 2)) for k in rng.integers(1, 8, 60))
    yield from (points[rng.integers(0, len(points), 3), :2] for _ in range(40))
    yield np.array([[-5.0, -5.0], [-4.0, -6.0]])  # beside it
    yield np.array([[1.0, 1.0], [1.0, 1.0]])  # no length
    yield np.zeros((0, 2))


def test_sections_along_many_lines_are_those_along_each(surface):
    tin = Tin(*surface)
    lines = list(lines_over(surface[0]))
    for line, found in zip(lines, tin.sections(lines), strict=True):
        assert found.tobytes() == Tin(*surface).section(line).tobytes()
    assert any(np.isnan(found).any() for found in tin.sections(lines))  # over the notch
    assert tin.sections([]) == []


def test_a_section_rises_and_falls_with_the_surface(surface):
    tin = Tin(*surface)
    line = np.array([[1.0, 1.0], [5.0, 8.0], [2.0, 9.0]])
    away, z = tin.section(line).T
    long = np.hypot(*np.diff(line, axis=0).T)
    at = np.where(
        away[:, None] <= long[0],
        line[0] + away[:, None] / long[0] * (line[1] - line[0]),
        line[1] + (away[:, None] - long[0]) / long[1] * (line[2] - line[1]),
    )
    assert away[-1] == pytest.approx(long.sum())
    assert z == pytest.approx(tin.elevation(at), abs=1e-9)


def test_a_point_is_found_without_a_grid_as_with_one(surface):
    points, corners = surface
    rng = np.random.default_rng(5)
    sides = points[corners][:, [0, 1, 2]] + points[corners][:, [1, 2, 0]]
    places = np.vstack([
        rng.uniform(-1, 11, (80, 2)), points[:, :2], sides[:, 0, :2] / 2,
        points[corners].mean(axis=1)[:, :2],
    ])  # fmt: skip
    gridded = Tin(points, corners)
    triangle, weight = gridded.locate(places)
    assert gridded._known
    assert (triangle < 0).any()
    for k, place in enumerate(places):
        bare = Tin(points, corners)
        own, share = bare.locate(place)
        assert not bare._known
        assert own[0] == triangle[k]
        assert share.tobytes() == weight[k].tobytes()


def test_a_large_surface_is_looked_through_where_it_is_asked(monkeypatch):
    from grading.geometry import tin as of_tin

    rng = np.random.default_rng(8)
    xy = np.vstack([rng.uniform(0, 40, (2500, 2)), [[0, 0], [90, 0], [0, 90], [90, 90]]])
    points = np.column_stack([xy, np.sin(xy[:, 0]) + 0.1 * xy[:, 1]])
    corners = triangulate(xy).corners
    whole, part = Tin(points, corners), Tin(points, corners)
    line = np.array([[3.0, 4.0], [9.0, 30.0], [12.0, 30.0]])
    asked = [rng.uniform(2, 6, (20, 2)), rng.uniform(30, 34, (20, 2)), rng.uniform(-9, 99, (90, 2))]
    asked.append(xy[:50])  # on corners, where several triangles are equally near
    told = [whole.locate(each) for each in asked]
    profile = whole.section(line)
    monkeypatch.setattr(of_tin, "_MANY", 100)
    monkeypatch.setattr(of_tin, "_COARSE", 40)
    looked = []
    for each, (triangle, weight) in zip(asked, told, strict=True):
        found, share = part.locate(each)
        assert found.tobytes() == triangle.tobytes()
        assert share.tobytes() == weight.tobytes()
        looked.append(len(part._known.triangles))
    assert looked == sorted(looked)
    assert looked[0] < len(corners) / 4
    assert part.section(line).tobytes() == profile.tobytes()


def test_triangles_that_touch_a_frame_are_those_whose_boxes_do():
    rng = np.random.default_rng(9)
    xy = rng.uniform(0, 10, (300, 2))
    corners = triangulate(xy).corners
    low, high = xy[corners].min(axis=1), xy[corners].max(axis=1)
    for left, bottom in rng.uniform(-4, 10, (40, 2)):
        frame = np.array([left, bottom, left + 1.5, bottom + 2.5])
        met = ((low <= frame[2:]) & (high >= frame[:2])).all(axis=1)
        assert touching(xy, corners, frame).tolist() == np.flatnonzero(met).tolist()
    # a box that ends where the frame begins touches it
    edge = (*high[7], 99.0, 99.0)
    assert 7 in touching(xy, corners, edge)
