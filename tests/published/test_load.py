"""Influence factors and presumptive bearing against the tables that publish them."""

from __future__ import annotations

import pytest

from grading.load import Load, bearing, bearing_source, circle_influence, corner_influence
from grading.units import POUND_PER_SQUARE_FOOT

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
