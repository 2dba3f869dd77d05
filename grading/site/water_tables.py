"""The tables of a site file that tell where water may go, and how much of it comes."""

from __future__ import annotations

from typing import Annotated, Any, Literal, Self

import shapely
from pydantic import BeforeValidator, Field, StrictBool, ValidationInfo, model_validator

from grading.files.fields import (
    Fall,
    Length,
    Name,
    PointArray,
    Points,
    Size,
    Table,
    UnfitError,
    above_zero,
    at_most,
    fitting,
    unit_of,
)
from grading.units import FOOT
from grading.units.rates import read_area, read_rate


def _area(value: Any, info: ValidationInfo) -> float:
    return read_area(value, unit_of(info))


PlanArea = Annotated[float, BeforeValidator(_area)]
Rate = Annotated[
    float,
    BeforeValidator(read_rate),
    fitting(above_zero, "a rate greater than zero", "Leave the key out where it is not known."),
]

OutfallKind = Literal["lawn", "street", "swale", "drain", "dry well", "neighbour"]

ENCLOSING = ("lawn", "street", "dry well", "neighbour")
"""Kinds whose `at` may be a closed outline; of the others a closed line is a line."""


# Sizes beyond which a bare number was hardly meant in feet or metres. Common practice, no source.
MOST_PIPE = FOOT
"""Inner diameter of a pipe, and width of a channel, of one house's drain. [m]"""
MOST_WELL = 12 * FOOT
"""Depth of a dry well. [m]"""
MOST_MINUTES = 24 * 60.0
"""Of a soak test: a pit that is not half empty after a day does not drain."""

AT_PAVING = FOOT
"""A drain no farther from the paving is built with it; one farther off where its outlet is named.
Common practice, no source. [m]"""

LED_TO = ("swale", "street", "drain", "dry well", "lawn")
"""Kinds that a pipe may be led to; never a neighbour's lot."""

OF_A_DRAIN = ("outlet", "fall", "width", "pipe", "via")
"""Keys that say how a drain is built."""
OF_A_WELL = ("depth", "soak_test")
"""Keys that say how a dry well is built."""


def _minutes(value: Any) -> float:
    if isinstance(value, bool) or not isinstance(value, int | float) or value <= 0:
        raise UnfitError("a number of minutes greater than zero")
    if value > MOST_MINUTES:
        raise UnfitError(
            "a day at most: a pit that is not half empty by then does not drain",
            "Lead the water to daylight.",
        )
    return float(value)


class SoakTest(Table):
    """soak_test = {...}: a pit filled with water at the depth of the dry well, and timed."""

    pit: tuple[Size, Size, Size] = Field(
        description='length, width and depth of the water in the pit, as ["3 ft", "2 ft", "3 ft"]'
    )
    minutes: Annotated[float, BeforeValidator(_minutes)] = Field(
        description="how long the water took to fall from three quarters of its depth to one"
    )


class Outfall(Table):
    """[[outfall]]: a place that water is meant to reach: lawn, street, swale, drain, dry well.

    A "neighbour" is a lot line that it is not meant to cross. `z` is the level there, of a drain
    that of its grate; without it the finished surface's own. A drain at the paving and a dry well
    are built with it, unless they are there already.
    """

    name: Name = Field("", description="what to call it")
    kind: OutfallKind = Field(description="what it is")
    at: Points = Field(
        description="a point as [x, y], a line as [[x, y], [x, y]], or an outline that ends "
        "where it starts"
    )
    z: Length | None = Field(None, description="its elevation, of a drain that of the grate")
    outlet: Name | None = Field(
        None, description="the name of the place that the pipe of a drain is led to"
    )
    fall: Fall | None = Field(
        None, description='the fall of the bottom of a channel drain, "1 %"; 0 where it is level'
    )
    width: Annotated[Size, at_most(MOST_PIPE)] | None = Field(
        None, description='the inner width of a channel drain or of a basin, such as "4 in"'
    )
    pipe: Annotated[Size, at_most(MOST_PIPE)] | None = Field(
        None, description='the inner diameter of the pipe of a drain, such as "4 in"'
    )
    via: Points | None = Field(
        None, description="the points where the pipe of a drain turns as [[x, y], [x, y]]"
    )
    depth: Annotated[Size, at_most(MOST_WELL)] | None = Field(
        None, description='the depth of the stone of a dry well, such as "4 ft"'
    )
    soak_test: SoakTest | None = Field(
        None, description='a table as {pit = ["3 ft", "2 ft", "3 ft"], minutes = 40}'
    )
    existing: StrictBool = Field(
        False, description="true where a drain or a dry well is there already, else false"
    )

    @property
    def closed(self) -> bool:
        """Whether `at` is an outline."""
        return len(self.at) >= 4 and self.at[0] == self.at[-1] and self.kind in ENCLOSING

    @property
    def geometry(self) -> shapely.Geometry:
        """The point, line or polygon in plan. [m]"""
        if self.closed:
            return shapely.Polygon(self.at)
        return shapely.Point(self.at[0]) if len(self.at) == 1 else shapely.LineString(self.at)

    @model_validator(mode="after")
    def _check(self) -> Self:
        shape = self.geometry
        if self.closed and not (shapely.is_valid(shape) and shapely.area(shape) > 0):
            raise UnfitError(
                "an outline that does not cross itself",
                "Give its corners in the order in which a person would walk round it.",
                key="at",
            )
        if len(self.at) > 1 and not shapely.length(shape) > 0:
            raise UnfitError("a line whose points are not all the same", key="at")
        self._check_built()
        return self

    def _check_built(self) -> None:
        """Refuse what says how a thing is built that is of another kind, or is there already."""
        built = {"drain": OF_A_DRAIN, "dry well": OF_A_WELL}.get(self.kind, ())
        for key in (*OF_A_DRAIN, *OF_A_WELL):
            if getattr(self, key) is None:
                continue
            if key not in built:
                of = "drain" if key in OF_A_DRAIN else "dry well"
                raise UnfitError(
                    f'it only beside kind = "{of}"',
                    f"Leave `{key}` out.",
                    found=f"`{key}` of a {self.kind}",
                    key=key,
                )
            if self.existing:
                raise UnfitError(
                    "either how it is built, or that it is there already",
                    f"Leave `{key}` or `existing` out.",
                    found=f"`{key}` beside `existing`",
                    key=key,
                )
        if self.existing and not built:
            raise UnfitError(
                'it only of a "drain" or a "dry well", which are built with the paving',
                "Leave `existing` out.",
                found=f"`existing` of a {self.kind}",
                key="existing",
            )
        if self.fall is not None and len(self.at) == 1:
            raise UnfitError(
                "it only of a channel drain, which is drawn as a line",
                "Leave `fall` out, or give `at` two points.",
                found="`fall` of a drain at one point",
                key="fall",
            )


class Downspout(Table):
    """[[downspout]]: where a roof's water comes down, and where its extension lets it go."""

    name: Name = Field("", description="what to call it")
    at: PointArray = Field(description="where it comes down the wall as [x, y]")
    roof: PlanArea = Field(
        description='the area of roof that it drains, in plan, such as "450 ft2" or "40 m2"'
    )
    to: PointArray | None = Field(
        None, description="where its extension ends as [x, y]; left out where it has none"
    )
    pipe: Annotated[Size, at_most(MOST_PIPE)] | None = Field(
        None, description='the inner diameter of its extension, such as "4 in"'
    )
    via: Points | None = Field(
        None, description="the points where its extension turns as [[x, y], [x, y]]"
    )
    existing: StrictBool = Field(
        False, description="true where its extension is there already, else false"
    )

    @model_validator(mode="after")
    def _check(self) -> Self:
        for key in ("pipe", "via", "existing"):
            if self.to is None and getattr(self, key):
                raise UnfitError(
                    "where the extension ends, as `to`",
                    f"Add `to`, or leave `{key}` out.",
                    found=f"`{key}` of no extension",
                    key=key,
                )
            if key != "existing" and self.existing and getattr(self, key):
                raise UnfitError(
                    "either how it is built, or that it is there already",
                    f"Leave `{key}` or `existing` out.",
                    found=f"`{key}` beside `existing`",
                    key=key,
                )
        return self


class Storm(Table):
    """[storm]: the rain that drains are sized for, and how fast the soil drains."""

    intensity: Rate = Field(description='the rain, such as "4 in/h" or "100 mm/h"')
    infiltration: Rate | None = Field(
        None, description='what the subgrade takes in, such as "0.5 in/h"'
    )
