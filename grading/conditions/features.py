"""Level things on a sloping finish: the wedge under each, or the base of its own.

A thing that is level stands on a wedge of bedding, as thick at its low edge as the finish falls
over its length. Where that is too thick it is cut out of the paving and stands on a level base.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from functools import cache
from typing import Literal

import numpy as np
import shapely
import shapely.affinity
from msgspec import Struct
from shapely.geometry.base import BaseGeometry

from grading.catalogue.tables import table
from grading.design.area import AreaPlan
from grading.design.model import Design
from grading.design.underfoot import areas_of, dug_under, flat, level_at, triangles
from grading.dig.hole import Dig
from grading.geometry.tolerances import REACH, ROUNDING, whole_up
from grading.site.model import Feature
from grading.units import Unit, built_size, read_length


class Footing(Struct, frozen=True):
    """What a kind of thing has for a base of its own, lengths in m; `own` where it must.

    `course` is the height of one, None where it is not laid in courses.
    """

    base: float | None
    spread: float
    bury: float
    share: float
    own: bool
    course: float | None
    source: str


@cache
def footings(nominal: Unit = "ft") -> Mapping[str, Footing]:
    """Return the base that each kind of thing has of its own.

    Parameters
    ----------
    nominal : "ft" or "m"
        What sizes that nobody wrote are round in.
    """

    def built(written: str) -> float:
        given = read_length(written, "m")
        return built_size(written, given) if nominal == "m" else given

    return {
        kind: Footing(
            base=built(entry["base"]) if "base" in entry else None,
            spread=built(entry["spread"]),
            bury=built(entry.get("bury", "0 m")),
            share=float(entry.get("share", 0)),
            own=bool(entry.get("own", False)),
            course=built(entry["course"]) if "course" in entry else None,
            source=entry["source"],
        )
        for kind, entry in table("conditions", "features").items()
    }


class Wedge(Struct, frozen=True):
    """The bedding under a level thing: least and greatest thickness [m], and volume [m3]."""

    least: float
    greatest: float
    volume: float


class OwnBase(Struct, frozen=True):
    """A level base of a thing's own.

    Attributes
    ----------
    pad : shapely geometry
        What it covers. [m]
    top, bottom : float
        Levels. [m]
    cut_out : float
        The paving's panels or stone left out for it. [m2]
    excavation : float
        Dug below the area's own dig, in the bank. [m3]
    stone : float
        Compacted base, or concrete of a footing. [m3]
    """

    pad: BaseGeometry
    top: float
    bottom: float
    cut_out: float
    excavation: float
    stone: float


def base_material(feature: Feature) -> Literal["dense-graded", "concrete"]:
    """Return what a thing's own base is of: what its kind gives no thickness for is a footing."""
    return "concrete" if footings()[feature.kind].base is None else "dense-graded"


def too_high(height: float, limit: float) -> bool:
    """Return whether a height is more than what is allowed, which itself is allowed. [m]"""
    return height > limit + ROUNDING


def course_of(feature: Feature, nominal: Unit = "ft") -> float | None:
    """Return the height of a course of a thing, None where it is not laid in courses. [m]"""
    return feature.course or footings(nominal)[feature.kind].course


def wedge_under(plan: AreaPlan, polygon: shapely.Polygon, least: float) -> Wedge:
    """Return the wedge of bedding under a level thing.

    Parameters
    ----------
    plan : AreaPlan
    polygon : shapely polygon
        What the thing covers. [m]
    least : float
        Bedding under its highest edge. [m]

    Notes
    -----
    The thickness is linear where the finish is a plane: greatest less least is the fall times
    the length along it, and the volume is exact.
    """
    corners = triangles(polygon)
    levels = level_at(plan, corners.reshape(-1, 2)).reshape(-1, 3)
    thickness = levels.max() + least - levels
    volume = float(areas_of(corners) @ thickness.mean(axis=1))
    return Wedge(float(thickness.min()), float(thickness.max()), volume)


def base_thickness(plan: Design, feature: Feature) -> float | None:
    """Return how thick a thing's own base is, or how deep its footing. [m]

    None where neither the site, its kind nor the frost code says.
    """
    thickness = feature.base or footings(plan.site.nominal)[feature.kind].base
    if thickness is None and plan.site.frost is not None:
        return plan.site.frost.code
    return thickness


def pad_of(plan: Design, feature: Feature) -> BaseGeometry | None:
    """Return what a thing's own base covers, None where how deep it goes is not known. [m]"""
    thickness, spread = (
        base_thickness(plan, feature),
        footings(plan.site.nominal)[feature.kind].spread,
    )
    if thickness is None:
        return None
    pad: BaseGeometry = shapely.buffer(feature.polygon, spread, join_style="mitre")
    if plan.site.house is not None:
        pad = pad.difference(plan.site.house.polygon(spread + thickness))
    return pad


def own_base_of(plan: Design, area: AreaPlan, feature: Feature, dig: Dig) -> OwnBase | None:
    """Return a thing's own level base on an area dug for one base system.

    None where how deep it goes is given by neither the site nor its frost code.

    Parameters
    ----------
    plan : Design
    area : AreaPlan
        The area that it stands on.
    feature : Feature
    dig : Dig
        One of the area's.
    """
    footing = footings(plan.site.nominal)[feature.kind]
    thickness, pad = base_thickness(plan, feature), pad_of(plan, feature)
    if thickness is None or pad is None:
        return None
    levels = level_at(area, triangles(feature.polygon).reshape(-1, 2))
    top = float(levels.min()) - max(footing.bury, footing.share * (feature.height or 0.0))
    if feature.course is not None and feature.height is not None:
        # A whole number of courses from its base to its top.
        head = float(levels.max()) + feature.height
        top = head - whole_up((head - top) / feature.course) * feature.course
    bottom = top - thickness
    ground = plan.ground.under(area.name)
    ground = ground.reaching(pad, ground.beyond_survey(pad)[0] + REACH)
    excavation = dug_under(ground, area, dig, pad, flat(bottom)).bank
    cut_out = float(shapely.intersection(pad, dig.polygon).area)
    return OwnBase(pad, top, bottom, cut_out, excavation, float(shapely.area(pad)) * thickness)


def things_on(plan: Design, area: AreaPlan) -> Iterator[Feature]:
    """Give each thing that stands on an area."""
    for feature in plan.site.features:
        under = area_under(plan, feature)
        if under is not None and under.area.name == area.area.name:
            yield feature


def area_under(plan: Design, feature: Feature) -> AreaPlan | None:
    """Return the area that a thing stands on: the one named, or the one under most of it."""
    named = [area for area in plan.areas if area.name == feature.area]
    if named:
        return named[0]
    shared = [float(area.outline.intersection(feature.polygon).area) for area in plan.areas]
    most = int(np.argmax(shared)) if shared else 0
    return plan.areas[most] if shared and shared[most] > 0 else None
