"""Doors and steps in a site file: between areas, and down to the lawn."""

from __future__ import annotations

from typing import Annotated, Literal, Self

from pydantic import AfterValidator, Field, StrictInt, model_validator

from grading.files.fields import (
    Length,
    Name,
    PointArray,
    Size,
    Table,
    UnfitError,
    at_most,
    each_at_most,
)
from grading.units import FOOT, INCH


def _range(step: tuple[float, float] | None) -> tuple[float, float] | None:
    if step is not None and not 0 <= step[0] <= step[1]:
        raise UnfitError(
            "the least step first, and neither below zero", "Write the smaller of the two first."
        )
    return step


# Sizes beyond which a bare number was hardly meant in feet or metres. Common practice, no source.
MOST_STEP = 3 * FOOT
"""A step down from a sill; more is a stair. [m]"""
MOST_RISER = FOOT
"""[m]"""
MOST_STEP_WIDTH = 40 * FOOT
"""[m]"""
MOST_TREAD = 4 * FOOT
"""Of a tread; more is a landing. [m]"""
MOST_STEPS = 12
"""More is a flight, with a landing of its own. Common practice, no source."""


class Door(Table):
    """[[door]]: a door onto the paving, and the step down from its sill."""

    name: Name = Field("", description="what to call the door")
    at: PointArray = Field(description="the middle of the sill as [x, y]")
    sill: Length = Field(description="the elevation of the top of the sill, such as 100.65")
    step: Annotated[
        tuple[Length, Length] | None, AfterValidator(_range), each_at_most(MOST_STEP)
    ] = Field(None, description='the least and the greatest step down, as ["1 in", "7 3/4 in"]')
    steps: Annotated[StrictInt, Field(ge=0, le=MOST_STEPS)] | None = Field(
        None,
        description="how many steps lead down from the sill, 0 where none are wanted, 12 at most",
    )

    @property
    def risers(self) -> int | None:
        """How many risers are asked for from the sill to the paving; None where that is open.

        A step that is written bounds the one riser there is, unless steps are written too.
        """
        if self.steps is None:
            return None if self.step is None else 1
        return max(self.steps, 1)


Sides = Literal["returned blocks", "cheek walls"]
"""What closes the sides of steps that stand free."""


class Step(Table):
    """[[step]]: a step between two areas that share an edge, or steps from an area to the lawn.

    Areas that share an edge are flush without it. Steps to the lawn are written with `area` and
    `to`; where they go, how wide they are and how many risers they have is worked out where it is
    left out.
    """

    down: tuple[Name, Name] | None = Field(
        None, description='the names of the upper and the lower area as ["patio", "walk"]'
    )
    area: Name | None = Field(None, description="the name of the area that steps go down from")
    to: Literal["lawn"] | None = Field(None, description="what steps go down to beside an area")
    at: PointArray | None = Field(
        None, description="the middle of steps to the lawn, on the edge of their area, as [x, y]"
    )
    width: Annotated[Size, at_most(MOST_STEP_WIDTH)] | None = Field(
        None, description='how wide steps to the lawn are, such as "4 ft"'
    )
    tread: Annotated[Size, at_most(MOST_TREAD)] | None = Field(
        None, description='how deep each tread of steps with several risers is, such as "12 in"'
    )
    risers: Annotated[int, Field(ge=1, le=12)] | None = Field(
        None, description="how many risers, 1 to 12"
    )
    riser: Annotated[tuple[Length, Length], AfterValidator(_range), each_at_most(MOST_RISER)] = (
        Field(
            (4 * INCH, 7.75 * INCH),
            description='the least and the greatest height of a riser, as ["4 in", "7 3/4 in"]',
        )
    )
    sides: Sides | None = Field(
        None,
        description='what closes the sides of several risers: "returned blocks" or "cheek walls"',
    )

    @property
    def count(self) -> int:
        """How many risers lead from one area to the other."""
        return 1 if self.risers is None else self.risers

    @model_validator(mode="after")
    def _between_or_off(self) -> Self:
        if (self.down is None) == (self.to is None):
            raise UnfitError(
                'either `down`, the two areas, or `area` with `to = "lawn"`',
                "Leave one of them out, or add one.",
                found="neither" if self.to is None else "both",
            )
        if self.to is not None and self.area is None:
            raise UnfitError(
                'the `area` that the steps to the lawn go down from beside `to = "lawn"`',
                "Add `area`.", key="to",
            )  # fmt: skip
        if self.risers == 1 and self.tread is not None:
            raise UnfitError(
                "a `tread` only of steps with two risers or more",
                "Leave it out, or write more risers.",
                found="`tread` beside `risers = 1`", key="tread",
            )  # fmt: skip
        if self.risers == 1 and self.sides is not None:
            raise UnfitError(
                "`sides` only of steps with two risers or more",
                "Leave it out: one riser stands behind the edge and has no sides.",
                found="`sides` beside `risers = 1`", key="sides",
            )  # fmt: skip
        for key in ("area", "at", "width"):
            if self.down is not None and getattr(self, key) is not None:
                raise UnfitError(
                    f"`{key}` only of steps to the lawn",
                    "Leave it out: a step between areas goes all along the edge that they share.",
                    found=f"`{key}` beside `down`", key=key,
                )  # fmt: skip
        return self
