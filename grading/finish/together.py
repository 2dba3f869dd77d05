"""Areas that share edges, with their shapes, put together as one problem."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from functools import cached_property, partial
from typing import Any

import numpy as np
import shapely
from msgspec import Struct, field
from msgspec.structs import replace

from grading.catalogue.bases import BaseSystem, shrinks
from grading.catalogue.rules import Limits
from grading.errors import Problem, SiteError
from grading.finish.creases import RULE as VALLEY
from grading.finish.creases import creases_of
from grading.finish.cutting import cut_out
from grading.finish.departure import Lying, Profile, departure_of, profile_of
from grading.finish.earthwork import Clip
from grading.finish.fit import SURE, Fit
from grading.finish.layout import Block
from grading.finish.leading import led
from grading.finish.model import Solved, fitted_finishes
from grading.finish.objectives import Aim
from grading.finish.shapes import Shape, fan_shape, folded_shape, plane_shape, warped_shape
from grading.finish.wishes.held_edges import holders_of
from grading.finish.wishes.lowered import lowered_wishes
from grading.finish.wishes.model import Wish
from grading.finish.wishes.of_shape import (
    bend_wish,
    comfort_wish,
    given_wish,
    least_fall_wish,
    shed_wish,
    straight_wish,
)
from grading.finish.wishes.of_site import wishes_of
from grading.finish.wishes.seams import Seam, seam_wishes
from grading.geometry.arrays import Floats
from grading.geometry.plane import Plane
from grading.ground.model import Ground
from grading.kept import AREAS, LINES, Kept, fingerprint
from grading.site.corners import corners_at
from grading.site.model import Area, Site
from grading.site.walls import Wall

_BEND = {"ridge": -1, "hinge": 0, "valley": 1}
_FOLD_TURNS, _FOLD_PLACES = 8, 5
_FOLD_ROUNDS = 60


class Group(Struct, frozen=True, dict=True):
    """Areas to be solved together, the seams between them, and what the site is.

    Attributes
    ----------
    site : Site
    ground : Ground
    areas : tuple of Area
    walls : mapping of str to tuple of Wall
        The foundation walls in reach of each area, by its name.
    seams : tuple of Seam
    systems : mapping of str to BaseSystem
    bases : mapping of str to str
        The base system of each area that has one, given or advised, by the area's name.
    stepped : mapping of str to float
        The lawn at each door that gets as many steps as it takes, by the door's name. [m]
    kept : Kept
        What was made before of the same.
    """

    site: Site
    ground: Ground
    areas: tuple[Area, ...]
    walls: Mapping[str, tuple[Wall, ...]]
    seams: tuple[Seam, ...]
    systems: Mapping[str, BaseSystem]
    bases: Mapping[str, str]
    stepped: Mapping[str, float] = field(default_factory=dict)
    kept: Kept = field(default_factory=Kept)

    @property
    def limits(self) -> Limits:
        """The limits of the site."""
        return self.site.in_force

    @property
    def aim(self) -> Aim:
        """What the site's finish is to be best at."""
        wished = self.site.finish
        level = wished.elevation
        if level is None:
            level = float(self.site.spots.xyz[:, 2].mean())
        return Aim(wished.objective, shrinks()[self.site.ground.soil], level)

    def fit(self, shapes: Mapping[str, Shape]) -> Fit:
        """Return the problem with the areas in these shapes."""
        blocks = self._blocks(shapes)
        named = {block.area.name: block for block in blocks}
        wishes: list[Wish] = []
        for block in blocks:
            wishes += self._wishes(block)
        for seam in self.seams:
            upper, lower = named[seam.upper], named[seam.lower]
            wishes += seam_wishes(seam, upper, lower, self.site.unit)
        clips = tuple(self._clip(block) for block in blocks)
        least = self.limits[VALLEY]
        creases = creases_of(blocks, self.seams, self.site.house, least)
        fit = Fit(blocks, clips, tuple(wishes), self.aim.measure, creases)
        return self._on_grade(fit)

    def _on_grade(self, fit: Fit) -> Fit:
        """Return a problem with what is asked of those of its areas that lie on grade."""
        lying = [
            Lying(block, self._profiles[block.area.name], clip, self.walls[block.area.name])
            for block, clip in zip(fit.blocks, fit.clips, strict=True)
            if lies(self.site, block.area)
        ]
        if not lying:
            return fit
        comfort = tuple(comfort_wish(each.block, self.limits) for each in lying)
        return replace(fit, lawn=departure_of(lying, self.limits), comfort=comfort)

    @cached_property
    def _profiles(self) -> dict[str, Profile]:
        """The free edges of each area with the ground along them."""
        found = {}
        for area in self.areas:
            made = partial(profile_of, area.polygon, *holders_of(self.site, area), self.ground)
            key = self.ground, fingerprint(*made.args[:-1])
            found[area.name] = self.kept.once("profile", key, made, AREAS)
        return found

    def _clip(self, block: Block) -> Clip:
        """Cut an area out of the ground anew only where it has another shape than before.

        A fold is sought by trying some hundred lines in one area: the others stay as they are.
        """
        ground, area = self.ground.under(block.area.name), block.area
        return cut_out(self.kept, ground, area.polygon, block.shape.domains)

    def _blocks(self, shapes: Mapping[str, Shape]) -> tuple[Block, ...]:
        total = sum(shapes[area.name].unknowns for area in self.areas)
        blocks, first = [], 0
        for area in self.areas:
            shape, base = shapes[area.name], self.bases.get(area.name)
            known = self._known_blocks.get(area.name)
            if (
                known is None
                or known.shape is not shape
                or (known.first, known.total) != (first, total)
            ):
                known = Block(area, shape, self._centres[area.name], first, total, base)
                self._known_blocks[area.name] = known
            blocks.append(known)
            first += shape.unknowns
        return tuple(blocks)

    def _wishes(self, block: Block) -> list[Wish]:
        area = block.area
        wishes: list[Wish] = []
        if area.plane is not None:
            # What is given is kept, and only checked against the rest.
            return [given_wish(block, given_plane(area))]
        wishes += self.asked(block)
        shed = shed_wish(block, self.limits) if not self.walls[area.name] else None
        if area.shape == "fan":
            shed = shed_wish(block, self.limits)
        wishes += [each for each in (bend_wish(block), shed) if each is not None]
        if area.toward is not None:
            wishes.append(straight_wish(block, area.toward))
            wishes.append(least_fall_wish(block, self.limits, area.toward))
        return wishes

    @cached_property
    def _centres(self) -> dict[str, Floats]:
        return {area.name: centre_of(area) for area in self.areas}

    @cached_property
    def _known_blocks(self) -> dict[str, Block]:
        """Each area as it last was: while a fold is sought in one, the others stay as they are."""
        return {}

    @cached_property
    def _asked(self) -> dict[str, tuple[Block, tuple[Wish, ...]]]:
        """What the site wishes of each area as it was last asked, and of which block."""
        return {}

    def asked(self, block: Block) -> tuple[Wish, ...]:
        """Return all that the site wishes of an area's finish."""
        area, site, ground = block.area, self.site, self.ground
        known, wishes = self._asked.get(area.name, (None, ()))
        if known is not block:
            walls = self.walls[area.name]
            wishes = (
                *wishes_of(site, block, ground, walls, self.stepped, self.kept),
                *lowered_wishes(site, block, ground),
            )
            self._asked[area.name] = block, wishes
        return wishes

    def undirected(self, fit: Fit) -> list[Block]:
        """Return the areas that nothing tells which way water must leave.

        A shape that sheds to both sides of its own tells it, and so does a warp by its edges.
        """
        return [
            block
            for block in fit.blocks
            if not self.walls[block.area.name]
            and block.area.toward is None
            and block.area.plane is None
            and not block.shape.sheds
            and not block.shape.span
        ]

    def solved(self, shapes: Mapping[str, Shape]) -> tuple[Fit, Solved]:
        """Return the finishes in these shapes; see `fitted_finishes`."""
        fit = self.fit(shapes)
        undirected, aim = self.undirected(fit), self.aim
        # Whatever a site holds, finishes are made of this.
        names = [block.area.name for block in undirected]
        key = fingerprint(fit, self.systems, self.site.limits, names, aim)
        solved = self.kept.once(
            "solved",
            key,
            lambda: fitted_finishes(fit, self.systems, self.limits, undirected, aim),
            AREAS,
        )
        return fit, solved


def lies(site: Site, area: Area) -> bool:
    """Return whether an area's finish is to lie on grade: the default, unless an objective is."""
    if area.plane is not None:
        return False
    if area.grade is None:
        return "objective" not in site.finish.model_fields_set
    return area.grade == "as it lies"


def centre_of(area: Area) -> Floats:
    """Return where an area's levels are taken: the centroid of its paving, (2,). [m]"""
    return np.asarray(shapely.get_coordinates(area.polygon.centroid)[0])


def given_plane(area: Area) -> Plane:
    """Return the plane that a site gives for an area."""
    assert area.plane is not None
    given = area.plane
    return Plane.through(np.array(given.at), given.z, given.fall, given.bearing)


def shape_of(site: Site, area: Area) -> Shape | None:
    """Return the shape that a site asks for an area; None where its fold is to be found.

    Raises
    ------
    SiteError
        A fan with no outside corner, a warp with no edges.
    """
    centre, outline = centre_of(area), area.polygon
    corners = corners_at(site.house, outline)
    match area.shape:
        case "plane":
            return plane_shape(outline)
        case "warp":
            if area.between is None:
                raise _missing(area, "between", "the two edges that it is ruled between")
            return warped_shape(outline, centre, *area.between)
        case "fan":
            outside = [corner for corner in corners if corner.outside]
            if area.corner is not None:
                near = [c for c in outside if np.hypot(*(c.at - area.corner)) < 0.5]
                outside = near
            if not outside:
                raise _missing(area, "corner", "an outside corner of the house beside the paving")
            corner = outside[0]
            return fan_shape(outline, centre, corner.at, corner.rays(area.planes))
    bend = _BEND[area.shape]
    if area.fold is not None:
        return folded_shape(outline, centre, np.asarray(area.fold), bend)
    inside = [corner for corner in corners if not corner.outside]
    if area.shape == "valley" and inside:
        corner = inside[0]
        fold = np.array([corner.at, corner.at + corner.bisector])
        return folded_shape(outline, centre, fold, bend)
    return None


def _missing(area: Area, key: str, expected: str) -> SiteError:
    where = f"site.toml, area {area.name!r}, key {key}"
    return SiteError([Problem(where, f"a {area.shape} without one", expected)])


def with_best_folds(group: Group, shapes: Mapping[str, Shape | None]) -> dict[str, Shape]:
    """Return the shapes with the folds left open put where the least is dug and refilled.

    Notes
    -----
    For a given line the problem is convex; over the line's turn and place it is not. A round of
    lines is tried and the best is improved by Nelder and Mead's simplex: a good fold, not a
    proved optimum.
    """
    known = {name: shape or plane_shape(_named(group, name)) for name, shape in shapes.items()}
    for area in group.areas:
        if shapes[area.name] is not None:
            continue
        # A quarter of a second, which few sites need to spend.
        from scipy.optimize import minimize

        outline, centre = area.polygon, centre_of(area)
        radius = np.sqrt(outline.area / np.pi)
        bend = _BEND[area.shape]

        known_costs: dict[tuple[float, ...], float] = {}

        def moved(
            line: Floats, below: float = np.inf, area: Area = area, centre: Floats = centre,
            bend: int = bend, known_costs: dict[tuple[float, ...], float] = known_costs,
        ) -> float:  # fmt: skip
            """Return what a line costs; infinite where that is sure to be no less than `below`."""
            place = tuple(line.tolist())
            if place not in known_costs:
                fold = _line(centre, *line)
                trial = {**known, area.name: folded_shape(area.polygon, centre, fold, bend)}
                cost = _cost(group, group.fit(trial), below)
                if np.isfinite(below) and not np.isfinite(cost):
                    return cost
                known_costs[place] = cost
            return known_costs[place]

        tries = [
            np.array([turn, place])
            for turn in np.linspace(0, np.pi, _FOLD_TURNS, endpoint=False)
            for place in radius * np.linspace(-0.6, 0.6, _FOLD_PLACES)
        ]
        best, least = tries[0], np.inf
        for line in tries:
            cost = moved(line, least)
            if cost < least:
                best, least = line, cost
        if not np.isfinite(least):
            # No line is better than another where none of them meets every wish.
            known[area.name] = folded_shape(outline, centre, _line(centre, *best), bend)
            continue
        corners = best + np.array([[0.0, 0.0], [0.15, 0.0], [0.0, 0.15 * radius]])
        options: Any = {"maxfev": _FOLD_ROUNDS, "initial_simplex": corners}
        turn, place = minimize(moved, best, method="Nelder-Mead", options=options).x
        known[area.name] = folded_shape(outline, centre, _line(centre, turn, place), bend)
    return known


def _cost(group: Group, fit: Fit, below: float) -> float:
    """Return what the finishes of a problem cost; infinite where they are sure to cost `below`."""
    build_ups = [
        group.systems[block.base or next(iter(group.systems))].build_up for block in fit.blocks
    ]

    def cost() -> float:
        optimum = fit.solve(build_ups, below=below)
        # Water that is led away can only cost more.
        if optimum is None or optimum.cost * (1 - SURE) >= below:
            return np.inf
        found = led(fit, optimum, lambda held: held.solve(build_ups, start=optimum.unknowns))
        return np.inf if found is None else found[1].cost

    # A way that is tried, or a mend, seeks most folds where they were sought before.
    # What base an area asks for counts by its build-up alone.
    placed = [
        (block.area.polygon, block.shape, block.centre, block.first, block.total)
        for block in fit.blocks
    ]
    key = fingerprint(
        placed, fit.clips, fit.wishes, fit.measure, fit.creases, fit.lawn, fit.comfort, build_ups,
        below,
    )  # fmt: skip
    return group.kept.once("cost of a fold", key, cost, LINES)


def _line(centre: Floats, turn: float, place: float) -> Floats:
    """Return two points of the line at a turn [rad] and a distance [m] from the centre."""
    along = np.array([np.cos(turn), np.sin(turn)])
    through = centre + place * np.array([-along[1], along[0]])
    return np.array([through, through + along])


def _named(group: Group, name: str) -> shapely.Polygon:
    return next(area.polygon for area in group.areas if area.name == name)


def components(areas: Sequence[Area], seams: Sequence[Seam]) -> list[tuple[Area, ...]]:
    """Return the areas in groups that hang together by seams, in the order of the site."""
    group = {area.name: {area.name} for area in areas}
    for seam in seams:
        joined = group[seam.upper] | group[seam.lower]
        for name in joined:
            group[name] = joined
    seen: set[str] = set()
    found = []
    for area in areas:
        if area.name not in seen:
            seen |= group[area.name]
            found.append(tuple(each for each in areas if each.name in group[area.name]))
    return found
