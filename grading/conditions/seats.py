"""How each thing stands on its area: on bedding or on a base of its own, why, and in words."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Literal

import shapely
import shapely.affinity
from msgspec import Struct

from grading.catalogue.bases import BaseSystem
from grading.catalogue.rules import Limits
from grading.conditions.features import (
    OwnBase,
    Wedge,
    area_under,
    base_material,
    footings,
    own_base_of,
    too_high,
    wedge_under,
)
from grading.design.area import AreaPlan
from grading.design.model import Design
from grading.geometry.arrays import polygons
from grading.geometry.tolerances import ROUNDING
from grading.site.model import Feature
from grading.units import Unit, nominals, size

Stands = Literal["bedding", "own base"]
Why = Literal["kind", "fire", "height", "wedge"]

HELD_TO_HEIGHT = ("seat wall", "steps")
FIRES = ("gas fire feature", "wood fire")

_LOOKED_AT = 0.05  # m: how often the outline of what overhangs is looked at
_NEAR = 0.01  # m: how near the middle of what overhangs is found


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
    beyond = polygons(shapely.difference(polygon, paving), 0.0)
    # Over a hole the farthest place may be amid a side, or amid the hole.
    middles = [shapely.maximum_inscribed_circle(part, _NEAR) for part in beyond.geoms]
    places = shapely.get_coordinates([shapely.segmentize(beyond, _LOOKED_AT), *middles])
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


def stands_words(seat: Seat) -> str:
    """Say what a thing stands on and whether that was given: "on bedding, as the site says".

    Parameters
    ----------
    seat : Seat
    """
    what = "a base of its own" if seat.stands == "own base" else "bedding"
    if not seat.given:
        return f"on {what}, as advised, for the site does not say"
    if seat.stands == seat.advised:
        return f"on {what}, as the site says"
    other = "bedding would do" if seat.advised == "bedding" else "a base of its own is advised"
    return f"on {what}, as the site says, where {other}"


def why_words(seat: Seat, unit: Unit) -> str:
    """Say what asks for a base of its own under a thing, or that its wedge allows bedding.

    Parameters
    ----------
    seat : Seat
    unit : "ft" or "m"
    """
    thick, limit = size(seat.wedge.greatest, unit), size(seat.limit, unit)
    if not seat.why:
        return f"its wedge of bedding is up to {thick} thick, within the {limit} allowed"
    said = {
        "kind": f"a {seat.feature.kind} asks for one, whatever the wedge",
        "fire": "it burns wood, and panels are plastic",
        "wedge": f"on bedding its wedge would be up to {thick}, more than the {limit} allowed",
    }
    if seat.feature.height is not None and seat.height_limit is not None:
        high, most = size(seat.feature.height, unit), size(seat.height_limit, unit)
        said["height"] = f"it is {high} high, on panels at most {most}"
    return "; ".join(said[each] for each in seat.why)
