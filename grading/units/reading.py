"""Lengths and slopes read as a person writes them."""

from __future__ import annotations

import math
import re

from grading.errors import GradingError
from grading.units.factors import FOOT, INCH, METRES, YARD, Unit

FARTHEST = 1e9
"""A length beyond this is no length of a site: coordinates of a whole country are shorter. [m]"""
LENGTH_FORMS = """a length such as 2.5, "2 3/8 in", "5' 3 1/2\\"", "40 mm" or "1.2 m\""""
SLOPE_FORMS = """a slope such as "2 %", "1/4 in/ft", "20 mm/m", "1:48" or 0.02"""
_UNIT_WORDS = {
    FOOT: ("'", "ft", "foot", "feet"),
    INCH: ('"', "in", "inch", "inches"),
    YARD: ("yd", "yds", "yard", "yards"),
    0.001: ("mm", "millimetre", "millimetres", "millimeter", "millimeters"),
    0.01: ("cm", "centimetre", "centimetres", "centimeter", "centimeters"),
    1.0: ("m", "metre", "metres", "meter", "meters"),
}
_FACTORS = {word: factor for factor, words in _UNIT_WORDS.items() for word in words}
_SIGNS = {
    **dict.fromkeys("\N{PRIME}\N{RIGHT SINGLE QUOTATION MARK}\N{LEFT SINGLE QUOTATION MARK}", "'"),
    **dict.fromkeys("\N{MODIFIER LETTER PRIME}\N{ACUTE ACCENT}`", "'"),
    **dict.fromkeys("\N{DOUBLE PRIME}\N{RIGHT DOUBLE QUOTATION MARK}", '"'),
    **dict.fromkeys("\N{LEFT DOUBLE QUOTATION MARK}\N{MODIFIER LETTER DOUBLE PRIME}", '"'),
    **dict.fromkeys("\N{MINUS SIGN}\N{EN DASH}\N{HYPHEN}\N{NON-BREAKING HYPHEN}", "-"),
    **dict.fromkeys("\N{FRACTION SLASH}\N{DIVISION SLASH}", "/"),
    "\N{RATIO}": ":",
    "½": " 1/2", "¼": " 1/4", "¾": " 3/4",
    "⅛": " 1/8", "⅜": " 3/8", "⅝": " 5/8", "⅞": " 7/8",
    "⅓": " 1/3", "⅔": " 2/3", "⅕": " 1/5", "⅙": " 1/6",
}  # fmt: skip
_ASCII = str.maketrans(_SIGNS)
_LONGEST = 60  # characters; no size takes more, and a number of thousands of digits is no size
# Kept as text: `re` compiles and keeps each at its first use, and importing costs nothing.
_PLAIN = r"[+-]?(?:[0-9]+\.?[0-9]*|\.[0-9]+)(?:e[+-]?[0-9]+)?"
_NUMBER = r"(?:(?:[0-9]+[ -])?[0-9]+/[0-9]+|[0-9]+\.?[0-9]*|\.[0-9]+)"
_SIGN = r"(?P<sign>[+-]?) ?"
_FEET = rf"""(?P<feet>{_NUMBER}) ?(?:'|ft\.?|foot|feet) ?[-,]? ?"""
_FEET_INCHES = rf"""{_SIGN}{_FEET}(?P<inches>{_NUMBER}) ?(?:"|in\.?|inch|inches)?"""
_LENGTH = rf"""{_SIGN}(?P<number>{_NUMBER}) ?(?P<unit>'|"|[a-z]+)?\.?"""
_RISE_OVER_RUN = r"""(?P<rise>.+?['"a-z.]) ?(?:/|per|\bin\b) ?(?P<run>\S.*)"""
_RATIO = rf"{_SIGN}(?P<rise>{_NUMBER}) ?(?::|\bin\b) ?(?P<run>{_NUMBER})"
_PERCENT = rf"{_SIGN}(?P<number>{_NUMBER}) ?(?:%|percent|per cent|pct)"
_TWO_NUMBERS = r"""[+-]?[0-9.]+[ -]+[0-9./ ]+("|in\.?|inch|inches)?"""


class UnitError(GradingError, ValueError):
    """A length or slope that cannot be read: what was found, what was expected, how to mend it."""

    def __init__(self, found: str, expected: str, mend: str = "") -> None:
        self.found, self.expected, self.mend = found, expected, mend
        super().__init__(f"found {found}, expected {expected}. {mend}".rstrip())


def read_length(value: float | int | str, unit: Unit) -> float:
    """Read a length as a person writes it.

    Parameters
    ----------
    value : float, int or str
        A number, or a numeric text ("2.5", "9 3/8"), in `unit`; or a text with a unit of its
        own: feet (', ft), inches (", in), feet and inches ("5' 3 1/2\\""), yd, mm, cm, m.
    unit : "ft" or "m"
        What a bare number means.

    Returns
    -------
    float
        [m]

    Raises
    ------
    UnitError
        The text is no length, or the number is not finite.
    """
    if isinstance(value, str):
        text = _plain_text(value)
        if re.fullmatch(_PLAIN, text):
            return _finite(float(text) * METRES[unit], value, LENGTH_FORMS)
        return _finite(_read_worded(text, value, METRES[unit]), value, LENGTH_FORMS)
    return _finite(_number(value, LENGTH_FORMS) * METRES[unit], value, LENGTH_FORMS)


def read_slope(value: float | int | str) -> float:
    """Read a slope as a person writes it.

    Parameters
    ----------
    value : float, int or str
        "2 %", a rise over a run ("1/4 in/ft", "20 mm/m", "6 in per 10 ft"), rise to run ("1:48",
        "1 in 48"), or a bare ratio below 1.

    Returns
    -------
    float
        Rise for each metre of run. [ratio]

    Raises
    ------
    UnitError
        The text is no slope; a bare number of 1 or more, which is a percentage in all
        likelihood; a ratio steeper than 1:1, which is run to rise in all likelihood.
    """
    if not isinstance(value, str):
        return _bare_ratio(_number(value, SLOPE_FORMS), value)
    text = _plain_text(value)
    if re.fullmatch(_PLAIN, text):
        return _bare_ratio(float(text), value)
    if match := re.fullmatch(_PERCENT, text):
        return _signed(match["sign"], _read_number(match["number"], value, SLOPE_FORMS) / 100)
    if match := re.fullmatch(_RATIO, text):
        rise = _read_number(match["rise"], value, SLOPE_FORMS)
        run = _read_number(match["run"], value, SLOPE_FORMS)
        if rise > run:
            raise UnitError(shown(value), SLOPE_FORMS, 'Rise comes first: write "1:48".')
        return _signed(match["sign"], _over(rise, run, value))
    if match := re.fullmatch(_RISE_OVER_RUN, text):
        run_text = match["run"] if match["run"][0] in "0123456789." else "1 " + match["run"]
        try:
            rise = _read_worded(match["rise"], value, None)
            run = _read_worded(run_text, value, None)
        except UnitError as error:
            raise UnitError(shown(value), SLOPE_FORMS, error.mend) from None
        return _over(rise, run, value)
    mend = ""
    if re.fullmatch(_NUMBER, text):
        mend = f'Say of what: "{value.strip()} in/ft", or "1:48" for a rise of 1 in a run of 48.'
    raise UnitError(shown(value), SLOPE_FORMS, mend)


def _plain_text(value: str) -> str:
    """Return the text in lower-case ASCII, one space between words, none around a fraction bar."""
    if len(value) > _LONGEST:
        return ""
    text = value.translate(_ASCII).replace("''", '"').replace('\\"', '"')
    text = " ".join(text.lower().split())
    text = re.sub(r"(?<=[0-9]) ?/ ?(?=[0-9])", "/", text)
    return re.sub(r"(?<=[0-9]) - (?=[0-9]+/)|(?<=[0-9])- | -(?=[0-9]+/)", "-", text)


def _read_worded(text: str, value: str, bare: float | None) -> float:
    """Return the metres of a text with a unit; `bare` is the factor where it has none."""
    if match := re.fullmatch(_FEET_INCHES, text):
        feet = _read_number(match["feet"], value, LENGTH_FORMS)
        rest = _read_number(match["inches"], value, LENGTH_FORMS)
        if rest >= 12 or feet != int(feet):
            mend = "Before inches, feet are whole, and the inches after them are fewer than 12."
            raise UnitError(shown(value), LENGTH_FORMS, mend)
        return _signed(match["sign"], feet * FOOT + rest * INCH)
    match = re.fullmatch(_LENGTH, text)
    if match is None:
        raise UnitError(shown(value), LENGTH_FORMS, _advice(text))
    factor = bare if match["unit"] is None else _FACTORS.get(match["unit"])
    if factor is None:
        raise UnitError(shown(value), LENGTH_FORMS, _unknown_unit(match["unit"]))
    return _signed(match["sign"], _read_number(match["number"], value, LENGTH_FORMS) * factor)


def _read_number(text: str, value: str, expected: str) -> float:
    """Return the number of "2.5", "3/8", "9 3/8" or "9-3/8"."""
    if "/" not in text:
        return float(text)
    whole, _, fraction = text.replace("-", " ").rpartition(" ")
    top, bottom = (int(part) for part in fraction.split("/"))
    if bottom == 0 or (whole and top >= bottom):
        raise UnitError(shown(value), expected, f"{fraction} is no part of a whole.")
    return float(whole or 0) + _over(top, bottom, value)


def _advice(text: str) -> str:
    if re.search(r"[0-9],[0-9]", text):
        return "Write a point before the decimals."
    if re.fullmatch(_TWO_NUMBERS, text):
        return """Say which number is feet: 3' 9 1/2"."""
    return ""


def _unknown_unit(word: str | None) -> str:
    if word is None:
        return "Both the rise and the run need a unit."
    return f"""The unit "{word}" is not known: use ft or ', in or ", yd, mm, cm, m."""


def _number(value: object, expected: str) -> float:
    if isinstance(value, bool) or not isinstance(value, int | float):
        raise UnitError(shown(value), expected)
    try:
        return float(value)
    except OverflowError:
        raise UnitError("a number too large to be a size", expected) from None


def _bare_ratio(ratio: float, value: object) -> float:
    if not abs(ratio) < 1:
        mend = f'A bare number is a ratio; for {ratio:g} percent write "{ratio:g} %".'
        raise UnitError(shown(value), SLOPE_FORMS, mend if math.isfinite(ratio) else "")
    return ratio


def _finite(metres: float, value: object, expected: str) -> float:
    if not math.isfinite(metres):
        raise UnitError(shown(value), expected)
    if abs(metres) > FARTHEST:
        raise UnitError(shown(value), expected, "Nothing on a site is so long, or so far away.")
    return metres


def _over(rise: float, run: float, value: object) -> float:
    if run == 0:
        raise UnitError(shown(value), SLOPE_FORMS, "The run of a slope is not zero.")
    return rise / run


def _signed(sign: str, size: float) -> float:
    return -size if sign == "-" else size


def shown(value: object) -> str:
    """Return the value as a person wrote it, cut short where it is long."""
    text = f'"{value}"' if isinstance(value, str) else str(value)
    if value is None or isinstance(value, bool):
        text = {None: "nothing", True: "true", False: "false"}[value]
    return text if len(text) <= _LONGEST else text[: _LONGEST - 3] + "..."
