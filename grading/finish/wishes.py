"""What a site wishes of an area's finish plane, each as bounds on the plane's unknowns."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
import shapely

from grading.catalogue.rules import (
    CLEARANCE_RULES,
    EDGE_RULES,
    Limits,
    comfortable_fall_rule,
    greatest_fall_rule,
)
from grading.finish.layout import Block
from grading.finish.wish import Wish
from grading.geometry.arrays import Floats
from grading.geometry.plane import Plane
from grading.ground.model import Ground
from grading.site.model import Area, Door, Site
from grading.site.walls import Wall
from grading.units import FOOT, Unit, percent, size

NEARBY = 3 * FOOT  # a door or a level farther than this from the paving is not about it


@dataclass(frozen=True)
class _Maker:
    """Makes wishes about one area's finish, as rows on the unknowns of all that are solved."""

    block: Block
    unit: Unit

    @property
    def outline(self) -> shapely.Polygon:
        return self.block.area.polygon

    def make(self, **told: Any) -> Wish:
        """Make a wish of the area, with no rows unless some are given."""
        none = np.zeros(0)
        rows = {"rows": np.zeros((0, self.block.total)), "lower": none, "upper": none}
        return Wish(**{"area": self.block.area.name, "unit": self.unit, **rows, **told})

    def rows(self, at: Floats) -> Floats:
        """Return the rows that give the finish where the paving is nearest to points (k, 2)."""
        points = shapely.points(at)
        nearest = shapely.get_coordinates(shapely.shortest_line(self.outline, points))[::2]
        return self.block.level_rows(nearest)

    def below(self, at: Floats, z: Floats, **told: Any) -> Wish:
        """Bound the finish from above at points. [m]"""
        return self.make(rows=self.rows(at), lower=np.full(len(at), -np.inf), upper=z, **told)

    def above(self, at: Floats, z: Floats, **told: Any) -> Wish:
        """Bound the finish from below at points. [m]"""
        return self.make(rows=self.rows(at), lower=z, upper=np.full(len(at), np.inf), **told)

    def slope(
        self, direction: Floats, least: float, most: float, *,
        facets: tuple[int, ...] | None = None, **told: Any,
    ) -> Wish:  # fmt: skip
        """Bound the fall along a unit vector, on all facets or on some."""
        block = self.block
        facets = block.paved_facets if facets is None else facets
        rows = block.slope_rows(direction, facets)
        lower, upper = np.full(len(rows), least), np.full(len(rows), most)
        return self.make(rows=rows, lower=lower, upper=upper, slope=True, **told)

    def nearby(self, at: Floats, z: Floats) -> tuple[Floats, Floats]:
        """Return the part of a point or a line with levels that lies beside the paving."""
        if len(at) == 1:
            near = self.outline.distance(shapely.Point(at[0])) <= NEARBY
            return (at, z) if near else (at[:0], z[:0])
        line = shapely.LineString(np.column_stack([at, z]))
        part = shapely.intersection(line, self.outline.buffer(NEARBY))
        pieces = shapely.get_coordinates(part)
        along = shapely.line_locate_point(shapely.LineString(at), shapely.points(pieces))
        lengths = np.concatenate([[0], np.hypot(*np.diff(at, axis=0).T).cumsum()])
        return pieces, np.asarray(np.interp(along, lengths, z))


def _fall_wishes(
    maker: _Maker, area: Area, limits: Limits, walls: Sequence[Wall]
) -> Iterator[Wish]:
    least = limits["fall-away"]
    for wall in walls:
        facets = maker.block.facets_before(wall)
        if not facets:
            continue
        yield maker.slope(
            wall.outward,
            least,
            np.inf,
            facets=facets,
            text=f"a fall of {percent(least)} away from {wall.name}",
            complaint=f"fall away from {wall.name}: {{to}} at most, not {percent(least)}",
            rule="fall-away",
            about=wall.name,
            limit=least,
            at_least=True,
        )
    rule = greatest_fall_rule(area.use)
    greatest = limits[rule]
    yield maker.make(
        text=f"a total fall of at most {percent(greatest)}",
        complaint=f"total fall: {{to}} at least, not {percent(greatest)}",
        rule=rule,
        about="",
        limit=greatest,
        at_least=False,
        slope=True,
        discs=maker.block.discs(greatest),
    )
    if area.accessible:
        along = route_direction(maker.outline)
        yield _cross_wish(maker, limits["cross-slope"], along)


def _cross_wish(maker: _Maker, greatest: float, along: Floats) -> Wish:
    return maker.slope(
        np.array([along[1], -along[0]]),
        -greatest,
        greatest,
        text=f"a cross slope of at most {percent(greatest, 2)}",
        complaint=f"cross slope: {{to}} at least, not {percent(greatest, 2)}",
        rule="cross-slope",
        about="",
        limit=greatest,
        at_least=False,
    )


def route_direction(outline: shapely.Polygon) -> Floats:
    """Return the unit vector of travel along a route: the long way of its outline, (2,)."""
    corners = shapely.get_coordinates(shapely.minimum_rotated_rectangle(outline))
    edges = np.diff(corners[:3], axis=0)
    longest = edges[np.hypot(*edges.T).argmax()]
    return np.asarray(longest / np.hypot(*longest))


def _door_wishes(
    maker: _Maker, area: Area, site: Site, limits: Limits, stepped: Mapping[str, float]
) -> Iterator[Wish]:
    for door in site.doors:
        if nearest_area(site, door.at) is not area:
            continue
        least, greatest = step_limits(door, limits)
        at = np.array([door.at], dtype=float)
        yield maker.below(
            at,
            np.array([door.sill - least]),
            text=f"a step of at least {size(least, site.unit)} below the sill of {door.name}",
            complaint=f"sill of {door.name}: {{by}} too low",
            rule="door-step",
            about=door.name,
            limit=least,
            at_least=True,
        )
        if door.name in stepped:
            above = limits["lawn-least"]
            yield maker.above(
                at,
                np.array([stepped[door.name] + above]),
                text=f"{size(above, site.unit)} above the lawn at {door.name}",
                complaint=f"lawn at {door.name}: {{by}} too high",
                rule="lawn-least",
                about=door.name,
                limit=above,
                at_least=True,
            )
            continue
        yield maker.above(
            at,
            np.array([door.sill - greatest]),
            text=f"a step of at most {size(greatest, site.unit)} below the sill of {door.name}",
            complaint=f"sill of {door.name}: {{by}} too high",
            rule="door-step",
            about=door.name,
            limit=greatest,
            at_least=False,
        )


def step_limits(door: Door, limits: Limits, risers: int | None = None) -> tuple[float, float]:
    """Return the least and the greatest that the paving may lie below a sill. [m]

    Of all its steps, each within what one may be: of as many as are asked for, or as are told.
    """
    least, greatest = door.step or limits.pair("door-step")
    risers = risers or door.risers or 1
    return least * risers, greatest * risers


def _along(at: Sequence[Sequence[float]], z: float | Sequence[float]) -> tuple[Floats, Floats]:
    points = np.array(at, dtype=float).reshape(-1, 2)
    return points, np.broadcast_to(np.asarray(z, dtype=float), (len(points),))


def _ceiling_wishes(maker: _Maker, area: Area, site: Site, limits: Limits) -> Iterator[Wish]:
    for ceiling in site.ceilings:
        if ceiling.area not in (None, area.name):
            continue
        at, z = maker.nearby(*_along(ceiling.at, ceiling.z))
        if not len(at):
            continue
        rule = CLEARANCE_RULES[ceiling.kind]
        clearance = limits[rule] if ceiling.clearance is None else ceiling.clearance
        yield maker.below(
            at,
            z - clearance,
            text=f"{size(clearance, site.unit)} clear below {ceiling.name}",
            complaint=f"{ceiling.name}: {{by}} too low",
            rule=rule,
            about=ceiling.name,
            limit=clearance,
            at_least=True,
        )


def _floor_wishes(
    maker: _Maker, area: Area, site: Site, limits: Limits, ground: Ground
) -> Iterator[Wish]:
    for floor in site.floors:
        if floor.area not in (None, area.name):
            continue
        given = np.nan if floor.z is None else floor.z
        at, z = maker.nearby(*_along(floor.at, given))
        if not len(at):
            continue
        if floor.z is None:
            at, z = _on_ground(ground, at)
        rule = EDGE_RULES[floor.kind]
        above = limits[rule] if floor.above is None else floor.above
        yield maker.above(
            at,
            z + above,
            text=f"{size(above, site.unit)} above {floor.name}",
            complaint=f"{floor.name}: {{by}} too high",
            rule=rule,
            about=floor.name,
            limit=above,
            at_least=True,
        )


def _on_ground(ground: Ground, at: Floats) -> tuple[Floats, Floats]:
    """Return a line's points and levels on the existing ground, at every crease crossed."""
    if len(at) > 1:
        section = ground.section(at)
        line = shapely.LineString(at)
        at = shapely.get_coordinates(shapely.line_interpolate_point(line, section[:, 0]))
    z = ground.elevation(at)
    known = np.isfinite(z)
    return at[known], z[known]


def _meet_wishes(maker: _Maker, area: Area, site: Site, limits: Limits) -> Iterator[Wish]:
    for meet in site.meets:
        if meet.area not in (None, area.name):
            continue
        at, z = maker.nearby(*_along(meet.at, meet.z))
        if not len(at):
            continue
        # A plane meets a line that is all but straight along its line of best fit.
        rows = maker.rows(at)
        fitted = rows @ np.linalg.lstsq(rows, z, rcond=None)[0]
        if np.abs(fitted - z).max() <= limits["meeting-gap"]:
            z = fitted
        yield maker.make(
            text=f"meeting {meet.name}",
            complaint=f"{meet.name}: {{by}} off",
            rule="meeting-gap",
            about=meet.name,
            limit=0.0,
            at_least=False,
            rows=rows,
            lower=z,
            upper=z,
        )


def nearest_area(site: Site, at: Sequence[float] | Floats) -> Area | None:
    """Return the area that a point on the plan is about: the nearest within 3 ft, if any."""
    point = shapely.Point(at)
    nearest = min(site.areas, key=lambda area: area.polygon.distance(point))
    return nearest if nearest.polygon.distance(point) <= NEARBY else None


def wishes_of(
    site: Site, block: Block, ground: Ground, walls: Sequence[Wall], stepped: Mapping[str, float]
) -> tuple[Wish, ...]:
    """Return all that a site wishes of an area's finish.

    Parameters
    ----------
    site : Site
    block : Block
        The area, its shape, and its share of the unknowns.
    ground : Ground
        Existing ground, which a lawn with no level of its own stands on.
    walls : sequence of Wall
        The foundation walls in reach.
    stepped : mapping of str to float
        The lawn at each door that gets as many steps as it takes, by the door's name. [m]
    """
    area = block.area
    limits = Limits(site.limits)
    maker = _Maker(block, site.unit)
    return (
        *_fall_wishes(maker, area, limits, walls),
        *_door_wishes(maker, area, site, limits, stepped),
        *_ceiling_wishes(maker, area, site, limits),
        *_floor_wishes(maker, area, site, limits, ground),
        *_meet_wishes(maker, area, site, limits),
    )


def bend_wish(block: Block) -> Wish | None:
    """Return the wish that a ridge sheds and a valley gathers, where the shape has any."""
    bends = block.shape.bends
    if not len(bends):
        return None
    rows = np.zeros((len(bends), block.total))
    rows[:, block.first : block.first + block.shape.unknowns] = bends
    kind = block.area.shape
    return Wish(
        text=f"a {kind} in {block.area.name}",
        complaint=f"{block.area.name}: a {kind} that bends {{by}} the other way",
        rule="fold",
        about=block.area.name,
        limit=0.0,
        at_least=True,
        rows=rows,
        lower=np.zeros(len(bends)),
        upper=np.full(len(bends), np.inf),
        slope=True,
        area=block.area.name,
    )


def shed_wish(block: Block, limits: Limits) -> Wish | None:
    """Return the wish that each plane of a folded area sheds the way its shape says."""
    sheds = block.shape.sheds
    if not sheds:
        return None
    least = limits["least-fall"]
    rows = np.vstack([block.slope_rows(way, (facet,)) for facet, way in sheds])
    kind = block.area.shape
    return Wish(
        text=f"a fall of {percent(least)} on every plane of the {kind}",
        complaint=f"fall on every plane of the {kind}: {{to}} at most, not {percent(least)}",
        rule="least-fall",
        about=kind,
        limit=least,
        at_least=True,
        rows=rows,
        lower=np.full(len(rows), least),
        upper=np.full(len(rows), np.inf),
        slope=True,
        area=block.area.name,
    )


def least_fall_wish(block: Block, limits: Limits, bearing: float) -> Wish:
    """Return the wish for the least fall along a bearing, where no wall says which way."""
    turn = np.radians(bearing)
    least = limits["least-fall"]
    return _Maker(block, "ft").slope(
        np.array([np.sin(turn), np.cos(turn)]),
        least,
        np.inf,
        text=f"a fall of at least {percent(least)}",
        complaint=f"fall: {{to}} at most, not {percent(least)}",
        rule="least-fall",
        about="",
        limit=least,
        at_least=True,
    )


def comfort_wish(block: Block, limits: Limits) -> Wish:
    """Return the wish for a comfortable fall, of an area that lies on grade."""
    rule = comfortable_fall_rule(block.area.use)
    # A site's own limit may be tighter than what is comfortable.
    most = min(limits[rule], limits[greatest_fall_rule(block.area.use)])
    return _Maker(block, "ft").make(
        text=f"a comfortable fall of at most {percent(most)}",
        complaint=f"total fall: {{to}} at least, not a comfortable {percent(most)}",
        rule=rule,
        about="",
        limit=most,
        at_least=False,
        slope=True,
        discs=block.discs(most),
    )


def straight_wish(block: Block, bearing: float) -> Wish:
    """Return the wish that the fall runs straight along a bearing, straying to neither side."""
    turn = np.radians(bearing)
    return _Maker(block, "ft").slope(
        np.array([np.cos(turn), -np.sin(turn)]),
        0.0,
        0.0,
        text=f"a fall straight towards bearing {bearing:g}",
        complaint=f"fall towards bearing {bearing:g}: {{by}} to the side of it",
        rule="straight-fall",
        about="",
        limit=0.0,
        at_least=False,
    )


def given_wish(block: Block, plane: Plane) -> Wish:
    """Return the wish that an area keeps the plane that was given for it."""
    own = np.eye(block.total)[block.first : block.first + block.shape.unknowns]
    wanted = block.unknowns_of(plane)
    return Wish(
        text=f"the plane given for {block.area.name}",
        complaint=f"the plane given for {block.area.name}: {{by}} off",
        rule="given-plane",
        about=block.area.name,
        limit=0.0,
        at_least=False,
        rows=own,
        lower=wanted,
        upper=wanted,
        area=block.area.name,
    )
