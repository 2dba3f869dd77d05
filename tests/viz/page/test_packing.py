"""The parts of the page as they are packed: read by zlib and json alone, no number changed."""

from __future__ import annotations

import base64
import json
import zlib

import msgspec
import numpy as np
import pytest
from make.plans.sampled import sampled
from msgspec.structs import replace
from PIL import ImageColor

from viz.page.packing import FINE, packed
from viz.scene.parts import parts_of
from viz.scene.staging import stage


@pytest.fixture(scope="module")
def seen():
    plan = sampled("side-walkway")
    area = plan.areas[0]
    return parts_of([stage(plan, area, area.chosen)], faces=True)


def unpacked(parts):
    return json.loads(zlib.decompress(base64.b64decode(packed(parts))))


def array(told, number):
    """Sum the steps down each column, as a reader of the format's description would."""
    each = told["arrays"][number]
    steps = np.array(each["steps"]).reshape(each["columns"], -1).T
    return np.cumsum(steps, axis=0) / each["fine"]


def test_every_part_comes_out_as_it_went_in(seen):
    told = unpacked(seen)
    assert len(told["parts"]) == len(seen)
    for part, each in zip(seen, told["parts"], strict=True):
        points, cells = array(told, each["points"]), array(told, each["cells"])
        np.testing.assert_allclose(points, part.points, atol=0.5 / FINE + 1e-12)
        np.testing.assert_array_equal(cells, part.cells)
        assert ImageColor.getrgb(each["colour"]) == ImageColor.getrgb(part.colour)
        assert each["line"] == (part.width > 0)
        assert each["face"] == (part.face and msgspec.to_builtins(part.face))


def test_points_on_whole_steps_are_told_to_the_last_bit(seen):
    whole = [replace(part, points=np.round(part.points * FINE) / FINE) for part in seen]
    told = unpacked(whole)
    for part, each in zip(whole, told["parts"], strict=True):
        np.testing.assert_array_equal(array(told, each["points"]), part.points)
        single = array(told, each["points"]).astype(np.float32)
        np.testing.assert_array_equal(single, part.points)  # in single precision too


def test_the_same_parts_make_the_same_bytes_and_little_of_them(seen):
    data = packed(seen)
    assert data == packed(seen)
    plain = sum(part.points.size * 4 + part.cells.size * 4 for part in seen)
    assert len(data) < 0.5 * plain


def test_an_array_that_two_parts_have_is_written_once(seen):
    twice = [*seen, replace(seen[0], colour="#000000")]
    once, again = (unpacked(each)["arrays"] for each in (seen, twice))
    assert len(once) == len(again)
