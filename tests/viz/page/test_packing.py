"""The parts of the page as they are packed: read by zlib and json alone, no number changed."""

from __future__ import annotations

import json
import zlib

import numpy as np
import pytest
from msgspec.structs import replace
from PIL import ImageColor

import grading
import sample_sites
from viz.page.packing import FINE, packed
from viz.pictures.camera import eye_for
from viz.pictures.lights import lights_of
from viz.scene.parts import parts_of
from viz.scene.slicing import sliced
from viz.scene.staging import stage


@pytest.fixture(scope="module")
def seen():
    plan = grading.plan(grading.read_site(sample_sites.path("side-walkway")))
    area = plan.areas[0]
    parts = parts_of([sliced(stage(plan, area, area.chosen))])
    points = np.concatenate([part.points for part in parts])
    return parts, eye_for(np.array([-0.5, 0.6, 0.62]), points, 1.5)


def array(told, number):
    """Sum the steps down each column, as a reader of the format's description would."""
    each = told["arrays"][number]
    steps = np.array(each["steps"]).reshape(each["columns"], -1).T
    return np.cumsum(steps, axis=0) / each["fine"]


def test_every_part_comes_out_as_it_went_in(seen):
    parts, eye = seen
    told = json.loads(zlib.decompress(packed(parts, eye)))
    assert len(told["parts"]) == len(parts)
    for part, each in zip(parts, told["parts"], strict=True):
        points, cells = array(told, each["points"]), array(told, each["cells"])
        np.testing.assert_allclose(points, part.points, atol=0.5 / FINE + 1e-12)
        np.testing.assert_array_equal(cells, part.cells)
        assert ImageColor.getrgb(each["colour"]) == ImageColor.getrgb(part.colour)
        assert (each["width"], each["cap"]) == (part.width, part.cap)


def test_points_on_whole_steps_are_told_to_the_last_bit(seen):
    parts, eye = seen
    whole = [replace(part, points=np.round(part.points * FINE) / FINE) for part in parts]
    told = json.loads(zlib.decompress(packed(whole, eye)))
    for part, each in zip(whole, told["parts"], strict=True):
        np.testing.assert_array_equal(array(told, each["points"]), part.points)
        single = array(told, each["points"]).astype(np.float32)
        np.testing.assert_array_equal(single, part.points)  # in single precision too


def test_it_is_lit_as_the_stills_are(seen):
    """Lights shine in one direction: where they stand from what is looked at."""
    parts, eye = seen
    told = json.loads(zlib.decompress(packed(parts, eye)))
    for each, (place, strength) in zip(told["lights"], lights_of(eye), strict=True):
        np.testing.assert_allclose(np.array(each["towards"]) + eye.target, place)
        assert each["strength"] == strength


def test_the_same_parts_make_the_same_bytes_and_little_of_them(seen):
    parts, eye = seen
    data = packed(parts, eye)
    assert data == packed(parts, eye)
    plain = sum(part.points.size * 4 + part.cells.size * 4 for part in parts)
    assert len(data) < 0.5 * plain


def test_an_array_that_two_parts_have_is_written_once(seen):
    parts, eye = seen
    twice = [*parts, replace(parts[0], colour="#000000")]
    once, again = (
        json.loads(zlib.decompress(packed(each, eye)))["arrays"] for each in (parts, twice)
    )
    assert len(once) == len(again)
