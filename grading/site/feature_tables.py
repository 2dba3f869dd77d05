"""The tables of a site file that the advice reads: what stands on the paving, access, frost."""

from __future__ import annotations

import datetime
from functools import cached_property
from typing import Annotated, Any, Literal, Self

import numpy as np
import shapely
from pydantic import BeforeValidator, Field, ValidationInfo, model_validator

from grading.files.fields import (
    Bearing,
    Distance,
    Fall,
    Name,
    Outline,
    PointArray,
    Size,
    Table,
    UnfitError,
    above_zero,
    at_most,
    fitting,
    number_that,
    unit_of,
)
from grading.geometry.outline import Arc, OutlineError, outline_polygon
from grading.site.shape_keys import unfit_outline
from grading.units import FOOT, INCH
from grading.units import size as size_text
from grading.units.weather import read_days, read_freezing_index, read_temperature

FeatureKind = Literal[
    "gas fire feature", "wood fire", "seat wall", "steps", "pergola post", "kitchen", "hot tub",
    "other",
]  # fmt: skip
Treatment = Literal["none", "waited", "strip", "stone", "firm", "slab"]


# Sizes beyond which a bare number was hardly meant in feet or metres. Common practice, no source.
TALLEST = 15 * FOOT
"""What stands on paving; a pergola post is some 3 m high. [m]"""
TALLEST_COURSE = 2 * FOOT
"""A course of a wall, which people lift. [m]"""
MOST_BEDDING = FOOT
"""Bedding under what stands level. [m]"""
SMALLEST_THING = INCH
"""What is narrower does not stand. [m]"""
DEEPEST_BASE = 5.5 * FOOT
"""A base, or a footing below frost. [m]"""
WIDEST_GATE = 25 * FOOT
"""A way that is wider is no gate. [m]"""
LONGEST_PATH = 1600 * FOOT
"""From the dig to the bin and the stone. [m]"""
WIDEST_BACKFILL = 20 * FOOT
"""Round a foundation, from its wall. [m]"""
DEEPEST_BACKFILL = 10 * FOOT
"""Dug out below the build-up, at the most a whole cellar. [m]"""
DEEPEST_FROST = 10 * FOOT
"""The frost depth of a code. [m]"""


def _index(value: Any, info: ValidationInfo) -> float:
    return read_freezing_index(value, unit_of(info))


def _temperature(value: Any, info: ValidationInfo) -> float:
    return read_temperature(value, unit_of(info))


def _one_or_more(value: Any) -> Any:
    return value if isinstance(value, list | tuple) else [value]


_positive = fitting(above_zero, "more than zero", "Leave the key out where it is not known.")


def _season(value: Any) -> Any:
    return "autumn" if value == "fall" else value


def _day(value: Any) -> Any:
    if not isinstance(value, datetime.date) or isinstance(value, datetime.datetime):
        raise UnfitError("a date such as 2027-05-20, without quotes")
    return value


_factor = number_that(lambda value: 0 < value <= 1, "a factor above 0 and at most 1, such as 0.75")


class Feature(Table):
    """[[feature]]: a thing that stands on the paving and is level: a fire, a wall, steps, a post.

    It is drawn by its `outline`, or by its `size` about a point, the first length along the
    `bearing`; a single length is a diameter.
    """

    name: Name = Field("", description="what to call it")
    kind: FeatureKind = Field(description="what it is")
    outline: Outline | None = Field(
        None, description="corners as [x, y], and round edges as {arc = [[x, y], [x, y]]}"
    )
    at: PointArray | None = Field(None, description="its middle as [x, y]")
    size: Annotated[tuple[Size, ...], BeforeValidator(_one_or_more)] | None = Field(
        None, description='its length and width as ["12 ft", "18 in"], or its diameter as "3 ft"'
    )
    bearing: Bearing = Field(
        0.0, description="the way its length runs, in degrees clockwise from +y"
    )
    height: Annotated[Distance, at_most(TALLEST)] | None = Field(
        None,
        description='how high it stands over the finish at its highest edge, such as "18 in"',
    )
    course: Annotated[Size, at_most(TALLEST_COURSE)] | None = Field(
        None, description='the height of a course of a seat wall, such as "6 in"'
    )
    area: Name | None = Field(None, description="the name of the area it stands on")
    stands: Literal["bedding", "own base"] | None = Field(
        None, description="what it stands on: a wedge of bedding, or a base of its own"
    )
    bedding: Annotated[Distance, at_most(MOST_BEDDING)] = Field(
        0.0, description="the bedding under its highest edge, such as 0"
    )
    base: Annotated[Size, at_most(DEEPEST_BASE)] | None = Field(
        None,
        description='the thickness of its own base, or the depth of its footing, such as "6 in"',
    )

    @model_validator(mode="after")
    def _check(self, info: ValidationInfo) -> Self:
        if (self.outline is None) == (self.at is None):
            raise UnfitError(
                "either an `outline`, or `at` with `size`", "Leave one of them out, or add one."
            )
        if self.outline is None and (self.size is None or len(self.size) not in (1, 2)):
            raise UnfitError(
                "a length and a width, or a diameter",
                'Write size = ["12 ft", "18 in"], or size = "3 ft".',
                found="nothing" if self.size is None else f"{len(self.size)} lengths",
                key="size",
            )
        if self.outline is not None and self.size is not None:
            raise UnfitError("an `outline` without a `size`", "Leave one of them out.", key="size")
        if self.outline is not None:
            try:
                outline_polygon(self.outline)
            except OutlineError as error:
                raise unfit_outline(error, "outline", unit_of(info)) from None
        least = min(self.size) if self.size is not None else np.sqrt(self.polygon.area)
        if least < SMALLEST_THING:
            unit = unit_of(info)
            raise UnfitError(
                f"a thing of {size_text(SMALLEST_THING, unit)} or more each way",
                "Check the unit that it is written in.",
                found=f"one of less than {size_text(SMALLEST_THING, unit)}",
                key="outline" if self.size is None else "size",
            )
        return self

    @cached_property
    def polygon(self) -> shapely.Polygon:
        """What it covers in plan. [m]"""
        if self.outline is not None:
            return outline_polygon(self.outline)
        assert self.at is not None
        assert self.size is not None
        if len(self.size) == 1:
            radius, (x, y) = self.size[0] / 2, self.at.tolist()
            top, bottom = (x, y + radius), (x, y - radius)
            return outline_polygon(
                [bottom, Arc((x + radius, y), top), Arc((x - radius, y), bottom)]
            )
        turn = np.radians(self.bearing)
        along = np.array([np.sin(turn), np.cos(turn)]) * self.size[0] / 2
        across = np.array([np.cos(turn), -np.sin(turn)]) * self.size[1] / 2
        corners = [-along - across, -along + across, along + across, along - across]
        return shapely.Polygon(self.at + np.array(corners))


class Access(Table):
    """[access]: the way into the yard."""

    gate: Annotated[Distance, _positive, at_most(WIDEST_GATE)] | None = Field(
        None, description='the clear width of the narrowest gate or turn, such as "36 in"'
    )
    path: Annotated[Distance, _positive, at_most(LONGEST_PATH)] | None = Field(
        None, description='how far it is from the dig to the bin and the stone, such as "80 ft"'
    )
    slope: Fall = Field(0.0, description='the steepest slope of that way, such as "5 %"')
    machine: Literal["none", "powered barrow", "mini loader"] = Field(
        "none", description="the machine at hand, taken where the gate lets it through"
    )
    over: Literal["lawn", "hard"] = Field(
        "lawn", description="what the way goes over: lawn, which it wears, or hard ground"
    )
    repair: Literal["seed", "sod", "owner"] = Field(
        "seed",
        description="how lawn worn by the way and by heaps of soil is put right: seed, sod, or by "
        "the owner",
    )


class Backfill(Table):
    """[backfill]: the loose fill by the foundation, and what is done about it.

    Treatments: `none`; `waited`, settled for years and compacted; a planting or river-stone
    `strip` at the wall; dug out and rebuilt in compacted `stone` on geogrid; dug to `firm`
    ground; an engineered `slab` that bridges it.
    """

    width: Annotated[Distance, _positive, at_most(WIDEST_BACKFILL)] | None = Field(
        None, description='how far it reaches from the wall, such as "4 ft"'
    )
    depth: Annotated[Distance, _positive, at_most(DEEPEST_BACKFILL)] | None = Field(
        None, description='how deep it is dug out below the build-up, such as "18 in"'
    )
    treatment: Treatment = Field("none", description="what is done about it")


class Laying(Table):
    """[laying]: when the paving is laid, as a date or as a season."""

    date: Annotated[datetime.date, BeforeValidator(_day)] | None = Field(
        None, description="the day on which the joints are filled, such as 2027-05-20"
    )
    season: (
        Annotated[Literal["spring", "summer", "autumn", "winter"], BeforeValidator(_season)] | None
    ) = Field(None, description="the season in which it is laid")

    @model_validator(mode="after")
    def _one_of_them(self) -> Self:
        if self.date is not None and self.season is not None:
            raise UnfitError(
                "either a `date` or a `season`", "Leave one of them out.",
                found="a season beside a date", key="season",
            )  # fmt: skip
        return self


class Frost(Table):
    """[frost]: the winter that the frost depth is reckoned for."""

    index: Annotated[float, BeforeValidator(_index), _positive] = Field(
        description='the freezing index of the air, such as "1500 °F·days" or "800 °C·days"'
    )
    mean: Annotated[float, BeforeValidator(_temperature)] | None = Field(
        None, description='the mean temperature of the year, such as "45 °F" or "7 °C"'
    )
    season: Annotated[float, BeforeValidator(read_days), _positive] | None = Field(
        None, description='how long the freezing lasts, such as "120 days"'
    )
    surface: Annotated[float, _factor] = Field(
        0.75, description="the freezing index of the paving over that of the air, such as 0.75"
    )
    code: Annotated[Distance, _positive, at_most(DEEPEST_FROST)] | None = Field(
        None, description='the frost depth of the local code, such as "42 in"'
    )
