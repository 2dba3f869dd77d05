"""[[levels]], [[benchmark]], [[reference]]: a survey as a crew books it, with level and tape."""

from __future__ import annotations

from collections.abc import Mapping
from fractions import Fraction
from typing import Annotated, Any, Literal, Self

from pydantic import BeforeValidator, Field, ValidationInfo, field_validator, model_validator

from grading.files.fields import Length, Name, PointArray, Size, Table, UnfitError
from grading.units import UnitError
from grading.units.rods import ROD_UNITS, RodUnit, read_rod

_RODS = {
    **dict.fromkeys(("in", "inch", "inches", "ft-inches", "feet and inches", "'"), "ft-in"),
    **dict.fromkeys(("feet", "foot", "tenths", "hundredths"), "ft"),
    **dict.fromkeys(("metre", "metres", "meter", "meters", "metric"), "m"),
}


def _rod(value: Any) -> Any:
    if isinstance(value, str) and value in ROD_UNITS:
        return value
    near = _RODS.get(str(value).strip().lower(), "")
    mend = f'Did you mean "{near}"?' if near else ""
    raise UnfitError("one of " + ", ".join(f'"{each}"' for each in ROD_UNITS), mend)


class TwoPeg(Table):
    """two_peg = {...}: both pegs read from two set-ups, which tells how far the level is out."""

    readings: tuple[tuple[Any, Any], tuple[Any, Any]] = Field(
        description="what the rod said at peg one and at peg two, from either set-up, "
        'as [["5\' 0\\"", "4\' 9\\""], ["4\' 1\\"", "3\' 10 1/8\\""]]'
    )
    distances: tuple[tuple[Size, Size], tuple[Size, Size]] = Field(
        description="how far both pegs were from the instrument, from either set-up, "
        'as [["50 ft", "50 ft"], ["10 ft", "90 ft"]]'
    )

    @model_validator(mode="after")
    def _tells(self) -> Self:
        (first, second), (third, fourth) = self.distances
        if abs((first - second) - (third - fourth)) < 1.0:
            raise UnfitError(
                "one set-up with the pegs alike far off, and one with one of them near by",
                "From two set-ups that are balanced alike nothing can be told.",
                key="distances",
            )
        return self


class LevelsTable(Table):
    """[[levels]]: a level book, one row of a csv file for each position of the rod."""

    file: Name = Field(description='the csv file of the level book, such as "levels.csv"')
    rod: Annotated[RodUnit, BeforeValidator(_rod)] = Field(
        description='what the rod is marked in: "ft-in", "ft" (tenths), "m", "cm" or "mm"'
    )
    placed: Literal["by tape", "by eye"] = Field(
        "by tape", description='how the places were found: "by tape" or "by eye"'
    )
    two_peg: TwoPeg | None = Field(
        None,
        description="a two-peg test as {readings = [[a, b], [a, b]], distances = [[a, b], [a, b]]}",
    )

    @field_validator("two_peg")
    @classmethod
    def _read_on_the_rod(cls, test: TwoPeg | None, info: ValidationInfo) -> TwoPeg | None:
        if test is not None and "rod" in info.data:
            for setup, pair in enumerate(test.readings, start=1):
                for peg, reading in enumerate(pair, start=1):
                    try:
                        _reading(reading, info.data["rod"])
                    except UnitError as error:
                        key = f"readings[{setup}][{peg}]"
                        raise UnfitError(
                            error.expected, error.mend, found=error.found, key=key
                        ) from None
        return test

    @property
    def collimation(self) -> Fraction | None:
        """How much too high the level reads for each metre of sight; None where not tested.

        ((a1 - b1) - (a2 - b2)) / ((dA1 - dB1) - (dA2 - dB2)): the two-peg test of any text on
        surveying, for sights of any length.
        """
        if self.two_peg is None:
            return None
        read = [[_reading(each, self.rod) for each in pair] for pair in self.two_peg.readings]
        far = [[Fraction(str(each)) for each in pair] for pair in self.two_peg.distances]
        unlike = (read[0][0] - read[0][1]) - (read[1][0] - read[1][1])
        return unlike / ((far[0][0] - far[0][1]) - (far[1][0] - far[1][1]))


def _reading(value: Any, rod: RodUnit) -> Fraction:
    if isinstance(value, bool) or not isinstance(value, str | int | float):
        raise UnitError(str(value), "a reading")
    return read_rod(str(value), rod)


class Benchmark(Table):
    """[[benchmark]]: a point whose elevation is given, by the name that the notes call it."""

    name: Name = Field(description='what the level book calls it, such as "back door sill"')
    z: Length = Field(description="its elevation, such as 100.00")


class Reference(Table):
    """[[reference]]: a point that a tape is held to; corners of the house are there unwritten."""

    name: Name = Field(description='what the columns of ties call it, such as "A" of "to A"')
    at: PointArray = Field(description="where it is as [x, y]")


def same_name(name: str) -> str:
    """Return a name as it is compared: in small letters, its words one space apart."""
    return " ".join(name.lower().split())


def named_once(names: Mapping[str, str]) -> list[tuple[str, str, str]]:
    """Return the key, the name and the key of the first, of each name that is there twice.

    Parameters
    ----------
    names : mapping
        Names by their keys in the file.
    """
    first: dict[str, str] = {}
    twice = []
    for key, name in names.items():
        if same_name(name) in first:
            twice.append((key, name, first[same_name(name)]))
        first.setdefault(same_name(name), key)
    return twice
