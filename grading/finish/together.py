"""Areas that share edges, with their shapes, put together as one problem."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from functools import cached_property, partial

import numpy as np
import shapely
from msgspec import Struct, field
from msgspec.structs import replace

from grading.catalogue.bases import BaseSystem, shrinks
from grading.catalogue.rules import Limits
from grading.errors import Problem, SiteError
from grading.finish.creases import RULE as VALLEY
from grading.finish.creases import Crease, creases_of
from grading.finish.cutting import cut_out
from grading.finish.departure import Departure, Lying, Profile, departure_of, profile_of
from grading.finish.earthwork import Clip
from grading.finish.fit import Fit
from grading.finish.layout import Block
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
from grading.finish.wishes.of_site import Standing, standing_of
from grading.finish.wishes.seams import Seam, seam_wishes
from grading.geometry.arrays import Floats
from grading.geometry.plane import Plane
from grading.ground.model import Ground
from grading.kept import AREAS, Kept, Same, fingerprint
from grading.site.around import around_of
from grading.site.corners import corners_at
from grading.site.model import Area, Site
from grading.site.walls import Wall

BEND = {"ridge": -1, "hinge": 0, "valley": 1}


class _Still(Struct, frozen=True):
    """What of a problem is as it is however high the sills stand: see `Fit`.

    areas : what is wished of each, but of its sills, and what its shape asks of it; one whose plane
    is given keeps that, and what is wished of it is only checked. seams : what is wished where two
    areas meet.
    """

    clips: tuple[Clip, ...]
    areas: tuple[tuple[Standing, tuple[Wish, ...]], ...]
    seams: tuple[Wish, ...]
    creases: tuple[Crease, ...]
    lawn: Departure | None
    comfort: tuple[Wish, ...]


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

    @cached_property
    def limits(self) -> Limits:
        """The limits of the site."""
        return self.site.in_force

    @cached_property
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
        return self._posed(blocks, self._still(blocks))

    def _posed(self, blocks: tuple[Block, ...], still: _Still) -> Fit:
        """Return a problem with the sills as high as they stand."""
        wishes: list[Wish] = []
        for block, (own, of_shape) in zip(blocks, still.areas, strict=True):
            if block.area.plane is None:
                wishes += own.falls + self._of_doors(block, own) + own.levels
            wishes += of_shape
        wishes += still.seams
        return Fit(
            blocks, still.clips, tuple(wishes), self.aim.measure, still.creases, still.lawn,
            still.comfort,
        )  # fmt: skip

    def _still(self, blocks: tuple[Block, ...]) -> _Still:
        """Return what of a problem is as it is however high the sills stand."""
        named = {block.area.name: block for block in blocks}
        seams: list[Wish] = []
        for seam in self.seams:
            upper, lower = named[seam.upper], named[seam.lower]
            seams += seam_wishes(seam, upper, lower, self.site.unit)
        clips = tuple(self._clip(block) for block in blocks)
        lying = [
            Lying(block, self._profiles[block.area.name], clip, self.walls[block.area.name])
            for block, clip in zip(blocks, clips, strict=True)
            if lies(self.site, block.area)
        ]
        return _Still(
            clips,
            tuple(self._wishes(block) for block in blocks),
            tuple(seams),
            creases_of(blocks, self.seams, self.site.house, self.limits[VALLEY]),
            departure_of(lying, self.limits) if lying else None,
            tuple(comfort_wish(each.block, self.limits) for each in lying),
        )

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

    def _wishes(self, block: Block) -> tuple[Standing, tuple[Wish, ...]]:
        """Return what is wished of an area but of its sills, and what its shape asks of it."""
        area = block.area
        if area.plane is not None:
            # What is given is kept, and only checked against the rest.
            return self._standing(block), (given_wish(block, given_plane(area)),)
        told = bool(self.walls[area.name]) and area.shape != "fan"
        shed = None if told else shed_wish(block, self.limits)
        wishes = [each for each in (bend_wish(block), shed) if each is not None]
        if area.toward is not None:
            wishes.append(straight_wish(block, area.toward))
            wishes.append(least_fall_wish(block, self.limits, area.toward))
        return self._standing(block), tuple(wishes)

    @cached_property
    def _centres(self) -> dict[str, Floats]:
        around, kept = around_of(self.site, self.kept), self.kept
        return {
            area.name: kept.once("centre", (around, area.name), partial(centre_of, area), AREAS)
            for area in self.areas
        }

    @cached_property
    def _known_blocks(self) -> dict[str, Block]:
        """Each area as it last was: while a fold is sought in one, the others stay as they are."""
        return {}

    @cached_property
    def _known_standing(self) -> dict[str, tuple[Block, Standing]]:
        """What the site wishes of each area as it was last asked, and of which block."""
        return {}

    def _standing(self, block: Block) -> Standing:
        """Return what the site wishes of an area's finish however high its sills stand."""
        area, site, ground = block.area, self.site, self.ground
        known, found = self._known_standing.get(area.name, (None, None))
        if found is None or known is not block:
            found = standing_of(site, block, ground, self.walls[area.name])
            levels = (*found.levels, *lowered_wishes(site, block, ground))
            found = replace(found, levels=levels)
            self._known_standing[area.name] = block, found
        return found

    @cached_property
    def _known_of_doors(self) -> dict[str, tuple[Block, tuple[Wish, ...]]]:
        """What is wished at its doors likewise."""
        return {}

    def _of_doors(self, block: Block, standing: Standing) -> tuple[Wish, ...]:
        known, wishes = self._known_of_doors.get(block.area.name, (None, ()))
        if known is not block:
            wishes = standing.of_doors(self.site, self.stepped)
            self._known_of_doors[block.area.name] = block, wishes
        return wishes

    def asked(self, block: Block) -> tuple[Wish, ...]:
        """Return all that the site wishes of an area's finish."""
        found = self._standing(block)
        return (*found.falls, *self._of_doors(block, found), *found.levels)

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

    def _told(self, blocks: tuple[Block, ...]) -> tuple[_Still, bytes]:
        """Return what stays of a problem, and what tells it and all else it is solved by apart."""
        still = self._still(blocks)
        return still, fingerprint(blocks, still, self.systems, self.site.limits)

    def _kept_still(self, blocks: tuple[Block, ...]) -> tuple[_Still, bytes]:
        """Return the same, of what was posed before in the same shapes."""
        around = around_of(self.site, self.kept)
        own = tuple((block.area.name, Same(block.shape), block.base) for block in blocks)
        key = self.ground, around, own
        found = self.kept.once("still", key, lambda: self._told(blocks), AREAS)
        for block, (standing, _) in zip(blocks, found[0].areas, strict=True):
            self._known_standing[block.area.name] = block, standing
        return found

    def fit_again(self, shapes: Mapping[str, Shape]) -> Fit:
        """Return the problem, with all of it that was posed before in the very same shapes."""
        blocks = self._blocks(shapes)
        return self._posed(blocks, self._kept_still(blocks)[0])

    def solved(self, shapes: Mapping[str, Shape]) -> tuple[Fit, Solved]:
        """Return the finishes in these shapes; see `fitted_finishes`."""
        blocks = self._blocks(shapes)
        still, told = self._kept_still(blocks)
        fit = self._posed(blocks, still)
        undirected, aim = self.undirected(fit), self.aim
        # Whatever else a site holds, finishes are made of this and of what stays.
        sills = [
            None if block.area.plane is not None else self._of_doors(block, own)
            for block, (own, _) in zip(blocks, still.areas, strict=True)
        ]
        names = [block.area.name for block in undirected]
        key = told, fingerprint(sills, names, aim)
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
                outside = [c for c in outside if np.hypot(*(c.at - area.corner)) < 0.5]
            if not outside:
                raise _missing(area, "corner", "an outside corner of the house beside the paving")
            corner = outside[0]
            return fan_shape(outline, centre, corner.at, corner.rays(area.planes))
    bend = BEND[area.shape]
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


def components(areas: Sequence[Area], seams: Sequence[Seam]) -> list[tuple[Area, ...]]:
    """Return the areas in groups that hang together by seams, in the order of the site."""
    named = {area.name: area for area in areas}
    groups = hanging_together(list(named), [(seam.upper, seam.lower) for seam in seams])
    return [tuple(named[name] for name in group) for group in groups]


def hanging_together(
    names: Sequence[str], pairs: Iterable[tuple[str, str]]
) -> list[tuple[str, ...]]:
    """Return what is joined two by two, here or there, in groups, in the order of the names."""
    group = {name: {name} for name in names}
    for one, other in pairs:
        joined = group[one] | group[other]
        for name in joined:
            group[name] = joined
    return list(dict.fromkeys(tuple(n for n in names if n in group[name]) for name in names))
