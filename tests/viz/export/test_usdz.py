"""USDZ read back by a library that shares no code with the one that writes it (lightusd).

The rules that a viewer holds it to are those of the format's published specification, "Usdz File
Format Specification" of OpenUSD: an archive without compression, its first file a layer, every file
begun at a multiple of 64 bytes. No phone was at hand: what a phone's viewer makes of it is untried.
"""

from __future__ import annotations

import io
import struct
import subprocess
import sys
import zipfile

import numpy as np
import pytest
from make.plans.exported import nodes_of as nodes_of_glb
from make.plans.sampled import sampled

from grading.errors import SiteError
from viz.export import usdz
from viz.export.formats import FORMATS, chosen_formats, export
from viz.export.glb import linear
from viz.file_names import area_slugs

SITE = "raised-patio"

AGAIN = """
import sys
from pathlib import Path
import grading, sample_sites
from viz.export.usdz import packed_model
from viz.scene.staging import stage
plan = grading.plan(grading.read_site(sample_sites.path(sys.argv[1])))
scene = stage(plan, plan.areas[0], plan.areas[0].chosen)
Path(sys.argv[2]).write_bytes(packed_model(scene, "finished"))
"""


@pytest.fixture(scope="module")
def made(tmp_path_factory):
    """Return the folder of both formats, and the start of the names of the chosen base's files."""
    folder = tmp_path_factory.mktemp("models")
    plan = sampled(SITE)
    export(plan, folder, ["glb", "usdz"])
    return folder, f"{area_slugs(plan)[0]}-{plan.areas[0].chosen}"


def test_there_is_one_beside_every_glb(made):
    folder, _ = made
    models = {path.stem for path in folder.glob("*.glb")}
    assert models
    assert {path.stem for path in folder.glob("*.usdz")} == models


@pytest.mark.parametrize("ending", ["", "-finished"])
def test_another_library_reads_the_same_meshes_in_metres_with_y_up(made, ending):
    import lightusd

    folder, name = made
    stage = lightusd.load(str(folder / f"{name}{ending}.usdz"))
    assert stage.up_axis == "Y"
    assert stage.meters_per_unit == 1.0
    assert stage.default_prim_path == "model"
    meshes = list(stage.prims_of_type("Mesh"))
    file, nodes = nodes_of_glb(folder / f"{name}{ending}.glb")
    assert len(meshes) == len(nodes)
    found = [
        (
            np.asarray(mesh.attribute("points").get(), float).reshape(-1, 3),
            np.asarray(mesh.attribute("faceVertexIndices").get()).reshape(-1, 3),
        )
        for mesh in meshes
    ]
    for (points, faces), node in zip(found, nodes, strict=True):
        # True size: both formats hold 32 bits.
        assert np.array_equal(points[faces], np.asarray(node.points, float)[node.faces])
    whole = np.concatenate([points for points, _ in found])
    assert whole[:, 1].min() == pytest.approx(0.0, abs=0.02), "it stands on the ground"
    # A patio of 18 x 14 ft with its surroundings, and a house wall that is no tower.
    assert 5.0 < np.ptp(whole[:, 0]) < 20.0
    assert np.ptp(whole[:, 1]) < 5.0
    said = stage.custom_layer_data
    said = said() if callable(said) else said
    assert said["unit"] == "m"
    assert said["vertical_exaggeration"] == "1.0"
    assert said["caution"] == file.scenes[0].extras["caution"]


def test_colours_are_those_of_the_glb(made):
    import lightusd

    folder, name = made
    stage = lightusd.load(str(folder / f"{name}.usdz"))
    shaders = list(stage.prims_of_type("Shader"))
    tones = {
        tuple(np.round(np.asarray(each.attribute("inputs:diffuseColor").get(), float), 5))
        for each in shaders
    }
    _, nodes = nodes_of_glb(folder / f"{name}.glb")
    wanted = {tuple(np.round(linear(node.extras["colour"]), 5)) for node in nodes}
    assert tones == wanted


def test_the_archive_is_laid_out_as_the_format_asks(made):
    folder, name = made
    data = (folder / f"{name}.usdz").read_bytes()
    archive = zipfile.ZipFile(io.BytesIO(data))
    assert archive.testzip() is None
    for each in archive.infolist():
        assert each.compress_type == zipfile.ZIP_STORED
        lengths = struct.unpack("<HH", data[each.header_offset + 26 : each.header_offset + 30])
        assert (each.header_offset + 30 + sum(lengths)) % 64 == 0
        assert each.date_time == (1980, 1, 1, 0, 0, 0)
        # Nothing tells of the machine that it was made on.
        assert "/" not in each.filename
    assert archive.infolist()[0].filename.endswith(".usdc")


def test_the_same_plan_gives_the_same_bytes_in_another_process_and_folder(made, tmp_path):
    folder, name = made
    again = tmp_path / "again.usdz"
    subprocess.run([sys.executable, "-c", AGAIN, SITE, str(again)], check=True)
    assert again.read_bytes() == (folder / f"{name}-finished.usdz").read_bytes()


def test_without_its_library_it_is_left_out_of_all_and_refused_by_name(monkeypatch):
    monkeypatch.setattr(usdz, "find_spec", lambda name: None)
    assert chosen_formats(None) == tuple(name for name in FORMATS if name != "usdz")
    assert chosen_formats("glb,dxf") == ("glb", "dxf")
    with pytest.raises(SiteError) as refused:
        chosen_formats("glb,usdz")
    words = str(refused.value)
    assert "usd-core is not installed" in words
    assert "pip install" in words
    assert "fallaway[usdz]" in words
