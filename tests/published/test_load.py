"""Influence factors and presumptive bearing against the tables that publish them."""

from __future__ import annotations

import math

import pytest

from grading.catalogue.bases import Layer
from grading.conditions.load import (
    Board,
    Load,
    bearing,
    bearing_source,
    board_of,
    circle_influence,
    corner_influence,
)
from grading.units import INCH, POUND_PER_SQUARE_FOOT

# Depth over radius, stress over pressure.
SPANGLER = {
    0.5: 0.911, 1.0: 0.646, 1.5: 0.424, 2.0: 0.284, 2.5: 0.200, 3.0: 0.146, 4.0: 0.087,
    5.0: 0.057, 10.0: 0.015,
}  # fmt: skip

# m, and the factor for n = 1.2 and n = 1.4.
NEWMARK = {
    0.1: (0.02926, 0.03007), 0.2: (0.05733, 0.05894), 0.3: (0.08323, 0.08561),
    0.4: (0.10631, 0.10941), 0.5: (0.12626, 0.13003), 0.6: (0.14309, 0.14749),
    0.7: (0.15703, 0.16199), 0.8: (0.16843, 0.17389),
}  # fmt: skip


@pytest.mark.parametrize("depth", SPANGLER)
def test_below_the_centre_of_a_circle(depth):
    """Spangler and Handy, Soil Engineering: stress below a uniform circular load."""
    assert circle_influence(depth) == pytest.approx(SPANGLER[depth], abs=6e-4)


@pytest.mark.parametrize("m", NEWMARK)
def test_below_the_corner_of_a_rectangle(m):
    """Chapra and Canale, Numerical Methods for Engineers, problem 20.27."""
    for n, factor in zip((1.2, 1.4), NEWMARK[m], strict=True):
        assert corner_influence(m, n) == pytest.approx(factor, abs=6e-6)
        assert corner_influence(n, m) == pytest.approx(corner_influence(m, n), rel=1e-12)


@pytest.mark.parametrize(
    ("m", "factor"), [(1, 0.175221), (2, 0.232466), (3, 0.243940), (1e6, 0.25)]
)
def test_beyond_a_right_angle_the_arctangent_turns(m, factor):
    """Computed from Newmark's closed form; where m2 n2 > m2 + n2 + 1 an arctangent alone is
    pi short."""
    assert corner_influence(m, m) == pytest.approx(factor, abs=1e-6)


def test_stress_below_the_corner_of_a_building():
    """Chapra and Canale, problem 20.27: 100 t on 4.6 by 14 m, 10 m down, 0.1897 t/m2."""
    assert 100 / (4.6 * 14) * corner_influence(0.46, 1.4) == pytest.approx(0.18970, abs=5e-6)


def test_below_a_raft():
    """A published exercise: 6.1 by 15.25 m at 300 kPa, 4.58 m down: 192 kPa below the centre by
    a chart, 131.65 by 2:1."""
    raft = Load("raft", 300 * 6.1 * 15.25, (6.1, 15.25), wheels=False, source="")
    assert raft.boussinesq(4.58) == pytest.approx(192, rel=0.01)
    assert raft.two_to_one(4.58) == pytest.approx(131.65, rel=1.5e-3)


@pytest.mark.parametrize(
    ("soil", "psf"), [("gravel", 3000), ("sand", 2000), ("clay", 1500), ("loam", 1500)]
)
def test_presumptive_bearing(soil, psf):
    """IBC 2012 table 1806.2: GW GP 3000, SW SP and sands with fines 2000, CL ML MH CH 1500 psf."""
    assert bearing(soil) / POUND_PER_SQUARE_FOOT == pytest.approx(psf)
    assert "1806.2" in bearing_source()


PSI = POUND_PER_SQUARE_FOOT * 144
SLAB = Board(10 * INCH, 4e6 * PSI, 0.15, 100 * PSI / INCH)
"""Huang, Pavement Analysis and Design, examples 4.2 to 4.4: a slab 10 in thick, 4,000,000 psi and
0.15, on 100 pci, under 10,000 lb on a circle of 6 in. Its answers from memory."""


def test_a_slab_spreads_a_load_by_its_radius_of_relative_stiffness():
    """42.97 in."""
    assert SLAB.reach / INCH == pytest.approx(42.97, abs=5e-3)


def test_a_slab_loaded_in_its_interior():
    """It sinks 0.0067 in, and the soil pushes back by 100 pci of that."""
    pressed = 10_000 / (math.pi * 6**2) * SLAB.amid(6 * INCH)
    assert pressed / 100 == pytest.approx(0.0067, abs=5e-5)


@pytest.mark.parametrize("share", [0.02, 0.05, 0.1, 0.2, 0.4])
def test_a_small_load_sinks_as_westergaard_has_it(share):
    """Westergaard (1926), interior loading: P / 8 k l2 times 1 + (a/l)2 / 2 pi times
    (ln(a / 2 l) + Euler's constant - 5/4)."""
    ours = SLAB.amid(share * SLAB.reach) / (share**2 * math.pi)
    his = (1 + share**2 / (2 * math.pi) * (math.log(share / 2) + 0.5772157 - 1.25)) / 8
    # Both in P / k l2; his series leaves out the fourth power of the share.
    assert ours == pytest.approx(his, rel=share**3 + 1e-6)


def test_the_end_of_a_beam_under_a_load_at_its_end():
    """Hetenyi (1946): the free end sinks 2 P b / k under a load at it, b being (k / 4 EI)^1/4."""
    short = 1e-4 * SLAB.reach
    beta = 1 / (math.sqrt(2) * SLAB.reach)
    assert SLAB.at_edge(short) == pytest.approx(2 * short * beta, rel=1e-3)


@pytest.mark.parametrize(
    ("soil", "greatest"), [("clay", 48), ("loam", 48), ("sand", 80), ("gravel", 128)]
)
def test_the_subgrade_modulus_is_the_stiff_end_of_its_range(soil, greatest):
    """Bowles, Foundation Analysis and Design, 4th ed., table 9-1 [MN/m3]: clayey soil 12 to 48,
    silty medium dense sand 24 to 48, medium dense sand 9.6 to 80, dense sand 64 to 128."""
    layer = Layer("panel", "panel", "panel", 0.02, True, 5e6)
    assert board_of(layer, soil).subgrade == pytest.approx(greatest * 1e6)
