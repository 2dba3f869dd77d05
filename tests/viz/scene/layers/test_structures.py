"""What is built beside the paving as it is drawn: its bodies, their joints, the sod beside it."""

from __future__ import annotations

import numpy as np
import pytest
import shapely
import trimesh
from make.plans.sampled import sampled
from measure.dug_solids import assert_solid
from msgspec.structs import replace

import grading
import sample_sites
from grading.geometry.plane import Plane
from grading.structures.model import Solid, Structure
from grading.units import INCH
from viz.look.materials import MATERIALS
from viz.pictures.explained import labels_in
from viz.scene.joints import joints_of
from viz.scene.layers.laid import takeoff_of
from viz.scene.layers.structures import THIN, inlaid_in, mesh_of
from viz.scene.layers.treads import treads_of
from viz.scene.parts import only, parts_of
from viz.scene.slicing import sliced
from viz.scene.staging import stage

HOLD = '\n[[hold]]\narea = "raised patio"\nkind = "block wall"\n'


@pytest.fixture(scope="module")
def walled(tmp_path_factory):
    """Return the sample raised patio held by a wall of blocks."""
    folder = tmp_path_factory.mktemp("walled")
    for file in sample_sites.path("raised-patio").iterdir():
        folder.joinpath(file.name).write_bytes(file.read_bytes())
    site = folder / "site.toml"
    words = site.read_text(encoding="utf-8")
    site.write_text(words if "[[hold]]" in words else words + HOLD, encoding="utf-8")
    return grading.plan(grading.read_site(folder))


@pytest.fixture(scope="module")
def scene(walled):
    return sliced(stage(walled, walled.areas[0], walled.areas[0].chosen))


def built_in(plan):
    area = plan.areas[0]
    return takeoff_of(plan, area, area.chosen).structures


def thick(solid):
    """Return where a solid of two planes is thick, by sampling, and its volume there."""
    low, high = solid.between(shapely.get_coordinates(solid.footprint))
    return bool((high - low >= THIN).all())


# ---------------------------------------------------------------- bodies


def test_every_body_of_a_wall_is_drawn_as_large_as_it_is_counted(walled, scene):
    structures = built_in(walled)
    assert structures
    for structure in structures:
        for solid in structure.solids:
            if not thick(solid):
                continue
            mesh = mesh_of(solid, None, scene.origin)
            middle = shapely.get_coordinates(shapely.centroid(solid.footprint))
            low, high = solid.between(middle)
            # Between two planes: its plan by its height at the centroid, in closed form.
            volume = float(solid.footprint.area * (high - low)[0])
            assert_solid(mesh, volume, solid.material)


@pytest.mark.parametrize("view", ["finished", "yard", "layers"])
def test_a_wall_is_seen_from_the_lawn_up_to_its_caps(walled, scene, view):
    wall = built_in(walled)[0]
    bodies = [b for b in scene.bodies if b.name == wall.name and view in b.shown]
    assert {body.material for body in bodies} >= {"block", "cap"}
    top = max(float(body.vertices[:, 2].max()) for body in bodies) + scene.origin[2]
    finish = walled.areas[0].finish.surface
    edge = shapely.get_coordinates(walled.areas[0].outline)
    # Water leaves over it: nothing of it stands above the paving.
    assert top <= finish.at(edge).max() + 1e-6
    assert top > finish.at(edge).min() - 3 * INCH


def test_a_wedge_that_runs_out_is_drawn_from_where_it_is_seen():
    strip = shapely.box(0, 0, 4, 0.3)
    wedge = Solid("block", strip, 1.0, Plane(1.0, 0.01, 0.0))
    mesh = mesh_of(wedge, None, np.zeros(3))
    # It is 6 mm thick at 0.6 m, so it is drawn from there to its end: a trapezium, 6 to 40 mm.
    assert mesh.vertices[:, 0].min() == pytest.approx(THIN / 0.01, abs=1e-9)
    assert mesh.volume == pytest.approx(0.3 * (4 - 0.6) * (0.006 + 0.04) / 2, rel=1e-9)
    flat = Solid("block", strip, 1.0, 1.0 + THIN / 2)
    assert not len(mesh_of(flat, None, np.zeros(3)).faces)


def test_an_edge_that_a_wall_holds_is_not_said_to_want_one(walled, scene):
    assert not [label for label in scene.labels if "designed separately" in label.text]
    bare = sampled("raised-patio")
    if built_in(bare):
        return
    left = stage(bare, bare.areas[0], bare.areas[0].chosen)
    assert [label for label in left.labels if "designed separately" in label.text]


def test_a_wall_is_named_where_it_is_seen(walled, scene):
    name = built_in(walled)[0].name
    for view in ("finished", "yard"):
        assert [label for label in labels_in(scene, view) if label.text == name]


def test_the_cut_has_a_face_of_its_own_for_every_course(walled, scene):
    wall = built_in(walled)[0]
    faces = [b for b in scene.bodies if b.cap and b.name == wall.name and b.material == "block"]
    station = scene.slices.stations[len(scene.slices.stations) // 2]
    along = [b.vertices[:, :2] @ scene.slices.direction for b in faces]
    here = [b for b, at in zip(faces, along, strict=True) if np.abs(at - station).max() < 0.004]
    heights = {round(float(body.vertices[:, 2].max()), 3) for body in here}
    # At the middle of the sample patio the wall shows about 15 in: two courses and their caps.
    assert len(heights) >= 2


def test_every_material_of_a_structure_has_a_tone(walled):
    for structure in built_in(walled):
        assert {solid.material for solid in structure.solids} <= set(MATERIALS)


@pytest.mark.parametrize("view", ["yard", "finished", "slice"])
def test_the_ground_that_is_drawn_reaches_below_all_that_is_built(walled, scene, view):
    low = min(
        float(solid.between(shapely.get_coordinates(solid.footprint))[0].min())
        for structure in built_in(walled)
        for solid in structure.solids
    )
    soil = [b for b in scene.bodies if b.material in ("subsoil", "subgrade") and view in b.shown]
    assert min(float(b.vertices[:, 2].min()) for b in soil) + scene.origin[2] < low


def test_what_lies_in_another_body_has_its_face_before_it(walled, scene):
    wall = built_in(walled)[0]
    reach = {
        material: {
            round(float(np.abs(scene.slices.stations - b.vertices[0, :2] @ scene.slices.direction)
                        .min()), 6)
            for b in scene.bodies
            if b.cap and b.name == wall.name and b.material == material
            and "slice" in b.shown
        }
        for material in ("pipe", "block")
    }  # fmt: skip
    if reach["pipe"]:
        assert min(reach["pipe"]) > max(reach["block"])


# ---------------------------------------------------------------- joints


def test_joints_of_a_straight_course_are_counted_by_hand():
    course = Solid("block", shapely.box(0, 0, 3.0, 0.3), 0.0, 0.15)
    points, segments = joints_of(course, 0.4, 0.0, shapely.box(0, 0.29, 3, 1))
    upright = [points[s] for s in segments if np.ptp(points[s][:, 2]) > 0.1]
    front = sorted(float(p[0, 0]) for p in upright if p[0, 1] < 0.01)
    # 3.0 m of 0.4 m units: joints at 0.4 to 2.8 m.
    assert np.allclose(front, np.arange(1, 8) * 0.4)
    assert all(np.ptp(p[:, 2]) == pytest.approx(0.15) for p in upright)
    over = [points[s] for s in segments if np.ptp(points[s][:, 2]) < 1e-9]
    assert all(np.ptp(p[:, 1]) == pytest.approx(0.3, abs=1e-3) for p in over)
    shifted, _ = joints_of(course, 0.4, 0.5, shapely.box(0, 0.29, 3, 1))
    xs = np.unique(np.round(shifted[shifted[:, 1] < 0, 0], 3))
    # In the next course half a unit on: no joint stands over another.
    assert np.allclose(xs, np.arange(0.2, 2.95, 0.4))


def test_joints_of_a_curve_are_even_and_none_faces_the_paving():
    ring = shapely.Point(0, 0).buffer(2.0, quad_segs=64)
    course = Solid("block", ring.difference(shapely.Point(0, 0).buffer(1.7, quad_segs=64)), 0, 0.2)
    points, segments = joints_of(course, 0.4, 0.0, shapely.Point(0, 0).buffer(1.75))
    upright = np.array([points[s[0], :2] for s in segments if np.ptp(points[s][:, 2]) > 0.1])
    assert np.allclose(np.hypot(*upright.T), 2.0, atol=0.005)
    angles = np.sort(np.arctan2(*upright.T))
    # 0.4 m on a radius of 2 m; what is left of the round is one longer piece, where it closes.
    gaps = np.sort(np.diff(angles))
    assert np.allclose(gaps[:-1], 0.2, atol=0.002)
    assert 0.2 <= gaps[-1] < 0.4


# ---------------------------------------------------------------- paving and sod


def test_no_paver_is_drawn_where_a_grate_comes_up_through_them():
    plan = sampled("back-patio")
    area = plan.areas[0]
    laid = takeoff_of(plan, area, area.chosen)
    middle = shapely.get_coordinates(shapely.centroid(area.outline))[0]
    grate = shapely.box(*(middle - 0.15), *(middle + 0.15))
    top = float(area.finish.surface.at(middle[None])[0])
    pipe = Solid("pipe", shapely.box(*(middle - 0.4), *(middle + 0.4)), top - 0.9, top - 0.8)
    drain = Structure(
        "channel drain", "grate", area.area.name,
        (Solid("grate", grate, top - 0.02, top - 0.003), pipe),
    )  # fmt: skip
    found = replace(laid, structures=(*laid.structures, drain))
    assert inlaid_in(found).area == pytest.approx(inlaid_in(laid).area + grate.area, rel=1e-9)
    paver, other = treads_of(found)[:2]
    assert paver.footprint.intersection(grate).area < 1e-9
    assert other.footprint.intersection(grate).area == pytest.approx(grate.area)


@pytest.mark.parametrize("view", ["finished", "yard"])
def test_sod_lies_from_the_paving_to_the_lawn_and_no_soil_is_seen(view):
    plan = sampled("back-patio")
    area = plan.areas[0]
    scene = stage(plan, area, area.chosen)
    meshes = [
        trimesh.Trimesh(b.vertices, b.faces, process=False)
        for b in scene.bodies
        if view in b.shown and b.material == "turf" and not b.pattern
    ]
    soil = [
        trimesh.Trimesh(b.vertices, b.faces, process=False)
        for b in scene.bodies
        if view in b.shown and b.material in ("backfill", "topsoil", "subsoil")
    ]
    finish = area.finish.surface
    ring = area.outline.exterior
    looked = 0
    for edge in area.free_edges:
        for at in np.linspace(0.2, edge.length - 0.2, 12):
            point = shapely.get_coordinates(edge.interpolate(at))[0]
            ahead = shapely.get_coordinates(edge.interpolate(at + 0.01))[0] - point
            out = np.array([ahead[1], -ahead[0]]) / np.hypot(*ahead)
            if shapely.contains_xy(area.outline, *(point + 0.02 * out)):
                out = -out
            for far in (0.05, 0.15, 0.25):
                spot = point + far * out
                if not shapely.contains_xy(area.chosen_dig.polygon, *spot):
                    continue
                if shapely.distance(shapely.Point(spot), ring) < 0.04:
                    continue
                grass, bare = _top(meshes, spot, scene), _top(soil, spot, scene)
                assert grass is not None, (at, far)
                assert bare is None or bare < grass + 1e-6
                # Beside pavers it lies a little lower than they, and never stands over them.
                if far == 0.05:
                    assert -0.1 < grass - float(finish.at(spot[None])[0]) < 0.01
                looked += 1
    assert looked > 20


def _top(meshes, spot, scene):
    """Return how high the highest of some meshes is at a place, by casting a ray from above."""
    origin = np.array([[*(spot - scene.origin[:2]), 50.0]])
    hits = [mesh.ray.intersects_location(origin, [[0.0, 0.0, -1.0]])[0] for mesh in meshes]
    heights = [float(hit[:, 2].max()) for hit in hits if len(hit)]
    return max(heights) + scene.origin[2] if heights else None


# ---------------------------------------------------------------- true scale


@pytest.mark.parametrize("view", ["today", "finished", "yard"])
def test_before_and_after_are_at_true_scale_whatever_the_layers_are_drawn_at(view):
    plan = sampled("back-patio")
    area = plan.areas[0]
    scene = stage(plan, area, area.chosen)
    assert scene.exaggeration > 1
    shown = [part.points for part in only(parts_of([scene]), (0, view))]
    high = float(np.ptp(np.concatenate(shown)[:, 2]))
    real = [b.vertices for b in scene.bodies if view in b.shown]
    assert high == pytest.approx(float(np.ptp(np.concatenate(real)[:, 2])), abs=0.02)
    assert scene.heights_words(view) == "Heights are drawn at true scale."
    layered = [part.points for part in only(parts_of([scene]), (0, "layers"))]
    bodies = [b.vertices for b in scene.bodies if "layers" in b.shown]
    drawn = float(np.ptp(np.concatenate(layered)[:, 2]))
    assert drawn > 1.5 * float(np.ptp(np.concatenate(bodies)[:, 2]))
