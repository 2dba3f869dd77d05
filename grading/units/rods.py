"""Readings of a levelling rod, exactly as they were booked."""

from __future__ import annotations

import re
from fractions import Fraction
from typing import Literal, get_args

from grading.units.factors import FOOT, INCH
from grading.units.reading import (
    _FACTORS,
    _FEET_INCHES,
    _LENGTH,
    _NUMBER,
    _PLAIN,
    UnitError,
    _advice,
    _plain_text,
    _unknown_unit,
    shown,
)

RodUnit = Literal["ft-in", "ft", "m", "cm", "mm"]
"""What a rod is marked in; of a rod in "ft" in tenths and hundredths."""

ROD_UNITS: tuple[RodUnit, ...] = get_args(RodUnit)

_IN_FEET_AND_INCHES = "a reading such as 4' 3 1/8\", 4 3.5 or 51 1/8 in"
ROD_FORMS: dict[RodUnit, str] = {
    "ft-in": _IN_FEET_AND_INCHES,
    "ft": "a reading such as 4.26",
    "m": "a reading such as 1.298",
    "cm": "a reading such as 129.8",
    "mm": "a reading such as 1298",
}
_MARKS: dict[RodUnit, Fraction] = {
    "ft": Fraction(str(FOOT)), "m": Fraction(1), "cm": Fraction(1, 100), "mm": Fraction(1, 1000),
}  # fmt: skip
_TWO_NUMBERS = rf"(?P<sign>[+-]?) ?(?P<feet>[0-9]+)[ -](?P<inches>{_NUMBER})"


def read_exact(text: str, bare: Fraction | None, expected: str) -> Fraction:
    """Read a length as a person writes it, in exact fractions of a metre.

    Parameters
    ----------
    text : str
        A number, or a length with a unit of its own, as `grading.units.read_length` takes them.
    bare : Fraction or None
        What a bare number counts [m]; None where none may stand.
    expected : str
        What the message says was expected.

    Raises
    ------
    UnitError
        The text is no length.
    """
    plain = _plain_text(text)
    if bare is not None and re.fullmatch(_PLAIN, plain):
        if len(plain.rpartition("e")[2]) > 3 and "e" in plain:
            raise UnitError(shown(text), expected)
        return Fraction(plain) * bare
    if match := re.fullmatch(_FEET_INCHES, plain):
        return _of_two(match, text, expected)
    match = re.fullmatch(_LENGTH, plain)
    if match is None:
        mend = _advice(plain)
        if re.fullmatch(_TWO_NUMBERS, plain):
            mend = 'Of a rod in feet and inches write rod = "ft-in".'
        raise UnitError(shown(text), expected, mend)
    if match["unit"] is None:
        factor = bare
    elif match["unit"] in _FACTORS:
        factor = Fraction(str(_FACTORS[match["unit"]]))
    else:
        raise UnitError(shown(text), expected, _unknown_unit(match["unit"]))
    if factor is None:
        raise UnitError(shown(text), expected)
    return _signed(match, _mixed(match["number"], text, expected) * factor)


def read_rod(text: str, unit: RodUnit) -> Fraction:
    """Read what a rod said, in exact fractions of a metre.

    Parameters
    ----------
    text : str
        A bare number as the rod is marked, or a length with a unit of its own; with a minus before
        it where the rod was held upside down.
    unit : RodUnit
        What the rod is marked in. On a rod of feet and inches "4 3.5" are 4' 3 1/2"; one number
        alone may be either and is refused.

    Raises
    ------
    UnitError
        It is no reading, or one that could be read in two ways.
    """
    expected = ROD_FORMS[unit]
    if unit != "ft-in":
        return read_exact(text, _MARKS[unit], expected)
    plain = _plain_text(text)
    if re.fullmatch(rf"[+-]? ?{_NUMBER}", plain) and not re.fullmatch(_TWO_NUMBERS, plain):
        whole = plain.lstrip("+- ")
        feet = f"{whole}' 0\"" if whole.isdigit() else f"{whole} ft"
        mend = f"Write {feet} or {whole} in: one number may be either."
        raise UnitError(shown(text), expected, mend)
    if match := re.fullmatch(_TWO_NUMBERS, plain):
        return _of_two(match, text, expected)
    return read_exact(text, None, expected)


def has_own_unit(text: str) -> str:
    """Return the family of the unit that a reading is written with: "ft", "m" or none, ""."""
    plain = _plain_text(text)
    if re.search(r"['\"]|\b(?:ft|foot|feet|in|inch|inches)\b|[0-9](?:ft|in)\b", plain):
        return "ft"
    return "m" if re.search(r"[a-z]", plain) else ""


def _of_two(match: re.Match[str], text: str, expected: str) -> Fraction:
    feet = _mixed(match["feet"], text, expected)
    rest = _mixed(match["inches"], text, expected)
    if rest >= 12 or feet.denominator != 1:
        mend = "Before inches, feet are whole, and the inches after them are fewer than 12."
        raise UnitError(shown(text), expected, mend)
    return _signed(match, feet * Fraction(str(FOOT)) + rest * Fraction(str(INCH)))


def _mixed(number: str, text: str, expected: str) -> Fraction:
    """Return the number of "2.5", "3/8", "9 3/8" or "9-3/8"."""
    whole, _, last = number.replace("-", " ").rpartition(" ")
    if "/" not in last:
        return Fraction(last)
    top, bottom = (int(part) for part in last.split("/"))
    if bottom == 0 or (whole and top >= bottom):
        raise UnitError(shown(text), expected, f"{last} is no part of a whole.")
    return Fraction(int(whole or 0)) + Fraction(top, bottom)


def _signed(match: re.Match[str], size: Fraction) -> Fraction:
    return -size if match["sign"] == "-" else size
