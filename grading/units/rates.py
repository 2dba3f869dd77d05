"""Areas, rates of rain and flows: read what a crew writes, write what a crew reads."""

from __future__ import annotations

import math
import re

from grading.units import (
    FOOT,
    GALLON,
    HOUR,
    INCH,
    LITRE,
    METRES,
    MINUTE,
    SQUARE_FOOT,
    SQUARE_YARD,
    Unit,
    UnitError,
)
from grading.units.reading import shown

AREA_FORMS = 'an area such as 450, "450 ft2" or "40 m2"'
RATE_FORMS = 'a rate such as "4 in/h" or "100 mm/h"'

_NUMBER = r"(?P<number>[0-9]+(?:\.[0-9]*)?|\.[0-9]+)"
_RATE = rf"{_NUMBER} ?(?P<unit>[a-z\"]+) ?(?:/|per|an) ?(?P<time>[a-z]+)\.?"
_AREA = rf"{_NUMBER} ?(?P<unit>.+)"

_LENGTHS = {
    **dict.fromkeys(("in", '"', "inch", "inches"), INCH),
    **dict.fromkeys(("ft", "foot", "feet"), FOOT),
    "mm": 0.001,
    "cm": 0.01,
    "m": 1.0,
}
_TIMES = {
    **dict.fromkeys(("h", "hr", "hour"), HOUR),
    **dict.fromkeys(("d", "day"), 24 * HOUR),
    **dict.fromkeys(("min", "minute"), MINUTE),
    **dict.fromkeys(("s", "sec", "second"), 1.0),
}
_AREAS = {
    **dict.fromkeys(("ft2", "sq ft", "sqft", "square feet"), SQUARE_FOOT),
    **dict.fromkeys(("yd2", "sq yd", "square yards"), SQUARE_YARD),
    **dict.fromkeys(("m2", "sq m", "square metres", "square meters"), 1.0),
}


def read_rate(value: float | int | str) -> float:
    """Read a rate of rain or of infiltration, depth over time, as a person writes it.

    Parameters
    ----------
    value : str
        A number with its unit: "4 in/h", "100 mm/h", "0.5 in per hour".

    Returns
    -------
    float
        [m/s]

    Raises
    ------
    UnitError
        The text is no rate. A bare number is none either, because nothing says of what.
    """
    text = _plain(value)
    match = re.fullmatch(_RATE, text)
    if match is None or match["unit"] not in _LENGTHS or match["time"] not in _TIMES:
        bare = re.fullmatch(_NUMBER, text)
        mend = f'Say of what: "{value} in/h" or "{value} mm/h".' if bare else ""
        raise UnitError(shown(value), RATE_FORMS, mend)
    return float(match["number"]) * _LENGTHS[match["unit"]] / _TIMES[match["time"]]


def read_area(value: float | int | str, unit: Unit) -> float:
    """Read an area as a person writes it.

    Parameters
    ----------
    value : float, int or str
        A number in the square of `unit`, or a text with a unit of its own: "450 ft2", "40 m2".
    unit : "ft" or "m"
        What a bare number means the square of.

    Returns
    -------
    float
        [m2]

    Raises
    ------
    UnitError
        The text is no area, or it is not above zero and finite.
    """
    text = _plain(value)
    if re.fullmatch(_NUMBER, text):
        size = float(text) * METRES[unit] ** 2
    else:
        match = re.fullmatch(_AREA, text)
        factor = _AREAS.get(match["unit"].replace("²", "2").replace("^", "")) if match else None
        if match is None or factor is None:
            raise UnitError(shown(value), AREA_FORMS)
        size = float(match["number"]) * factor
    if not 0 < size < math.inf:
        raise UnitError(shown(value), AREA_FORMS, "An area is greater than zero.")
    return size


def flow(cubic_metres_per_second: float, unit: Unit) -> str:
    """Write a flow [m3/s] in the site's unit: 17.7 gpm (US gallons a minute), 1.12 L/s."""
    if unit == "ft":
        return f"{cubic_metres_per_second * MINUTE / GALLON:.1f} gpm"
    return f"{cubic_metres_per_second / LITRE:.2f} L/s"


def soak(metres_per_second: float, unit: Unit) -> str:
    """Write how fast soil takes water in [m/s] in the site's unit: 0.27 in/h, 6.9 mm/h."""
    if unit == "ft":
        return f"{metres_per_second * HOUR / INCH:.2f} in/h"
    return f"{metres_per_second * HOUR * 1000:.1f} mm/h"


def water_volume(cubic_metres: float, unit: Unit) -> str:
    """Write a volume of water [m3] in the site's unit: 449 gal (US), 1700 L."""
    return f"{cubic_metres / GALLON:.0f} gal" if unit == "ft" else f"{cubic_metres / LITRE:.0f} L"


def _plain(value: object) -> str:
    if isinstance(value, bool) or not isinstance(value, int | float | str):
        return ""
    return " ".join(str(value).lower().split())[:60]
