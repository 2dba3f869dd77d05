"""Winters as a person writes them: freezing indexes, temperatures, days; in K and s inside."""

from __future__ import annotations

import math
import re
from typing import Any

from grading.units import DAY, FAHRENHEIT, Unit, UnitError

INDEX_FORMS = 'a freezing index such as "1500 °F·days" or "800 °C·days"'
TEMPERATURE_FORMS = 'a temperature such as "45 °F" or "7 °C"'
DAYS_FORMS = 'a number of days such as "120 days"'

_NUMBER = r"(?P<number>[+-]?(?:[0-9]+\.?[0-9]*|\.[0-9]+))"
_DEGREE = r" ?(?:°|deg(?:ree)?s? ?)? ?(?P<scale>[cfk])"
_INDEX = rf"{_NUMBER}{_DEGREE} ?[-·.* ]? ?(?:d|days?)"
_TEMPERATURE = rf"{_NUMBER}{_DEGREE}"
_DAYS = rf"{_NUMBER} ?(?:d|days?)"
_STEPS = {"c": 1.0, "k": 1.0, "f": FAHRENHEIT}
_FREEZING = {"c": 0.0, "k": 273.15, "f": 32.0}
_SCALE: dict[Unit, str] = {"ft": "f", "m": "c"}


def _read(value: Any, form: str, bare: str, expected: str) -> tuple[float, str]:
    """Return the number and the temperature scale of a value; `bare` is the scale without one."""
    if isinstance(value, str):
        text = " ".join(value.lower().replace("\N{MINUS SIGN}", "-").split())
        match = re.fullmatch(form, text[:60]) or re.fullmatch(_NUMBER, text[:60])
        if match is None:
            raise UnitError(f'"{value[:60]}"', expected)
        return float(match["number"]), match.groupdict().get("scale", bare)
    if isinstance(value, bool) or not isinstance(value, int | float) or not math.isfinite(value):
        raise UnitError(str(value), expected)
    return float(value), bare


def read_freezing_index(value: Any, unit: Unit) -> float:
    """Read a freezing index: degrees below freezing, summed over the days of a winter.

    Parameters
    ----------
    value : float, int or str
        A number, in °F·days where `unit` is "ft" and °C·days where it is "m"; or "1500 °F·days".
    unit : "ft" or "m"

    Returns
    -------
    float
        [K s]

    Raises
    ------
    UnitError
        It is no freezing index.
    """
    number, scale = _read(value, _INDEX, _SCALE[unit], INDEX_FORMS)
    return number * _STEPS[scale] * DAY


def read_temperature(value: Any, unit: Unit) -> float:
    """Read a temperature, in °F where `unit` is "ft" and °C where it is "m" if bare.

    Returns
    -------
    float
        Above freezing. [K]

    Raises
    ------
    UnitError
        It is no temperature.
    """
    number, scale = _read(value, _TEMPERATURE, _SCALE[unit], TEMPERATURE_FORMS)
    return (number - _FREEZING[scale]) * _STEPS[scale]


def read_days(value: Any) -> float:
    """Read a number of days, bare or as "120 days".

    Returns
    -------
    float
        [s]

    Raises
    ------
    UnitError
        It is no number of days.
    """
    number, _ = _read(value, _DAYS, "", DAYS_FORMS)
    return number * DAY
