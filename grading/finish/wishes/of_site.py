"""What a site wishes of an area's finish plane, each as bounds on the plane's unknowns."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from typing import Any, TypeVar

import numpy as np
import shapely
from msgspec import Struct
from msgspec.structs import replace

from grading.catalogue.rules import CLEARANCE_RULES, EDGE_RULES, Limits, greatest_fall_rule
from grading.finish.layout import Block
from grading.finish.wishes.model import Wish, wish_of
from grading.geometry.arrays import Floats, distances_along
from grading.geometry.tolerances import TOGETHER
from grading.ground.model import Ground
from grading.site.model import Area, Ceiling, Door, Floor, Meet, Site
from grading.site.walls import Wall
from grading.units import FOOT, Unit, percent, size

L = TypeVar("L", Ceiling, Floor, Meet)

NEARBY = 3 * FOOT  # a door or a level farther than this from the paving is not about it


class Maker(Struct, frozen=True):
    """Makes wishes about one area's finish, as rows on the unknowns of all that are solved."""

    block: Block
    unit: Unit = "ft"

    @property
    def outline(self) -> shapely.Polygon:
        """The paving. [m]"""
        return self.block.area.polygon

    def make(
        self, rule: str, text: str, complaint: str, rows: Floats | None = None, **told: Any
    ) -> Wish:
        """Make a wish of the area, with no rows unless some are given: see `wish_of`."""
        rows = np.zeros((0, self.block.total)) if rows is None else rows
        area = self.block.area.name
        return wish_of(rule, text, complaint, rows, area=area, unit=self.unit, **told)

    def rows(self, at: Floats) -> Floats:
        """Return the rows that give the finish where the paving is nearest to points (k, 2)."""
        points = shapely.points(at)
        nearest = shapely.get_coordinates(shapely.shortest_line(self.outline, points))[::2]
        return self.block.level_rows(nearest)

    def fall(
        self, rule: str, text: str, complaint: str, direction: Floats,
        facets: tuple[int, ...] | None = None, **told: Any,
    ) -> Wish:  # fmt: skip
        """Bound the fall along a unit vector, on all facets or on some."""
        rows = self.block.slope_rows(
            direction, self.block.paved_facets if facets is None else facets
        )
        return self.make(rule, text, complaint, rows, slope=True, **told)

    def beside(self, lines: Iterable[L]) -> Iterator[tuple[L, Floats, Floats]]:
        """Yield each line that may be about the area, and its points and levels beside it."""
        for line in lines:
            if line.area in (None, self.block.area.name):
                points = np.array(line.at, dtype=float).reshape(-1, 2)
                z = np.asarray(np.nan if line.z is None else line.z, dtype=float)
                at, z = self.nearby(points, np.broadcast_to(z, (len(points),)))
                if len(at):
                    yield line, at, z

    def nearby(self, at: Floats, z: Floats) -> tuple[Floats, Floats]:
        """Return the part of a point or a line with levels that lies beside the paving.

        A line may go on past an end of the paving: what lies nearest to its corner counts there,
        and no level from farther on.
        """
        if len(at) == 1:
            near = self.outline.distance(shapely.Point(at[0])) <= NEARBY
            return (at, z) if near else (at[:0], z[:0])
        line = shapely.LineString(np.column_stack([at, z]))
        part = shapely.intersection(line, self.outline.buffer(NEARBY))
        pieces = shapely.get_coordinates(part)
        flat, points = shapely.LineString(at), shapely.points(pieces)
        nearest = shapely.points(
            shapely.get_coordinates(shapely.shortest_line(self.outline, points))[::2]
        )
        along = np.asarray(shapely.line_locate_point(flat, points))
        foot = np.asarray(shapely.line_locate_point(flat, nearest))
        past = shapely.distance(shapely.line_interpolate_point(flat, foot), points) > TOGETHER
        if past.any():
            pieces[past] = shapely.get_coordinates(shapely.line_interpolate_point(flat, foot[past]))
            along[past] = foot[past]
            order = np.argsort(along, kind="stable")
            order = order[np.diff(along[order], prepend=-np.inf) > TOGETHER]
            pieces, along = pieces[order], along[order]
        return pieces, np.asarray(np.interp(along, distances_along(at), z))


def _fall_wishes(maker: Maker, area: Area, limits: Limits, walls: Sequence[Wall]) -> Iterator[Wish]:
    least, rule = limits["fall-away"], greatest_fall_rule(area.use)
    for wall in walls:
        facets = maker.block.facets_before(wall)
        if facets:
            text = f"a fall of {percent(least)} away from {wall.name}"
            told = f"fall away from {wall.name}: {{to}} at most, not {percent(least)}"
            yield maker.fall(
                "fall-away", text, told, wall.outward, facets, lower=least, about=wall.name,
                limit=least, at_least=True,
            )  # fmt: skip
    greatest = limits[rule]
    text = f"a total fall of at most {percent(greatest)}"
    told = f"total fall: {{to}} at least, not {percent(greatest)}"
    discs = maker.block.discs(greatest)
    yield maker.make(rule, text, told, limit=greatest, slope=True, discs=discs)
    if area.accessible:
        most, along = limits["cross-slope"], route_direction(maker.outline)
        text = f"a cross slope of at most {percent(most, 2)}"
        told = f"cross slope: {{to}} at least, not {percent(most, 2)}"
        across = np.array([along[1], -along[0]])
        yield maker.fall("cross-slope", text, told, across, lower=-most, upper=most, limit=most)


def route_direction(outline: shapely.Polygon) -> Floats:
    """Return the unit vector of travel along a route: the long way of its outline, (2,)."""
    corners = shapely.get_coordinates(shapely.minimum_rotated_rectangle(outline))
    edges = np.diff(corners[:3], axis=0)
    longest = edges[np.hypot(*edges.T).argmax()]
    return np.asarray(longest / np.hypot(*longest))


class AtDoor(Struct, frozen=True):
    """What is wished at a door, told from its sill.

    Attributes
    ----------
    number : int
        Its place on the site.
    below, above : Wish
        A step of at least so much, and of at most so much, were its sill at nought.
    lawn : Wish
        In place of the latter where it has as many steps as it takes: so much above the lawn at it,
        were that at nought.
    """

    number: int
    below: Wish
    above: Wish
    lawn: Wish


def _at_door(maker: Maker, number: int, door: Door, limits: Limits) -> AtDoor:
    least, greatest = step_limits(door, limits)
    above, unit = limits["lawn-least"], maker.unit
    name, rows = door.name, maker.rows(np.array([door.at], dtype=float))
    return AtDoor(
        number,
        maker.make(
            "door-step", f"a step of at least {size(least, unit)} below the sill of {name}",
            f"sill of {name}: {{by}} too low", rows, upper=-least, about=name, limit=least,
            at_least=True,
        ),
        maker.make(
            "door-step", f"a step of at most {size(greatest, unit)} below the sill of {name}",
            f"sill of {name}: {{by}} too high", rows, lower=-greatest, about=name, limit=greatest,
        ),
        maker.make(
            "lawn-least", f"{size(above, unit)} above the lawn at {name}",
            f"lawn at {name}: {{by}} too high", rows, lower=above, about=name, limit=above,
            at_least=True,
        ),
    )  # fmt: skip


def step_limits(door: Door, limits: Limits, risers: int | None = None) -> tuple[float, float]:
    """Return the least and the greatest that the paving may lie below a sill. [m]

    Of all its steps, each within what one may be: of as many as are asked for, or as are told. Of
    several that are asked for none is lower than a riser may be.
    """
    least, greatest = door.step or limits.pair("door-step")
    risers = risers or door.risers or 1
    if door.step is None and 1 < risers == door.risers:
        least = limits.pair("step-risers")[0]
    return least * risers, greatest * risers


def _level_wishes(maker: Maker, site: Site, limits: Limits, ground: Ground) -> Iterator[Wish]:
    """Yield what is wished of the finish beside what lies above it, below it, and at its level."""
    for ceiling, at, z in maker.beside(site.ceilings):
        rule, name = CLEARANCE_RULES[ceiling.kind], ceiling.name
        clear = limits[rule] if ceiling.clearance is None else ceiling.clearance
        text = f"{size(clear, site.unit)} clear below {name}"
        yield maker.make(
            rule, text, f"{name}: {{by}} too low", maker.rows(at), upper=z - clear, about=name,
            limit=clear, at_least=True,
        )  # fmt: skip
    for floor, at, z in maker.beside(site.floors):
        rule, name = EDGE_RULES[floor.kind], floor.name
        if floor.z is None:
            at, z = on_ground(ground, at)
        above = limits[rule] if floor.above is None else floor.above
        text = f"{size(above, site.unit)} above {name}"
        yield maker.make(
            rule, text, f"{name}: {{by}} too high", maker.rows(at), lower=z + above, about=name,
            limit=above, at_least=True,
        )  # fmt: skip
    for meet, at, z in maker.beside(site.meets):
        # A plane meets a line that is all but straight along its line of best fit.
        rows, name = maker.rows(at), meet.name
        fitted = rows @ np.linalg.lstsq(rows, z, rcond=None)[0]
        if np.abs(fitted - z).max() <= limits["meeting-gap"]:
            z = fitted
        yield maker.make(
            "meeting-gap", f"meeting {name}", f"{name}: {{by}} off", rows, lower=z, upper=z,
            about=name,
        )  # fmt: skip


def on_ground(ground: Ground, at: Floats) -> tuple[Floats, Floats]:
    """Return a line's points (k, 2) and levels on the existing ground, at every crease. [m]"""
    if len(at) > 1:
        section = ground.section(at)
        line = shapely.LineString(at)
        at = shapely.get_coordinates(shapely.line_interpolate_point(line, section[:, 0]))
    z = ground.elevation(at)
    known = np.isfinite(z)
    return at[known], z[known]


def nearest_area(site: Site, at: Sequence[float] | Floats) -> Area | None:
    """Return the area that a point on the plan is about: the nearest within 3 ft, if any."""
    point = shapely.Point(at)
    nearest = min(site.areas, key=lambda area: area.polygon.distance(point))
    return nearest if nearest.polygon.distance(point) <= NEARBY else None


class Standing(Struct, frozen=True):
    """What a site wishes of an area's finish however high its sills stand, in their order.

    Attributes
    ----------
    falls : tuple of Wish
        Away from the walls, and of how much in all: told before those of the doors.
    doors : tuple of AtDoor
        At the doors that are about it.
    levels : tuple of Wish
        Beside what lies above it, below it and at its level: told after those of the doors.
    """

    falls: tuple[Wish, ...]
    doors: tuple[AtDoor, ...]
    levels: tuple[Wish, ...]

    def of_doors(self, site: Site, stepped: Mapping[str, float]) -> tuple[Wish, ...]:
        """Return what is wished at doors, with their sills as high as they stand on a site.

        Parameters
        ----------
        site : Site
        stepped : mapping of str to float
            The lawn at each door that gets as many steps as it takes, by the door's name. [m]
        """
        wishes = []
        for each in self.doors:
            door = site.doors[each.number]
            lawn = stepped.get(door.name)
            wishes.append(replace(each.below, upper=each.below.upper + door.sill))
            if lawn is None:
                wishes.append(replace(each.above, lower=each.above.lower + door.sill))
            else:
                wishes.append(replace(each.lawn, lower=each.lawn.lower + lawn))
        return tuple(wishes)


def standing_of(site: Site, block: Block, ground: Ground, walls: Sequence[Wall]) -> Standing:
    """Return what a site wishes of an area's finish however high its sills stand.

    Parameters
    ----------
    site : Site
    block : Block
        The area, its shape, and its share of the unknowns.
    ground : Ground
        Existing ground, which a lawn with no level of its own stands on.
    walls : sequence of Wall
        The foundation walls in reach.
    """
    limits, maker = site.in_force, Maker(block, site.unit)
    return Standing(
        tuple(_fall_wishes(maker, block.area, limits, walls)),
        tuple(
            _at_door(maker, number, door, limits)
            for number, door in enumerate(site.doors)
            if nearest_area(site, door.at) is block.area
        ),
        tuple(_level_wishes(maker, site, limits, ground)),
    )
