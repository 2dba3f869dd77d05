"""Water of the ground around: what of it runs onto the paving, and what of it to the house."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import shapely
from msgspec import Struct

from grading.geometry.arrays import Bools, Floats, Ints
from grading.site.walls import NamedWall
from grading.units import FOOT
from grading.water.course import EDGE, FOUNDATION, Course
from grading.water.falls import FallAway
from grading.water.grid.descent import last
from grading.water.grid.relief import GROUND

LEAST_GROUND = 10 * FOOT**2
"""Ground of which less than this runs somewhere is not told: that is the roughness of a survey;
common practice, no source. [m2]"""


class RunOn(Struct, frozen=True, eq=False):
    """Water of the open ground that runs onto one area's paving.

    area : of the ground, in plan, within the survey. [m2]
    at : where most of it comes onto the paving, (2,). [m]
    flow : of it in the storm, 0 without one. [m3/s]
    beyond : whether the ground that it comes from goes on past the edge of the survey.
    """

    area: float
    at: Floats
    flow: float
    beyond: bool


class GroundAtWall(Struct, frozen=True, eq=False):
    """What the open ground does to one wall of the house.

    wall : its name.
    area : of the ground whose water ends at it, 0 where none does. [m2]
    at : where most of that ends, or where the ground falls back, (2,). [m]
    fall : the least fall away from the wall of the ground before it, None where none is known;
        negative where it falls back. [ratio]
    length : of that stretch. [m]
    end, kind : where the water of that stretch ends, empty where it does not fall back.
    """

    wall: str
    area: float
    at: Floats | None
    fall: float | None
    length: float
    end: str
    kind: str

    @property
    def reaches(self) -> bool:
        """Whether water of the ground ends at this wall."""
        return self.area >= LEAST_GROUND

    @property
    def falls_back(self) -> bool:
        """Whether ground before the wall falls back towards it."""
        return self.fall is not None and self.fall < 0

    @property
    def back(self) -> float:
        """How far that stretch lies below its own far end; 0 where it does not fall back. [m]"""
        return max(-(self.fall or 0.0) * self.length, 0.0)


def open_ground(course: Course) -> Bools:
    """Return the cells of ground that is neither paved nor a planting pocket, (n,)."""
    return np.asarray((course.kind == GROUND) & (course.pocket == 0))


def run_on(course: Course, area: str, sheds: float) -> RunOn | None:
    """Return the water of open ground that comes onto an area's paving first, None where none does.

    Parameters
    ----------
    course : Course
    area : str
    sheds : float
        What runs off open ground in the storm, 0 without one. [m/s]
    """
    paved = course.kind >= 0
    # A drop has come onto the paving at the first of its cells.
    stopped = np.where(paved, np.arange(len(paved)), course.downhill.receiver)
    end = last(stopped)
    from_ground = open_ground(course) & course.own(area)[end]
    if not from_ground.any():
        return None
    size = float(from_ground.sum()) * course.grid.spacing**2
    entered = np.bincount(end[from_ground], minlength=len(end))
    return RunOn(
        area=size,
        at=_middle(course, entered),
        flow=sheds * size,
        beyond=bool((from_ground & course.grid.edge.ravel()).any()),
    )


def most_at(course: Course, own: Bools, kind: str) -> Floats | None:
    """Return where most of the rain on cells (n,) that ends at a kind of place does so, (2,). [m]

    None where none does.
    """
    wet = own & (course.label == _place(course, kind))
    if not wet.any():
        return None
    return _middle(course, np.bincount(course.downhill.end[wet], minlength=len(wet)))


def _place(course: Course, wanted: str) -> int:
    return next(k for k, (_, kind) in enumerate(course.places) if kind == wanted)


def _middle(course: Course, count: Ints) -> Floats:
    """Return the marked cell nearest to the middle of all that count cells. [m]"""
    cells = np.flatnonzero(count)
    centres = course.grid.centres(cells)
    middle = np.average(centres, axis=0, weights=count[cells])
    return np.asarray(centres[int(np.hypot(*(centres - middle).T).argmin())])


def ground_at_walls(
    course: Course, walls: Sequence[NamedWall], falls: Sequence[FallAway]
) -> tuple[GroundAtWall, ...]:
    """Return for each wall the ground whose water ends at it, and whether ground falls back to it.

    Parameters
    ----------
    course : Course
    walls : sequence of (name, start (2,), end (2,), outward (2,))
    falls : sequence of FallAway
        Of the same walls in the same order.
    """
    if not walls:
        return ()
    wet = open_ground(course) & (course.label == _place(course, FOUNDATION))
    count = np.bincount(course.downhill.end[wet], minlength=len(wet))
    cells = np.flatnonzero(count)
    lines = [shapely.LineString([start, end]) for _, start, end, _ in walls]
    nearest = np.zeros(len(cells), dtype=int)
    if len(cells):
        points = shapely.points(course.grid.centres(cells))
        nearest = np.stack([shapely.distance(points, line) for line in lines]).argmin(axis=0)
    found = []
    for place, (wall, fall) in enumerate(zip(walls, falls, strict=True)):
        own = np.zeros(len(count), dtype=int)
        own[cells[nearest == place]] = count[cells[nearest == place]]
        found.append(_at_wall(course, wall, own, fall))
    return tuple(found)


def _at_wall(course: Course, wall: NamedWall, count: Ints, fall: FallAway) -> GroundAtWall:
    size = float(count.sum()) * course.grid.spacing**2
    worst = fall.ground
    at = _middle(course, count) if count.any() else None
    end, kind = "", ""
    if worst is not None and worst.fall < 0:
        # Midway out along the stretch: its water runs towards the house from there.
        cell = int(course.grid.cells((worst.at + wall[3] * worst.length / 2)[None])[0])
        end, kind = course.places[course.label[cell]] if cell >= 0 else (EDGE, EDGE)
        at = worst.at if at is None else at
    return GroundAtWall(
        wall=fall.wall,
        area=size,
        at=at,
        fall=None if worst is None else worst.fall,
        length=0.0 if worst is None else worst.length,
        end=end,
        kind=kind,
    )
