"""Frost depth against a published example, and the relations against their closed forms."""

from __future__ import annotations

from math import inf, sqrt

import pytest

from grading.conditions.frost import Stratum, berggren_factor, modified_berggren, stefan, stratum
from grading.units import BTU, DAY, FAHRENHEIT, FOOT, HOUR, POUND

CONDUCTIVITY = BTU / HOUR / FOOT / FAHRENHEIT  # Btu/h ft F, in W/m K

SANDY_SILT = Stratum(
    "sandy silt", inf, 100 * POUND / FOOT**3, 0.15, (0.80 + 0.72) / 2 * CONDUCTIVITY
)
INDEX = 2500 * FAHRENHEIT * DAY
SEASON = 160 * DAY
MEAN = (37.2 - 32) * FAHRENHEIT


def test_heats_of_the_example():
    """UFC 3-130-06, sandy silt (inputs from memory): L 2160 Btu/ft3, C 28.3 Btu/ft3 F."""
    heat = BTU / FOOT**3
    assert SANDY_SILT.latent / heat == pytest.approx(2160)
    assert SANDY_SILT.capacity / (heat / FAHRENHEIT) == pytest.approx(28.3, abs=0.06)


def test_modified_berggren_of_the_example():
    """UFC 3-130-06, sandy silt at 100 pcf and 15 % (inputs from memory): 5.8 ft by a chart
    coefficient of 0.89; the equation that the chart is drawn from gives 0.8956."""
    depth, factor = modified_berggren([SANDY_SILT], INDEX, SEASON, MEAN)
    assert depth / FOOT == pytest.approx(5.8, abs=0.05)
    assert factor == pytest.approx(0.89, abs=0.01)
    assert factor == pytest.approx(0.8956, abs=5e-5)


def test_stefan_of_the_example():
    """UFC 3-130-06, the same soil (inputs from memory): 6.5 ft by Stefan alone."""
    assert stefan([SANDY_SILT], INDEX) / FOOT == pytest.approx(6.5, abs=0.05)
    by_hand = sqrt(48 * 0.76 * 2500 / 2160)  # X = sqrt(48 k nF / L) ft
    assert stefan([SANDY_SILT], INDEX) / FOOT == pytest.approx(by_hand)


def test_the_closed_form_comes_out_high():
    """From memory: 1 / sqrt(1 + mu (alpha + 1/2)) gives 0.924 where the equation gives 0.896."""
    alpha, mu = 5.2 / 15.625, 15.625 * 28.25 / 2160
    closed = 1 / sqrt(1 + mu * (alpha + 0.5))
    assert closed == pytest.approx(0.924, abs=5e-4)
    assert berggren_factor(alpha, mu) < closed - 0.02


def test_a_panel_halves_a_frost_of_four_feet():
    """From memory: 20 mm of bead polypropylene is half a square metre kelvin to the watt, and
    under it a frost of 1.2 m in soil of 1.8 W/m K goes down about 0.6 m."""
    panel = stratum("panel", "panel", 0.02)
    assert 0.02 / panel.conductivity == pytest.approx(0.5, abs=0.03)
    soil = Stratum("soil", inf, 1600, 0.2, 1.8)
    winter = soil.latent * 1.2**2 / (2 * 1.8)
    assert stefan([soil], winter) == pytest.approx(1.2)
    assert stefan([panel, soil], winter) - 0.02 == pytest.approx(0.6, abs=0.02)


@pytest.mark.parametrize(
    ("material", "least", "greatest"),
    [
        ("dense-graded", 1.5, 2.0),
        ("open-graded", 0.3, 0.5),
        ("paver", 1.4, 1.8),
        ("soil clay", 1.1, 2.0),
        ("panel", 0.036, 0.042),
    ],
)
def test_conductivity_lies_in_the_range_of_handbooks(material, least, greatest):
    """From memory: ranges of thermal conductivity, W/m K."""
    assert least <= stratum("", material, 0.1).conductivity <= greatest
