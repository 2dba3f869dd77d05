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

from grading.catalogue.bases import BaseSystem
from grading.catalogue.rules import Limits
from grading.catalogue.tables import table
from grading.design.area import AreaPlan
from grading.design.model import Design
from grading.design.underfoot import areas_of, dug_under, level_at, triangles
from grading.dig.hole import Dig
from grading.geometry.tolerances import ROUNDING, whole_up
from grading.site.model import Feature
from grading.units import Unit, built_size, nominals, read_length

Stands = Literal["bedding", "own base"]
Why = Literal["kind", "fire", "height", "wedge"]

HELD_TO_HEIGHT = ("seat wall", "steps")
FIRES = ("gas fire feature", "wood fire")

_LOOKED_AT = 0.05  # m: how often the outline of what overhangs is looked at
_REACH = 0.01  # m: beyond what must be covered, so that rounding leaves nothing out


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


class Seat(Struct, frozen=True, eq=False):
    """How a thing stands on an area of paving.

    Attributes
    ----------
    feature : Feature
    area : str
    base : str
        The base system that the area is built on.
    on_panels : bool
    stands : "bedding" or "own base"
        What it is planned, drawn and ordered on: as given, else as advised.
    given : bool
        Whether the site says what it stands on.
    advised : "bedding" or "own base"
        What its wedge, its height and the panels allow.
    why : tuple of "kind", "fire", "height", "wedge"
        What asks for a base of its own; empty where bedding is advised.
    fall : float
        How far the finish falls under it. [m]
    wedge : Wedge
    limit : float
        The thickest wedge allowed. [m]
    height_limit : float or None
        The greatest height on panels, where one applies. [m]
    own_base : OwnBase or None
        None where the depth of its footing is given by neither the site nor its frost code.
    to_house : float or None
        Distance to the foundation; None without a house. [m]
    source : str
        Of what its own base is made to.
    overhang : float
        How far it reaches past the paving of its area, holes in it included; 0 where it does
        not. [m]
    off_paving : float
        The share of it that lies on no paving at all. [ratio]
    turned : bool
        Whether it would lie wholly on the paving, turned a quarter about its middle.
    """

    feature: Feature
    area: str
    base: str
    on_panels: bool
    stands: Stands
    given: bool
    advised: Stands
    why: tuple[Why, ...]
    fall: float
    wedge: Wedge
    limit: float
    height_limit: float | None
    own_base: OwnBase | None
    to_house: float | None
    source: str
    overhang: float
    off_paving: float
    turned: bool

    @property
    def name(self) -> str:
        """What the site calls it."""
        return self.feature.name or self.feature.kind

    @property
    def settled(self) -> bool:
        """Whether it stands on a base of its own whatever the paving around it is built on."""
        own = footings()[self.feature.kind].own
        return self.stands == "own base" if self.given else own

    @property
    def base_material(self) -> Literal["dense-graded", "concrete"]:
        """What its own base is of: what its kind gives no thickness for is a footing."""
        return base_material(self.feature)

    @property
    def too_thick(self) -> bool:
        """Whether the wedge is thicker than allowed."""
        return self.wedge.greatest > self.limit + ROUNDING

    @property
    def too_high(self) -> bool | None:
        """Whether it is higher than panels may carry; None where its height is not given."""
        if self.height_limit is None:
            return False
        height = self.feature.height
        return None if height is None else too_high(height, self.height_limit)


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
    ground = ground.reaching(pad, ground.beyond_survey(pad)[0] + _REACH)
    excavation = dug_under(ground, area, dig, pad, lambda xy: np.full(len(xy), bottom)).bank
    cut_out = float(shapely.intersection(pad, dig.polygon).area)
    return OwnBase(pad, top, bottom, cut_out, excavation, float(shapely.area(pad)) * thickness)


def _height_limit(kind: str, system: BaseSystem, limits: Limits) -> float | None:
    held = kind in HELD_TO_HEIGHT and system.on_panels
    return limits["panel-feature-height"] if held else None


def _asks(feature: Feature, system: BaseSystem, wedge: Wedge, limits: Limits) -> Iterator[Why]:
    """Give what asks for a base of its own under a thing, on paving of one base system."""
    if footings()[feature.kind].own:
        yield "kind"
    if feature.kind == "wood fire" and system.on_panels:
        yield "fire"
    high = _height_limit(feature.kind, system, limits)
    if high is not None and too_high(feature.height or 0.0, high):
        yield "height"
    if wedge.greatest > limits["feature-wedge"] + ROUNDING:
        yield "wedge"


def stands_on(plan: Design, area: AreaPlan, feature: Feature, base: str) -> Stands:
    """Return what a thing stands on where its area is built on a base system.

    As the site gives it; else a base of its own where the rules ask for one on that system, and
    bedding where they do not.

    Parameters
    ----------
    plan : Design
    area : AreaPlan
        The area that it stands on.
    feature : Feature
    base : str
        Name of one of the area's base systems.
    """
    if feature.stands is not None:
        return feature.stands
    wedge, limits = wedge_under(area, feature.polygon, feature.bedding), plan.limits
    asked = any(_asks(feature, area.digs[base].system, wedge, limits))
    return "own base" if asked else "bedding"


def seat(plan: Design, area: AreaPlan, feature: Feature) -> Seat:
    """Return how a thing stands on an area.

    Parameters
    ----------
    plan : Design
    area : AreaPlan
        The area that it stands on.
    feature : Feature
    """
    limits, kind = plan.limits, feature.kind
    system, house = area.chosen_dig.system, plan.site.house
    wedge = wedge_under(area, feature.polygon, feature.bedding)
    why = tuple(_asks(feature, system, wedge, limits))
    return Seat(
        feature=feature,
        area=area.name,
        base=area.chosen,
        on_panels=system.on_panels,
        stands=stands_on(plan, area, feature, area.chosen),
        given=feature.stands is not None,
        advised="own base" if why else "bedding",
        why=why,
        fall=wedge.greatest - wedge.least,
        wedge=wedge,
        limit=limits["feature-wedge"],
        height_limit=_height_limit(kind, system, limits),
        own_base=own_base_of(plan, area, feature, area.chosen_dig),
        to_house=None
        if house is None
        else float(shapely.LineString(house.walls).distance(feature.polygon)),
        source=nominals(footings()[kind].source, plan.site.unit),
        overhang=_past(area.outline, feature.polygon),
        off_paving=_off(plan, feature.polygon),
        turned=_fits_turned(area.outline, feature.polygon, limits["feature-overhang"]),
    )


def _off(plan: Design, polygon: shapely.Polygon) -> float:
    """Return the share of a thing that lies on no paving of any area. [ratio]"""
    paving = shapely.union_all([area.outline for area in plan.areas])
    return float(shapely.area(shapely.difference(polygon, paving)) / polygon.area)


def _past(paving: shapely.Polygon, polygon: shapely.Geometry) -> float:
    """Return how far a thing reaches past the edge of paving, 0 where it lies on it. [m]"""
    beyond = [
        part
        for part in shapely.get_parts(shapely.difference(polygon, paving))
        if isinstance(part, shapely.Polygon) and part.area > 0
    ]
    # Over a hole the farthest place may be amid a side, or amid the hole.
    middles = [shapely.maximum_inscribed_circle(part, _REACH) for part in beyond]
    places = shapely.get_coordinates([*shapely.segmentize(beyond, _LOOKED_AT), *middles])
    return float(shapely.distance(paving, shapely.points(places)).max(initial=0.0))


def _fits_turned(paving: shapely.Polygon, polygon: shapely.Polygon, limit: float) -> bool:
    middle = polygon.centroid
    if _past(paving, polygon) <= limit:
        return False
    turned = shapely.affinity.rotate(polygon, 90.0, origin=middle)
    return _past(paving, turned) <= limit


def seats_of(plan: Design) -> Iterator[Seat]:
    """Give how each thing stands that has an area under it."""
    for feature in plan.site.features:
        area = area_under(plan, feature)
        if area is not None:
            yield seat(plan, area, feature)


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
