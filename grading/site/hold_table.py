"""The table of a site file that says what holds a raised edge of paving."""

from __future__ import annotations

from typing import Annotated, Any, Literal, Self, get_args

from pydantic import BeforeValidator, Field, ValidationInfo, model_validator

from grading.files.fields import Distance, Name, Size, Table, UnfitError, at_most, unit_of
from grading.units import FOOT, INCH, size

HoldKind = Literal["block wall", "grass slope", "curb", "shoulder", "steps"]
HOLD_KINDS: tuple[HoldKind, ...] = get_args(HoldKind)
HOLDS = ", ".join(HOLD_KINDS)
"""What may be written, in a list."""

Behind = Literal["natural ground", "clean stone", "fill"]

# Sizes beyond which a bare number was hardly meant in feet or metres, or that no crew sets by hand.
# Common practice, no source.
TALLEST_UNIT = FOOT
"""[m]"""
LONGEST_UNIT = 4 * FOOT
"""Along the wall, and from face to back. [m]"""
MOST_SETBACK = 6 * INCH
"""[m]"""
LEAST_UNIT = 2 * INCH
"""What is less is no unit of a wall. [m]"""

LEAST_FRICTION, MOST_FRICTION = 15.0, 45.0
"""Degrees: what stands steeper or flatter is no soil that holds by friction: common practice."""


def _friction(value: Any) -> float:
    fits = not isinstance(value, bool) and isinstance(value, int | float)
    if not fits or not LEAST_FRICTION <= value <= MOST_FRICTION:
        raise UnfitError(
            f"degrees, {LEAST_FRICTION:g} to {MOST_FRICTION:g}, such as 28",
            "Leave it out where nobody tested the soil: then it is not known.",
        )
    return float(value)


class WallUnits(Table):
    """unit = {...}: the units of a wall, where they are not the crew's own."""

    height: Annotated[Size, at_most(TALLEST_UNIT)] | None = Field(
        None, description='the height of a unit, a course, such as "6 in"'
    )
    depth: Annotated[Size, at_most(LONGEST_UNIT)] | None = Field(
        None, description='its depth from face to back, such as "12 in"'
    )
    length: Annotated[Size, at_most(LONGEST_UNIT)] | None = Field(
        None, description='its length along the wall, such as "16 in"'
    )
    setback: Annotated[Distance, at_most(MOST_SETBACK)] | None = Field(
        None, description='how far each course stands behind the one below, such as "3/4 in"'
    )
    cap: Annotated[Size, at_most(TALLEST_UNIT)] | None = Field(
        None, description='the height of its caps, such as "2 1/4 in"'
    )

    @model_validator(mode="after")
    def _some(self, info: ValidationInfo) -> Self:
        unit = unit_of(info)
        for key in ("height", "depth", "length"):
            value = getattr(self, key)
            if value is not None and value < LEAST_UNIT:
                raise UnfitError(
                    f"{size(LEAST_UNIT, unit)} or more",
                    "Check the unit that it is written in.",
                    found=size(value, unit),
                    key=key,
                )
        return self


class Hold(Table):
    """[[hold]]: what holds the raised edge of an area; left out, it is advised."""

    area: Name = Field(description="the name of the area whose edge it holds")
    kind: HoldKind = Field(description=f"what holds it: one of {HOLDS}")
    unit: WallUnits | None = Field(
        None, description='a table as {height = "6 in", depth = "12 in", length = "16 in"}'
    )
    friction: Annotated[float, BeforeValidator(_friction)] | None = Field(
        None, description="the angle of friction of the soil behind it, in degrees, such as 28"
    )
    behind: Behind | None = Field(
        None,
        description='what lies behind its drain stone: "natural ground", "clean stone" or "fill"',
    )

    @model_validator(mode="after")
    def _of_a_wall(self) -> Self:
        for key in ("unit", "friction", "behind"):
            if getattr(self, key) is None or self.kind == "block wall":
                continue
            if key == "unit" and self.kind == "steps":
                continue
            raise UnfitError(
                'it only beside kind = "block wall"',
                "Write the kind that is meant, or leave it out.",
                found=f"`{key}` of an edge that a {self.kind} holds",
                key=key,
            )
        return self
