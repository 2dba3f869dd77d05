"""The picture of the whole job: finished looks finished, and what is written on it hides little."""

from __future__ import annotations

import numpy as np
import pytest
import shapely
from make.plans.sampled import sampled

from viz.scene.whole import FINISHED, TODAY, whole_job
from viz.sheets.homeowner.callouts import stood
from viz.sheets.homeowner.hero import _named


def overlap(a, b):
    return shapely.box(*a).intersection(shapely.box(*b)).area


def test_no_box_stands_over_another_nor_over_what_is_taken():
    """Brute force: fifteen anchors drawn by lot in a narrow room, each pair looked at."""
    draw = np.random.default_rng(7)
    anchors = draw.uniform((20, 15), (120, 70), (15, 2))
    sizes = [(24.0, 8.0)] * 15
    taken = [(0.0, 60.0, 40.0, 90.0)]
    found = stood(anchors, sizes, [], taken, (0.0, 0.0, 150.0, 90.0))
    assert sum(each is not None for each in found) >= 12
    boxes = [each for each in found if each is not None]
    for k, box in enumerate(boxes):
        assert min(box) >= 0
        assert box[2] <= 150
        assert box[3] <= 90
        assert not overlap(box, taken[0])
        assert not any(overlap(box, other) for other in boxes[k + 1 :])
        assert not any(box[0] < x < box[2] and box[1] < y < box[3] for x, y in anchors), (
            "a box hides what another one names"
        )


def test_a_box_stands_beside_what_is_to_be_seen_where_there_is_room():
    door = shapely.box(40, 20, 60, 60)
    where = [(50.0, 62.0)]
    (plain,) = stood(np.array(where), [(30.0, 8.0)], [], [], (0, 0, 120, 90))
    (beside,) = stood(np.array(where), [(30.0, 8.0)], [(door, 1.5)], [], (0, 0, 120, 90))
    assert shapely.box(*beside).intersection(door).area == 0
    assert np.hypot(beside[0] - 50, beside[1] - 62) < 60
    assert plain is not None


def test_where_there_is_no_room_nothing_is_said():
    (found,) = stood(np.array([[5.0, 5.0]]), [(30.0, 8.0)], [], [], (0, 0, 20, 20))
    assert found is None


@pytest.mark.parametrize("name", ["raised-patio", "back-patio"])
def test_finished_shows_no_bare_soil_beside_the_paving(name):
    """A plumb line beside the paving, in what was dug for it, meets sod or what is built first."""
    plan = sampled(name)
    job = whole_job(plan)
    (area,) = plan.areas
    ring = area.chosen_dig.polygon.difference(area.outline.buffer(0.01)).buffer(-0.02)
    points = np.array([
        (p.x, p.y) for p in (
            ring.boundary.interpolate(k / 60, normalized=True) for k in range(60)
        ) if plan.site.house is None or not plan.site.house.polygon(50.0).covers(p)
    ])  # fmt: skip
    near = points - job.origin[:2]
    tops: list[tuple[float, str]] = [(-np.inf, "")] * len(near)
    for body in job.bodies:
        if FINISHED not in body.shown or body.pattern:
            continue
        for triangle in body.vertices[body.faces]:
            low, high = triangle[:, :2].min(axis=0), triangle[:, :2].max(axis=0)
            inside = np.flatnonzero(((near >= low) & (near <= high)).all(axis=1))
            for k in inside:
                z = _over(triangle, near[k])
                if z is not None and z > tops[k][0]:
                    tops[k] = (z, body.material)
    seen = {material for _, material in tops}
    assert seen <= {"turf", "block", "cap", "concrete", "paver", "step unit"}, seen
    assert seen & {"turf", "block", "cap"}


def _over(triangle, point):
    """The height of a triangle over a point, by its barycentric coordinates; None beside it."""
    a, b, c = triangle[:, :2]
    matrix = np.column_stack([b - a, c - a])
    if abs(np.linalg.det(matrix)) < 1e-12:
        return None
    u, v = np.linalg.solve(matrix, point - a)
    if u < -1e-9 or v < -1e-9 or u + v > 1 + 1e-9:
        return None
    return float(
        triangle[0, 2]
        + u * (triangle[1, 2] - triangle[0, 2])
        + v * (triangle[2, 2] - triangle[0, 2])
    )


def test_heights_are_true_and_today_is_the_ground_as_it_lies():
    plan = sampled("raised-patio")
    job = whole_job(plan)
    (area,) = plan.areas
    tops = np.concatenate([
        body.vertices for body in job.bodies
        if FINISHED in body.shown and body.material == "paver" and not body.pattern
    ])  # fmt: skip
    level = area.finish.surface.at(tops[:, :2] + job.origin[:2]) - job.origin[2]
    assert float(np.abs(tops[:, 2] - level).min()) < 1e-6
    assert float((tops[:, 2] - level).max()) < 0.02
    assert not [body for body in job.bodies if TODAY in body.shown and body.material == "paver"]


def test_each_door_is_named_with_its_step_and_each_holder_once():
    plan = sampled("raised-patio")
    named = _named(plan, "ft")
    assert [each.first for each in named if each.first.startswith("From ")] == [
        "From the patio door you step"
    ]
    assert named[0].second == "down 7 3/4 in"
    firsts = [each.first for each in named]
    assert len(firsts) == len(set(firsts))
    assert sum(each.second.endswith("above the lawn") for each in named) == 1


def test_a_drain_in_the_paving_holds_no_edge():
    """A channel carries water: that it stands a little over the ground makes it no wall."""
    for name in ("drained-patio", "garden-court", "raised-patio"):
        for each in _named(sampled(name), "ft"):
            carries = any(word in each.first.lower() for word in ("drain", "pipe", "well", "basin"))
            assert not (carries and "holds" in each.first), each.first
