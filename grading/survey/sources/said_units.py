"""What the numbers of a file mean: what it says itself, or what the person says of it."""

from __future__ import annotations

from grading.errors import Problem, SiteError
from grading.units import FOOT, INCH, US_SURVEY_FOOT

UNITS = {"ft": FOOT, "m": 1.0, "us-ft": US_SURVEY_FOOT}
"""What may be said of a file, and what one of it is. [m]"""

OF_DRAWINGS = {**UNITS, "in": INCH, "mm": 0.001, "cm": 0.01}
"""What a file may say of itself besides. [m]"""

_SAME = 1e-9  # own: the international foot and that of US surveys differ by 2e-6


def named(metres: float) -> str:
    """Return the name of a unit by what it is in metres; those of no name by their size."""
    near = (word for word, size in OF_DRAWINGS.items() if abs(size / metres - 1) < _SAME)
    return next(near, f"{metres:.9g} m")


def of_word(word: str) -> float | None:
    """Return what a unit is by its name in a file [m], or None where it is none that is known."""
    plain = "".join(sign for sign in word.lower() if sign.isalnum())
    return _WORDS.get(plain)


_WORDS = {
    **dict.fromkeys(("m", "metre", "metres", "meter", "meters"), 1.0),
    **dict.fromkeys(("ft", "foot", "feet", "internationalfoot", "ifoot", "ift"), FOOT),
    **dict.fromkeys(
        ("usft", "ussurveyfoot", "ussurveyfeet", "surveyfoot", "footus", "ftus"), US_SURVEY_FOOT
    ),
    **dict.fromkeys(("in", "inch", "inches"), INCH),
    **dict.fromkeys(("mm", "millimeter", "millimetre"), 0.001),
    **dict.fromkeys(("cm", "centimeter", "centimetre"), 0.01),
}


def metres_of(said: float | None, given: float | None, shown: str) -> float:
    """Return what one of a file's unit is. [m]

    Parameters
    ----------
    said : float or None
        What the file says itself. [m]
    given : float or None
        What the person says. [m]
    shown : str
        The file in messages.

    Raises
    ------
    SiteError
        Neither says anything.
    """
    if said is not None:
        return said
    if given is None:
        raise SiteError(
            [
                Problem(
                    shown,
                    "numbers that do not say what they are measured in",
                    "a unit",
                    "Add --units ft, --units m or --units us-ft (the foot of US surveys).",
                )
            ]
        )
    return given


def in_degrees(shown: str) -> SiteError:
    """Return the error of a file in longitude and latitude."""
    mend = "Export it again in a grid of metres or feet, such as a state plane or UTM zone."
    return SiteError(
        [Problem(shown, "coordinates in degrees", "east, north and elevation as lengths", mend)]
    )
