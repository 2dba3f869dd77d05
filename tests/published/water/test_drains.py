"""Drains, pipes, grates and dry wells, held against figures that stand elsewhere."""

import numpy as np
import pytest

from grading.units import CUBIC_FOOT, FOOT, GALLON, HOUR, INCH, MINUTE, SQUARE_FOOT
from grading.water.hydraulics.channel import (
    Section,
    channel_flow,
    critical_depth,
    frictionless_flow,
    level_flow,
    level_profile,
)
from grading.water.hydraulics.dry_well import (
    figures,
    hours_to_empty,
    soak_rate,
    soaks,
    stone_for,
)
from grading.water.hydraulics.grate import grate_flow, orifice_flow, weir_flow
from grading.water.hydraulics.pipe import pipe_flow, pipe_for
from grading.water.runoff import rational_flow, roughnesses

GPM = GALLON / MINUTE
CFS = CUBIC_FOOT


def test_what_comes_to_a_drain_in_a_storm():
    """C i A / 43,200 in cfs, ft2 and in/h (public handbook sheet, ja.scribd.com/407772234): 360
    ft2 of patio at .9 and 420 ft2 of roof at .95 in 5 in/h are .0837 cfs, 37.6 gpm (computed)."""
    came = sum(
        rational_flow(c, 5 * INCH / HOUR, a * SQUARE_FOOT) for c, a in ((0.9, 360), (0.95, 420))
    )
    assert came / CFS == pytest.approx((0.9 * 360 + 0.95 * 420) * 5 / 43_200, rel=1e-9)
    assert came / CFS == pytest.approx(0.0837, abs=5e-5)
    assert came / GPM == pytest.approx(37.6, abs=0.05)


@pytest.mark.parametrize(("roof", "gpm"), [(1607, 67), (3460, 144)])
def test_roofs_that_downspouts_take(roof, gpm):
    """A public table of downspouts (scribd.com/document/661947769): 3 in takes 67 gpm, which is
    1,607 ft2 of roof in 4 in/h; 4 in 144 gpm and 3,460 ft2."""
    comes = rational_flow(1.0, 4 * INCH / HOUR, roof * SQUARE_FOOT)
    assert comes / GPM == pytest.approx(gpm, abs=0.5)


@pytest.mark.parametrize(("wide", "deep", "gpm"), [(4, 3, 46.5), (4, 4, 71.6), (6, 4, 107)])
def test_a_level_channel_with_a_free_end(wide, deep, gpm):
    """Q = 2.49 b h^1.5 in feet (Beij 1934 and Chow, from memory): gpm computed from it."""
    carries = frictionless_flow(wide * INCH, deep * INCH)
    assert carries / CFS == pytest.approx(2.49 * (wide / 12) * (deep / 12) ** 1.5, rel=2e-3)
    assert carries / GPM == pytest.approx(gpm, rel=5e-3)


def test_the_profile_of_a_level_channel_without_friction_is_the_closed_form():
    """What water pushes with is the same all along: b y2/2 + Q2/(g b y), solved here by itself."""
    flow, wide, long = 0.004, 0.1, 6.0
    at, depths = level_profile(flow, wide, long, 0.0)
    end = critical_depth(flow, wide)
    assert depths[0] / end == pytest.approx(3**0.5, rel=1e-6)
    assert depths[-1] == pytest.approx(end, rel=1e-4)
    for x, depth in zip(at, depths, strict=True):
        roots = np.roots([1, 0, -3 * end**2, 2 * (flow * x / long) ** 2 / (9.80665 * wide**2)])
        calm = max(root.real for root in roots)
        assert depth == pytest.approx(calm, rel=1e-4)


def test_the_profile_with_friction_is_that_of_small_steps():
    """By the equation of the depth itself, dy/dx = (-Sf - 2 q Q / (g A2)) / (1 - Fr2), walked by
    Heun's steps down from the closed end, where ours is solved up from the free one."""
    flow, wide, long, rough = 0.0028, 4 * INCH, 5.0, 0.011
    at, depths = level_profile(flow, wide, long, rough)

    def slope(x, y):
        q = flow / long
        running, area = q * x, wide * y
        radius = area / (wide + 2 * y)
        rubbed = (rough * running / area) ** 2 / radius ** (4 / 3)
        froude2 = running**2 * wide / (9.80665 * area**3)
        return (-rubbed - 2 * running * q / (9.80665 * area**2)) / (1 - froude2)

    steps, y, x = 20_000, float(depths[0]), 0.0
    step = 0.9 * long / steps  # not to the very end, where 1 - Fr2 is nothing
    walked = [(x, y)]
    for _ in range(steps):
        first = slope(x, y)
        second = slope(x + step, y + step * first)
        x, y = x + step, y + step * (first + second) / 2
        walked.append((x, y))
    places, levels = np.array(walked).T
    inner = at <= 0.9 * long
    assert depths[inner] == pytest.approx(np.interp(at[inner], places, levels), rel=1e-3)
    assert depths[0] > 3**0.5 * critical_depth(flow, wide)


def test_friction_takes_a_little_of_what_a_short_channel_carries_and_more_of_a_long_one():
    size = 4 * INCH, 3 * INCH
    bare = frictionless_flow(*size)
    short, long = (level_flow(*size, length, 0.011) for length in (10 * FOOT, 40 * FOOT))
    assert long < short < bare
    assert short / bare == pytest.approx(0.954, abs=0.005)
    assert level_profile(long, size[0], 40 * FOOT, 0.011)[1][0] == pytest.approx(size[1], rel=1e-4)


def test_a_sloped_channel_is_mannings():
    """4 x 3 in of water, n .011: 77 gpm at 0.5 %, 109 at 1 % (computed); and a worked page, weak:
    b .6 m, y .4 m, 0.2 %, n .015 carry .2208 m3/s."""
    for slope, gpm in ((0.005, 77), (0.01, 109)):
        carries = channel_flow(Section(4 * INCH, 0), 3 * INCH, slope, 0.011)
        assert carries / GPM == pytest.approx(gpm, abs=0.5)
    assert channel_flow(Section(0.6, 0), 0.4, 0.002, 0.015) == pytest.approx(0.2208, abs=5e-5)


def test_a_grate_of_ten_feet():
    """Weir 3 P h^1.5 and orifice .67 A (2 g h)^.5, rim and opening halved for clogging (TxDOT
    Hydraulic Design Manual, 10-30 and 10-31): 10 ft from one side under 1/2 in: .128 cfs, 57 gpm
    (computed)."""
    over = weir_flow(10 * FOOT / 2, INCH / 2)
    assert over / CFS == pytest.approx(3 * 5 * (0.5 / 12) ** 1.5, rel=1e-9)
    assert over / CFS == pytest.approx(0.128, abs=5e-4)
    assert over / GPM == pytest.approx(57, abs=0.5)
    wide = grate_flow(10 * FOOT, 10.0, INCH / 2)
    assert wide == pytest.approx(over)
    tight = grate_flow(10 * FOOT, 0.01, INCH / 2)
    assert tight == pytest.approx(0.67 * 0.005 * (2 * 9.80665 * INCH / 2) ** 0.5)
    assert tight < over
    assert orifice_flow(0.005, INCH / 2) == pytest.approx(tight)
    assert figures()["grate-clear"].value == 0.5


@pytest.mark.parametrize(
    ("inches", "slope", "gpm"),
    [(3, 0.01, (52, 43, 26)), (4, 0.01, (111, 92.5, 55.5)), (6, 0.01, (327, 273, 164)),
     (4, 0.005, (78.5, 65.4, 39.3))],
)  # fmt: skip
def test_full_pipes(inches, slope, gpm):
    """n .010 smooth plastic and .020 smooth perforated (Austin drainage criteria manual, 5.3.4),
    .012 aged (common practice, no source): gallons a minute computed."""
    for rough, expected in zip((0.010, 0.012, 0.020), gpm, strict=True):
        assert pipe_flow(inches * INCH, slope, rough) / GPM == pytest.approx(expected, abs=0.5)
    assert roughnesses()["perforated"].value == 0.020
    assert roughnesses()["pipe"].value == 0.012


def test_a_code_table_is_that_of_a_rougher_pipe():
    """A plumbing code's table, from memory: 4 in at 1/8 in per foot drains 7,520 ft2 in 1 in/h,
    which is 78.1 gpm and stands for n .0145; at 1/4 in per foot 10,600."""
    allowed = rational_flow(1.0, INCH / HOUR, 7520 * SQUARE_FOOT)
    assert allowed / GPM == pytest.approx(78.1, abs=0.1)
    assert pipe_flow(4 * INCH, 1 / 96, 0.0145) / GPM == pytest.approx(78.1, abs=0.5)
    steeper = pipe_flow(4 * INCH, 1 / 48, 0.0145) / pipe_flow(4 * INCH, 1 / 96, 0.0145)
    assert steeper == pytest.approx(10_600 / 7520, rel=5e-3)


def test_a_figure_that_is_printed_wrong():
    """Printed for a 6 in pipe at 0.5 % and n .013: "0.30 cfs". Manning's equation gives .397."""
    carries = pipe_flow(6 * INCH, 0.005, 0.013) / CFS
    assert carries == pytest.approx(0.397, abs=5e-4)
    assert carries > 1.3 * 0.30


def test_the_least_pipe_that_carries_a_flow():
    assert pipe_for(50 * GPM, 0.01, 0.012) == 4 * INCH
    assert pipe_for(100 * GPM, 0.01, 0.012) == 6 * INCH
    assert pipe_for(1.0, 0.01, 0.012) == 8 * INCH
    assert pipe_flow(4 * INCH, 0.0, 0.012) == 0.0


def test_a_dry_well_for_a_roof():
    """A town's fact sheet (issuu.com/fando1 dry_well_fact_sheet): a 2 in storm on 420 ft2 is 70
    ft3 of water, in stone of .4 voids 175 ft3: 6.6 x 6.6 x 4 ft (computed)."""
    stone = stone_for(420 * SQUARE_FOOT, 2 * INCH, 0.4)
    assert 0.4 * stone / CUBIC_FOOT == pytest.approx(70)
    assert stone / CUBIC_FOOT == pytest.approx(175)
    assert (stone / (4 * FOOT)) ** 0.5 / FOOT == pytest.approx(6.6, abs=0.05)


def test_a_soak_test_and_its_pit():
    """A worked example by BRE Digest 365 (scribd.com/document/121362036): a pit of 1.0 x .75 x
    1.0 m falls from 75 to 25 % in 56 min: .375 m3 / (2.5 m2 x 56 min) = 4.461e-5 m/s as printed;
    a pit of 2.0 x 1.5 x 1.5 m with 30 % voids lets out 2.341e-4 m3/s through 5.25 m2, stores
    1.35 m3, and of 1.04 m3 half is gone in 37 min 1 s."""
    rate = soak_rate((1.0, 0.75, 1.0), 56 * MINUTE)
    assert rate == pytest.approx(0.375 / (2.5 * 56 * 60), rel=1e-12)
    assert rate == pytest.approx(4.461e-5, rel=1e-3)
    out = soaks(2.0, 1.5, 1.5, 4.461e-5)
    assert out / 4.461e-5 == pytest.approx(5.25)
    assert out == pytest.approx(2.341e-4, rel=1e-3)
    assert stone_for(1.35, 1.0, 0.3) == pytest.approx(2.0 * 1.5 * 1.5)
    half = hours_to_empty(2.0, 1.5, 1.5, 1.04 / 2, 4.461e-5)
    assert half * HOUR == pytest.approx(37 * 60 + 1, rel=1e-3)
    assert hours_to_empty(2.0, 1.5, 1.5, 1.04, 0.0) == float("inf")


def test_the_figures_of_a_brief_on_dry_wells():
    """A state's brief (docslib.org/doc/631348): soil of .27 in/h or more, 1,000 ft2 of roof to
    each, empty in 48 h."""
    told = {name: one.value for name, one in figures().items()}
    assert told["dry-well-soak"] * HOUR / INCH == pytest.approx(0.27, rel=1e-3)
    assert told["dry-well-takes"] / SQUARE_FOOT == pytest.approx(1000)
    assert told["dry-well-time"] == 48
