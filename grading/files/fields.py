"""The kinds of value that a site file holds, read into SI at the door.

The unit of a bare number comes with the validation context, {"unit": "ft"}; without one it is
the metre, so that code can build a table from SI values.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from typing import TYPE_CHECKING, Annotated, Any, cast

import numpy as np
from pydantic import (
    AfterValidator,
    BaseModel,
    BeforeValidator,
    ConfigDict,
    Discriminator,
    Field,
    Tag,
    ValidationInfo,
)

from grading.geometry.arrays import Floats
from grading.geometry.outline import Arc
from grading.signs import is_visible
from grading.units import Unit, read_length, read_slope
from grading.units import length as length_text


class UnfitError(ValueError):
    """A value that a key cannot take: what was expected, and how to mend it.

    `found` is left empty where the value itself says it, and `key` where no key inside the table
    is concerned.
    """

    def __init__(self, expected: str, mend: str = "", *, found: str = "", key: str = "") -> None:
        self.expected, self.mend, self.found, self.key = expected, mend, found, key
        super().__init__(f"found {found or 'this'}, expected {expected}. {mend}".rstrip())


class Table(BaseModel):
    """A table of the site file: frozen, in SI, and with no key that it does not know."""

    model_config = ConfigDict(
        frozen=True, extra="forbid", arbitrary_types_allowed=True, defer_build=True
    )


def unit_of(info: ValidationInfo) -> Unit:
    """Return what a bare number means in the file that is being read."""
    return cast(Unit, (info.context or {}).get("unit", "m"))


def _length(value: Any, info: ValidationInfo) -> float:
    return read_length(value, unit_of(info))


def fitting(fits: Callable[[Any], bool], expected: str, mend: str = "") -> AfterValidator:
    """Refuse what was read where it does not fit."""

    def checked(value: Any) -> Any:
        if not fits(value):
            raise UnfitError(expected, mend)
        return value

    return AfterValidator(checked)


def number_that(fits: Callable[[float], bool], expected: str, mend: str = "") -> BeforeValidator:
    """Read a plain number that fits."""

    def read(value: Any) -> float:
        if isinstance(value, bool) or not isinstance(value, int | float) or not fits(value):
            raise UnfitError(expected, mend)
        return float(value)

    return BeforeValidator(read)


def above_zero(value: float) -> bool:
    """Say whether a number is more than none."""
    return value > 0


def _bearing(value: Any) -> float:
    if isinstance(value, bool) or not isinstance(value, int | float) or not abs(value) <= 360:
        raise UnfitError("degrees clockwise from +y, 0 to 360", "90 is along +x, 180 along -y.")
    return float(value) % 360


LONGEST_NAME = 120
"""Letters of a name at the most: with more it fits no drawing and no sheet."""

LONGEST_REASON = 1000
"""Letters of a reason in words at the most."""


def _text(value: Any, what: str, most: int) -> str:
    if not isinstance(value, str) or not value.split():
        raise UnfitError(f"{what} in quotes")
    if len(value) > most:
        raise UnfitError(f"{what} of at most {most} letters", found=f"{len(value)} letters")
    text = " ".join(value.split())
    if not is_visible(text):
        raise UnfitError(f"{what} of printable characters")
    return text


def read_name(value: Any) -> str:
    """Return a name, its words one space apart; raise UnfitError where it is none."""
    return _text(value, "a name", LONGEST_NAME)


def _reason(value: Any) -> str:
    return _text(value, "a reason", LONGEST_REASON)


def _listed(value: Any) -> Any:
    return value.tolist() if isinstance(value, np.ndarray) else value


def _pair(value: Any) -> Any:
    value = _listed(value)
    if not isinstance(value, list | tuple) or len(value) != 2:
        raise UnfitError("a point as [x, y]")
    return value


def _one_or_more_points(value: Any) -> Any:
    value = _listed(value)
    if not isinstance(value, list | tuple) or not value:
        raise UnfitError("a point as [x, y], or a line as [[x, y], [x, y]]")
    return value if isinstance(_listed(value[0]), list | tuple) else [value]


def _one_or_more(value: Any) -> Any:
    value = _listed(value)
    return value if isinstance(value, list | tuple) else [value]


def array_of(values: Any) -> Floats:
    """Return the values as an array of float64 that cannot be written to."""
    array = np.array(values, dtype=float)
    array.flags.writeable = False
    return array


INCHES_NEED_A_UNIT = 'Inches are written as "6 in", millimetres as "150 mm".'
"""What to do where a bare number was taken for feet or metres."""


def at_most(most: float) -> AfterValidator:
    """Return a bound on a length, beyond which it was hardly meant. [m]

    A bare 36 in a file in feet is 36 feet, also where a gate of 36 inches was meant.
    """

    def bounded(value: float | None, info: ValidationInfo) -> float | None:
        if value is not None:
            _bound(value, most, unit_of(info))
        return value

    return AfterValidator(bounded)


def each_at_most(most: float) -> AfterValidator:
    """Return the same bound on each of several lengths. [m]"""

    def bounded(values: Any, info: ValidationInfo) -> Any:
        if values is not None:
            _bound(max(values), most, unit_of(info))
        return values

    return AfterValidator(bounded)


def _bound(value: float, most: float, unit: Unit) -> None:
    if value > most:
        expected = f"at most {length_text(most, unit)}"
        raise UnfitError(expected, INCHES_NEED_A_UNIT, found=length_text(value, unit))


Length = Annotated[float, BeforeValidator(_length)]
Thickness = Annotated[
    Length, fitting(above_zero, "a thickness greater than zero", "Leave the layer out.")
]
Size = Annotated[
    Length, fitting(above_zero, "a length greater than zero", "Leave out a thing that has none.")
]
Distance = Annotated[Length, fitting(lambda value: value >= 0, "zero or more")]
Fall = Annotated[
    float,
    BeforeValidator(read_slope),
    fitting(lambda value: value >= 0, "a fall of zero or more", "Turn the bearing by 180 instead."),
]
Bearing = Annotated[float, BeforeValidator(_bearing)]
Name = Annotated[str, BeforeValidator(read_name)]
Reason = Annotated[str, BeforeValidator(_reason)]
Years = Annotated[
    float, number_that(lambda value: 0 <= value <= 2000, "a number of years, zero or more")
]
Point = Annotated[tuple[Length, Length], BeforeValidator(_pair)]
Points = Annotated[tuple[Point, ...], BeforeValidator(_one_or_more_points)]
Lengths = Annotated[tuple[Length, ...], BeforeValidator(_one_or_more)]

if TYPE_CHECKING:
    PointArray = Floats
    """(2,) float [m]"""
    PointsArray = Floats
    """(n, 2) float [m]"""
else:
    PointArray = Annotated[Point, AfterValidator(array_of)]
    PointsArray = Annotated[tuple[Point, ...], BeforeValidator(_listed), AfterValidator(array_of)]


class ArcTable(Table):
    """A round edge of an outline: {arc = [through, end]}."""

    arc: tuple[Point, Point] = Field(
        description="a point on the arc and its end, as {arc = [[x, y], [x, y]]}"
    )


def _arc(value: Any) -> Any:
    # An Arc that was read before comes back when a table is built from another's fields.
    return {"arc": list(value)} if isinstance(value, Arc) else value


def _plain_arc(value: ArcTable) -> Arc:
    return Arc(*value.arc)


def _edge_kind(value: Any) -> str:
    return "arc edge" if isinstance(value, Mapping | Arc) else "straight edge"


if TYPE_CHECKING:
    Outline = Sequence[tuple[float, float] | Arc]
    """Edges as `grading.geometry.outline.outline_polygon` takes them. [m]"""
else:
    Outline = tuple[
        Annotated[
            Annotated[Point, Tag("straight edge")]
            | Annotated[
                ArcTable, BeforeValidator(_arc), AfterValidator(_plain_arc), Tag("arc edge")
            ],
            Discriminator(_edge_kind),
        ],
        ...,
    ]
