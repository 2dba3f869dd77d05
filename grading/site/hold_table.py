"""The table of a site file that says what holds a raised edge of paving."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Annotated, Any, Literal, Self, get_args

from pydantic import Field, ValidationInfo, field_validator, model_validator

from grading.files.fields import (
    Distance,
    Name,
    Points,
    Size,
    Table,
    UnfitError,
    at_most,
    number_that,
    unit_of,
)
from grading.units import FOOT, INCH, size

HoldKind = Literal["block wall", "grass slope", "curb", "dense shoulder", "steps", "lower finish"]
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
MOST_HEIGHT = 5 * FOOT
"""Of an edge over the ground: what stands higher is no crew's alone. [m]"""
LEAST_UNIT = 2 * INCH
"""What is less is no unit of a wall. [m]"""

_ONLY_OF: Mapping[str, tuple[HoldKind, ...]] = {
    "at": ("block wall", "grass slope", "curb", "steps", "lower finish"),
    "unit": ("block wall", "steps"),
    "product": ("block wall", "steps"),
    "friction": ("block wall",),
    "pad_friction": ("block wall",),
    "behind": ("block wall",),
    "grass": ("grass slope",),
}
"""Which kinds have something that a key is about."""

_LINE = 2

LEAST_FRICTION, MOST_FRICTION = 15.0, 45.0
"""Degrees: what stands steeper or flatter is no soil that holds by friction: common practice."""


LEAST_ON_PAD, MOST_ON_PAD = 0.2, 1.0
"""Ratios: what slides more easily or less is no unit on stone: common practice."""


_FRICTION = number_that(
    lambda value: LEAST_FRICTION <= value <= MOST_FRICTION,
    f"degrees, {LEAST_FRICTION:g} to {MOST_FRICTION:g}, such as 28",
    "Leave it out where nobody tested the soil: then it is not known.",
)
_ON_PAD = number_that(
    lambda value: LEAST_ON_PAD <= value <= MOST_ON_PAD,
    f"a ratio, {LEAST_ON_PAD:g} to {MOST_ON_PAD:g}, such as 0.58",
    "Leave it out where their maker does not say: then it is not known.",
)


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
    """[[hold]]: what holds the raised edge of an area, or a side of it; left out, it is advised."""

    area: Name = Field(description="the name of the area whose edge it holds")
    kind: HoldKind = Field(description=f"what holds it: one of {HOLDS}")
    at: Points | None = Field(
        None,
        description="a line beside the side that it holds, as [[x, y], [x, y]]; else every side",
    )
    height: Annotated[Size, at_most(MOST_HEIGHT)] | None = Field(
        None,
        description='how far the paving may stand above the ground there, such as "18 in"',
    )
    unit: WallUnits | None = Field(
        None, description='a table as {height = "6 in", depth = "12 in", length = "16 in"}'
    )
    product: Name | None = Field(None, description="what its units are called, for the order")
    friction: Annotated[float, _FRICTION] | None = Field(
        None, description="the angle of friction of the soil behind it, in degrees, such as 28"
    )
    pad_friction: Annotated[float, _ON_PAD] | None = Field(
        None,
        description="friction of its units on their pad, as their maker tested it, such as 0.58",
    )
    behind: Behind | None = Field(
        None,
        description='what lies behind its drain stone: "natural ground", "clean stone" or "fill"',
    )

    grass: Literal["sod", "seed"] | None = Field(
        None, description='what grows on a slope: "sod", as where it is left out, or "seed"'
    )

    @field_validator("at")
    @classmethod
    def _a_line(cls, at: Any) -> Any:
        if at is not None and len(at) < _LINE:
            raise UnfitError("two points or more, beside the side that it holds")
        return at

    @model_validator(mode="after")
    def _of_a_wall(self) -> Self:
        for key, kinds in _ONLY_OF.items():
            if getattr(self, key) is None or self.kind in kinds:
                continue
            one_of = " or ".join(f'"{kind}"' for kind in kinds)
            raise UnfitError(
                f"it only beside kind = {one_of}",
                "Write the kind that is meant, or leave it out.",
                found=f"`{key}` of an edge of which `kind` says {self.kind}",
                key=key,
            )
        if self.kind == "lower finish" and self.height is None:
            raise UnfitError(
                'the height that the finish may have above the ground there, such as "6 in"',
                "Add `height`.",
                found="no `height` of a lower finish",
                key="height",
            )
        return self
