"""Measures with a unit of their own, as a table of rates and prices writes them.

"1.4 ton/yd3" is kg/m3 inside, "100 ft2/h" the seconds that a square metre takes, "38 /ton" money
for each kg.
"""

from __future__ import annotations

import math
import re
from fractions import Fraction
from functools import lru_cache

from grading.units import (
    CUBIC_FOOT,
    CUBIC_YARD,
    FOOT,
    HOUR,
    INCH,
    MINUTE,
    POUND,
    POUND_PER_SQUARE_FOOT,
    POUND_PER_SQUARE_INCH,
    SHORT_TON,
    SQUARE_FOOT,
    SQUARE_INCH,
    SQUARE_YARD,
    TONNE,
    YARD,
    Unit,
    UnitError,
)

FORMS = 'a number and a unit such as "1.4 ton/yd3", "100 ft2/h", "4 ft3", "38 /ton" or "5 %"'

_WORDS: dict[str, tuple[tuple[float, str], ...]] = {
    "m": ((FOOT, "ft foot feet '"), (INCH, 'in inch inches "'), (YARD, "yd yard yards"),
          (0.001, "mm"), (0.01, "cm"), (1.0, "m metre metres")),
    "m2": ((SQUARE_FOOT, "ft2 ft² sqft"), (SQUARE_INCH, "in2 in²"),
           (SQUARE_YARD, "yd2 yd²"), (1.0, "m2 m²")),
    "m3": ((CUBIC_FOOT, "ft3 ft³"), (CUBIC_YARD, "yd3 yd³"), (1.0, "m3 m³")),
    "kg": ((POUND, "lb lbs"), (SHORT_TON, "ton tons"), (TONNE, "tonne tonnes"), (1.0, "kg")),
    "s": ((HOUR, "h hr hour hours"), (MINUTE, "min minute minutes"), (1.0, "s")),
    "each": ((1.0, "each piece pieces bag bags roll rolls bin bins truck trucks panel panels box "
                   "people trip trips layers pallet"),),
    "Pa": ((1.0, "pa"), (1e3, "kpa"), (1e6, "mpa"), (1e9, "gpa"),
           (POUND_PER_SQUARE_INCH, "psi"), (POUND_PER_SQUARE_FOOT, "psf")),
    "ratio": ((0.01, "%"),),
}  # fmt: skip
_UNITS = {
    word: (factor, base)
    for base, group in _WORDS.items()
    for factor, words in group
    for word in words.split()
}
_CALLED = {word: words.split()[0] for group in _WORDS.values() for _, words in group
           for word in words.split()}  # fmt: skip
_OWN: dict[Unit, dict[str, str]] = {
    "ft": {"m": "ft", "mm": "in", "cm": "in", "m2": "ft2", "m3": "yd3", "kg": "lb",
           "tonne": "ton", "kpa": "psi", "mpa": "psi", "gpa": "psi", "pa": "psf"},
    "m": {"ft": "m", "in": "mm", "yd": "m", "ft2": "m2", "in2": "m2", "yd2": "m2", "ft3": "m3",
          "yd3": "m3", "lb": "kg", "ton": "tonne", "psi": "kPa", "psf": "kPa"},
}  # fmt: skip
"""What stands in the one system for a unit of the other, each by the first of its words."""
_NUMBER = r"(?P<number>(?:\d+[ -])?\d+/\d+|\d+\.?\d*|\.\d+)"
_MEASURE = rf"[$€£]? ?{_NUMBER} ?(?P<top>[^\s/]+)? ?(?:/ ?(?P<bottom>\S+))?"


@lru_cache(maxsize=4096)  # a figure that is built in is asked seven times at every start
def read_measure(text: str) -> tuple[float, str]:
    """Read a measure as a person writes it.

    Parameters
    ----------
    text : str
        A number, a unit, and where it is a rate or a price a second unit after a slash.

    Returns
    -------
    (float, str)
        The value in SI and its dimension: "m3", "kg/m3", "s/m2", "money/kg", "ratio". Work is
        always the time that a piece takes, also where it was written as pieces in a time.

    Raises
    ------
    UnitError
        The text is none, or its unit is not known.
    """
    shown = f'"{text}"'
    match = re.fullmatch(_MEASURE, " ".join(text.strip().lower().split()))
    if match is None or len(text) > 40:
        raise UnitError(shown if len(text) <= 40 else "a long text", FORMS)
    value = float(sum(Fraction(part) for part in re.split("[ -]", match["number"])))
    top, bottom = match["top"], match["bottom"]
    if bottom is None:
        if top is None:
            raise UnitError(shown, FORMS, "Write the unit as well.")
        factor, base = _unit(top, shown)
        return value * factor, base
    per, below = _unit(bottom, shown)
    if top is None:
        return value / per, f"money/{below}"
    factor, base = _unit(top, shown)
    if below != "s":
        return value * factor / per, f"{base}/{below}"
    if value == 0:
        raise UnitError(shown, "work that gets on", "Leave it out, or write more than zero.")
    return per / (value * factor), f"s/{base}"


def read_like(value: object, like: str) -> float:
    """Read a measure that is of the same dimension as another one.

    Parameters
    ----------
    value : float, int or str
        A bare number is in the unit that `like` is written in.
    like : str
        A measure as `read_measure` takes it.

    Raises
    ------
    UnitError
        No measure, a negative one, or one of another dimension.
    """
    _, dimension = read_measure(like)
    unit = re.sub(r"^\D?[\d ./-]*\d", "", like.strip()) if like.strip() else ""
    if isinstance(value, bool) or not isinstance(value, int | float | str):
        raise UnitError(str(value), f'a measure such as "{like}"')
    if not isinstance(value, str):
        if not math.isfinite(value) or value < 0:
            raise UnitError(str(value), "zero or more")
        return read_measure(f"{value:f} {unit.strip()}")[0]
    found, other = read_measure(value)
    if other != dimension:
        raise UnitError(f'"{value}"', f'a measure of the same kind as "{like}"')
    return found


def own_unit(word: str, unit: Unit) -> str:
    """Return what stands for a unit on a site that is told in feet or in metres: m2 for ft2.

    Parameters
    ----------
    word : str
        As a person writes it. One that is the site's own, or of neither system, stays as it is.
    unit : "ft" or "m"
    """
    called = _CALLED.get(word.strip().lower(), "")
    return _OWN[unit].get(called, word)


def in_one(word: str, other: str) -> float:
    """Return how many of one unit another one of the same dimension is: 10.76 ft2 in a m2.

    Raises
    ------
    UnitError
        One of them is not known.
    """
    (one, _), (many, _) = _unit(word.strip().lower(), word), _unit(other.strip().lower(), other)
    return many / one


def _unit(word: str, shown: str) -> tuple[float, str]:
    if word == "t":
        mend = 'Say which ton: "ton" is 2000 lb, "tonne" is 1000 kg.'
        raise UnitError(shown, FORMS, mend)
    if word not in _UNITS:
        raise UnitError(shown, FORMS, f'The unit "{word}" is not known.')
    return _UNITS[word]
