"""Textures: inside their shape, the same on every run, told apart without colour."""

from __future__ import annotations

import numpy as np
import pytest
import shapely

from viz.paper.hatch import LOOSE, TONES, textured
from viz.paper.page import Scale

SHAPE = np.array([(10.0, 10.0), (60.0, 8.0), (62.0, 22.0), (35.0, 30.0), (12.0, 24.0)])
DETAIL = Scale(8.0, "1:8")


def ink_of(material, ring=SHAPE, scale=DETAIL):
    return list(textured(material, (np.asarray(ring, float),), scale))


@pytest.mark.parametrize("material", list(TONES))
def test_a_texture_stays_in_its_shape(material):
    shape = shapely.Polygon(SHAPE).buffer(0.25)
    for ink in ink_of(material):
        for ring in ink.rings:
            assert shape.covers(shapely.LineString(ring)), ink.name


@pytest.mark.parametrize("material", list(TONES))
def test_a_texture_is_the_same_twice(material):
    first, again = ink_of(material), ink_of(material)
    assert len(first) == len(again)
    for one, two in zip(first, again, strict=True):
        assert one.fill == two.fill
        assert all(np.array_equal(a, b) for a, b in zip(one.rings, two.rings, strict=True))


def test_every_material_has_marks_of_its_own_kind():
    patterned = [m for m in TONES if m != "geotextile"]
    marks = {}
    for material in patterned:
        inside = [ink for ink in ink_of(material) if ink.name not in (material, "edge")]
        # A pipe is hollow: the line of its wall alone.
        least = 1 if material == "pipe" else 3
        assert sum(len(ink.rings) for ink in inside) >= least, material
        count = sum(len(ink.rings) for ink in inside)
        marks[material] = (tuple(sorted({ink.name for ink in inside})), count)
    assert len(set(marks.values())) == len(patterned)


def test_stones_are_of_true_size_where_the_scale_can_show_them():
    half = Scale(4.0, "1:4")
    sizes = []
    for scale in (half, DETAIL):
        stones = [r for ink in ink_of("open-graded", scale=scale) for r in ink.rings
                  if ink.name == "stones"]  # fmt: skip
        sizes.append(np.median([np.ptp(ring, axis=0).max() for ring in stones]) * scale.ratio)
    assert sizes == pytest.approx([20.0, 20.0], rel=0.25)  # 3/4 in clean stone, in mm


def test_clean_stone_has_voids_and_dense_stone_has_few():
    filled = {}
    for material in ("open-graded", "dense-graded"):
        stones = [shapely.Polygon(r) for ink in ink_of(material) for r in ink.rings
                  if ink.name == "stones"]  # fmt: skip
        filled[material] = sum(s.area for s in stones) / shapely.Polygon(SHAPE).area
    assert filled["open-graded"] < filled["dense-graded"] - 0.05


def test_a_layer_thinner_than_a_pen_is_still_drawn():
    sliver = [(0, 0), (100, 0), (100, 0.02), (0, 0.02)]
    for material in TONES:
        assert ink_of(material, sliver)


def test_an_unknown_material_is_drawn_as_stone():
    names = {ink.name for ink in ink_of("crushed brick")}
    assert "stones" in names


def test_holes_stay_empty():
    hole = np.array([(25.0, 14.0), (45.0, 14.0), (45.0, 20.0), (25.0, 20.0)])
    for material in TONES:
        if material in LOOSE:
            continue
        for ink in textured(material, (SHAPE, hole), DETAIL):
            if ink.name in ("stones", "dots", "unit", "cells"):
                # Rings run one way about, holes the other: what is signed is what is filled.
                inside = [shapely.Polygon(r).intersection(shapely.Polygon(hole)) for r in ink.rings]
                turns = [1 if shapely.LinearRing(r).is_ccw else -1 for r in ink.rings]
                filled = sum(t * part.area for t, part in zip(turns, inside, strict=True))
                assert filled == pytest.approx(0.0, abs=1e-6 if ink.name != "dots" else 0.5)
