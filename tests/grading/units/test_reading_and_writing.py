import math
import subprocess
import sys
from pathlib import Path

import pytest

from grading import units
from grading.errors import GradingError
from grading.units import (
    FOOT,
    INCH,
    YARD,
    UnitError,
    area,
    bearing,
    both,
    counted,
    cubic_yards,
    feet_inches,
    inches,
    least_rate,
    length,
    millimetres,
    number,
    percent,
    read_length,
    read_slope,
    size,
    slope,
    square_feet,
    taped_rate,
    volume,
)
from grading.units.factors import US_SURVEY_FOOT


@pytest.mark.parametrize(
    ("written", "metres"),
    [
        (2.5, 2.5 * FOOT),
        (3, 3 * FOOT),
        ("2.5", 2.5 * FOOT),
        ("-.5", -0.5 * FOOT),
        ("1e2", 100 * FOOT),
        ("9 3/8", 9.375 * FOOT),
        ("9 3/8 in", 9.375 * INCH),
        ("9 3/8in", 9.375 * INCH),
        ('9-3/8"', 9.375 * INCH),
        ('7/8"', 0.875 * INCH),
        ("1 / 2 in", 0.5 * INCH),
        ("2 inches", 2 * INCH),
        ("2 in.", 2 * INCH),
        ("3'", 3 * FOOT),
        ("3 ft", 3 * FOOT),
        ("100.65'", 100.65 * FOOT),
        ("5' 3 1/2\"", 63.5 * INCH),
        ("5' 3 1/2\\\"", 63.5 * INCH),
        ("3'-9 1/2", 45.5 * INCH),
        ("3' 9 1/2\"", 45.5 * INCH),
        ("3'-9-1/2\"", 45.5 * INCH),
        ("3' - 9 1/2\"", 45.5 * INCH),
        ("3'9.5\"", 45.5 * INCH),
        ("5 ft 3 in", 63 * INCH),
        ("5 feet, 3 inches", 63 * INCH),
        ("5' 1/2\"", 60.5 * INCH),
        ("-2 1/2 in", -2.5 * INCH),
        ("-0' 6\"", -6 * INCH),
        ("0.5 yd", 0.5 * YARD),
        ("238mm", 0.238),
        ("40 MM", 0.04),
        ("12 cm", 0.12),
        ("1.2 m", 1.2),
        ("1 1/2 metres", 1.5),
        ("5′ 3½″", 63.5 * INCH),
        ("5’ 3 ½”", 63.5 * INCH),
        ("9⅜ in", 9.375 * INCH),
        ("½″", 0.5 * INCH),
        ("−2½ in", -2.5 * INCH),
        ("3''", 3 * INCH),
        ("  3\u00a0in ", 3 * INCH),
        ("3⁄8 in", 0.375 * INCH),
    ],
)
def test_a_length_is_read_as_crews_write_it(written, metres):
    assert read_length(written, "ft") == pytest.approx(metres, rel=1e-15)


def test_a_bare_number_is_in_the_unit_of_the_file_and_a_unit_of_its_own_wins():
    assert read_length("9 3/8", "m") == 9.375
    assert read_length(2, "m") == 2.0
    assert read_length("2 ft", "m") == 2 * FOOT
    assert read_length("2 m", "ft") == 2.0


@pytest.mark.parametrize(
    ("written", "sentence"),
    [
        (math.nan, "found nan, expected a length such as"),
        (math.inf, "found inf,"),
        ("nan", 'found "nan",'),
        ("inf", 'found "inf",'),
        ("1e400", 'found "1e400",'),
        (10**400, "found a number too large to be a size,"),
        ("9" * 5000, "..., expected a length"),
        (True, "found true,"),
        (None, "found nothing,"),
        ([1], "found [1],"),
        ("", 'found "",'),
        ("wide", 'found "wide",'),
        ("1_000", 'found "1_000",'),
        ("2 furlongs", 'The unit "furlongs" is not known: use ft or'),
        ("2,5 m", "Write a point before the decimals."),
        ("3 9.5", "Say which number is feet: 3' 9 1/2\"."),
        ("3-9 1/2", "Say which number is feet: 3' 9 1/2\"."),
        ("5' 14\"", "the inches after them are fewer than 12."),
        ("5' 12\"", "the inches after them are fewer than 12."),
        ("5.5' 3\"", "Before inches, feet are whole"),
        ("9 3/0 in", "3/0 is no part of a whole."),
        ("3/0 in", "3/0 is no part of a whole."),
        ("9 9/8 in", "9/8 is no part of a whole."),
        ("3 in 4 ft", 'found "3 in 4 ft",'),
    ],
)
def test_what_is_no_length_is_refused_with_a_sentence(written, sentence):
    with pytest.raises(UnitError) as refused:
        read_length(written, "ft")
    assert sentence in str(refused.value)
    assert 'expected a length such as 2.5, "2 3/8 in"' in str(refused.value)


def test_a_unit_error_is_both_a_value_error_and_one_that_a_person_can_mend():
    assert issubclass(UnitError, ValueError)
    assert issubclass(UnitError, GradingError)


@pytest.mark.parametrize(
    ("written", "ratio"),
    [
        (0.02, 0.02),
        ("0.02", 0.02),
        ("-.02", -0.02),
        (0, 0),
        ("2 %", 0.02),
        ("2%", 0.02),
        ("-2 %", -0.02),
        ("2 1/2 percent", 0.025),
        ("1/4 in/ft", 1 / 48),
        ("1/4in/ft", 1 / 48),
        ("1/4 in / ft", 1 / 48),
        ('1/4" per ft', 1 / 48),
        ("1/4 in per foot", 1 / 48),
        ("¼″/ft", 1 / 48),
        ("1/4 in per 12 in", 1 / 48),
        ("6 in in 10 ft", 0.05),
        ("6\" in 10'", 0.05),
        ("20 mm/m", 0.02),
        ("2 cm per m", 0.02),
        ("1:48", 1 / 48),
        ("-1:50", -0.02),
        ("1 in 48", 1 / 48),
        ("1:1", 1),
        ("120 %", 1.2),
    ],
)
def test_a_slope_is_read_as_crews_write_it(written, ratio):
    assert read_slope(written) == pytest.approx(ratio, rel=1e-14)


@pytest.mark.parametrize(
    ("written", "sentence"),
    [
        (2, 'for 2 percent write "2 %".'),
        ("2", 'for 2 percent write "2 %".'),
        (-1.5, 'for -1.5 percent write "-1.5 %".'),
        (1, 'for 1 percent write "1 %".'),
        ("48:1", 'Rise comes first: write "1:48".'),
        ("1:0", 'found "1:0",'),
        ("0:0", "The run of a slope is not zero."),
        ("1 in/0 ft", "The run of a slope is not zero."),
        ("1/4", 'Say of what: "1/4 in/ft", or "1:48"'),
        ("1/4 in/furlong", 'The unit "furlong" is not known'),
        ("1/4 in/ft/ft", 'found "1/4 in/ft/ft",'),
        ("steep", 'found "steep",'),
        (math.nan, "found nan,"),
        ("1/0 %", "1/0 is no part of a whole."),
        (None, "found nothing,"),
        (False, "found false,"),
    ],
)
def test_what_is_no_slope_is_refused_with_a_sentence(written, sentence):
    with pytest.raises(UnitError) as refused:
        read_slope(written)
    assert sentence in str(refused.value)
    assert 'expected a slope such as "2 %"' in str(refused.value)


@pytest.mark.parametrize(
    ("size", "text"),
    [
        (63.5, "5' 3 1/2\""),
        (11 + 63 / 64, "1' 0\""),
        (11 + 15 / 16, "0' 11 15/16\""),
        (12.5, "1' 0 1/2\""),
        (0, "0' 0\""),
        (-0.01, "0' 0\""),
        (-2.5, "-0' 2 1/2\""),
        (1 / 32, "0' 0 1/16\""),
    ],
)
def test_feet_and_inches_go_to_the_nearest_sixteenth(size, text):
    assert feet_inches(size * INCH) == text


def test_lengths_are_written():
    assert inches(0.238125) == "9 3/8 in"
    assert inches(-2.5 * INCH) == "-2 1/2 in"
    assert inches(0.3 * INCH, denominator=8) == "1/4 in"
    assert inches(-1e-9) == "0 in"
    assert millimetres(0.238125) == "238 mm"
    assert millimetres(0.0005) == "1 mm"
    assert millimetres(-0.0001) == "0 mm"
    assert both(0.238125) == "9 3/8 in (238 mm)"
    assert length(63.5 * INCH, "ft") == "5' 3 1/2\""
    assert length(1.2344, "m") == "1.234 m"
    assert length(-1e-5, "m") == "0.000 m"
    assert number(100.65 * FOOT, "ft") == "100.65"
    assert number(330.2165 * FOOT, "ft") == "330.2165"
    assert number(600000.25, "m") == "600000.25"
    assert number(-1e-9, "m") == "0"


def test_slopes_are_written():
    assert percent(0.02) == "2.0 %"
    assert percent(-0.0001) == "0.0 %"
    assert percent(0.0208, 2) == "2.08 %"
    assert slope(0.02, "ft") == "2.0 % (1/4 in/ft)"
    assert slope(-0.05, "ft") == "-5.0 % (-5/8 in/ft)"
    assert slope(0.0337, "m") == "3.4 % (34 mm/m)"


def test_areas_and_volumes_are_written():
    assert volume(6.73, "ft") == "8.8 yd³"
    assert volume(6.73, "m") == "6.73 m³"
    assert area(504 * FOOT**2, "ft") == "504.0 ft²"
    assert area(46.823, "m") == "46.82 m²"
    assert square_feet(FOOT**2) == 1
    assert cubic_yards(YARD**3) == 1


def test_units_need_no_library_of_numbers_or_shapes():
    code = (
        "import sys, types; package = types.ModuleType('grading');"
        f"package.__path__ = [{str(Path(units.__file__).parents[1])!r}];"
        "sys.modules['grading'] = package; import grading.units; print(*sys.modules)"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    loaded = {name.partition(".")[0] for name in done.stdout.split()}
    assert "grading" in loaded
    assert not loaded & {"numpy", "scipy", "shapely", "pydantic"}


@pytest.mark.parametrize(
    ("words", "built", "published"),
    [
        ("12 in", "300 mm", "305 mm"),
        ("1/8 to 3/8 in", "3 to 10 mm", "3 to 10 mm"),
        ("1 1/2 in", "40 mm", "38 mm"),
        ("4, 5 or 6 in", "100, 125 or 150 mm", "102, 127 or 152 mm"),
        ("5 to 6 ft", "1.5 to 1.8 m", "1.52 to 1.83 m"),
        ("10 ft", "3 m", "3.05 m"),
        ("1/8 in per foot", "10 mm per metre", "10 mm per metre"),
    ],
)
def test_sizes_as_a_rule_has_them_are_told_in_the_unit_of_the_site(words, built, published):
    """In metres as round as they are built; what is published keeps its value."""
    assert units.nominal(words, "ft") == words
    assert units.nominal(words, "m") == built
    assert units.nominal(words, "m", beside=True) == f"{published} ({words})"
    assert units.nominals(f"at least {{{words}}} of it", "m") == f"at least {built} of it"


@pytest.mark.parametrize(
    ("inches", "built"),
    [
        (1 / 16, 2), (1 / 8, 3), (1 / 4, 6), (3 / 8, 10), (1 / 2, 12), (5 / 8, 15), (3 / 4, 20),
        (1, 25), (1.5, 40), (2, 50), (2.375, 60), (3, 75), (4, 100), (6, 150), (8, 200), (12, 300),
        (18, 450), (36, 900), (120, 3000), (1200, 30000), (0, 0), (-6, -150),
    ],
)  # fmt: skip
def test_a_size_of_inches_is_built_round_in_millimetres(inches, built):
    """As boards, blocks and pipes are sold beside those of the other system: common practice, no
    source."""
    assert units.round_metric(inches * 0.0254) == pytest.approx(built / 1000, abs=1e-12)
    assert units.built_size(f"{inches} in", inches * 0.0254) == units.round_metric(inches * 0.0254)
    assert units.built_size("127 mm", 0.127) == 0.127


def test_what_is_no_size_is_not_told_as_one():
    with pytest.raises(UnitError, match="sizes such as"):
        units.nominal("six feet", "m")


@pytest.mark.parametrize(
    ("metres", "said"), [(3.048, "3.05 m"), (24.0, "24 m"), (19.099, "19.1 m"), (0.0, "0 m")]
)
def test_a_run_along_the_ground_is_told_to_the_centimetre(metres, said):
    assert units.run(metres, "m") == said


def test_a_run_in_feet_is_told_as_a_tape_has_it():
    assert units.run(3.048, "ft") == "10' 0\""


@pytest.mark.parametrize(
    ("degrees", "told"), [(0, "0°"), (359.4, "359°"), (359.6, "0°"), (45, "45°")]
)
def test_a_bearing_is_told_below_360(degrees, told):
    assert bearing(degrees) == told


@pytest.mark.parametrize(
    ("ratio", "taped", "least"),
    [
        # In 120 in: 2.5, 2.4, 3.6, 3.0 and 2.441 in, by hand; a least is never more than it is.
        (1 / 48, ("2 1/2 in", "21 mm"), ("2 1/2 in", "20 mm")),
        (0.02, ("2 3/8 in", "20 mm"), ("2 3/8 in", "20 mm")),
        (0.03, ("3 5/8 in", "30 mm"), ("3 1/2 in", "30 mm")),
        (0.025, ("3 in", "25 mm"), ("3 in", "25 mm")),
        (0.0249999999, ("3 in", "25 mm"), ("3 in", "25 mm")),
        (0.02034, ("2 1/2 in", "20 mm"), ("2 3/8 in", "20 mm")),
    ],
)
def test_a_fall_is_told_in_the_unit_of_the_site_and_a_least_is_rounded_down(ratio, taped, least):
    runs = {"ft": "10 ft", "m": "metre"}
    for write, told in ((taped_rate, taped), (least_rate, least)):
        for (unit, over), rise in zip(runs.items(), told, strict=True):
            assert write(ratio, unit) == f"{rise} per {over}"


def test_one_thing_and_less_is_told_as_one_and_nothing_as_many():
    told = [counted(count, "day") for count in (0, 0.5, 1, 1.0, 1.5, 2, -1)]
    assert told == ["0 days", "0.5 day", "1 day", "1 day", "1.5 days", "2 days", "-1 day"]
    assert counted(2, "half", "halves") == "2 halves"


def test_a_size_is_told_to_the_nearest_sixteenth_unless_another_is_asked():
    told = {parts: size(9.06 * INCH, "ft", parts) for parts in (2, 8, 16)}
    assert told == {2: "9 in", 8: "9 in", 16: "9 1/16 in"}
    assert size(9.06 * INCH, "ft") == told[16]
    assert size(9.06 * INCH, "m") == "230 mm"


def test_the_foot_of_the_old_survey_is_longer_by_two_in_a_million():
    """NIST, Special Publication 811 (2008), B.6: 1 ft (US survey) = 0.304 800 6 m, from memory."""
    assert pytest.approx(0.304_800_6, abs=5e-8) == US_SURVEY_FOOT
    assert pytest.approx(2e-6, rel=1e-4) == US_SURVEY_FOOT / FOOT - 1
