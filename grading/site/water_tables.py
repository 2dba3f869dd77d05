"""The tables of a site file that tell where water may go, and how much of it comes."""

from __future__ import annotations

from typing import Annotated, Any, Literal, Self

import shapely
from pydantic import BeforeValidator, Field, ValidationInfo, model_validator

from grading.files.fields import Length, Name, PointArray, Points, Table, UnfitError, unit_of
from grading.units.rates import read_area, read_rate


def _area(value: Any, info: ValidationInfo) -> float:
    return read_area(value, unit_of(info))


def _rate(value: Any) -> float:
    return read_rate(value)


def _needed(value: float) -> float:
    if value <= 0:
        raise UnfitError("a rate greater than zero", "Leave the key out where it is not known.")
    return value


PlanArea = Annotated[float, BeforeValidator(_area)]
Rate = Annotated[float, BeforeValidator(lambda value: _needed(_rate(value)))]

OutfallKind = Literal["lawn", "street", "swale", "drain", "dry well", "neighbour"]

ENCLOSING = ("lawn", "street", "dry well", "neighbour")
"""Kinds whose `at` may be a closed outline; of the others a closed line is a line."""


class Outfall(Table):
    """[[outfall]]: a place that water is meant to reach: lawn, street, swale, drain, dry well.

    A "neighbour" is a lot line that it is not meant to cross. `z` is the level there, of a drain
    that of its grate; without it the finished surface's own.
    """

    name: Name = Field("", description="what to call it")
    kind: OutfallKind = Field(description="what it is")
    at: Points = Field(
        description="a point as [x, y], a line as [[x, y], [x, y]], or an outline that ends "
        "where it starts"
    )
    z: Length | None = Field(None, description="its elevation, of a drain that of the grate")

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
        return self


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


class Storm(Table):
    """[storm]: the rain that drains and swales are sized for, and how fast the soil drains."""

    intensity: Rate = Field(description='the rain, such as "4 in/h" or "100 mm/h"')
    infiltration: Rate | None = Field(
        None, description='what the subgrade takes in, such as "0.5 in/h"'
    )
