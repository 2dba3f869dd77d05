"""Lengths and slopes: read what a crew writes, write what a crew reads; metres and ratios inside.

This is the only module that holds a conversion factor.
"""

from __future__ import annotations

import math
import re
from typing import Literal

from grading.errors import GradingError

Unit = Literal["ft", "m"]

# The international inch, foot, yard and pound of 1959 are exact by definition.
INCH = 0.0254
FOOT = 0.3048
YARD = 0.9144
SQUARE_INCH = INCH**2
SQUARE_FOOT = FOOT**2
SQUARE_YARD = YARD**2
CUBIC_FOOT = FOOT**3
CUBIC_YARD = YARD**3
ACRE = 4840 * SQUARE_YARD
GALLON = 231 * INCH**3  # the US liquid gallon, exact by definition
LITRE = 0.001
HOUR = 3600.0
MINUTE = 60.0
POUND = 0.45359237
SHORT_TON = 2000 * POUND
TONNE = 1000.0
MINUTE = 60.0
GRAVITY = 9.80665  # m/s2, the standard one
POUND_FORCE = POUND * GRAVITY
POUND_PER_SQUARE_FOOT = POUND_FORCE / SQUARE_FOOT  # Pa
POUND_PER_SQUARE_INCH = POUND_FORCE / SQUARE_INCH  # Pa
POUND_PER_CUBIC_FOOT = POUND / CUBIC_FOOT  # kg/m3
FAHRENHEIT = 5 / 9  # K, one degree of difference
BTU = 1055.05585262  # J, the International Table one
DAY = 86400.0  # s

METRES = {"ft": FOOT, "m": 1.0}
"""What one of the file's unit is worth. [m]"""

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
            raise UnitError(_shown(value), SLOPE_FORMS, 'Rise comes first: write "1:48".')
        return _signed(match["sign"], _over(rise, run, value))
    if match := re.fullmatch(_RISE_OVER_RUN, text):
        run_text = match["run"] if match["run"][0] in "0123456789." else "1 " + match["run"]
        try:
            rise = _read_worded(match["rise"], value, None)
            run = _read_worded(run_text, value, None)
        except UnitError as error:
            raise UnitError(_shown(value), SLOPE_FORMS, error.mend) from None
        return _over(rise, run, value)
    mend = ""
    if re.fullmatch(_NUMBER, text):
        mend = f'Say of what: "{value.strip()} in/ft", or "1:48" for a rise of 1 in a run of 48.'
    raise UnitError(_shown(value), SLOPE_FORMS, mend)


def feet_inches(metres: float, denominator: int = 16) -> str:
    """Write a length [m] in feet and inches to the nearest 1/`denominator` in: 5' 3 1/2"."""
    parts = _parts(metres, denominator)
    feet, rest = divmod(parts, 12 * denominator)
    whole, top = divmod(rest, denominator)
    # The zero of 4' 0 7/8" is written: without it the eye reads 7/8 of a foot.
    return (
        f"{_minus(metres, parts)}{feet}' {whole}{' ' + _mixed(top, denominator) if top else ''}\""
    )


def inches(metres: float, denominator: int = 16) -> str:
    """Write a length [m] in inches to the nearest 1/`denominator` in: 9 3/8 in."""
    parts = _parts(metres, denominator)
    return f"{_minus(metres, parts)}{_mixed(parts, denominator)} in"


def millimetres(metres: float) -> str:
    """Write a length [m] to the nearest millimetre: 238 mm."""
    whole = _nearest(abs(metres) * 1000)
    return f"{_minus(metres, whole)}{whole} mm"


def both(metres: float, denominator: int = 16, unit: Unit = "ft") -> str:
    """Write a length [m] in inches and in millimetres, the site's first: 9 3/8 in (238 mm)."""
    pair = inches(metres, denominator), millimetres(metres)
    first, second = pair if unit == "ft" else pair[::-1]
    return f"{first} ({second})"


def length(metres: float, unit: Unit, denominator: int = 16) -> str:
    """Write a length [m] in the site's unit: 5' 3 1/2" where that is "ft", 1.613 m where "m"."""
    return feet_inches(metres, denominator) if unit == "ft" else f"{_fixed(metres, 3)} m"


def run(metres: float, unit: Unit, denominator: int = 16) -> str:
    """Write a run along the ground [m] as it is said: 10' 0" where that is "ft", 3.05 m, 24 m."""
    if unit == "ft":
        return feet_inches(metres, denominator)
    return f"{_trimmed(metres, 2)} m"


def nominal(words: str, unit: Unit, beside: bool = False) -> str:
    """Write a size or a range of sizes, given in inches or feet, in the site's unit.

    Parameters
    ----------
    words : str
        Numbers and then their unit: "12 in", "1/8 to 3/8 in", "4, 5 or 6 in", "5 to 6 ft", "1/8 in
        per foot".
    unit : "ft" or "m"
        Of the site; the words stay as they are where it is "ft".
    beside : bool
        Whether the words as given stand behind those in metres, as a published figure does.

    Raises
    ------
    UnitError
        Words of another form.
    """
    match = re.fullmatch(r"(?P<sizes>[0-9].*?) (?P<unit>in|ft|in per foot)", words)
    if match is None:
        raise UnitError(_shown(words), 'sizes such as "1/8 to 3/8 in" or "5 to 6 ft"')
    if unit == "ft":
        return words
    factor, decimals, name = {
        "in": (INCH * 1000, 0, "mm"),
        "ft": (FOOT, 2, "m"),
        "in per foot": (INCH / FOOT * 1000, 0, "mm per metre"),
    }[match["unit"]]

    def written(found: re.Match[str]) -> str:
        size = _read_number(found[0], words, LENGTH_FORMS) * factor
        return f"{_nearest(size)}" if decimals == 0 else _trimmed(size, decimals)

    told = f"{re.sub(_NUMBER, written, match['sizes'])} {name}"
    return f"{told} ({words})" if beside else told


def nominals(sentence: str, unit: Unit, beside: bool = False) -> str:
    """Write a sentence with each size that stands in {braces} as `nominal` does."""
    return re.sub(r"{([^{}]*)}", lambda found: nominal(found[1], unit, beside), sentence)


def size(metres: float, unit: Unit, denominator: int = 16) -> str:
    """Write a thickness, step or gap [m] as a crew says it: 9 3/8 in, 238 mm."""
    return inches(metres, denominator) if unit == "ft" else millimetres(metres)


def number(metres: float, unit: Unit) -> str:
    """Write a length [m] as the bare number that stands for it in a file in `unit`: 100.65."""
    return _fixed(metres / METRES[unit], 4).rstrip("0").rstrip(".")


def percent(ratio: float, decimals: int = 1) -> str:
    """Write a slope [ratio] in percent: 2.0 %."""
    return f"{_fixed(ratio * 100, decimals)} %"


def slope(ratio: float, unit: Unit) -> str:
    """Write a slope [ratio] in percent and as a level and a tape tell it in the site's unit.

    2.0 % (1/4 in/ft), to the nearest 1/16 in, where that is "ft"; 2.0 % (20 mm/m) where "m".
    """
    told = f"{inches(ratio * FOOT)}/ft" if unit == "ft" else f"{millimetres(ratio)}/m"
    return f"{percent(ratio)} ({told})"


def bearing(degrees: float) -> str:
    """Write a bearing in whole degrees from 0 to 359: what is all but north is 0°, never 360°."""
    return f"{round(degrees) % 360}°"


def cubic_yards(cubic_metres: float) -> float:
    """Return a volume [m3] in cubic yards."""
    return cubic_metres / CUBIC_YARD


def square_feet(square_metres: float) -> float:
    """Return an area [m2] in square feet."""
    return square_metres / SQUARE_FOOT


def volume(cubic_metres: float, unit: Unit) -> str:
    """Write a volume [m3] in the site's unit: 8.8 yd³ where that is "ft", 6.73 m³ where "m"."""
    if unit == "ft":
        return f"{_fixed(cubic_yards(cubic_metres), 1)} yd³"
    return f"{_fixed(cubic_metres, 2)} m³"


def area(square_metres: float, unit: Unit) -> str:
    """Write an area [m2] in the site's unit: 504.0 ft² where that is "ft", 46.82 m² where "m"."""
    if unit == "ft":
        return f"{_fixed(square_feet(square_metres), 1)} ft²"
    return f"{_fixed(square_metres, 2)} m²"


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
            raise UnitError(_shown(value), LENGTH_FORMS, mend)
        return _signed(match["sign"], feet * FOOT + rest * INCH)
    match = re.fullmatch(_LENGTH, text)
    if match is None:
        raise UnitError(_shown(value), LENGTH_FORMS, _advice(text))
    factor = bare if match["unit"] is None else _FACTORS.get(match["unit"])
    if factor is None:
        raise UnitError(_shown(value), LENGTH_FORMS, _unknown_unit(match["unit"]))
    return _signed(match["sign"], _read_number(match["number"], value, LENGTH_FORMS) * factor)


def _read_number(text: str, value: str, expected: str) -> float:
    """Return the number of "2.5", "3/8", "9 3/8" or "9-3/8"."""
    if "/" not in text:
        return float(text)
    whole, _, fraction = text.replace("-", " ").rpartition(" ")
    top, bottom = (int(part) for part in fraction.split("/"))
    if bottom == 0 or (whole and top >= bottom):
        raise UnitError(_shown(value), expected, f"{fraction} is no part of a whole.")
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
        raise UnitError(_shown(value), expected)
    try:
        return float(value)
    except OverflowError:
        raise UnitError("a number too large to be a size", expected) from None


def _bare_ratio(ratio: float, value: object) -> float:
    if not abs(ratio) < 1:
        shown = f"{ratio:g}"
        mend = f'A bare number is a ratio; for {shown} percent write "{shown} %".'
        raise UnitError(_shown(value), SLOPE_FORMS, mend if math.isfinite(ratio) else "")
    return ratio


def _finite(metres: float, value: object, expected: str) -> float:
    if not math.isfinite(metres):
        raise UnitError(_shown(value), expected)
    if abs(metres) > FARTHEST:
        raise UnitError(_shown(value), expected, "Nothing on a site is so long, or so far away.")
    return metres


def _over(rise: float, run: float, value: object) -> float:
    if run == 0:
        raise UnitError(_shown(value), SLOPE_FORMS, "The run of a slope is not zero.")
    return rise / run


def _signed(sign: str, size: float) -> float:
    return -size if sign == "-" else size


def _shown(value: object) -> str:
    """Return the value as a person wrote it, cut short where it is long."""
    text = f'"{value}"' if isinstance(value, str) else str(value)
    if value is None or isinstance(value, bool):
        text = {None: "nothing", True: "true", False: "false"}[value]
    return text if len(text) <= _LONGEST else text[: _LONGEST - 3] + "..."


def _parts(metres: float, denominator: int) -> int:
    return _nearest(abs(metres) / INCH * denominator)


def _nearest(size: float) -> int:
    # Halves go up, as on a tape; round() would take them to the even neighbour.
    return math.floor(size + 0.5)


def _minus(metres: float, parts: int) -> str:
    return "-" if metres < 0 and parts else ""


def _mixed(parts: int, denominator: int) -> str:
    """Return `parts`/`denominator` as a mixed number in lowest terms: 3 1/2."""
    whole, top = divmod(parts, denominator)
    if not top:
        return str(whole)
    shared = math.gcd(top, denominator)
    fraction = f"{top // shared}/{denominator // shared}"
    return f"{whole} {fraction}" if whole else fraction


def _trimmed(value: float, decimals: int) -> str:
    return _fixed(value, decimals).rstrip("0").rstrip(".")


def _fixed(value: float, decimals: int) -> str:
    # Adding zero turns a rounded -0.0 into 0.0.
    return f"{round(value, decimals) + 0.0:.{decimals}f}"
