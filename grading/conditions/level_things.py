"""Level things where the finish falls: corner by corner, end by end, and from a sill down.

The sand under each corner of what stands on bedding, and what masonry that stands on the pavers
loses of its lowest course there instead; how much of a wall shows at either end, and in how many
courses; and into how many risers steps at a door part its sill's height over the finish.
"""

from __future__ import annotations

import numpy as np
import shapely
from msgspec import Struct

from grading.conditions.features import area_under, course_of
from grading.conditions.seats import Seat
from grading.design.area import AreaPlan
from grading.design.door_steps import BESIDE
from grading.design.model import Design
from grading.design.points import corners_of
from grading.design.underfoot import level_at
from grading.geometry.arrays import Floats
from grading.geometry.tolerances import ROUNDING, WHOLE, whole_down, whole_up
from grading.site.model import Door

MASONRY = ("gas fire feature", "wood fire", "seat wall")
"""Kinds of which the lowest course may be cut to the fall instead: common practice, no source."""

_MOST_CORNERS = 12


class Corner(Struct, frozen=True, eq=False):
    """One corner of a level thing, or a side of a round one.

    Attributes
    ----------
    name : str
        "corner 1", clockwise from the highest; of what is round "the high side" and so on.
    at : (2,) float
        [m]
    where : str
        The same in words that a tape follows.
    finish : float
        Its level there. [m]
    sand : float or None
        Bedding under it, on what carries the pavers; None on a base of its own. [m]
    lost : float or None
        What its lowest course loses there where it stands on the pavers instead; None where that
        is no way to build it. [m]
    base_below : float or None
        How far the top of its own base lies below the finish; None on bedding, or where how deep
        it goes is not known. [m]
    shows : float or None
        Its top above the finish; None where its height is not given. [m]
    """

    name: str
    at: Floats
    where: str
    finish: float
    sand: float | None
    lost: float | None
    base_below: float | None
    shows: float | None


class Courses(Struct, frozen=True):
    """Courses that show: whole ones, and the part of one more that shows. [m]"""

    whole: int
    part: float


class End(Struct, frozen=True, eq=False):
    """One end of a wall: where, how much of it shows there [m], and in courses."""

    where: str
    shows: float
    courses: Courses | None


class Risers(Struct, frozen=True, eq=False):
    """How steps at a door go down, from its sill to the finish at their foot.

    Attributes
    ----------
    door : Door
    drop : float
        The sill above the finish at the foot of the steps. [m]
    count : int
        Risers, the one onto the sill too.
    each : float
        Height of each where they are alike. [m]
    last : float or None
        The one onto the sill, from the top of the steps as high as they are given; None where
        their height is not. [m]
    limit : (float, float)
        Least and greatest riser. [m]
    alike : float
        How far risers may differ. [m]
    height : float
        How high the steps stand over the finish at their high edge where risers are alike. [m]
    """

    door: Door
    drop: float
    count: int
    each: float
    last: float | None
    limit: tuple[float, float]
    alike: float
    height: float

    @property
    def fits(self) -> bool | None:
        """Whether the risers are alike and within their limits; None where not known."""
        least, greatest = self.limit
        if self.last is None:
            return None
        near = abs(self.last - self.each) <= self.alike + ROUNDING
        return near and least - ROUNDING <= self.each <= greatest + ROUNDING


class LevelThing(Struct, frozen=True, eq=False):
    """A level thing on a fall, as it is set out.

    Attributes
    ----------
    seat : Seat
    top : float or None
        Level of its top: its height over the highest finish under it. [m]
    corners : tuple of Corner
    line : float
        Length of the line along it that pavers are cut to. [m]
    course : float or None
        Height of a course; None where neither the site nor its kind says. [m]
    laid : int or None
        Courses from the top of its own base to its top, rounded up; None on bedding.
    spare : float
        By how much they are more than it takes: its base would lie so much deeper for them to be
        whole. [m]
    ends : tuple of End
        The high one first; empty of what is no wall, or where its height is not given.
    risers : Risers or None
        Of steps at a door.
    """

    seat: Seat
    top: float | None
    corners: tuple[Corner, ...]
    line: float
    course: float | None
    laid: int | None
    spare: float
    ends: tuple[End, ...]
    risers: Risers | None


def level_things(plan: Design, seats: tuple[Seat, ...]) -> tuple[LevelThing, ...]:
    """Return how each thing is set out.

    Parameters
    ----------
    plan : Design
    seats : tuple of Seat
        Of that plan.
    """
    found = []
    for seat in seats:
        area = area_under(plan, seat.feature)
        if area is not None:
            found.append(_level_thing(plan, area, seat))
    return tuple(found)


def _level_thing(plan: Design, area: AreaPlan, seat: Seat) -> LevelThing:
    polygon, height = seat.feature.polygon, seat.feature.height
    ring = shapely.get_coordinates(polygon)
    highest = float(level_at(area, ring).max())
    top = None if height is None else highest + height
    course = course_of(seat.feature, plan.site.nominal)
    laid, spare = None, 0.0
    if course is not None and top is not None and seat.stands == "own base" and seat.own_base:
        tall = top - seat.own_base.top
        laid = whole_up(tall / course, WHOLE)
        spare = max(laid * course - tall, 0.0)
    return LevelThing(
        seat=seat,
        top=top,
        corners=_corners(plan, area, seat, top),
        line=float(shapely.length(shapely.intersection(polygon.boundary, area.outline))),
        course=course,
        laid=laid,
        spare=spare if spare > WHOLE * (course or 0.0) else 0.0,
        ends=_ends(plan, area, seat, top, course),
        risers=_risers(plan, area, seat),
    )


def _corners(plan: Design, area: AreaPlan, seat: Seat, top: float | None) -> tuple[Corner, ...]:
    named = _named(area, seat)
    levels = level_at(area, np.array([at for _, at in named]))
    ring = level_at(area, shapely.get_coordinates(seat.feature.polygon))
    highest, lowest = float(ring.max()), float(ring.min())
    on_bedding = seat.stands == "bedding"
    masonry = on_bedding and seat.feature.kind in MASONRY
    base = None if on_bedding or seat.own_base is None else seat.own_base.top
    return tuple(
        Corner(
            name=name,
            at=at,
            where=plan.places.at(at),
            finish=z,
            sand=highest + seat.feature.bedding - z if on_bedding else None,
            lost=z - lowest if masonry else None,
            base_below=None if base is None else z - base,
            shows=None if top is None else top - z,
        )
        for (name, at), z in zip(named, levels.tolist(), strict=True)
    )


def _named(area: AreaPlan, seat: Seat) -> list[tuple[str, Floats]]:
    """Return the corners of a thing by name, or the four sides of what is round. [m]"""
    feature = seat.feature
    if feature.size is not None and len(feature.size) == 1 and feature.at is not None:
        surface, middle = area.finish.surface, np.asarray(feature.at, dtype=float)
        plane = surface.planes[int(surface.facet_at(middle[None])[0])]
        down = np.asarray(plane.downhill, float) if plane.fall > ROUNDING else np.array([0.0, -1])
        left = np.array([-down[1], down[0]])
        out = feature.size[0] / 2
        # Left and right of one who looks down the fall.
        ways = (("the high side", -down), ("the right side", -left),
                ("the low side", down), ("the left side", left))  # fmt: skip
        return [(name, middle + way * out) for name, way in ways]
    points = np.array([at for at, _ in corners_of(feature.polygon, _MOST_CORNERS)])[::-1]
    # Of two that are as high the first of the outline, whatever rounding makes of them.
    first = int(np.argmax(np.round(level_at(area, points), 9)))
    turned = np.roll(points, -first, axis=0)
    return [(f"corner {number}", at) for number, at in enumerate(turned, start=1)]


def _ends(
    plan: Design, area: AreaPlan, seat: Seat, top: float | None, course: float | None
) -> tuple[End, ...]:
    """Return both ends of a wall, where it ends in the middle of its short sides."""
    feature = seat.feature
    if feature.kind != "seat wall" or top is None:
        return ()
    if feature.size is not None and len(feature.size) == 2 and feature.at is not None:
        turn = np.radians(feature.bearing)
        way = np.array([np.sin(turn), np.cos(turn)]) * feature.size[0] / 2
        if feature.size[1] > feature.size[0]:
            way = np.array([np.cos(turn), -np.sin(turn)]) * feature.size[1] / 2
        places = np.array([feature.at - way, feature.at + way])
    else:
        corners = np.array([at for at, _ in corners_of(feature.polygon, _MOST_CORNERS)])
        levels = level_at(area, corners)
        places = corners[[int(np.argmax(levels)), int(np.argmin(levels))]]
    levels = level_at(area, places)
    order = np.argsort(-np.round(levels, 9), kind="stable")
    return tuple(
        End(plan.places.at(places[k]), shows, None if course is None else courses(shows, course))
        for k in order
        for shows in (top - float(levels[k]),)
    )


def courses(shows: float, course: float) -> Courses:
    """Return how many courses show, and how much of one more.

    Parameters
    ----------
    shows : float
        Height that shows. [m]
    course : float
        Height of a course. [m]
    """
    whole = whole_down(shows / course, WHOLE)
    part = shows - whole * course
    return Courses(whole, part if part > WHOLE * course else 0.0)


def _risers(plan: Design, area: AreaPlan, seat: Seat) -> Risers | None:
    """Return how steps go down from the nearest door beside them."""
    feature = seat.feature
    if feature.kind != "steps":
        return None
    near = [
        (float(shapely.distance(feature.polygon, shapely.Point(door.at))), k)
        for k, door in enumerate(plan.site.doors)
    ]
    reached = [(far, k) for far, k in near if far <= BESIDE]
    if not reached:
        return None
    door, limits = plan.site.doors[min(reached)[1]], plan.limits
    levels = level_at(area, shapely.get_coordinates(feature.polygon))
    foot, head = float(levels.min()), float(levels.max())
    drop = float(door.sill) - foot
    least, greatest = limits.pair("riser")
    if drop <= ROUNDING:
        return None
    count = max(whole_up(drop / greatest), 1)
    each = drop / count
    last = None if feature.height is None else float(door.sill) - (head + feature.height)
    return Risers(
        door, drop, count, each, last, (least, greatest), limits["door-steps"],
        float(door.sill) - each - head,
    )  # fmt: skip
