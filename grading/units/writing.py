"""Lengths, slopes and volumes written as a crew says them."""

from __future__ import annotations

import math
import re

from grading.units.factors import CUBIC_YARD, FOOT, INCH, METRES, SQUARE_FOOT, Unit
from grading.units.reading import _NUMBER, LENGTH_FORMS, UnitError, _read_number, shown
from grading.units.rounded import round_metric
from grading.worded import Worded


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

    In metres it is round as what is built by it, but a published figure keeps its value.

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
        raise UnitError(shown(words), 'sizes such as "1/8 to 3/8 in" or "5 to 6 ft"')
    if unit == "ft":
        return words
    factor, decimals, name = {
        "in": (INCH * 1000, 0, "mm"),
        "ft": (FOOT, 2, "m"),
        "in per foot": (INCH / FOOT * 1000, 0, "mm per metre"),
    }[match["unit"]]

    def written(found: re.Match[str]) -> str:
        size = _read_number(found[0], words, LENGTH_FORMS) * factor
        if not beside and match["unit"] != "in per foot":
            # Nobody published it: it is as round as what is built by it.
            thousands = 1.0 if match["unit"] == "in" else 1000.0
            size = round_metric(size * thousands / 1000) * 1000 / thousands
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


def taped_rate(ratio: float, unit: Unit) -> str:
    """Write a slope [ratio] as level and tape show it: 2 3/8 in per 10 ft, or 20 mm per metre.

    Per foot a sixteenth of an inch is half a per cent: a fall that is too little would be told as
    the one that is asked.
    """
    if unit == "ft":
        return f"{inches(10 * ratio * FOOT, 8)} per 10 ft"
    return f"{millimetres(ratio)} per metre"


def least_rate(ratio: float, unit: Unit) -> str:
    """Write a slope [ratio] that is promised or is the least, as `taped_rate`, rounded down."""
    mark = INCH / 8 / (10 * FOOT) if unit == "ft" else 1e-3
    # What the solver leaves of a whole mark is no mark less.
    return taped_rate(math.floor(ratio / mark + 1e-3) * mark, unit)


def rate_of(ratio: float, unit: Unit, decimals: int = 1) -> Worded:
    """Write a slope [ratio]: in per cent to who plans it, as it is taped to who is in the yard."""
    return Worded(percent(ratio, decimals), taped_rate(ratio, unit))


def slope_in_words(ratio: float, unit: Unit) -> str:
    """Write a slope [ratio] in percent and as it is taped: 2.0 % (2 3/8 in per 10 ft)."""
    return f"{percent(ratio)} ({taped_rate(ratio, unit)})"


def noun(count: float, one: str, many: str = "") -> str:
    """Return what a number is of: 1 trip, 2 trips, 0 trips, 1/2 day, + 1 day."""
    return one if 0 < abs(count) <= 1 else many or f"{one}s"


def counted(count: float, one: str, many: str = "") -> str:
    """Write a number of things: 1 trip, 2 trips, 6.5 days."""
    number = f"{count:g}" if isinstance(count, float) else f"{count}"
    return f"{number} {noun(count, one, many)}"


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


def some_volume(cubic_metres: float, unit: Unit) -> str:
    """Write a volume [m3] that is something, however little: under 0.1 yd³, and never 0.0."""
    told = volume(cubic_metres, unit)
    none = volume(0.0, unit)
    return f"under {none.replace('0 ', '1 ')}" if told == none else told


def small_volume(cubic_metres: float, unit: Unit) -> str:
    """Write a volume that may be less than a barrow."""
    if unit == "ft":
        return f"{cubic_yards(cubic_metres):.2f} yd³"
    return f"{cubic_metres:.3f} m³"


def area(square_metres: float, unit: Unit) -> str:
    """Write an area [m2] in the site's unit: 504.0 ft² where that is "ft", 46.82 m² where "m"."""
    if unit == "ft":
        return f"{_fixed(square_feet(square_metres), 1)} ft²"
    return f"{_fixed(square_metres, 2)} m²"


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
