"""What closes the sides of steps: blocks returned there, or cheek walls beside them.

Full courses whose end blocks are turned with their face outward take as many blocks as they did:
each takes its own depth off a row and gives it to the side. A cheek wall is one block deep, stands
beside the steps from their head to their foot, and its caps follow the treads.
"""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
import shapely
from msgspec import Struct

from grading.crew.lines import Line, Maker, Work
from grading.crew.model import Crew
from grading.design.model import Design
from grading.design.underfoot import level_at
from grading.finish.wishes.of_site import NEARBY
from grading.geometry.arrays import Floats, Region, polygons
from grading.geometry.tolerances import LEVEL, SAME, TOGETHER, whole_up
from grading.site.step_tables import Sides
from grading.structures.flights import StepFlight, strip
from grading.structures.holding.slope import Slope
from grading.structures.holding.wall_unit import unit_of
from grading.structures.masonry import cap_line, glue_line, level_pad, masonry_works, unit_line
from grading.structures.model import Solid
from grading.structures.pads import Pad
from grading.units import Unit, area, run, size

RETURNED: Sides = "returned blocks"
CHEEKS: Sides = "cheek walls"

_EVERY = 0.05  # m: how often the ground beside steps is looked at


class Course(Struct, frozen=True, eq=False):
    """The part of a cheek wall beside one tread.

    Attributes
    ----------
    where : shapely geometry
        In plan. [m]
    top : float
        Level of its caps, that of the front of the tread. [m]
    count : int
        Courses under the caps.
    """

    where: Region
    top: float
    count: int


class Cheek(Struct, frozen=True, eq=False):
    """A cheek wall beside a flight.

    Attributes
    ----------
    name : str
    parts : tuple of Course
        From the head down.
    deep : float
        Of its units, face to back. [m]
    shown : float
        How high it stands above the ground beside it at the most. [m]
    bury : float
        How deep its lowest course stands in that ground at the least. [m]
    pad : shapely geometry
        Its level pad in plan, beside that of the flight. [m]
    pad_top : float
        [m]
    """

    name: str
    parts: tuple[Course, ...]
    deep: float
    shown: float
    bury: float
    pad: Region
    pad_top: float

    @property
    def length(self) -> float:
        """[m]"""
        return sum(float(each.where.area) for each in self.parts) / self.deep

    @property
    def courses(self) -> float:
        """Length of all its courses together. [m]"""
        return sum(float(each.where.area) * each.count for each in self.parts) / self.deep

    @property
    def stands(self) -> Region:
        """Where it stands. [m]"""
        return polygons(shapely.union_all([each.where for each in self.parts]))


class Beside(Struct, frozen=True, eq=False):
    """The sides of a flight.

    Attributes
    ----------
    cheeks : tuple of Cheek
        None where its own blocks are returned, and where its sides lie in the ground.
    unknown : tuple of str
        Sides of which nobody knows how high they stand, "left" and "right" as one goes down.
    """

    cheeks: tuple[Cheek, ...] = ()
    unknown: tuple[str, ...] = ()


def sides_of(flight: StepFlight) -> Sides:
    """Return what closes the sides of a flight: what the site says, else its own blocks."""
    asked = None if flight.written is None else flight.written.sides
    return asked or RETURNED


def beside_flight(
    plan: Design, flight: StepFlight, slopes: tuple[Slope, ...], clear: shapely.Geometry
) -> Beside:
    """Return what stands beside a flight.

    Parameters
    ----------
    plan : Design
    flight : StepFlight
    slopes : tuple of Slope
        Slopes of soil beside it: a cheek wall shows what it stands above them.
    clear : shapely geometry
        Where none is built: walls that end at the flight. [m]

    Notes
    -----
    Units, pad and burying are those of a wall of what it shows (`WallUnit`); its pad is dead level
    and set so that the lowest cap lies at the front of the lowest tread, the others a whole number
    of courses above, as near to theirs as that comes.
    """
    if sides_of(flight) != CHEEKS or flight.count < 2:
        return Beside()
    cheeks: list[Cheek] = []
    unknown: list[str] = []
    for called in ("left", "right"):
        strips = _strips(plan, flight, called, clear)
        if not strips:
            continue
        grounds = [_levels_beside(plan, flight, each, slopes) for _, each in strips]
        if not all(np.isfinite(each).all() for each in grounds):
            unknown.append(called)
            continue
        made = _cheek(plan.crew, flight, called, strips, [float(each.min()) for each in grounds])
        if made is not None:
            cheeks.append(made)
    return Beside(tuple(cheeks), tuple(unknown))


def _strips(
    plan: Design, flight: StepFlight, side: str, clear: shapely.Geometry
) -> list[tuple[int, Region]]:
    """Return where a cheek wall stands beside each tread, by the tread's place from the top."""
    deep = plan.crew["wall-unit-depth"]
    # As one goes down: left of the way out.
    left = np.array([-flight.out[1], flight.out[0]])
    way = left if side == "left" else -left
    end = flight.head[int(np.argmax(flight.head @ way))]
    taken: list[shapely.Geometry] = [clear, plan.site.body(NEARBY)]
    if flight.kind == "between areas":
        taken.append(plan.area(flight.upper).outline)
    gone, near = shapely.union_all(taken), 0.0
    found: list[tuple[int, Region]] = []
    for place, tread in enumerate(flight.treads):
        far = near + float(np.ptp(shapely.get_coordinates(tread.polygon) @ flight.out))
        own = strip(np.stack([end, end + way * deep]), flight.out, near, far)
        left_over = polygons(shapely.difference(own, gone))
        if not left_over.is_empty and left_over.area > TOGETHER * deep:
            found.append((place, left_over))
        near = far
    return found


def _levels_beside(
    plan: Design, flight: StepFlight, where: Region, slopes: tuple[Slope, ...]
) -> Floats:
    """Return what lies beside a flight at points along a strip: paving, a slope, the lawn. [m]"""
    points = shapely.get_coordinates(shapely.segmentize(where, _EVERY))
    levels = np.asarray(plan.ground.elevation(points), float)
    for slope in slopes:
        inside = np.asarray(shapely.intersects_xy(slope.region, points))
        if inside.any():
            levels[inside] = np.fmax(levels[inside], slope.level(points[inside]))
    if flight.kind != "to the lawn":
        lower = plan.area(flight.area)
        paved = np.asarray(shapely.intersects_xy(lower.outline, points))
        levels[paved] = level_at(lower, points[paved])
    return levels


def _cheek(
    crew: Crew, flight: StepFlight, side: str, strips: list[tuple[int, Region]],
    grounds: list[float],
) -> Cheek | None:  # fmt: skip
    unit = unit_of(crew)
    tops = [flight.treads[place].front for place, _ in strips]
    shown = max(top - low for top, low in zip(tops, grounds, strict=True))
    if shown <= LEVEL:
        return None  # the ground closes that side
    deepest = min(grounds)
    lowest = tops[-1]
    # At the foot it may show nothing at all: there it is buried like the rest.
    under = max(lowest - deepest, 0.0) - unit.cap_height + unit.bury_at(shown)
    first = max(whole_up(under / unit.height, SAME), 1)
    pad_top = lowest - unit.cap_height - first * unit.height
    parts = tuple(
        Course(where, top, first + round((top - lowest) / unit.height))
        for (_, where), top in zip(strips, tops, strict=True)
    )
    stands = shapely.union_all([each.where for each in parts])
    pad = shapely.difference(stands.buffer(unit.spread, join_style="mitre"), flight.polygon)
    name = f"cheek wall, {side} side, of {flight.name}"
    bury = deepest - pad_top
    return Cheek(name, parts, unit.depth, shown, bury, polygons(pad), pad_top)


def cheek_pads(cheeks: tuple[Cheek, ...], crew: Crew) -> tuple[Pad, ...]:
    """Return the pads of cheek walls, to be dug with all others of an area."""
    thick = crew["wall-pad"]
    return tuple(
        Pad(each.name, each.pad, each.pad_top - thick, each.pad_top, each) for each in cheeks
    )


def put_back_beside(cheeks: tuple[Cheek, ...], crew: Crew) -> float:
    """Return the soil put back before the faces of cheek walls, in the bank. [m3]"""
    return sum(crew["wall-pad-spread"] * max(each.bury, 0.0) * each.length for each in cheeks)


def cheek_solids(cheeks: tuple[Cheek, ...], crew: Crew) -> Iterator[Solid]:
    """Yield cheek walls as they are drawn."""
    cap, thick = crew["wall-cap-height"], crew["wall-pad"]
    for each in cheeks:
        yield Solid("dense-graded", each.pad, each.pad_top - thick, each.pad_top)
        for part in each.parts:
            yield Solid("block", part.where, each.pad_top, part.top - cap)
            yield Solid("cap", part.where, part.top - cap, part.top)


def cheek_works(cheeks: tuple[Cheek, ...]) -> tuple[Work, ...]:
    """Return the work of cheek walls, but digging, carrying and placing stone."""
    base = sum(each.length for each in cheeks)
    courses = sum(each.courses for each in cheeks)
    steps = sum(len({part.count for part in each.parts}) for each in cheeks)
    # At every step of its caps, and at its free end, every other course ends in a half.
    return masonry_works("cheek walls", base, courses, float(steps), "cut wall units")


def cheek_makers(cheeks: tuple[Cheek, ...], name: str, unit: Unit) -> Iterator[Maker]:
    """Yield what makes the lines of the cheek walls of a flight.

    Parameters
    ----------
    cheeks : tuple of Cheek
    name : str
        Of the flight.
    unit : "ft" or "m"
    """
    if not cheeks:
        return
    counts = tuple(sorted({part.count for each in cheeks for part in each.parts}))
    long = sum(each.length for each in cheeks)
    courses = sum(each.courses for each in cheeks)
    covered = sum(float(each.pad.area) for each in cheeks)
    yield Maker(_lines, (f"cheek walls of {name}", long, courses, counts, covered, unit))


def _lines(
    name: str, long: float, courses: float, counts: tuple[int, ...], covered: float, unit: Unit,
    crew: Crew,
) -> Iterator[Line]:  # fmt: skip
    many = f"{counts[0]}" if len(counts) == 1 else f"{counts[0]} to {counts[-1]}"
    how = f"{many} course{'s' if counts[-1] > 1 else ''} along {run(long, unit)}"
    yield unit_line(name, courses / crew["wall-unit-length"], how, crew)
    how = f"{run(long, unit)} of them, as high as the treads beside them"
    yield cap_line(name, long / crew["wall-cap-length"], how, crew)
    yield glue_line(name, 2 * long, "the caps and the top course", unit, crew)
    yield from level_pad(name, covered * crew["wall-pad"], crew["wall-pad"], unit, crew)


def sides_said(flight: StepFlight, beside: Beside, unit: Unit) -> str:
    """Say what closes the sides of a flight, to the crew; empty where it has none."""
    if flight.count < 2:
        return ""
    if sides_of(flight) == RETURNED:
        return "its end blocks returned with their face to the sides"
    if not beside.cheeks:
        return "" if beside.unknown else "no cheek walls, for the ground closes its sides"
    many = "a cheek wall" if len(beside.cheeks) == 1 else "cheek walls"
    shown = size(max(each.shown for each in beside.cheeks), unit)
    covered = area(sum(float(each.pad.area) for each in beside.cheeks), unit)
    return f"{many} beside them, up to {shown} shown, on a level pad of their own over {covered}"


def sides_plain(flight: StepFlight, beside: Beside) -> str:
    """Say the same to who pays; empty where there is nothing to say."""
    if not beside.cheeks:
        return ""
    return (
        "with a low wall along one side"
        if len(beside.cheeks) == 1
        else ("with low walls along both sides")
    )


def sides_not_known(flight: StepFlight, beside: Beside) -> tuple[str, ...]:
    """Say of which sides nothing is counted, for what decides is not known."""
    return tuple(
        f"the cheek wall on the {side} side of {flight.name}: how high it stands is not known, for "
        "the ground beside it was not surveyed"
        for side in beside.unknown
    )
