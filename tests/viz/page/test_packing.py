"""The scene of the page against the same scene as PyVista and trame hand it over."""

from __future__ import annotations

import base64
import io
import json
import zipfile
from dataclasses import replace

import numpy as np
import pytest
from handedover import handed_over

import grading
import sample_sites
from viz.page.packing import FINE, packed
from viz.pictures.camera import eye_for
from viz.scene.parts import parts_of
from viz.scene.slicing import sliced
from viz.scene.staging import stage


@pytest.fixture(scope="module")
def seen():
    """Parts whose coordinates are whole steps, and an eye: what both routes are given."""
    plan = grading.plan(grading.read_site(sample_sites.path("side-walkway")))
    area = plan.areas[0]
    parts = parts_of([sliced(stage(plan, area, area.chosen))])
    parts = [replace(part, points=np.round(part.points * FINE) / FINE) for part in parts]
    points = np.concatenate([part.points for part in parts])
    return parts, eye_for(np.array([-0.5, 0.6, 0.62]), points, 1.5)


def index_of(data):
    with zipfile.ZipFile(io.BytesIO(data)) as archive:
        (name,) = archive.namelist()
        return json.loads(archive.read(name))


def told(index):
    """Return what the viewer is told by any scene: actors in order, lights, the camera, by name."""
    window = index["scene"]
    (renderer,) = window["dependencies"]
    by_name = {each["id"]: each for each in renderer["dependencies"]}
    called = [
        (call, by_name[words[0][len("instance:${") : -1]]) for call, words in renderer["calls"]
    ]
    return renderer, {
        kind: [each for call, each in called if call == kind]
        for kind in ("addViewProp", "addLight", "setActiveCamera")
    }


def array(index, told):
    each = index["hashes"][told["hash"]]
    if "steps" in each:
        steps = np.array(each["steps"]).reshape(each["columns"], -1).T
        return np.cumsum(steps, axis=0).ravel() / each["fine"]
    kind = np.float32 if each["type"] == "Float32Array" else np.int32
    return np.frombuffer(base64.b64decode(each["content"]), kind)


def of(actor, kind):
    return next(each for each in actor["dependencies"] if each["type"].endswith(kind))


@pytest.mark.parametrize("steps", [True, False])
def test_it_is_the_scene_that_pyvista_hands_over(seen, tmp_path, steps):
    parts, eye = seen
    own, other = (
        index_of(packed(parts, eye, steps=steps)),
        index_of(handed_over(parts, eye, tmp_path)),
    )
    (ours, mine), (theirs, wanted) = told(own), told(other)
    assert ours["properties"]["background"] == pytest.approx(theirs["properties"]["background"])
    assert len(mine["addViewProp"]) == len(wanted["addViewProp"]) == len(parts)
    for a, b in zip(mine["addViewProp"], wanted["addViewProp"], strict=True):
        look, like = of(a, "Property")["properties"], of(b, "Property")["properties"]
        for key in look:
            assert look[key] == pytest.approx(like[key], abs=1e-9), key
        (shape,), (model, *_) = of(a, "Mapper")["dependencies"], of(b, "Mapper")["dependencies"]
        assert shape["properties"].keys() == model["properties"].keys()
        for key in ("points", "polys", "lines"):
            if key in shape["properties"]:
                first, second = shape["properties"][key], model["properties"][key]
                assert first["size"] == second["size"]
                assert (array(own, first) == array(other, second)).all()
                for ours_, theirs_ in zip(first["ranges"], second["ranges"], strict=False):
                    assert ours_["min"] == pytest.approx(theirs_["min"], rel=1e-6, abs=1e-6)
                    assert ours_["max"] == pytest.approx(theirs_["max"], rel=1e-6, abs=1e-6)
        for key in a["properties"]:
            assert a["properties"][key] == b["properties"][key], key
    for a, b in zip(mine["addLight"], wanted["addLight"], strict=True):
        assert a["properties"].keys() == b["properties"].keys()
        for key in a["properties"]:
            assert a["properties"][key] == pytest.approx(b["properties"][key]), key
    (camera,), (model,) = mine["setActiveCamera"], wanted["setActiveCamera"]
    for key in ("position", "focalPoint", "viewUp"):
        assert camera["properties"][key] == pytest.approx(model["properties"][key], abs=1e-9)
    near, far = camera["properties"]["clippingRange"]
    depth = (eye.position - np.concatenate([part.points for part in parts])) @ eye.axes[2]
    assert near < depth.min() < depth.max() < far


def test_the_same_parts_make_the_same_bytes(seen):
    parts, eye = seen
    assert packed(parts, eye, steps=True) == packed(parts, eye, steps=True)
    assert len(packed(parts, eye, steps=True)) < 0.6 * len(packed(parts, eye, steps=False))


def test_an_array_that_two_parts_have_is_written_once(seen):
    parts, eye = seen
    twice = [*parts, replace(parts[0], colour="#000000")]
    once, again = (index_of(packed(each, eye, steps=True))["hashes"] for each in (parts, twice))
    assert once.keys() == again.keys()
