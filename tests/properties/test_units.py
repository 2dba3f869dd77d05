import math

import pytest
from hypothesis import given
from hypothesis import strategies as st
from make.sites.strategies import lengths

from grading.units import (
    INCH,
    UnitError,
    feet_inches,
    inches,
    length,
    millimetres,
    percent,
    read_length,
    read_slope,
    slope,
)

denominators = st.sampled_from([2, 4, 8, 16, 32, 64])


@given(lengths(), denominators)
def test_feet_and_inches_read_back_to_half_a_part(metres, denominator):
    for write in (feet_inches, inches):
        back = read_length(write(metres, denominator), "m")
        assert abs(back - metres) <= INCH / denominator / 2 * (1 + 1e-9)


@given(st.integers(-(10**6), 10**6), denominators)
def test_whole_parts_of_an_inch_read_back_exactly_as_written(parts, denominator):
    metres = parts * INCH / denominator
    for write in (feet_inches, inches):
        text = write(metres, denominator)
        assert read_length(text, "ft") == pytest.approx(metres, rel=1e-14, abs=1e-15)
        assert write(read_length(text, "ft"), denominator) == text


@given(lengths(), denominators)
def test_fractions_are_in_lowest_terms_and_inches_fewer_than_twelve(metres, denominator):
    text = feet_inches(metres, denominator)
    assert not text.startswith("-0' 0\"")
    whole = text.rstrip('"').split("' ")[1].split()
    assert int(whole[0].split("/")[0]) < 12 or "/" in whole[0]
    if "/" in whole[-1]:
        top, bottom = map(int, whole[-1].split("/"))
        assert math.gcd(top, bottom) == 1
        assert 0 < top < bottom <= denominator


@given(lengths())
def test_metric_lengths_read_back_to_half_a_millimetre(metres):
    for text in (millimetres(metres), length(metres, "m")):
        assert abs(read_length(text, "ft") - metres) <= 0.0005 * (1 + 1e-9)
        assert not text.startswith(("-0 ", "-0.000"))


@given(st.floats(-0.9, 0.9))
def test_slopes_read_back(ratio):
    assert abs(read_slope(percent(ratio)) - ratio) <= 0.0005 * (1 + 1e-9)
    in_brackets = slope(ratio, "ft").split("(")[1].rstrip(")")
    assert abs(read_slope(in_brackets) - ratio) <= 1 / 16 / 12 / 2 * (1 + 1e-9)
    assert read_slope(repr(ratio)) == ratio


@given(lengths(), st.sampled_from(["mm", "cm", "m", "in", "ft", "yd"]))
def test_any_decimal_with_a_unit_is_that_many_of_it(size, unit):
    one = read_length(f"1 {unit}", "m")
    assert read_length(f"{size:.9f} {unit}", "m") == pytest.approx(
        float(f"{size:.9f}") * one, rel=1e-15
    )


some_text = st.text(max_size=80) | st.text("0123456789./- '\"inftmc%:", max_size=20)


@given(some_text)
def test_any_text_is_read_or_refused_with_a_sentence(text):
    for read in (lambda: read_length(text, "ft"), lambda: read_slope(text)):
        try:
            said = str(read())
        except UnitError as error:
            said = str(error)
        assert "expected" in said or math.isfinite(float(said))
