"""What stands on a base of its own, cut as it is ordered."""

from __future__ import annotations

import numpy as np
import pytest
import shapely
from make.plans.pitted import FALL, SPREAD, made

from grading.units import INCH


def rod(cut, x, y):
    s = float((np.array([x, y]) - cut.start) @ cut.along)
    return shapely.LineString([(s, 0.0), (s, 99.0)])


def met(cut, name, x, y):
    """Return how thick a solid of the cut is at a place in plan. [m]"""
    shapes = [solid.shape for solid in cut.solids if solid.name == name]
    return shapely.union_all(shapes).intersection(rod(cut, x, y)).length


def test_the_section_cuts_the_paving_out_as_the_order_does():
    """Down the fall at x = 5, through the pit: it lies from y = 2.3 to 3.3, its base 12 in more."""
    area = made().areas[0]
    cut = made().sections.of(area, "down")
    layers = {layer.name: layer for layer in area.chosen_dig.system.layers}
    for y, paved, based in (
        (1.0, True, True), (2.3 - SPREAD - 0.01, True, True), (2.3 - SPREAD + 0.01, True, False),
        (2.29, True, False), (2.31, False, False), (3.29, False, False), (3.31, True, False),
        (3.3 + SPREAD + 0.01, True, True),
    ):  # fmt: skip
        for name, layer in layers.items():
            laid = paved if layer.role == "paver" else based
            assert met(cut, name, 5, y) == pytest.approx(layer.thickness if laid else 0.0), (
                y,
                name,
            )


def test_its_base_lies_where_and_as_deep_as_the_plan_says():
    area = made().areas[0]
    cut = made().sections.of(area, "down")
    (pit,) = cut.standing
    assert pit.name == "pit"
    a, low, b, high = pit.base.bounds
    level = 30.1 - FALL * 3.3  # of the lowest finish beside it
    assert b - a == pytest.approx(1.0 + 2 * SPREAD)
    assert (low, high) == pytest.approx((level - 6 * INCH, level))
    assert pit.material == "dense-graded"
    a, low, b, _ = pit.body.bounds
    assert (b - a, low) == pytest.approx((1.0, level))


def test_solids_things_and_bases_do_not_overlap():
    area = made().areas[0]
    for which in ("down", "across"):
        for dig in area.digs.values():
            cut = made().sections.of(area, which, dig.system.name)
            for k, one in enumerate(cut.solids):
                for two in cut.solids[k + 1 :]:
                    assert one.shape.intersection(two.shape).area < 1e-7, (one.name, two.name)
                for thing in cut.standing:
                    assert one.shape.intersection(thing.body).area < 1e-7


def test_on_another_base_what_stands_on_bedding_there_is_not_cut_out():
    area = made().areas[0]
    standing = {
        name: [thing.name for thing in made().sections.of(area, "across", dig.system.name).standing]
        for name, dig in area.digs.items()
    }
    assert standing == {"panel": ["pit", "bench"], "dense": ["bench"], "open": ["bench"]}
