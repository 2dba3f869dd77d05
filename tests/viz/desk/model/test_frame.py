"""The frame on its way to a window: read by plain struct, small where little moved."""

from __future__ import annotations

import json
import struct
from types import SimpleNamespace

import numpy as np
import pytest
import shapely
from make.plans.sampled import sampled

from grading.units import FOOT
from viz.desk.model.frame import Held
from viz.desk.model.turning import Turning
from viz.desk.seen import Asked


def read(frame):
    """Take a frame apart as its own description says."""
    (long,) = struct.unpack_from("<I", frame)
    header = json.loads(frame[4 : 4 + long])
    shapes = {}
    for part in header["parts"]:
        if "v" in part:
            (v, count, four), (i, corners, wide) = part["v"], part["i"]
            assert four == 4
            start = 4 + long
            assert (start + v) % 4 == (start + i) % 4 == 0
            vertices = np.frombuffer(frame, "<f4", count, start + v).reshape(-1, 3)
            faces = np.frombuffer(frame, f"<u{wide}", corners, start + i).reshape(-1, 3)
            shapes[part["hash"]] = vertices, faces
    return header, shapes


def seen(plan, revision=7, stale=False, **asked):
    return SimpleNamespace(plan=plan, asked=Asked(**asked), stale=stale, revision=revision)


@pytest.fixture(scope="module")
def plan():
    return sampled("back-patio")


@pytest.fixture(scope="module")
def model(plan):
    return Turning().whole(seen(plan))


def test_the_first_frame_has_every_shape_as_it_is(model):
    header, shapes = read(Held().frame(model))
    assert (header["is"], header["rev"], header["base"], header["whole"]) == ("model", 7, -1, True)
    assert {part["hash"] for part in header["parts"]} == set(shapes) == set(model.shapes)
    for name, (vertices, faces) in shapes.items():
        np.testing.assert_array_equal(vertices, model.shapes[name].vertices)
        np.testing.assert_array_equal(faces, model.shapes[name].triangles)
        assert faces.max() == len(vertices) - 1


def test_the_same_model_again_sends_no_shape(model):
    held = Held()
    first = held.frame(model)
    second = held.frame(model)
    header, shapes = read(second)
    assert shapes == {}
    assert (header["base"], header["whole"]) == (7, False)
    assert len(second) < 0.3 * len(first)


def test_a_window_can_make_every_model_from_the_frames_that_it_was_sent(plan):
    """Another base and back again: it holds the shapes of its last frame and no others."""
    held, window, turning = Held(), {}, Turning()
    bases = list(plan.areas[0].digs)
    for revision, base in enumerate([*bases, *bases[::-1], bases[0]]):
        told = turning.whole(seen(plan, revision, base_system=base))
        header, new = read(held.frame(told))
        parts = [part["hash"] for part in header["parts"]]
        window = {name: new[name] if name in new else window[name] for name in parts}
        assert header["base_system"] == base
        for name in parts:
            np.testing.assert_array_equal(window[name][0], told.shapes[name].vertices)
        if revision:
            assert header["base"] == revision - 1
            assert len(new) < len(parts)


def test_a_window_that_lost_count_is_sent_all_of_it(model):
    held = Held()
    held.frame(model)
    held.nothing()
    header, shapes = read(held.frame(model))
    assert header["whole"]
    assert set(shapes) == set(model.shapes)


def test_names_of_parts_are_told_apart_and_shapes_by_what_they_are(model):
    names = [part["name"] for part in model.parts]
    assert len(set(names)) == len(names)
    kinds = {part["kind"] for part in model.parts}
    assert kinds == set(model.header["looks"])


def test_the_cut_is_where_the_section_is(plan):
    """A line of the window, in feet, lies about the origin in metres."""
    line = ((3.0, 4.0), (12.0, 20.5))
    told = Turning().whole(seen(plan, cut=line))
    origin = np.array(told.header["origin"])[:2]
    np.testing.assert_allclose(np.array(told.header["cut"]) + origin, np.array(line) * FOOT)
    told = Turning().whole(seen(plan))
    own = shapely.LineString(np.array(told.header["cut"]) + np.array(told.header["origin"])[:2])
    met = plan.areas[0].outline.intersection(own)
    assert met.length > 0.6 * own.length


def test_a_screen_reader_is_told_what_is_seen(plan, model):
    views = {view["key"]: view["said"] for view in model.header["views"]}
    assert list(views) == ["whole", "behind", "cut", "apart"]
    for key in ("cut", "apart"):
        for layer in plan.areas[0].chosen_dig.system.layers:
            assert layer.name in views[key]
    assert "towards the house" in views["whole"]


def test_a_stale_plan_says_so(plan):
    assert Turning().whole(seen(plan, stale=True)).header["stale"] is True
