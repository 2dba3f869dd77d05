"""The step at a door: sill less finish, with the ground and what hangs over the wall there."""

from __future__ import annotations

import numpy as np
import pytest
from make.plans.advised import patio, planned

from grading.design.door_steps import door_steps
from grading.units import INCH

DOORS = [
    {"name": "left", "at": [3, 0], "sill": 30.20},
    {"name": "right", "at": [7, 0], "sill": 30.25, "step": [0.05, 0.19]},
    {"name": "far", "at": [-0.9, 0], "sill": 30.2},
]


def steps(**kwargs):
    made = planned([patio()], doors=DOORS, **kwargs)
    return door_steps(made.areas[0])


def test_a_step_is_the_sill_less_the_finish_before_it():
    """The finish is 30.1 at the wall and falls 2 % straight away from it."""
    left, right = steps()[:2]
    assert left.step == pytest.approx(0.10)
    assert right.step == pytest.approx(0.15)
    assert left.finish == pytest.approx(30.1)
    assert left.ground == pytest.approx(30.0)
    assert left.at == pytest.approx(np.array([3.0, 0.0]))


def test_a_door_far_from_the_paving_is_not_told():
    assert [step.door.name for step in steps()] == ["left", "right"]


def test_limits_are_those_of_the_site_or_of_the_door_itself():
    left, right = steps()
    assert left.limit == pytest.approx((1.5 * INCH, 7.75 * INCH))
    assert right.limit == pytest.approx((0.05, 0.19))


def test_a_ceiling_is_told_with_its_level_at_the_door():
    ceilings = [
        {"kind": "siding", "name": "sloping", "at": [[-1, 0], [11, 0]], "z": [30.5, 31.7]},
        {"kind": "vent", "name": "vent", "at": [[3.3, 0]], "z": 30.9},
        {"kind": "vent", "name": "away", "at": [[5, 0]], "z": 30.9},
    ]
    left, right = steps(ceilings=ceilings)
    assert [(c.name, z) for c, z in left.ceilings] == [
        ("sloping", pytest.approx(30.9)),
        ("vent", pytest.approx(30.9)),
    ]
    assert [(c.name, z) for c, z in right.ceilings] == [("sloping", pytest.approx(31.3))]
