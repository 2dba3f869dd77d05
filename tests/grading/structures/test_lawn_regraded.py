"""Lawn brought to paving: dug, filled, grassed, in the order and off the list of what is not in it.

Worked by hand: sections of wedges. That lawn leaves paving at 5 %, flush, or 3 to 1, bevelled, is
common practice, no source.
"""

from __future__ import annotations

import numpy as np
import pytest
from make.plans.lawn_yard import DEEP, WIDE, yard
from msgspec.structs import replace

from grading.checks.guards import highest_drop
from grading.order.model import order_of
from grading.pipeline import plan
from grading.site.hold_table import Hold
from grading.structures.lawn_regraded import regraded
from grading.units import CUBIC_FOOT, FOOT, YARD
from viz.words.uncounted import not_counted


def test_lawn_brought_up_to_paving_is_what_lies_beside_it():
    """A yard out the lawn has come down 1 ft at 1 to 3; without it the ground lies 34 in below."""
    for lawn, drop in (({"edge": "bevelled", "lip": 0}, 1.0), (None, 34 / 12)):
        made = yard(34, lawn)
        assert highest_drop(made, made.areas[0], 1 * YARD)[0] == pytest.approx(
            drop * FOOT, abs=1e-3
        )
        asked = [check for check in made.checks if check.rule == "guard-height"]
        assert len(asked) == (lawn is None)


def lawn_of(made):
    (area,) = made.order.areas
    found = [each for each in area.takeoffs["dense"].structures if each.kind == "regraded lawn"]
    return found[0] if found else None


def wedge(drop, slope, hole):
    """Return volume [ft3] and area [ft2] of a wedge round three sides, beyond a hole so wide [ft].

    From a drop [ft] at the edge down at a slope; quarter cones at the two corners, less the square
    of the hole there.
    """
    out, cell = drop / slope, 1 / 96
    along = np.arange(hole + cell / 2, out, cell)
    sides = (drop - slope * along).sum() * cell * (WIDE + 2 * DEEP)
    x, y = np.meshgrid(np.arange(cell / 2, out, cell), np.arange(cell / 2, out, cell))
    high = drop - slope * np.hypot(x, y)
    high = high[((x > hole) | (y > hole)) & (high > 0)]
    flat = (out - hole) * (WIDE + 2 * DEEP) + 2 * high.size * cell**2
    return sides + 2 * high.sum() * cell**2, flat


@pytest.mark.parametrize(("edge", "slope"), [("flush", 0.05), ("bevelled", 1 / 3)])
def test_lawn_brought_up_to_paving_is_a_wedge_beyond_the_hole(edge, slope):
    """3 1/2 in over the lawn, half an inch of it the lip."""
    made = yard(3.5, {"edge": edge, "lip": "1/2 in"})
    dig = made.areas[0].chosen_dig
    hole = dig.polygon.bounds[3] / FOOT - DEEP
    fill, flat = wedge(0.25, slope, hole)
    one = lawn_of(made)
    assert one.dug.bank == pytest.approx(0, abs=1e-9)
    # Beyond the hole the bevelled one is 3 in wide, two cells of its grid.
    assert one.dug.filled / CUBIC_FOOT == pytest.approx(fill, rel=0.05)
    # Less than 4 in: all of it topsoil.
    assert one.dug.turfed == pytest.approx(one.dug.filled)
    (grass,) = [line for _, line in made.order.total.lines if line.title.startswith("grass of")]
    assert grass.item == "seed"
    assert grass.net / FOOT**2 == pytest.approx(flat, rel=0.05)
    rates = {task.title: task.amount for task in made.order.total.tasks}
    assert rates["place and level the soil of regraded lawn"] == pytest.approx(one.dug.filled)
    assert not any("bring the lawn up" in words for words in not_counted(made))


def test_lawn_that_is_cut_down_to_paving_gets_its_topsoil_back():
    """4 in below the lawn and the lip: 3 in of topsoil come off with 1 1/2 of clay, and go back."""
    made = yard(-4, {"edge": "bevelled", "lip": "1/2 in"})
    dig = made.areas[0].chosen_dig
    hole = dig.polygon.bounds[3] / FOOT - DEEP
    cut, _ = wedge(4.5 / 12, 1 / 3, hole)
    one = lawn_of(made)
    assert (one.dug.bank - one.dug.filled) / CUBIC_FOOT == pytest.approx(cut, rel=0.03)
    assert 0 < one.dug.turfed == pytest.approx(one.dug.filled)
    assert made.order.total.cut == pytest.approx(dig.cut + one.dug.bank)


@pytest.mark.parametrize(
    ("ground", "lawn", "organics", "dug", "topsoil", "filled", "turfed"),
    [
        (1.0, 1.0, 0.2, 0.0, 0.0, 0.0, 0.0),
        (1.0, 1.3, 0.2, 0.0, 0.0, 0.3, 0.1),  # up: 0.1 of it topsoil
        (1.0, 0.95, 0.2, 0.05, 0.05, 0.0, 0.0),  # down: enough topsoil is left
        (1.0, 0.85, 0.2, 0.2, 0.2, 0.05, 0.05),  # 0.05 of topsoil left, 0.1 wanted
        (1.0, 0.5, 0.2, 0.6, 0.2, 0.1, 0.1),  # all of it off, 0.1 back
        (1.0, 0.5, 0.06, 0.56, 0.06, 0.06, 0.06),  # no more back than lay there
        (1.0, 0.5, 0.0, 0.5, 0.0, 0.0, 0.0),
    ],
)
def test_a_cell_by_hand(ground, lawn, organics, dug, topsoil, filled, turfed):
    found = regraded(np.array([ground]), np.array([organics]), np.array([lawn]), 0.1, 2.0)
    assert (found.cut, found.topsoil, found.filled, found.turfed) == pytest.approx(
        (2 * dug, 2 * topsoil, 2 * filled, 2 * turfed)
    )
    # What is left is the lawn: nothing is lost on the way.
    assert ground - found.cut / 2 + found.filled / 2 == pytest.approx(lawn)


def test_where_nobody_says_how_lawn_meets_an_edge_that_is_told_and_not_counted():
    made = yard(3.5)
    assert lawn_of(made) is None
    (words,) = [each for each in not_counted(made) if "bring the lawn up to patio" in each]
    assert "3 1/2 in above it" in words
    assert "`lawn` of patio" in words
    assert not any("bring the lawn" in each for each in not_counted(yard(1.0)))
    # Where something is built along all of it nothing is left to bring.
    held = Hold.model_validate({"area": "patio", "kind": "steps"}, context={"unit": "ft"})
    stepped = plan(replace(yard(7.0).site, holds=(held,)))
    assert not any("bring the lawn" in each for each in not_counted(stepped))


def test_the_owner_may_sow_it():
    made = yard(3.5, {"edge": "flush", "lip": "1/2 in"}, repair="owner")
    assert any("the owner sows it" in words for words in not_counted(made))
    assert not any(line.title.startswith("grass of") for _, line in made.order.total.lines)
    assert lawn_of(made).dug.filled > 0


def test_soil_for_it_comes_off_what_leaves():
    bare, with_it = (order_of(yard(3.5, lawn), yard(3.5).crew).total
                     for lawn in (None, {"edge": "flush", "lip": "1/2 in"}))  # fmt: skip
    assert with_it.haul.spoil.bank < bare.haul.spoil.bank
    assert with_it.time.mean > bare.time.mean
