"""Lengths as a person types them on the plan, and as a person writes them in a file."""

from __future__ import annotations

from typing import Any

from grading.errors import Problem, SiteError
from grading.geometry.arrays import Floats
from grading.geometry.tolerances import WHOLE
from grading.units import INCH, METRES, Unit, UnitError, feet_inches, length, read_length


def read_typed(words: Any, unit: Unit, place: bool = False) -> float:
    """Return a typed length above zero, or any of a place; raise SiteError for none. [m]"""
    try:
        found = read_length(words, unit)
    except UnitError as error:
        problem = Problem("length", error.found, error.expected, error.mend)
        raise SiteError([problem]) from None
    if not place and not found > 0:
        expected = "a length greater than zero"
        raise SiteError([Problem("length", length(found, unit), expected)])
    return found


def written_place(xy: Floats, unit: Unit) -> list[Any]:
    """Return a place [m] as a person writes it in a file."""
    return [written_length(float(each), unit) for each in xy]


def written_length(metres: float, unit: Unit) -> float | int | str:
    """Return a length [m] as a person writes it in a file: 27, "27' 1 1/2\\"", 27.013, 8.25."""
    bare = metres / METRES[unit]
    if abs(bare - round(bare)) < WHOLE:
        return round(bare)
    sixteenths = metres / INCH * 16
    if unit == "ft" and abs(sixteenths - round(sixteenths)) < 1e-3:
        return feet_inches(metres)
    return round(bare, 4)
