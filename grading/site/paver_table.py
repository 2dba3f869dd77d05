"""The pavers of an area as a site writes them: their size, joint, pattern and soldier course."""

from __future__ import annotations

from typing import Annotated, Any, Literal, Self

from pydantic import BeforeValidator, Field, ValidationInfo, model_validator

from grading.files.fields import Distance, Size, Table, UnfitError, at_most
from grading.units import FOOT, INCH, round_metric

LEAST_WIDTH = INCH
"""Narrower units are no pavers: common practice, no source. [m]"""

MOST_LENGTH = 5 * FOOT
"""Longer units are laid by no crew of few: common practice, no source. [m]"""

MOST_JOINT = 2 * INCH
"""Wider joints are no joints: common practice, no source. [m]"""

Pattern = Literal["running", "stack", "herringbone 90", "herringbone 45"]


def _edges(value: Any) -> Any:
    if value == "all":
        return value
    listed = [value] if isinstance(value, int) else value
    if (
        not isinstance(listed, list | tuple)
        or any(isinstance(edge, bool) or not isinstance(edge, int) for edge in listed)
        or any(edge < 1 for edge in listed)
    ):
        raise UnfitError(
            'edges of the outline by number, such as [1, 3], or "all"',
            "Edge 1 runs from the first corner to the second.",
        )
    return tuple(listed)


class Pavers(Table):
    """pavers = {...}: the unit that is laid, in an area, or in crew.toml for every area.

    The defaults are common practice, no source: a 4 x 8 in unit, 1/8 in joints, running bond; where
    sizes are round in millimetres 100 x 200 mm and 3 mm.
    """

    length: Annotated[Size, at_most(MOST_LENGTH)] = Field(
        8 * INCH, description='the longer side of a unit, such as "8 in"'
    )
    width: Annotated[Size, at_most(MOST_LENGTH)] = Field(
        4 * INCH, description='the shorter side of a unit, such as "4 in"'
    )
    joint: Annotated[Distance, at_most(MOST_JOINT)] = Field(
        INCH / 8, description='the width of a joint, such as "1/8 in"'
    )
    pattern: Pattern = Field("running", description="how the units are laid")
    soldier: Annotated[tuple[int, ...] | Literal["all"], BeforeValidator(_edges)] = Field(
        (), description='edges with a soldier course, such as [1, 3], or "all"'
    )

    @model_validator(mode="before")
    @classmethod
    def _round(cls, written: Any, info: ValidationInfo) -> Any:
        nominal = (info.context or {}).get("nominal", "ft")
        if nominal == "ft" or not isinstance(written, dict):
            return written
        usual = (("length", 8 * INCH), ("width", 4 * INCH), ("joint", INCH / 8))
        return {**{key: f"{round_metric(each)} m" for key, each in usual}, **written}

    @model_validator(mode="after")
    def _check(self) -> Self:
        if self.width < LEAST_WIDTH:
            raise UnfitError("a unit at least 1 in (25 mm) wide", key="width")
        if self.width > self.length:
            raise UnfitError("the longer side as `length`", "Swap the two.", key="width")
        if self.pattern.startswith("herringbone") and self.length - self.width < self.width / 2:
            raise UnfitError(
                "a unit at least half as long again as it is wide, for herringbone",
                'Lay squares in "running" or "stack" bond.',
                found=self.pattern,
                key="pattern",
            )
        return self
