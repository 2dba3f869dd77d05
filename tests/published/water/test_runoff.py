"""Runoff, channels and margins against worked examples; each says where its numbers come from."""

from __future__ import annotations

import numpy as np
import pytest
import shapely

from grading.geometry.plane import Plane
from grading.units import CUBIC_FOOT, CUBIC_YARD, FOOT, GALLON, HOUR, INCH, MINUTE
from grading.units.rates import flow, read_area, read_rate
from grading.water.margins import margin
from grading.water.runoff import rational_flow, stored

ACRE = 43_560 * FOOT**2


def test_a_catchment_of_128_acres():
    """0.20 square miles, C 0.4, 2.87 in/h: 146.944 cubic feet a second, a worked homework answer
    with the factor taken as 1; read 2026-11-25. The exact factor of acre inches an hour is
    43,560 / 43,200, which handbooks print as 1.008."""
    exact = rational_flow(0.4, 2.87 * INCH / HOUR, 128 * ACRE) / CUBIC_FOOT
    assert exact == pytest.approx(146.944 * 43_560 / 43_200, rel=1e-9)


def test_the_metric_factor_is_one_in_360():
    """Rational method in mm/h and hectares, FHWA HEC-22, equation 3-1: Q = C i A / 360."""
    assert rational_flow(1.0, 0.036 / HOUR, 1e4) == pytest.approx(36 / 360, rel=1e-12)


def test_a_patio_of_400_square_feet():
    """C 0.85 and 5 in/h: 0.0394 cubic feet a second, 17.7 US gallons a minute; computed by hand for
    this project."""
    runs = rational_flow(0.85, read_rate("5 in/h"), read_area("400 ft2", "ft"))
    assert runs / CUBIC_FOOT == pytest.approx(0.0394, abs=5e-5)
    assert runs * MINUTE / GALLON == pytest.approx(17.7, abs=0.05)
    assert flow(runs, "ft") == "17.7 gpm"


def test_settlement_uses_up_a_slope():
    """Trade numbers, computed by hand for this project: 2 per cent over a 4 ft backfill zone is
    used up by 0.96 in of settlement at the wall, 1 per cent by 0.48 in; 1 in of heave at the outer
    edge of a 12 ft patio takes 0.7 per cent."""
    assert margin(0.02, 12 * FOOT).used_up / INCH == pytest.approx(0.96, rel=1e-12)
    assert margin(0.01, 12 * FOOT).used_up / INCH == pytest.approx(0.48, rel=1e-12)
    assert 0.02 - margin(0.02, 12 * FOOT).heaved == pytest.approx(0.007, abs=5e-4)


def test_an_open_base_of_300_square_feet():
    """6 in of clean stone over 300 square feet holds 60 cubic feet, 450 gallons, 1.7 m3 at 40 per
    cent of voids: trade numbers, computed by hand for this project."""
    area = shapely.box(0, 0, 20 * FOOT, 15 * FOOT)
    held = stored([(area, Plane(0, 0, 0))], 6 * INCH, 0.4).volume
    assert held / CUBIC_FOOT == pytest.approx(60, rel=1e-9)
    assert held / GALLON == pytest.approx(450, abs=2)
    assert held == pytest.approx(1.7, abs=0.05)
    assert held / CUBIC_YARD == pytest.approx(60 / 27, rel=1e-9)
    assert np.isfinite(held)
