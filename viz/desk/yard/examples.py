"""What stands behind a field as an example: in the unit of the yard, as its crew writes it."""

from __future__ import annotations

from grading.units import Unit

_IN_METRES = {
    "100' 3\" or 100.25": "10.25", "1 1/2 in, 7 3/4 in": "40 mm, 190 mm", "1/2 in": "12 mm",
    "2 in": "50 mm", "4 in": "100 mm", "4 ft": "1.2 m", "450 ft2": "40 m2", "4 in/h": "100 mm/h",
    "0.5 in/h": "10 mm/h", "36 in": "900 mm", "80 ft": "25 m", "42 in": "1.1 m", "6 in": "150 mm",
    "18 in": "450 mm", "100.65": "10.65", "12 ft, 18 in": "3.6 m, 450 mm",
    "450 ft2 or 40 m2": "40 m2", "1500 °F·days or 800 °C·days": "800 °C·days",
}  # fmt: skip


def such_as(example: str, unit: Unit) -> str:
    """Return an example of what may be typed, one as long about in metres for a yard in them.

    Parameters
    ----------
    example : str
        In feet and inches; one of those that are known here.
    unit : "ft" or "m"
    """
    return f"such as {example if unit == 'ft' else _IN_METRES[example]}"


def told_with(description: str, unit: Unit) -> str:
    """Return what a key of the file means, its example as it is typed into a field.

    Parameters
    ----------
    description : str
        Of the key: its example stands last, and in the quotes that the file wants.
    unit : "ft" or "m"
    """
    meaning, such, quoted = description.partition(", such as ")
    example = quoted.replace('"', "").removesuffix(" in quotes")
    if example in _IN_METRES:
        return f"{meaning}, {such_as(example, unit)}"
    return f"{meaning}{such}{example}"
