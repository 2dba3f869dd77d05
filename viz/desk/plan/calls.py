"""What the plan asks by name: lengths as they are typed, an edge made as long as that, contours.

A spot of the survey, or a test hole, that is placed on it is a row more of its file.
"""

from __future__ import annotations

import csv
import io
from collections.abc import Callable, Iterator, Mapping, Sequence
from typing import Any

import numpy as np
import shapely
from msgspec import Struct

from grading.design.contours import finish_contours, ground_contours
from grading.errors import Problem, SiteError
from grading.geometry.arrays import Floats
from grading.geometry.outline import Arc
from grading.geometry.tolerances import TAPED, TOGETHER
from grading.units import FOOT, METRES, Unit, length, number
from viz.desk.blocks import Change
from viz.desk.places import DECIMALS, placed
from viz.desk.plan.corner_levels import corner_level, moved_along
from viz.desk.plan.typed import read_typed, written_place
from viz.desk.seen import Seen
from viz.desk.survey.sheets import HOLES, SPOTS, Kind, sheet_of
from viz.words.figures import DIRT

_PARALLEL = 0.02
"""Sine of the angle below which two edges run the same way."""


def lengths(seen: Seen, told: Mapping[str, Any]) -> dict[str, Any]:
    """Return typed lengths as numbers in the unit of the site.

    Parameters
    ----------
    seen : Seen
    told : mapping
        `words`, what was typed; `place`, whether they are of a place, which may be zero and less.

    Raises
    ------
    SiteError
        One of them is no length.
    """
    unit = seen.partly.unit
    read = [
        read_typed(each, unit, bool(told.get("place"))) / METRES[unit] for each in told["words"]
    ]
    return {"lengths": [round(each, DECIMALS + 2) for each in read]}


def edge_length(seen: Seen, told: Mapping[str, Any]) -> dict[str, Any]:
    """Return the changes that make an edge of paving as long as it is typed.

    The edge keeps its direction. The corner at one end moves, and with it all that hangs on it, up
    to the next edge that runs the same way, which takes up the difference: what is square stays so.

    Parameters
    ----------
    seen : Seen
    told : mapping
        `at`, the way to the corner that the edge ends at, and `length`, as typed.

    Raises
    ------
    SiteError
        The length cannot be read, or the edge is none that can be told by its length.
    """
    unit = seen.partly.unit
    wanted = read_typed(told["length"], unit)
    at, _, last = str(told["at"]).rpartition("/")
    ring = _ring_of(seen, at)
    place = int(last)
    if ring is None or not 0 <= place < len(ring.ends) or ring.throughs[place] is not None:
        expected = "a straight edge of paving that can be read"
        raise SiteError([Problem(str(told["at"]), "another", expected)])
    moved = ring.lengthened(place, wanted)
    changes = [Change(f"{at}/{k}", value) for k, value in ring.changed(moved, unit)]
    along = ((ring.ends[k], written_place(ring.ends[k] + by, unit)) for k, by in moved.items())
    changes += moved_along(seen.partly, along)
    return {"changes": [each.record() for each in changes]}


def contours(seen: Seen, told: Mapping[str, Any]) -> dict[str, Any]:
    """Return level lines of the ground as it is and of the finish, each with its level.

    Parameters
    ----------
    seen : Seen
    told : mapping
        Nothing is asked.
    """
    plan, unit = seen.plan, seen.partly.unit
    found: list[dict[str, Any]] = []
    if plan is None or seen.stale:
        return {"contours": found}
    paved = shapely.union_all([area.outline for area in plan.areas])
    yard = paved.buffer(10 * FOOT).difference(paved)
    if plan.site.house is not None:
        yard = yard.difference(plan.site.house.behind(50 * FOOT))
    many = [("finish", finish_contours(area, unit)[1]) for area in plan.areas]
    many += [("ground", ground_contours(plan.ground, plan.areas[0], yard, unit)[1])]
    for kind, lines in many:
        for level, each in lines:
            words = length(level, unit, DIRT)
            found.append({"kind": kind, "label": words, "line": placed(each.coords, unit)})
    return {"contours": found}


class _Ring(Struct, frozen=True):
    """An outline corner by corner. `ends` (n, 2), `throughs` of arcs [m]; `fixed` is the house."""

    ends: Floats
    throughs: Sequence[Floats | None]
    house: shapely.Geometry

    def lengthened(self, place: int, wanted: float) -> dict[int, Floats]:
        """Return how far each corner moves for the edge that ends at one to be so long. [m]"""
        count = len(self.ends)
        first, last = (place - 1) % count, place
        along = self.ends[last] - self.ends[first]
        long = float(np.hypot(*along))
        if long < TAPED:
            return {}
        step = along / long * (wanted - long)
        ways = [
            dict.fromkeys(self._hanging(first, last, 1), step),
            dict.fromkeys(self._hanging(last, first, -1), -step),
        ]
        # What lies at the house stays there, unless it moves along its wall.
        return min(ways, key=lambda way: (self._off_house(way), len(way)))

    def _hanging(self, held: int, at: int, on: int) -> list[int]:
        """Return the corners from one on that move together, until an edge runs the same way."""
        count = len(self.ends)
        way = self.ends[at] - self.ends[held]
        found = [at]
        while len(found) < count - 1:
            after = (at + on) % count
            edge = self.ends[after] - self.ends[at]
            through = self.throughs[after if on > 0 else at]
            sine = way[0] * edge[1] - way[1] * edge[0]
            size = float(np.hypot(*way) * np.hypot(*edge))
            if size and through is None and abs(sine) < _PARALLEL * size:
                return found
            if after == held:
                break
            found.append(after)
            at = after
        return found[:1]  # nothing runs the same way: the corner moves alone

    def _off_house(self, way: Mapping[int, Floats]) -> int:
        """Return how many corners at the house would leave its wall, or go into it."""
        points = shapely.points(self.ends[list(way)])
        moved = shapely.points(self.ends[list(way)] + np.array(list(way.values())))
        was = shapely.distance(points, self.house) < TOGETHER
        return int((was & (shapely.distance(moved, self.house) >= TOGETHER)).sum())

    def changed(self, moved: Mapping[int, Floats], unit: Unit) -> Iterator[tuple[int, Any]]:
        """Yield the entries that are not as they were, as they are to be written."""
        count = len(self.ends)
        for k in range(count):
            before, through = (k - 1) % count, self.throughs[k]
            if k not in moved and (through is None or before not in moved):
                continue
            ends = [self.ends[each] + moved.get(each, np.zeros(2)) for each in (before, k)]
            if through is None:
                yield k, written_place(ends[1], unit)
                continue
            carried = _carried(through, self.ends[before], self.ends[k], *ends)
            yield k, {"arc": [written_place(carried, unit), written_place(ends[1], unit)]}


def _carried(xy: Floats, *chords: Floats) -> Floats:
    """Return a point (2,) moved as the chord of its arc was, from one pair of ends to another."""
    a, b, c, d = (complex(*each) for each in chords)
    moved = c + (complex(*xy) - a) * (d - c) / (b - a)
    return np.array([moved.real, moved.imag])


def _ring_of(seen: Seen, at: str) -> _Ring | None:
    """Return the outline, or the hole, that a way leads to."""
    keys = at.split("/")
    area = seen.partly.areas.get("/".join(keys[:2]))
    if area is None:
        return None
    if keys[2:] == ["outline"]:
        edges = area.outline
    elif len(keys) == 4 and keys[2] == "holes" and int(keys[3]) < len(area.holes):
        edges = area.holes[int(keys[3])]
    else:
        return None
    ends = [np.array(each.end if isinstance(each, Arc) else each, float) for each in edges]
    throughs = [np.array(each.through, float) if isinstance(each, Arc) else None for each in edges]
    house = seen.partly.house
    wall = shapely.Point() if house is None else shapely.LineString(house.walls)
    return _Ring(np.array(ends), throughs, wall)


def place_spot(seen: Seen, told: Mapping[str, Any]) -> dict[str, Any]:
    """Return the file of the spots with one more.

    Parameters
    ----------
    seen : Seen
    told : mapping
        `at`, the place as [x, y], and `z`, its level, as typed.

    Returns
    -------
    dict
        `file` and its `text`; the `changes` of the site file that go with it; what it is `said`.

    Raises
    ------
    SiteError
        The survey is no file that a row can be written into.
    """
    named = seen.document.get("spots")
    names = [named] if isinstance(named, str) else list(named or [])
    name = names[-1] if names else SPOTS.new
    changes = [] if names else [Change("spots", name)]
    cells = dict(zip(("x", "y", "z"), _bare(seen, *told["at"], told["z"]), strict=True))
    return _with_row(seen, name, SPOTS, cells, changes, "add spot")


def place_hole(seen: Seen, told: Mapping[str, Any]) -> dict[str, Any]:
    """Return the file of the test holes with one more.

    Parameters
    ----------
    seen : Seen
    told : mapping
        `at`, the place as [x, y], and `depth`, as typed.

    Returns
    -------
    dict
        As `place_spot`.

    Raises
    ------
    SiteError
        As `place_spot`.
    """
    named = seen.document.get("ground", {}).get("organics")
    known = isinstance(named, str) and named in seen.files
    name = str(named) if known else HOLES.new
    changes = [] if known else [Change("ground/organics", name)]
    cells = dict(zip(("x", "y", "depth"), (*_bare(seen, *told["at"]), told["depth"]), strict=True))
    return _with_row(seen, name, HOLES, cells, changes, "add test hole")


def _bare(seen: Seen, *words: Any) -> list[str]:
    """Return lengths as typed as the bare numbers that stand for them in a file of the site."""
    unit = seen.partly.unit
    return [number(read_typed(each, unit, True), unit) for each in words]


def _with_row(
    seen: Seen, name: str, kind: Kind, cells: Mapping[str, Any], changes: Sequence[Change],
    said: str,
) -> dict[str, Any]:  # fmt: skip
    if not name.lower().endswith(".csv"):
        mend = "Add it in the program that the file is from, and bring the file in again."
        raise SiteError([Problem(name, "a file of another kind", "a csv file", mend)])
    text = seen.files.get(name, "")
    sheet = sheet_of(text, name, kind)
    row = io.StringIO()
    writer = csv.writer(row, delimiter=sheet.sign, lineterminator="\n")
    writer.writerow([cells.get(each, "") for each in kind.reads(sheet.header)])
    above = "\n".join(line.raw for line in sheet.lines)
    return {
        "file": name,
        "text": f"{above}\n{row.getvalue()}",
        "changes": [each.record() for each in changes],
        "said": said,
    }


PLAN_CALLS: Mapping[str, Callable[[Seen, Mapping[str, Any]], dict[str, Any]]] = {
    "lengths": lengths,
    "edge-length": edge_length,
    "contours": contours,
    "corner-level": corner_level,
    "place-spot": place_spot,
    "place-hole": place_hole,
}
"""Each by its name."""
