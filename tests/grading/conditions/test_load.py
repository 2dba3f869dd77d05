from math import pi

import numpy as np
import pytest
from make.plans.advised import advised, patio, planned

from grading.checks.advice import advice_checks
from grading.conditions.load import (
    Load,
    bearing,
    circle_influence,
    corner_influence,
    loads,
    pressure,
    stress,
)
from grading.units import POUND_FORCE, POUND_PER_SQUARE_FOOT


def point_load_sum(sides, depth, steps=400):
    """Return stress over pressure below the middle of a rectangle, summed from point loads."""
    x, y = (np.linspace(-side / 2, side / 2, steps + 1) for side in sides)
    x, y = (axis[:-1] + np.diff(axis) / 2 for axis in (x, y))
    square = (x[:, None] ** 2 + y[None] ** 2) / depth**2
    one = 3 / (2 * pi * depth**2) / (1 + square) ** 2.5
    return one.sum() * (sides[0] / steps) * (sides[1] / steps)


@pytest.mark.parametrize("sides", [(0.1, 0.1), (2.0, 0.5), (6.0, 6.0), (40.0, 30.0)])
def test_the_rectangle_is_the_sum_of_point_loads(sides):
    load = Load("slab", 1.0, sides, wheels=False, source="")
    share = load.boussinesq(1.0) / load.pressure
    assert share == pytest.approx(point_load_sum(sides, 1.0), rel=2e-3)


def test_a_small_circle_and_a_small_square_are_a_point():
    # 3 P / 2 pi z2
    for sides in ((0.005,), (0.01, 0.01)):
        load = Load("point", 100.0, sides, wheels=False, source="")
        assert load.boussinesq(1.0) == pytest.approx(3 * 100 / (2 * pi), rel=1e-3)


def test_at_the_surface_the_stress_is_the_pressure():
    assert circle_influence(1e-4) == pytest.approx(1)
    assert 4 * corner_influence(1e4, 1e4) == pytest.approx(1)
    load = Load("foot", 50.0, (0.2, 0.1), wheels=False, source="")
    assert load.two_to_one(0.0) == pytest.approx(load.pressure)


def test_two_to_one_spreads_the_force_over_a_wider_plan():
    assert Load("a", 60.0, (2.0, 3.0), wheels=False, source="").two_to_one(1.0) == (
        pytest.approx(60 / (3 * 4))
    )
    assert Load("a", 60.0, (1.0,), wheels=False, source="").two_to_one(2.0) == (
        pytest.approx(60 / (4 * pi))
    )


def test_a_wheel_on_panels_is_refused_with_its_rule():
    wheels = [one for one in advised().loads if one.load == "car wheel"]
    refused = {one.base: one.refused for one in wheels}
    assert refused == {"dense": "", "open": "", "panel": "panels carry foot traffic only"}
    assert all(not one.refused for one in advised().loads if one.load != "car wheel")


def test_stress_is_taken_at_the_bottom_of_the_build_up():
    plan = planned()
    system = plan.areas[0].digs["dense"].system
    (foot,) = [load for load in loads() if load.name.startswith("person")]
    one = stress("patio", system, foot, "sand")
    assert one.depth == system.build_up
    assert one.boussinesq == pytest.approx(foot.boussinesq(system.build_up))
    assert one.bearing == bearing("sand")
    assert one.share == pytest.approx(max(one.boussinesq, one.two_to_one) / one.bearing)


@pytest.mark.parametrize(
    ("use", "base", "status", "load"),
    [
        ("patio", "panel", "pass", "loaded wheelbarrow"),
        ("driveway", "dense", "pass", "car wheel"),
        ("driveway", "panel", "warn", "car wheel"),
    ],
)
def test_the_worst_load_that_the_use_brings_is_checked(use, base, status, load):
    plan = planned([patio(use=use, base=base)])
    checks = advice_checks(plan, plan.advice)
    (check,) = [one for one in checks if one.rule == "subgrade-bearing"]
    assert (check.status, check.where, check.unit) == (status, load, "Pa")
    assert "1806.2" in check.source


def test_concrete_in_between_is_not_soil():
    slab = {
        "name": "overlay", "over": "sound concrete",
        "layers": [{"name": "paver", "thickness": 0.06}, {"name": "sand", "thickness": 0.025}],
    }  # fmt: skip
    assert "overlay" not in {one.base for one in advised(bases=[slab]).loads}


def test_every_load_has_a_force_a_contact_and_a_source():
    for load in loads():
        assert 100 < load.force < 10_000
        assert 50_000 < load.pressure < 400_000
        assert load.source
    assert [load.name for load in loads() if load.wheels] == ["car wheel"]
    assert loads()[-1].force == pytest.approx(1000 * POUND_FORCE)


def test_a_pressure_is_written_in_the_sites_unit():
    assert pressure(1500 * POUND_PER_SQUARE_FOOT, "ft") == "1,500 psf"
    assert pressure(71_820, "m") == "71.8 kPa"
