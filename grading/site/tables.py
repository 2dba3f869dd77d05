"""The tables of a site file: what each key means, and what it may hold.

The description of a key is also what its error message says was expected.
"""

from __future__ import annotations

from collections.abc import Mapping
from functools import cached_property
from typing import Annotated, Any, Literal, Self

import numpy as np
import shapely
from pydantic import Field, StrictBool, ValidationInfo, field_validator, model_validator

from grading.catalogue.edge_kinds import EDGE, EDGES, JOINT, JOINTS, EdgeName, JointName
from grading.files.fields import (
    Bearing,
    Distance,
    Fall,
    Length,
    Lengths,
    Name,
    Outline,
    PointArray,
    Points,
    PointsArray,
    Reason,
    Table,
    UnfitError,
    at_most,
    unit_of,
)
from grading.geometry.outline import CHORD_TOLERANCE, OutlineError, edge_lines, outline_polygon
from grading.site.paver_table import Pavers
from grading.site.shape_keys import USED_BY, check_between, check_fold, check_size, unfit_outline
from grading.units import FOOT, INCH
from grading.units import area as area_text

ONE_OR_MORE_POINTS = "a point as [x, y], or a line as [[x, y], [x, y]]"
ONE_OR_MORE_LEVELS = "an elevation, or one for each of its points"
MOST_CLEARANCE = 3 * FOOT
"""How far the finish stays from a level. [m]"""
MOST_LIP = 6 * INCH
"""How far below the finish a lawn starts. [m]"""


class Along(Table):
    """A point or a line on the plan with an elevation for each of its points."""

    name: Name = Field("", description="what to call it")
    at: Points = Field(description=ONE_OR_MORE_POINTS)
    z: Lengths = Field(description=ONE_OR_MORE_LEVELS)
    area: Name | None = Field(None, description="the name of the area it bounds")

    @field_validator("z")
    @classmethod
    def _one_for_each(
        cls, z: tuple[float, ...] | None, info: ValidationInfo
    ) -> tuple[float, ...] | None:
        count = len(info.data.get("at", ()))
        if z is None or not count or len(z) == count:
            return z
        if len(z) != 1:
            raise UnfitError(f"one elevation, or {count}, one for each of its points")
        return z * count


class Ceiling(Along):
    """[[ceiling]]: what the finish must stay below: siding, weep holes, a window well, a vent.

    `z` is the level of its lower edge; the finish stays `clearance` below that, or the limit of
    its kind. Without `area` it bounds every area beside it.
    """

    kind: Literal["siding", "weep holes", "window well", "vent", "other"] = Field(
        description="what it is"
    )
    clearance: Annotated[Distance, at_most(MOST_CLEARANCE)] | None = Field(
        None, description='how far the finish stays below it, such as "6 in"'
    )


FOLLOWED = ("outlet", "swale")
"""Kinds of floor that water may run to, or a pipe be led to."""


class Floor(Along):
    """[[floor]]: what the finish must stay above so that water gets away: lawn, swale, outlet.

    `z` is its level, left out where the existing ground there stays; the finish stays `above`
    over it, or the limit of its kind. Without `area` it bounds every area beside it.
    """

    z: Lengths | None = Field(None, description=ONE_OR_MORE_LEVELS)  # type: ignore[assignment]
    kind: Literal["lawn", "swale", "outlet", "other"] = Field(description="what it is")
    above: Annotated[Distance, at_most(MOST_CLEARANCE)] | None = Field(
        None, description='how far the finish stays above it, such as "1/2 in"'
    )


class Meet(Along):
    """[[meet]]: what the finish must meet flush: a walk, a drive, a slab, a fixed point.

    `kind` says what it is and `base` what it stands on: neither is guessed from its name.
    """

    kind: Literal["driveway", "walk", "slab", "steps", "wall"] | None = Field(
        None, description="what it is"
    )
    base: Name | None = Field(
        None, description='the base system that it stands on, such as "dense"'
    )


class GivenPlane(Table):
    """plane = {...}: a finish plane that is given instead of fitted."""

    at: PointArray = Field(description="a point of the plane as [x, y]")
    z: Length = Field(description="the finish elevation at that point, such as 100.2")
    fall: Fall = Field(description='the fall of the plane, such as "2 %"')
    bearing: Bearing = Field(description="the way water runs, in degrees clockwise from +y")


class LawnEdge(Table):
    """lawn = {...}: how the lawn beside an area is brought to it."""

    edge: Literal["flush", "bevelled", "stepped"] = Field(
        "flush", description="how the lawn meets the paving"
    )
    lip: Annotated[Distance, at_most(MOST_LIP)] = Field(
        INCH / 2, description='how far below the finish it starts, "1/2 in"'
    )
    slope: Fall | None = Field(None, description='the slope it leaves at, such as "10 %"')


class FinishTable(Table):
    """[finish]: what the finish is to be best at, of all that meet every limit."""

    objective: Annotated[
        Literal["least dig and refill", "least earth", "least spoil", "gentlest fall", "elevation"],
        Field(description="what the finish is to be best at"),
    ] = "least dig and refill"
    elevation: Annotated[
        Length | None, Field(description="the level wished for, with the objective of that name")
    ] = None


class Area(Table):
    """[[area]]: one piece of paving on one plane.

    `outline` and `holes` are the edges as written, in metres; `polygon` is the paving itself.
    """

    name: Name = Field(description="the name of the area in quotes")
    use: Literal["patio", "walkway", "front walkway", "driveway"] = Field(
        "patio", description="what the area is used for"
    )
    outline: Outline = Field(
        description="corners as [x, y], and round edges as {arc = [[x, y], [x, y]]}"
    )
    holes: tuple[Outline, ...] = Field(
        (), description="a list of outlines: planting pockets, trees"
    )
    base: Name | None = Field(None, description="the name of a base system")
    grade: Literal["as it lies", "free"] | None = Field(
        None,
        description='"as it lies", near to the lawn, or "free", where the objective puts it',
    )
    plane: GivenPlane | None = Field(
        None, description='a table as {at = [x, y], z = 100.2, fall = "2 %", bearing = 180}'
    )
    accessible: StrictBool = Field(
        False, description="true where the area is an accessible route, else false"
    )
    toward: Bearing | None = Field(
        None, description="the way water should run, in degrees clockwise from +y"
    )

    shape: Literal["plane", "ridge", "valley", "hinge", "fan", "warp"] = Field(
        "plane", description="one plane, or how several meet"
    )
    fold: PointsArray | None = Field(
        None, description="two points of the line that a ridge, valley or hinge runs along"
    )
    corner: PointArray | None = Field(
        None, description="the outside corner of the house that a fan goes round as [x, y]"
    )
    planes: Annotated[int, Field(ge=2, le=6)] = Field(
        2, description="how many planes a fan has, 2 to 6"
    )
    between: tuple[PointsArray, PointsArray] | None = Field(
        None, description="the two edges that a warp is ruled between, as [[[x, y], [x, y]], ...]"
    )

    lawn: LawnEdge | None = Field(
        None, description='a table as {edge = "flush", lip = "1/2 in", slope = "5 %"}'
    )
    pavers: Pavers | None = Field(
        None, description='a table as {length = "8 in", width = "4 in", pattern = "running"}'
    )
    edge: Annotated[EdgeName, EDGE] | None = Field(
        None, description=f"what holds its free edge: one of {EDGES}"
    )
    joint: Annotated[JointName, JOINT] | None = Field(
        None, description=f"what fills its joints: one of {JOINTS}"
    )
    reason: Reason | None = Field(
        None, description="why this base was chosen, in words, where it is not the one advised"
    )

    @field_validator("reason")
    @classmethod
    def _of_a_choice(cls, reason: str | None, info: ValidationInfo) -> str | None:
        if reason is not None and info.data.get("base", "") is None:
            raise UnfitError("a reason beside the `base` that it is for", "Add `base`.")
        return reason

    @field_validator("outline")
    @classmethod
    def _encloses(cls, outline: Any, info: ValidationInfo) -> Any:
        check_size(_checked_polygon(outline, info), unit_of(info))
        return outline

    @field_validator("fold")
    @classmethod
    def _across(cls, fold: Any, info: ValidationInfo) -> Any:
        if fold is not None:
            check_fold(fold, _outline_of(info), unit_of(info))
        return fold

    @field_validator("between")
    @classmethod
    def _face_each_other(cls, between: Any, info: ValidationInfo) -> Any:
        if between is not None:
            check_between(between, _outline_of(info), unit_of(info))
        return between

    @model_validator(mode="after")
    def _shape_uses_them(self) -> Self:
        if self.plane is not None:
            return self  # beside a plane that is given it is told that it changes nothing
        # A table may be built from another's fields: what is as left out was not written.
        defaults = {key: type(self).model_fields[key].default for key in USED_BY}
        for key, shapes in USED_BY.items():
            value = getattr(self, key)
            if self.shape in shapes or value is None or np.array_equal(value, defaults[key]):
                continue
            one_of = " or ".join(f'"{shape}"' for shape in shapes)
            raise UnfitError(
                f"it only beside shape = {one_of}",
                "Write the shape that is meant, or leave it out.",
                found=f'`{key}` of an area whose shape is "{self.shape}"',
                key=key,
            )
        return self

    @field_validator("pavers")
    @classmethod
    def _edges_there_are(cls, pavers: Pavers | None, info: ValidationInfo) -> Pavers | None:
        if pavers is not None and pavers.soldier != "all" and "outline" in info.data:
            most = len(edge_lines(info.data["outline"]))
            for place, edge in enumerate(pavers.soldier):
                if edge > most:
                    expected = f"an edge of the outline, 1 to {most}"
                    raise UnfitError(expected, found=str(edge), key=f"soldier[{place + 1}]")
        return pavers

    @field_validator("holes")
    @classmethod
    def _each_encloses(cls, holes: Any, info: ValidationInfo) -> Any:
        for place, hole in enumerate(holes):
            _checked_polygon(hole, info, f"[{place + 1}]")
        return holes

    @model_validator(mode="after")
    def _check_holes(self, info: ValidationInfo) -> Self:
        outer = outline_polygon(self.outline)
        # Two arcs along the same curve may be cut into chords by different steps.
        reach = outer.buffer(2 * CHORD_TOLERANCE)
        holes = [outline_polygon(hole) for hole in self.holes]
        for place, hole in enumerate(holes):
            key = f"holes[{place + 1}]"
            if not reach.covers(hole):
                outside = area_text(hole.difference(outer).area, unit_of(info))
                raise UnfitError(
                    "a hole inside the outline",
                    "Draw a notch in the edge as part of the outline instead.",
                    found=f"a hole with {outside} of it outside the outline",
                    key=key,
                )
            for other, earlier in enumerate(holes[:place]):
                shared = hole.intersection(earlier).area
                if shared > CHORD_TOLERANCE * hole.length:
                    raise UnfitError(
                        "holes that do not overlap",
                        "Join the two, or move one.",
                        found=f"{area_text(shared, unit_of(info))} shared with holes[{other + 1}]",
                        key=key,
                    )
        if not isinstance(self.polygon, shapely.Polygon) or self.polygon.is_empty:
            raise UnfitError(
                "holes that leave the area in one piece",
                "Write an area for each piece.",
                found="holes that cut the area up",
                key="holes",
            )
        return self

    @cached_property
    def polygon(self) -> shapely.Polygon:
        """The paving: the outline less its holes. [m]"""
        holes = [outline_polygon(hole) for hole in self.holes]
        paving = outline_polygon(self.outline).difference(shapely.union_all(holes))
        # One piece, because the table was checked.
        return paving  # type: ignore[return-value]

    def model_copy(self, *, update: Mapping[str, Any] | None = None, deep: bool = False) -> Self:
        """Return a copy with some keys replaced, and with a polygon of its own."""
        copied = super().model_copy(update=update, deep=deep)
        copied.__dict__.pop("polygon", None)
        return copied


def _outline_of(info: ValidationInfo) -> shapely.Polygon | None:
    """Return the outline's polygon, None where the outline itself is wrong."""
    return outline_polygon(info.data["outline"]) if "outline" in info.data else None


def _checked_polygon(outline: Any, info: ValidationInfo, key: str = "") -> shapely.Polygon:
    """Return the outline's polygon; say what is wrong with it in the file's own numbers."""
    try:
        return outline_polygon(outline)
    except OutlineError as error:
        place = f"[{error.index + 1}]" if error.index is not None else ""
        raise unfit_outline(error, key + place, unit_of(info)) from None
