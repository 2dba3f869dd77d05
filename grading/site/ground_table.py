"""[ground]: the soil, the topsoil on it, and how the surface between spots is drawn."""

from __future__ import annotations

import re
from typing import Annotated, Any, Literal, TypeGuard

import numpy as np
from msgspec import Struct
from numpy.typing import NDArray
from pydantic import (
    BeforeValidator,
    Field,
    ValidationInfo,
    ValidatorFunctionWrapHandler,
    WrapValidator,
    field_validator,
)

from grading.files.fields import Length, Table, UnfitError, array_of, unit_of
from grading.units import INCH, length, read_length, size


def is_file_name(value: object) -> TypeGuard[str]:
    """Return whether a value names a file of points, of probes or of breaklines."""
    return isinstance(value, str) and value.strip().lower().endswith((".csv", ".txt", ".tsv"))


BARE_ORGANICS = 18 * INCH
"""Topsoil that is deeper has its unit written beside it: three feet are rare, three inches the
rule, and a bare 3 in a file in feet is three feet. [m]"""


def _organics(value: Any, info: ValidationInfo) -> float | str:
    if is_file_name(value):
        return value
    unit = unit_of(info)
    depth = read_length(value, unit)
    if depth < 0:
        raise UnfitError("a depth of zero or more", "Leave the key out where there is no topsoil.")
    if depth > BARE_ORGANICS and is_bare(value):
        told = value.strip() if isinstance(value, str) else f"{value:g}"
        # A bare number of metres was meant in millimetres, or in centimetres where it is small.
        small = "in" if unit == "ft" else "mm" if depth >= 50 else "cm"
        raise UnfitError(
            f"a depth of topsoil with its unit, where it is more than {size(BARE_ORGANICS, unit)}",
            f'Write "{told} {small}", or "{told} {unit}" where it is so deep.',
            found=f"{told}, which is {length(depth, unit)}",
        )
    return depth


def is_bare(value: object) -> bool:
    """Return whether a length has no unit of its own, and so is in that of the file."""
    return not isinstance(value, str) or not re.search(r"[a-z'\"\u2032\u2033]", value.lower())


def _lines_or_file(value: Any, read: ValidatorFunctionWrapHandler) -> Any:
    """Return lines as they are read, or the name of their file: one sentence, not one for each."""
    if not isinstance(value, str):
        return read(value)
    if not is_file_name(value):
        mend = 'Write lines of points, or the name of a csv file with line,x,y,z, "lines.csv".'
        raise UnfitError("lines as [[[x, y], [x, y]], ...]", mend)
    return value


class GroundTable(Table):
    """[ground]: the soil, the organics to strip, and how the surface between spots is drawn."""

    soil: Literal["gravel", "sand", "loam", "clay"] = Field(
        "loam", description="the soil below the organics"
    )
    organics: Annotated[float | str, BeforeValidator(_organics)] = Field(
        0.0,
        description='a depth such as "4 in", or the name of a csv of test holes x,y,depth,area',
    )
    breaklines: Annotated[
        tuple[tuple[tuple[Length, ...], ...], ...], WrapValidator(_lines_or_file)
    ] = Field(
        (), description="lines as [[[x, y], [x, y]], ...], each vertex at a spot or as [x, y, z]"
    )
    surface: Literal["tin", "smooth"] = Field(
        "tin", description="how the ground between the spots is drawn"
    )

    @field_validator("breaklines")
    @classmethod
    def _vertices(cls, lines: Any) -> Any:
        if isinstance(lines, str):
            return lines
        for number_, line in enumerate(lines):
            if len(line) < 2:
                mend = "Say where it goes on, or leave it out."
                raise UnfitError(
                    "a breakline of two vertices or more", mend, key=f"[{number_ + 1}]"
                )
            for place, vertex in enumerate(line):
                if len(vertex) not in (2, 3):
                    key = f"[{number_ + 1}][{place + 1}]"
                    raise UnfitError("a vertex as [x, y] or [x, y, z]", key=key)
        return lines

    @property
    def breaklines_file(self) -> str | None:
        """The csv file that has the breaklines, where they are not written out."""
        value: object = self.breaklines
        return value if isinstance(value, str) else None

    def lines(self) -> tuple[NDArray[np.float64], ...]:
        """Return the breaklines as (j, 3) float, z NaN where the vertex is at a spot. [m]

        None where they stand in a file.
        """
        if self.breaklines_file is not None:
            return ()
        return tuple(
            array_of([(*vertex, np.nan)[:3] for vertex in line]) for line in self.breaklines
        )


class GroundSpec(Struct, frozen=True, eq=False):
    """What the site says of its ground.

    `soil` is "gravel", "sand", "loam" or "clay"; `organics` their depth [m], where `probes`
    (k, 3), x, y and depth [m], do not tell it; `hole_areas` the area that each of them names, empty
    where it names none; `breaklines` (j, 3) each, z NaN where the vertex
    is at a spot [m]; `surface` "tin" or "smooth".
    """

    soil: str = "loam"
    organics: float = 0.0
    probes: NDArray[np.float64] | None = None
    hole_areas: tuple[str, ...] = ()
    breaklines: tuple[NDArray[np.float64], ...] = ()
    surface: str = "tin"
