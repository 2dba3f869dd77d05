from fractions import Fraction

import pytest

from grading.units import UnitError, read_length
from grading.units.rods import ROD_UNITS, has_own_unit, read_rod

INCH, FOOT = Fraction("0.0254"), Fraction("0.3048")


@pytest.mark.parametrize(
    ("text", "rod", "inches"),
    [
        ("4 3.5", "ft-in", Fraction("51.5")),
        ("4 3 1/2", "ft-in", Fraction("51.5")),
        ("4-3 1/2", "ft-in", Fraction("51.5")),
        ("4' 3 1/8\"", "ft-in", Fraction("51.125")),
        ("4′ 3⅛″", "ft-in", Fraction("51.125")),
        ("51 1/8 in", "ft-in", Fraction("51.125")),
        ("4 ft", "ft-in", 48),
        ("0 7/8", "ft-in", Fraction("0.875")),
        ("-2' 1\"", "ft-in", -25),
        ("-2 1", "ft-in", -25),
        ("4.26", "ft", Fraction("4.26") * 12),
        ("4' 3 1/8\"", "ft", Fraction("51.125")),
    ],
)
def test_a_rod_in_feet_is_read_exactly(text, rod, inches):
    assert read_rod(text, rod) == inches * INCH


@pytest.mark.parametrize(
    ("text", "rod", "metres"),
    [
        ("1.298", "m", "1.298"), ("129.8", "cm", "1.298"), ("1298", "mm", "1.298"),
        ("-0.45", "m", "-0.45"), ("1298 mm", "m", "1.298"), ("1.298 m", "ft-in", "1.298"),
    ],
)  # fmt: skip
def test_a_rod_in_metres_is_read_exactly(text, rod, metres):
    assert read_rod(text, rod) == Fraction(metres)


@pytest.mark.parametrize("text", ["4", "4.26", "51", "3/8", "51 1/8", "-4"])
def test_one_number_on_a_rod_of_feet_and_inches_is_never_guessed(text):
    if text == "51 1/8":  # two numbers: 51 ft and an eighth, longer than any rod
        assert read_rod(text, "ft-in") > 50 * FOOT
        return
    with pytest.raises(UnitError) as refused:
        read_rod(text, "ft-in")
    assert "one number may be either" in refused.value.mend


@pytest.mark.parametrize("rod", ROD_UNITS)
@pytest.mark.parametrize(
    "text", ["", "wet", "nan", "inf", "1e9999", "1_000", "4,26", "4 13", "1/0", "--4", "4 m 3"]
)
def test_what_is_no_reading_is_refused(rod, text):
    with pytest.raises(UnitError) as refused:
        read_rod(text, rod)
    assert refused.value.expected.startswith("a reading such as")


def test_two_numbers_on_a_rod_in_tenths_point_to_the_other_rod():
    with pytest.raises(UnitError, match='write rod = "ft-in"'):
        read_rod("4 3", "ft")


@pytest.mark.parametrize("text", ["4' 3 1/8\"", "1.298 m", "51 1/8 in", "12 mm", "-3 cm", "0.5 yd"])
def test_a_reading_with_its_unit_is_the_length_that_it_is_elsewhere(text):
    for rod in ROD_UNITS:
        assert float(read_rod(text, rod)) == pytest.approx(read_length(text, "m"), rel=1e-15)


def test_the_family_of_a_reading():
    assert [has_own_unit(text) for text in ("4 3", "4'", "4 in", "4ft", "1.2 m", "30mm")] == [
        "", "ft", "ft", "ft", "m", "m",
    ]  # fmt: skip
