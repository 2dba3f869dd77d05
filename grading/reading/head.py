"""The keys of a site file that stand above its tables."""

from __future__ import annotations

from typing import Annotated, Any, Literal

from pydantic import BeforeValidator, Field

from grading.files.fields import Name, Table, UnfitError, read_name
from grading.units import METRES

_UNIT_NAMES = {
    **dict.fromkeys(("feet", "foot", "'", "in", "inch", "inches", "us", "imperial"), "ft"),
    **dict.fromkeys(("metre", "metres", "meter", "meters", "mm", "cm", "si", "metric"), "m"),
}


def _unit(value: Any) -> Any:
    if not isinstance(value, str) or value not in METRES:
        word = str(value).strip().lower()
        near = _UNIT_NAMES.get(word, word)
        mend = f'Did you mean "{near}"?' if near in METRES else ""
        raise UnfitError('"ft" or "m"', mend)
    return value


def _files(value: Any) -> Any:
    """Take one file or several."""
    if isinstance(value, list):
        if not value:
            raise UnfitError("one file or more")
        return tuple(read_name(each) for each in value)
    return read_name(value)


class Head(Table):
    """The keys of a site file that stand above its tables."""

    name: Name = Field(description="the name of the site in quotes")
    unit: Annotated[Literal["ft", "m"], BeforeValidator(_unit)] = Field(
        description='what a bare number means, "ft" or "m"'
    )
    spots: Annotated[str | tuple[str, ...], BeforeValidator(_files)] = Field(
        (), description='the csv file of spot elevations, such as "spots.csv"'
    )
