import pytest

from grading.units import DAY, FAHRENHEIT, UnitError
from grading.units.weather import read_days, read_freezing_index, read_temperature

F_DAYS = FAHRENHEIT * DAY


@pytest.mark.parametrize(
    ("written", "unit", "value"),
    [
        ("1500 °F·days", "m", 1500 * F_DAYS),
        ("1500 F-days", "m", 1500 * F_DAYS),
        ("1500 deg F days", "m", 1500 * F_DAYS),
        ("1500 °f day", "m", 1500 * F_DAYS),
        ("800 °C·days", "ft", 800 * DAY),
        ("800 °C d", "ft", 800 * DAY),
        ("800 K days", "ft", 800 * DAY),
        (1500, "ft", 1500 * F_DAYS),
        ("1500", "ft", 1500 * F_DAYS),
        (800.5, "m", 800.5 * DAY),
    ],
)
def test_a_freezing_index_is_read(written, unit, value):
    assert read_freezing_index(written, unit) == pytest.approx(value)


@pytest.mark.parametrize(
    ("written", "unit", "value"),
    [
        ("32 °F", "m", 0), ("37.2 F", "m", 5.2 * FAHRENHEIT), ("7 °C", "ft", 7),
        (50, "ft", 10), (-3, "m", -3), ("\N{MINUS SIGN}3 C", "m", -3), ("280.15 K", "m", 7),
    ],
)  # fmt: skip
def test_a_temperature_is_read(written, unit, value):
    assert read_temperature(written, unit) == pytest.approx(value, abs=1e-9)


def test_days_are_read():
    assert read_days(120) == read_days("120 days") == read_days("120 d") == 120 * DAY


@pytest.mark.parametrize(
    "written", ["cold", "1500 in", "1500 °F", True, None, float("nan"), float("inf"), [1], "-"]
)
def test_what_is_no_index_is_refused(written):
    with pytest.raises(UnitError, match="expected a freezing index such as"):
        read_freezing_index(written, "ft")


@pytest.mark.parametrize("written", ["7 in", "warm", False, None, "7 °C·days"])
def test_what_is_no_temperature_is_refused(written):
    with pytest.raises(UnitError, match="expected a temperature such as"):
        read_temperature(written, "ft")
