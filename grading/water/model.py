"""Where the water of a finished site goes: over the surface, through its low spots, and below."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from typing import Literal

import numpy as np
import shapely
from msgspec import Struct, field

from grading.catalogue.rules import Limits
from grading.design.area import AreaPlan
from grading.dig.drainage import WallFall
from grading.dig.pockets import Pocket
from grading.geometry.arrays import Bools, Floats, Ints
from grading.ground.model import Ground
from grading.site.walls import LEAST_RUN as PAVED_RUN
from grading.site.walls import NamedWall, in_front, longest_run
from grading.site.water_tables import Downspout, Storm
from grading.units import FOOT
from grading.water.beneath import Beneath, Underflow, underflow
from grading.water.course import EDGE, FOUNDATION, POOL, Course, LowSpot, Paved, course_of
from grading.water.destinations import Destination
from grading.water.edges import LEAST_SHARE, Leaving, LowEdge, path_from
from grading.water.falls import FallAway, falls_away
from grading.water.grid.relief import Level, Relief, relief
from grading.water.joints import JointWater
from grading.water.margins import LEAST_RUN, Margin, margin
from grading.water.run_on import LEAST_GROUND, GroundAtWall, RunOn, ground_at_walls, most_at, run_on
from grading.water.runoff import coefficients, rational_flow
from grading.water.spouts import SpoutWater, sheds_on, spout_water

__all__ = ["AreaWater", "Paved", "Share", "Water", "water_of"]

Verdict = Literal["named", "neighbour", "edge of the survey", "low spot", "foundation"]

_ROUGHNESS = 0.05  # share of an area's rain that the grid and the survey may send astray
LEAST_TOLD = 5e-3
"""Share of an area's rain below which people are not told where it ends: half of 1 %."""
_OUTLET_REACH = 3 * FOOT  # a drain or swale this near to the stone of a base empties it


class Share(Struct, frozen=True):
    """The share of an area's rain that ends at a place, its name and kind."""

    destination: str
    kind: str
    share: float


class PocketWater(Struct, frozen=True, eq=False):
    """Rain on an area that runs over one of its planting pockets.

    at : a point in the pocket, (2,). [m]
    share : of the rain on the area.
    """

    at: Floats
    share: float


class AreaWater(Struct, frozen=True, eq=False):
    """Where the rain on one area goes.

    shares : of its rain, the greatest first; they add up to 1, however small some are.
    edges : over which it leaves, the one with most of it first.
    runoff : of the area alone in the storm, None without a storm. [m3/s]
    under : the water that gets through its pavers, None where its base was not given.
    pockets : of its planting pockets, those that rain on its paving runs over.
    run_on : water of the ground around that comes onto its paving, None where none does.
    paved : the plan area of its paving. [m2]
    at_house : where most of its rain that reaches the foundation ends, (2,), None where none does.
        [m]
    stands_at : where most of its rain that ends in a low spot does so, (2,), None where none does.
        [m]
    joints : what becomes of its rain at its joints, None where they are not known.
    """

    name: str
    shares: tuple[Share, ...]
    edges: tuple[LowEdge, ...]
    runoff: float | None
    under: Underflow | None
    pockets: tuple[PocketWater, ...] = ()
    run_on: RunOn | None = None
    paved: float = 0.0
    at_house: Floats | None = None
    stands_at: Floats | None = None
    joints: JointWater | None = None

    def share(self, kind: str) -> float:
        """Return the share that ends at places of a kind."""
        return sum(part.share for part in self.shares if part.kind == kind)

    @property
    def named(self) -> float:
        """The share that ends in places that the site names."""
        return max(1 - sum(self.share(kind) for kind in (FOUNDATION, POOL, EDGE)), 0.0)

    @property
    def told_run_on(self) -> bool:
        """Whether what runs onto it from the ground around is more than the survey's roughness."""
        return self.run_on is not None and self.run_on.area >= LEAST_GROUND

    @property
    def verdict(self) -> Verdict:
        """What is to be said of where its water ends.

        The worst of what more than a trace does; of what reaches the foundation a trace will do.
        """
        if self.share(FOUNDATION) > 0:
            return "foundation"
        for kind in ("low spot", "edge of the survey", "neighbour"):
            if self.share(kind) > _ROUGHNESS:
                return kind
        return "named"


class Water(Struct, frozen=True, eq=False):
    """The water of a site.

    relief : the grid that it was followed on.
    receiver : (n,) int, the way of the water on the flat grid.
    gathered : (n,) float, plan area that drains through each cell, roofs included. [m2]
    unaccounted : area that fell and ended nowhere, over all that fell: rounding alone.
    at_walls : what the open ground does to each wall, in the order of `walls`.
    arriving : by the name of a place, the area of roofs, paving and lawn whose rain ends there,
        each by the share of it that runs off. [m2]
    label : (n,) int, into `places`, where the water of each cell of the flat grid ends.
    places : name and kind of each.
    """

    relief: Relief
    receiver: Ints
    gathered: Floats
    areas: tuple[AreaWater, ...]
    low_spots: tuple[LowSpot, ...]
    downspouts: tuple[SpoutWater, ...]
    walls: tuple[FallAway, ...]
    destinations: tuple[Destination, ...]
    unaccounted: float
    at_walls: tuple[GroundAtWall, ...] = ()
    arriving: Mapping[str, float] = field(default_factory=dict)
    label: Ints = field(default_factory=lambda: np.zeros(0, dtype=np.int64))
    places: tuple[tuple[str, str], ...] = ()

    def of(self, area: AreaPlan) -> AreaWater:
        """Return the water of one area of the plan."""
        return next(each for each in self.areas if each.name == area.name)

    def reaches(self, place: Destination) -> bool:
        """Say whether more than a trace of the rain on any area, or any downspout's, ends there."""
        name = place.name
        return any(
            part.destination == name and part.share >= LEAST_TOLD
            for area in self.areas
            for part in area.shares
        ) or any(spout.destination == name for spout in self.downspouts)

    def path(self, at: Floats) -> Floats:
        """Return the way of a drop from a point (2,) as a line (k, 2), empty off the map. [m]"""
        cell = self._cell(at)
        return np.zeros((0, 2)) if cell is None else path_from(self.relief, self.receiver, cell)

    def end(self, at: Floats) -> tuple[str, str] | None:
        """Return the name and kind of where a drop from a point (2,) ends, None off the map. [m]"""
        cell = self._cell(at)
        return None if cell is None else self.places[int(self.label[cell])]

    def _cell(self, at: Floats) -> int | None:
        cell = int(self.relief.cells(at[None])[0])
        return cell if cell >= 0 and self.relief.ground.ravel()[cell] else None


def water_of(
    ground: Ground,
    paving: Sequence[Paved],
    house: shapely.Geometry,
    walls: Sequence[NamedWall],
    destinations: Sequence[Destination],
    limits: Limits,
    *,
    downspouts: Sequence[Downspout] = (),
    storm: Storm | None = None,
    soil: str = "loam",
    beneath: Sequence[Beneath] = (),
    joints: Mapping[str, JointWater] | None = None,
    regraded: Sequence[tuple[shapely.Geometry, Level]] = (),
    pockets: Sequence[Pocket] = (),
    hidden: shapely.Geometry | None = None,
    spacing: float | None = None,
) -> Water:
    """Return where the water of a finished site goes.

    Parameters
    ----------
    ground : Ground
        Existing ground, kept as it is beside the paving.
    paving : sequence of Paved
        All finished surfaces.
    house : shapely geometry
        Its body in plan, empty without one. [m]
    walls : sequence of (name, start (2,), end (2,), outward (2,))
        The foundation walls.
    destinations : sequence of Destination
        As `grading.water.destinations.destinations_of` gives them.
    limits : Limits
        Those of the site: how deep water may stand, and how far from the house it matters.
    downspouts, storm
        As the site has them.
    soil : "gravel", "sand", "loam" or "clay"
        Under the lawn, for its runoff.
    beneath : sequence of Beneath
        What lies under the pavers of areas, of those that are known.
    joints : mapping of str to JointWater, optional
        What becomes of the rain at the joints of areas; paving of an area that is left out sheds
        as paving does where nothing is known of its joints.
    regraded : sequence of (shapely geometry, callable)
        Lawn brought to the paving, and its level at points (k, 2). [m]
    pockets : sequence of Pocket
        The planting pockets of all areas.
    hidden : shapely geometry, optional
        What is known to be no yard and not known to be house: its open ground is off the map. [m]
    spacing : float, optional
        Side of the grid's cells. [m]
    """
    surfaces = [(piece.polygon, piece.level) for piece in paving]
    longest = max(walls, key=lambda wall: float(np.hypot(*(wall[2] - wall[1]))), default=None)
    ahead, through = None, None
    if longest is not None:
        # Cells along the wall: what runs beside it is then never taken for running into it.
        ahead, through = (longest[2] - longest[1]), longest[1]
        ahead = ahead / np.hypot(*ahead)
    grid = relief(ground, surfaces, house, spacing=spacing, along=ahead, through=through)
    if hidden is not None:
        grid = grid.without(hidden)
    for shape, level in regraded:
        grid = grid.regraded(shape, level)
    for pocket in pockets:
        grid = grid.regraded(pocket.polygon, pocket.level)
    course = course_of(grid, ground, paving, house, destinations, limits, pockets)
    at_joints = joints or {}
    sheds_of = [_sheds(at_joints.get(piece.area)) for piece in paving]
    fell, off = sheds_on(grid, downspouts, soil, sheds_of)
    flow = off * (storm.intensity if storm else 0.0)
    gathered = course.downhill.gathered(fell)
    flowing = flow if storm is None else course.downhill.gathered(flow)
    leaving = Leaving(
        grid, course.downhill, flowing, course.ended, course.label, course.places, house
    )
    reach = limits["foundation-reach"]
    below = {
        one.area: underflow(
            one,
            house,
            _fall_below(walls, one, house, reach),
            outlet=_outlet(one, destinations),
            infiltration=None if storm is None else storm.infiltration,
        )
        for one in beneath
    }
    sheds = 0.0 if storm is None else coefficients()[soil].value * storm.intensity
    around = falls_away(walls, ground, surfaces, house, reach)
    total = float(fell.sum())
    ended = float(gathered[course.downhill.receiver == np.arange(len(fell))].sum())
    known = paving, pockets, course, leaving, storm, limits
    comes = np.bincount(course.label, weights=off, minlength=len(course.places))
    return Water(
        relief=grid,
        receiver=course.downhill.receiver,
        gathered=gathered,
        areas=tuple(
            _area_water(name, *known, below.get(name), sheds, at_joints.get(name))
            for name in dict.fromkeys(piece.area for piece in paving)
        ),
        low_spots=course.low_spots(house, reach),
        downspouts=tuple(spout_water(spout, course, house, storm) for spout in downspouts),
        walls=around,
        destinations=tuple(destinations),
        unaccounted=abs(ended - total) / total if total else 0.0,
        at_walls=ground_at_walls(course, walls, around),
        arriving=_summed(zip(course.places, comes, strict=True)),
        label=course.label,
        places=course.places,
    )


def _area_water(
    name: str, paving: Sequence[Paved], pockets: Sequence[Pocket], course: Course,
    leaving: Leaving, storm: Storm | None, limits: Limits, under: Underflow | None, sheds: float,
    joints: JointWater | None,
) -> AreaWater:  # fmt: skip
    outline = shapely.union_all([piece.polygon for piece in paving if piece.area == name])
    own = course.own(name)
    beds = {number: each for number, each in enumerate(pockets, start=1) if each.area == name}
    filled = shapely.union_all([outline, *(bed.polygon for bed in beds.values())])
    edges = leaving.low_edges(filled, own, own | np.isin(course.pocket, list(beds)))
    runoff = None
    if storm is not None:
        runoff = rational_flow(_sheds(joints), storm.intensity, outline.area)
    over = tuple(_over_pocket(course, own, number, bed) for number, bed in beds.items())
    told = tuple(each for each in over if each.share >= LEAST_SHARE)
    return AreaWater(
        name, _shares(course, own), edges, runoff, under, told,
        run_on(course, name, sheds), float(outline.area),
        most_at(course, own, FOUNDATION), most_at(course, own, POOL), joints,
    )  # fmt: skip


def _sheds(joints: JointWater | None) -> float:
    """Return the share of the rain on paving that leaves it."""
    return coefficients()["paving"].value if joints is None else joints.runs_off


def _over_pocket(course: Course, own: Bools, number: int, bed: Pocket) -> PocketWater:
    passed = course.downhill.marked((course.pocket == number).astype(np.int64)) > 0
    at = shapely.get_coordinates(bed.polygon.representative_point())[0]
    return PocketWater(at, float(passed[own].sum()) / max(int(own.sum()), 1))


def _shares(course: Course, own: np.ndarray) -> tuple[Share, ...]:
    count = np.bincount(course.label[own], minlength=len(course.places))
    part = count / max(int(count.sum()), 1)
    order = np.argsort(-part, kind="stable")
    found = [(*course.places[place], float(part[place])) for place in order if part[place] > 0]
    return tuple(Share(name, kind, share) for name, kind, share in found)


def _fall_below(
    walls: Sequence[NamedWall], beneath: Beneath, house: shapely.Geometry, reach: float
) -> float | None:
    """Return the least fall of a surface under the pavers away from each wall it lies before.

    Of the same planes as the finish is held to: None where none lies before a wall. [ratio]
    """
    falls = [
        plane.fall_along(outward)
        for _, start, end, outward in walls
        for polygon, plane in beneath.planes
        if longest_run(in_front(start, end, outward, reach, polygon, house), outward)[0]
        >= PAVED_RUN
    ]
    return min(falls, default=None)


def _outlet(beneath: Beneath, destinations: Sequence[Destination]) -> float | None:
    """Return the level of the lowest drain, outlet or swale beside the stone of a base. [m]"""
    stone = shapely.union_all([polygon for polygon, _ in beneath.planes])
    levels = [
        place.z
        for place in destinations
        if place.z is not None
        and (place.takes or place.kind == "swale")
        and stone.distance(place.shape) <= _OUTLET_REACH
    ]
    return min(levels, default=None)


def margins_of(water: Water) -> tuple[tuple[str, Margin], ...]:
    """Return for each wall with paving in reach what settlement and heave leave of its fall.

    Parameters
    ----------
    water : Water

    Returns
    -------
    tuple of (name, Margin)
        From the worst fall of the paving found in front of the wall, over the whole of that
        stretch; none for paving that goes less far out than `margins.LEAST_RUN`.
    """
    found = (
        (wall.wall, wall.paved.fall, wall.paved.distance + wall.paved.length)
        for wall in water.walls
        if wall.paved is not None
    )
    return tuple((name, margin(fall, run)) for name, fall, run in found if run >= LEAST_RUN)


def least_margin(water: Water, walls: Sequence[WallFall]) -> tuple[str, Margin] | None:
    """Return the wall, of some, where heave leaves the least of the fall, and its margin.

    None where paving falls away from none of them: there is no fall that heave could use up.
    """
    names = {fall.wall.name for fall in walls if fall.fall_away > 0}
    found = [(name, left) for name, left in margins_of(water) if name in names and left.fall > 0]
    return min(found, key=lambda one: one[1].heaved, default=None)


def _summed(ends: Iterable[tuple[tuple[str, str], float]]) -> dict[str, float]:
    """Return what comes to each name; several places may bear one."""
    total: dict[str, float] = {}
    for (name, _), area in ends:
        total[name] = total.get(name, 0.0) + float(area)
    return total
