"""Attributes as plain data: in order, under the names asked for, and a slip of the pen is told."""

from types import SimpleNamespace

import numpy as np
import pytest

from grading.records.fields import each, fields, maybe

WALL = SimpleNamespace(
    name="wall 1", ends=(np.array([0.0, 1.0]), None), door=SimpleNamespace(sill=0.5)
)


def test_names_are_those_of_the_json_in_the_order_asked():
    told = fields(WALL, "sill=door.sill name ends")
    assert list(told.items()) == [("sill", 0.5), ("name", "wall 1"), ("ends", [[0.0, 1.0], None])]


def test_a_name_that_nothing_has_is_refused_and_not_left_out():
    with pytest.raises(AttributeError, match="fall"):
        fields(WALL, "name fall")


def test_nothing_is_told_as_nothing_and_every_one_of_several():
    assert maybe(None, "name") is None
    assert maybe(WALL, "name") == {"name": "wall 1"}
    assert maybe(WALL, lambda wall: len(wall.ends)) == 2
    assert each([WALL, WALL], "name") == [{"name": "wall 1"}] * 2
