"""Rates of rain, areas of roof and flows: read as people write them, written as they say them."""

import math

import pytest

from grading.units import FOOT, HOUR, INCH, UnitError
from grading.units.rates import flow, read_area, read_rate, soak, water_volume
from grading.units.reading import shown

DAY = 24 * HOUR


@pytest.mark.parametrize(
    ("written", "value"),
    [
        ("4 in/h", 4 * INCH / HOUR),
        ("4 in/hr", 4 * INCH / HOUR),
        ("0.5 IN/H", 0.5 * INCH / HOUR),
        ("100 mm/h", 0.1 / HOUR),
        (" 100  mm/h ", 0.1 / HOUR),
        ("1 ft per day", FOOT / DAY),
        ("2 cm/min", 0.02 / 60),
        ("3 inches per second", 3 * INCH),
        ("1 m an hour", 1 / HOUR),
    ],
)
def test_a_rate_is_read(written, value):
    assert read_rate(written) == pytest.approx(value, rel=1e-12)


@pytest.mark.parametrize(
    ("written", "found", "mend"),
    [
        (4, "4", 'Say of what: "4 in/h" or "4 mm/h".'),
        ("4", '"4"', 'Say of what: "4 in/h" or "4 mm/h".'),
        ("4 in", '"4 in"', ""),
        ("4 furlongs/h", '"4 furlongs/h"', ""),
        ("4 in/fortnight", '"4 in/fortnight"', ""),
        (True, "true", ""),
        ("4 in/h" + "!" * 90, shown("4 in/h" + "!" * 90), ""),
        (10**90, shown(10**90), f'Say of what: "{10**90} in/h" or "{10**90} mm/h".'),
    ],
)
def test_what_is_no_rate_is_refused_as_it_was_written(written, found, mend):
    with pytest.raises(UnitError) as refused:
        read_rate(written)
    assert (refused.value.found, refused.value.mend) == (found, mend)
    assert refused.value.expected.startswith('a rate such as "4 in/h"')


@pytest.mark.parametrize(
    ("written", "unit", "value"),
    [
        (450, "ft", 450 * FOOT**2),
        ("450", "ft", 450 * FOOT**2),
        (40, "m", 40.0),
        ("450 ft2", "m", 450 * FOOT**2),
        ("450 ft²", "m", 450 * FOOT**2),
        ("40 m^2", "ft", 40.0),
        ("5 sq yd", "ft", 5 * 9 * FOOT**2),
        ("5 square metres", "ft", 5.0),
    ],
)
def test_an_area_is_read(written, unit, value):
    assert read_area(written, unit) == pytest.approx(value, rel=1e-12)


@pytest.mark.parametrize(
    ("written", "mend"),
    [("0", "An area is greater than zero."), (0, "An area is greater than zero."),
     ("9 stones", ""), ("wide", ""), (None, ""), (math.inf, ""), (False, "")],
)  # fmt: skip
def test_what_is_no_area_is_refused(written, mend):
    with pytest.raises(UnitError) as refused:
        read_area(written, "ft")
    assert refused.value.mend == mend
    assert refused.value.expected.startswith("an area such as 450")


def test_what_is_nothing_or_no_number_is_told_in_words():
    for written, found in ((None, "nothing"), (False, "false"), (True, "true")):
        with pytest.raises(UnitError) as refused:
            read_area(written, "ft")
        assert refused.value.found == found


def test_flows_and_volumes_of_water_are_written_in_the_unit_of_the_site():
    """A US gallon is 231 cubic inches by definition (NIST SP 811, appendix B.8)."""
    gallon = 231 * INCH**3
    assert flow(17.7 * gallon / 60, "ft") == "17.7 gpm"
    assert flow(0.00112, "m") == "1.12 L/s"
    assert water_volume(449 * gallon, "ft") == "449 gal"
    assert water_volume(1.7, "m") == "1700 L"


@pytest.mark.parametrize("hourly", [0.27, 1.0, 68.0])
def test_how_fast_soil_takes_water_is_told_in_an_hour(hourly):
    assert soak(hourly * INCH / HOUR, "ft") == f"{hourly:.2f} in/h"
    assert soak(hourly / 1000 / HOUR, "m") == f"{hourly:.1f} mm/h"


def test_a_rate_of_more_letters_than_anybody_writes_is_none():
    most = f"0.{'5' * 53} in/h"
    assert len(most) == 60
    assert read_rate(most) == pytest.approx(5 / 9 * INCH / HOUR)
    with pytest.raises(UnitError):
        read_rate(f"0.{'5' * 54} in/h")
