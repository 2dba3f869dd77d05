"""Models measured in the file: every layer's volume, true scale, y up, words that can be read."""

from __future__ import annotations

from itertools import combinations

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from make.plans.exported import SITES, nodes_of
from make.plans.sampled import sampled

from viz.export.formats import export
from viz.export.glb import axes_of, linear
from viz.export.signs import box, plate_meshes, sign_meshes, signs_of, width_of, wrapped
from viz.file_names import area_slugs
from viz.scene.layers.laid import takeoff_of
from viz.scene.staging import stage

FINE = 1e-4
"""Relative: a coordinate of ten metres in 32 bits is off by half a micrometre, a layer is 19 mm."""


@pytest.fixture(scope="module", params=SITES)
def models(request, tmp_path_factory):
    folder = tmp_path_factory.mktemp(request.param)
    plan = sampled(request.param)
    return plan, folder, export(plan, folder, ["glb"])


def each(models):
    plan, folder, _ = models
    for area, name in zip(plan.areas, area_slugs(plan), strict=True):
        for base, dig in area.digs.items():
            for view, ending in (("layers", ""), ("finished", "-finished")):
                yield area, base, dig, view, folder / f"{name}-{base}{ending}.glb"


def solid_of(nodes, layer):
    """Return the solid of a layer: its node is named for it, with the material where need be."""
    names = {layer.name, f"{layer.name}, {layer.material}"}
    found = [n for n in nodes if n.name in names and not n.extras["pattern"]]
    assert len(found) == 1, (layer.name, [n.name for n in nodes])
    return found[0]


def let_in(plan, area, base):
    """Return where a channel or a basin comes up between the pavers, in plan. [m]"""
    return shapely.union_all(
        [
            solid.footprint.intersection(area.outline)
            for structure in takeoff_of(plan, area, base).structures
            if structure.kind in ("channel drain", "drain basin")
            for solid in structure.solids
            if solid.material in ("channel", "grate")
        ]
    )


def drawn_volume(plan, area, base, part):
    """Return the volume of a layer as the order counts it: less shoulder, wall, drain. [m3]"""
    layers = takeoff_of(plan, area, base).layers
    return next(each.volume for each in layers if each.layer == part.layer)


def to_site(file, points):
    matrix = np.array(file.scenes[0].extras["to site"])
    return points.astype(float) @ matrix[:3, :3].T + matrix[:3, 3]


def test_there_is_a_model_for_each_area_base_and_view_and_each_is_small(models):
    expected = {path for *_, path in each(models)}
    assert set(models[2]) == expected
    for path in expected:
        assert path.stat().st_size < 3_000_000, path


def test_a_finished_layer_has_the_volume_of_the_plan(models):
    for area, base, dig, view, path in each(models):
        if view != "finished":
            continue
        nodes = nodes_of(path)[1]
        for part in dig.layers:
            wanted = drawn_volume(models[0], area, base, part)
            assert solid_of(nodes, part.layer).volume == pytest.approx(wanted, rel=FINE)


def test_an_opened_layer_has_its_thickness_all_over(models):
    for _, _, dig, view, path in each(models):
        if view != "layers":
            continue
        nodes = nodes_of(path)[1]
        for part in dig.layers:
            solid = solid_of(nodes, part.layer)
            up = solid.normals[:, 1]
            in_plan = up[up > 0].sum() / 2
            assert 0 < in_plan < part.area
            # Thickness is measured upright, so no cosine comes in.
            assert solid.volume == pytest.approx(in_plan * part.layer.thickness, rel=FINE)


def test_the_model_is_the_site_at_true_scale_turned_and_moved(models):
    for area, base, dig, view, path in each(models):
        file, nodes = nodes_of(path)
        top = solid_of(nodes, dig.system.layers[0])
        site = to_site(file, top.points)
        matrix = np.array(file.scenes[0].extras["to site"])[:3, :3]
        assert matrix @ matrix.T == pytest.approx(np.eye(3))
        assert np.linalg.det(matrix) == pytest.approx(1.0)
        assert matrix @ [0, 1, 0] == pytest.approx([0, 0, 1])
        assert file.scenes[0].extras["vertical exaggeration"] == 1
        below = area.finish.surface.at(site[:, :2]) - site[:, 2]
        assert below.min() == pytest.approx(0.0, abs=5e-6)
        assert below.max() == pytest.approx(dig.system.layers[0].thickness, abs=5e-6)
        if view == "finished":
            low, high = site[:, :2].min(axis=0), site[:, :2].max(axis=0)
            paved = area.outline.difference(let_in(models[0], area, base))
            assert np.append(low, high) == pytest.approx(paved.bounds, abs=5e-6)


def test_the_model_stands_on_the_ground_with_the_house_behind(models):
    plan = models[0]
    for _, _, _, _, path in each(models):
        nodes = nodes_of(path)[1]
        own = [n for n in nodes if n.extras["material"] != "sign"]
        points = np.concatenate([n.points for n in own])
        assert points[:, 1].min() == pytest.approx(0.0, abs=1e-6)
        assert np.concatenate([n.points for n in nodes])[:, 1].min() == pytest.approx(0, abs=1e-6)
        middle = (points.min(axis=0) + points.max(axis=0)) / 2
        assert middle[[0, 2]] == pytest.approx(0.0, abs=1e-5)
        walls = [n for n in own if n.extras["material"] == "siding"]
        if plan.site.house is not None and walls:
            paving = next(n for n in own if n.extras["material"] == "paver")
            assert walls[0].points[:, 2].mean() < paving.points[:, 2].mean()
            assert walls[0].points[:, 1].max() > paving.points[:, 1].max()


def test_another_reader_finds_the_same_volumes(models):
    # VTK's own glTF reader, and its own measure of volume.
    import pyvista
    from vtkmodules.vtkIOGeometry import vtkGLTFReader

    plan, folder, _ = models
    area, name = plan.areas[0], area_slugs(plan)[0]
    reader = vtkGLTFReader()
    reader.SetFileName(str(folder / f"{name}-{area.chosen}-finished.glb"))
    reader.Update()
    blocks = pyvista.wrap(reader.GetOutput())
    volumes = []
    for block in blocks.recursive_iterator(skip_none=True):
        surface = block.extract_surface(algorithm=None).triangulate()
        volumes.append(surface.clean().volume)
    for part in area.chosen_dig.layers:
        wanted = drawn_volume(plan, area, area.chosen, part)
        assert min(abs(v / wanted - 1) for v in volumes) < FINE, part.layer.name


def test_every_file_keeps_the_rules_of_the_format(models):
    # glTF 2.0 specification, sections 3.6 and 5.
    for *_, path in each(models):
        file, nodes = nodes_of(path)
        assert file.asset.version == "2.0"
        assert len({n.name for n in file.nodes}) == len(file.nodes)
        for view in file.bufferViews:
            assert (view.byteOffset or 0) % 4 == 0
            assert (view.byteOffset or 0) + view.byteLength <= file.buffers[0].byteLength
        for node in nodes:
            assert node.faces.max() < len(node.points)
            assert np.isfinite(node.points).all()
        for mesh in file.meshes:
            for primitive in mesh.primitives:
                assert primitive.mode in (None, 4)
                found = file.accessors[primitive.attributes.POSITION]
                points = next(n.points for n in nodes if n.name == mesh.name)
                assert found.min == pytest.approx(points.min(axis=0).tolist())
                assert found.max == pytest.approx(points.max(axis=0).tolist())


def test_materials_are_matt_one_sided_and_of_our_tones(models):
    from viz.look.materials import MATERIALS

    for *_, path in each(models):
        nodes = nodes_of(path)[1]
        for node in nodes:
            matt = node.material.pbrMetallicRoughness
            assert matt.metallicFactor == 0
            assert matt.roughnessFactor == 1
            assert not node.material.doubleSided
            assert matt.baseColorFactor[:3] == pytest.approx(linear(node.extras["colour"]))
            name = node.extras["material"]
            if name in MATERIALS and not node.extras["pattern"]:
                assert node.extras["colour"] == MATERIALS[name].colour


def test_what_lies_on_a_surface_is_seen_from_above(models):
    for *_, path in each(models):
        for node in nodes_of(path)[1]:
            if node.extras["pattern"] and node.extras["material"] != "sign":
                assert (node.normals[:, 1] > -1e-12).all(), node.name


def test_colours_are_told_in_linear_light():
    # IEC 61966-2-1: sRGB 128 of 255 is 0.2158605 of the light. From memory.
    assert linear("#808080") == pytest.approx([0.2158605] * 3, abs=1e-6)
    assert linear("#ff0000") == pytest.approx([1.0, 0.0, 0.0])
    # Below the toe of the curve it is straight: 10 of 255 over 12.92.
    assert linear("#0a0a0a")[0] == pytest.approx(10 / 255 / 12.92)


def test_every_label_of_the_view_is_on_a_sign_and_no_sign_covers_another(models):
    plan = models[0]
    for area in plan.areas:
        scene = stage(plan, area, area.chosen)
        labels = [x for x in scene.labels if "layers" in x.shown and x.kind != "spot"]
        feet = axes_of(scene, "layers").model(np.array([x.at for x in labels]))
        signs = signs_of([x.text for x in labels], feet, 0.1, 0.4, 0.0)
        for label, sign in zip(labels, signs, strict=True):
            assert " ".join(sign.lines).split() == label.text.split()
            assert sign.box[1] >= sign.foot[1] + 0.4 - 1e-9
        for one, two in combinations(signs, 2):
            assert apart(one.box, two.box), (one.lines, two.lines)


def apart(one, two):
    return one[2] <= two[0] or two[2] <= one[0] or one[3] <= two[1] or two[3] <= one[1]


@settings(max_examples=40)
@given(
    st.lists(
        st.tuples(st.floats(-6, 6), st.floats(0, 1), st.floats(-5, 5)), min_size=1, max_size=14
    )
)
def test_signs_stand_clear_of_each_other_wherever_their_feet_are(feet):
    words = [f"layer number {i}, {i} mm" for i in range(len(feet))]
    signs = signs_of(words, np.array(feet), 0.1, 0.3, 0.0)
    for one, two in combinations(signs, 2):
        assert apart(one.box, two.box)
        # The post of a nearer sign does not run up across the card of one behind it.
        near, far = (one, two) if one.z > two.z else (two, one)
        if far.box[0] < near.foot[0] < far.box[2] and near.z > far.z:
            assert near.box[1] <= far.box[1]


def test_letters_stay_on_their_card_and_read_from_both_sides():
    (sign,) = signs_of(["dense-graded base, 6 in (152 mm)"], np.array([[1.0, 0, 2]]), 0.1, 0.4, 0)
    meshes = sign_meshes([sign])
    letters = list(meshes.values())[2]
    assert len(letters) == 2 * len(sign.lines)
    left, low, right, high = sign.box
    facing = []
    for points, faces in letters:
        assert points[:, 0].min() > left
        assert points[:, 0].max() < right
        assert points[:, 1].min() > low
        assert points[:, 1].max() < high
        a, b, c = np.moveaxis(points[faces], 1, 0)
        normal = np.cross(b - a, c - a)[:, 2]
        assert (normal > 0).all() or (normal < 0).all()
        facing.append(np.sign(normal[0]))
        # In front of the card's face on its side, so that it is not hidden.
        assert (np.sign(points[:, 2] - sign.z) == facing[-1]).all()
    assert facing.count(1.0) == facing.count(-1.0)


@pytest.mark.parametrize(("unit", "step"), [("ft", 0.3048), ("m", 1.0)])
def test_the_plate_holds_its_words_and_a_scale_bar_of_true_length(unit, step):
    words = "An estimate: check on site. " * 8
    meshes = plate_meshes(["A long title of a site", "second line"], words, (-3, 3, 4), 0.02, unit)
    plate, ink, light = meshes.values()
    (corners, _), *_ = plate
    for points, faces in [*ink, *light]:
        assert (points[:, [0, 2]] > corners[:, [0, 2]].min(axis=0)).all()
        assert (points[:, [0, 2]] < corners[:, [0, 2]].max(axis=0)).all()
        assert (points[:, 1] > 0.02).all()
        a, b, c = np.moveaxis(points[faces], 1, 0)
        assert (np.cross(b - a, c - a)[:, 1] > 0).all()
    bars = [points for points, faces in [*ink, *light] if len(faces) == 2]
    assert all(np.ptp(points[:, 0]) == pytest.approx(step) for points in bars)
    assert len(bars) >= 2


def test_words_are_broken_where_they_say_so_and_where_they_fit():
    assert wrapped("topsoil 2 in\nto be stripped") == ("topsoil 2 in", "to be stripped")
    assert wrapped("dense-graded base, 6 in (152 mm)") == ("dense-graded base,", "6 in (152 mm)")
    assert wrapped("panel, 19 mm") == ("panel, 19 mm",)


@pytest.mark.parametrize("figure", ["1 9/16 in", "9/16 in", "12' 3 1/2\"", "2.8 %", "0.52 yd³"])
@pytest.mark.parametrize("before", range(22))
def test_a_figure_is_never_broken(figure, before):
    """Read alone, "1" and "9/16 in" are other sizes."""
    lines = wrapped(f"{'w' * before} {figure} at the wall".strip())
    assert any(figure in line for line in lines), lines


def test_two_letters_are_twice_as_wide_as_one():
    assert width_of("mm", 0.2) == pytest.approx(2 * width_of("mm", 0.1))


def test_a_box_is_closed_and_turned_outwards():
    import trimesh

    mesh = trimesh.Trimesh(*box((0, 0, 0), (1, 2, 3)), process=False)
    assert mesh.is_watertight
    assert mesh.volume == pytest.approx(6.0)
