"""What stands before a label: against a mesh library, and in the pictures of a terraced yard."""

from __future__ import annotations

import numpy as np
import pytest
import trimesh
from make.plans.furnished import furnished

from grading.design.steps import shared_edges
from viz.pictures.camera import Eye
from viz.pictures.explained import STAGE, labels_in
from viz.pictures.sight import SHORT, in_sight, labels_in_sight
from viz.pictures.stills import shot_of
from viz.scene.frame import frame_of
from viz.scene.parts import parts_of
from viz.scene.staging import stage


@pytest.mark.parametrize("seed", range(5))
def test_sight_ends_where_a_mesh_library_meets_the_mesh(seed):
    """trimesh (MIT) casts the same rays at spheres and boxes strewn before the eye."""
    random = np.random.default_rng(seed)
    things = [
        trimesh.creation.icosphere(2, 0.8) if k % 2 else trimesh.creation.box((1.1, 0.9, 1.6))
        for k in range(12)
    ]
    for thing in things:
        thing.apply_translation(random.uniform(-3, 3, 3))
    whole = trimesh.util.concatenate(things)
    eye = np.array([0.3, -9.0, 1.7])
    points = random.uniform(-4, 4, (300, 3)) + np.array([0.0, 6.0, 0.0])
    way = points - eye
    far = np.linalg.norm(way, axis=1)
    met, rays, _ = whole.ray.intersects_location(np.tile(eye, (300, 1)), way / far[:, None])
    near = np.linalg.norm(met - eye, axis=1) < far[rays] - SHORT
    hidden = np.zeros(300, bool)
    hidden[rays[near]] = True
    assert 20 < hidden.sum() < 280
    assert (in_sight(points, eye, whole.triangles) == ~hidden).all()


def test_what_is_cut_away_hides_nothing():
    wall = trimesh.creation.box((4, 0.2, 4)).triangles
    eye, point = np.array([0.0, -5.0, 0.0]), np.array([[0.0, 5.0, 0.0]])
    towards = np.array([0.0, -1.0])
    assert not in_sight(point, eye, wall)[0]
    assert not in_sight(point, eye, wall, (towards, 0.5))[0]
    assert in_sight(point, eye, wall, (towards, -0.5))[0]
    assert in_sight(point, eye, np.zeros((0, 3, 3)))[0]


def test_lower_paving_is_looked_at_away_from_what_is_higher():
    plan = furnished("stepped")
    for edge in shared_edges(plan):
        if not edge.risers:
            continue
        lower = next(area for area in plan.areas if area.area.name == edge.lower)
        if lower.walls:
            continue
        upper = next(area for area in plan.areas if area.area.name == edge.upper)
        near = frame_of(plan, lower).near
        middles = [np.asarray(area.outline.centroid.coords[0]) for area in (upper, lower)]
        assert near @ (middles[1] - middles[0]) > 0


def test_a_label_behind_higher_paving_is_left_out():
    plan = furnished("stepped")
    area = plan.areas[0]
    scene = stage(plan, area, area.chosen)
    parts = parts_of([scene])
    _, eye, _ = shot_of(scene, parts, 0, "finished", STAGE[2:])
    labels = labels_in(scene, "finished")
    assert labels_in_sight(scene, labels, "finished", eye) == labels
    # From under the ground nothing on it is seen.
    below = Eye(eye.position * [1, 1, -1], eye.target, eye.up)
    assert len(labels_in_sight(scene, labels, "finished", below)) < len(labels)


@pytest.mark.parametrize("round_about", [False, True])
def test_rays_meet_what_they_meet_when_each_is_held_against_every_triangle(round_about):
    """Each ray by itself, its crossing solved for as three linear equations."""
    random = np.random.default_rng(3)
    triangles = random.uniform(-4, 4, (160, 1, 3)) + random.uniform(-1, 1, (160, 3, 3))
    triangles = triangles if round_about else triangles + np.array([0.0, 9.0, 0.0])
    eye = np.array([0.1, 0.2, -0.1])
    middle = np.zeros(3) if round_about else np.array([0.0, 14.0, 0.0])
    points = random.uniform(-5, 5, (200, 3)) + middle
    a, b, c = np.moveaxis(triangles, 1, 0)
    hidden = np.zeros(len(points), bool)
    for k, point in enumerate(points):
        way = np.broadcast_to(point - eye, a.shape)
        rows = np.stack([way, a - b, a - c], axis=-1)
        share, u, v = np.linalg.solve(rows, (a - eye)[:, :, None])[:, :, 0].T
        inside = (np.minimum(u, v) >= 0) & (u + v <= 1)
        hidden[k] = (inside & (share > 0) & (share < 1 - SHORT / np.linalg.norm(way[0]))).any()
    assert 20 < hidden.sum() < 180
    assert (in_sight(points, eye, triangles) == ~hidden).all()
