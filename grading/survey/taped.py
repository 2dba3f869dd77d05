"""Where booked points are: by x and y, along a wall and out from it, or by ties."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence
from functools import partial
from typing import Literal

import numpy as np
import shapely
from msgspec import Struct

from grading.catalogue.rules import Limits
from grading.errors import Problem
from grading.files.toml_text import nearest, shown_value
from grading.geometry.arrays import Floats
from grading.geometry.tolerances import TOGETHER
from grading.kept import Kept, fingerprint
from grading.site.house import HOUSE_STRIP, ON_THE_WALL, House
from grading.site.level_book import BookRow, LevelBook, Place
from grading.site.model import Site
from grading.site.survey_tables import Reference, same_name
from grading.site.walls import NamedWall, named_walls
from grading.survey.setups import point_key
from grading.survey.ties import Fix, crossings, fixes
from grading.units import Unit, length, run, size

Mirror = Literal["", "in or behind the house", "by side", "by a third tie"]

_KEPT = Kept(most=2)

FAR_BEHIND = 1000.0
"""How far behind an open foundation line is taken for the house where a mirror is settled. [m]"""


class TiedPoint(Struct, frozen=True, eq=False):
    """A point placed by ties, with what they say of each other.

    Attributes
    ----------
    key, name : str
    file : str
    line : int
        Where its first tie is booked.
    references : tuple of str
        What the tape was held to.
    lengths : (m,) float
        As taped. [m]
    fix : Fix
    mirror : str
        What told it from the point on the other side of the references: "in or behind the house",
        where no tape reaches, "by side", "by a third tie"; empty where there is none.
    """

    key: str
    name: str
    file: str
    line: int
    references: tuple[str, ...]
    lengths: Floats
    fix: Fix
    mirror: Mirror

    def fault(self, unit: Unit) -> str:
        """Say which tie is wrong, or that one of them is; empty where none is."""
        fix = self.fix
        if not fix.astray:
            return ""
        suspect = fix.suspect
        if suspect is not None:
            off = fix.off(suspect)
            side = "long" if off > 0 else "short"
            return (
                f"{self.name}: the tie to {self.references[suspect]} is about "
                f"{size(abs(off), unit)} too {side} in all likelihood. Tape it again"
            )
        offs = [abs(fix.off(tie)) for tie, odd in enumerate(fix.odd) if np.isfinite(odd)]
        least, most = size(min(offs), unit), size(max(offs), unit)
        about = least if least == most else f"{least} to {most}, whichever it is"
        return (
            f"{self.name}: one of these three ties ({', '.join(self.references)}) is off by about "
            f"{about}. Tape a fourth, which tells them apart"
        )

    def warnings(self, unit: Unit) -> Iterator[str]:
        """Say what of the ties is worth a second look."""
        fix = self.fix
        if fix.flat:
            yield (
                f"{self.name}: the tapes cross at {fix.angle:.0f}°, so it is known to "
                f"{size(fix.ellipse.major, unit)} only along one line. Tape one more from the side"
            )


class PlacedPoint(Struct, frozen=True, eq=False):
    """Where a point is. xy : (2,) [m]; sd : along either axis. [m]"""

    xy: Floats
    sd: float


class Taped(Struct, frozen=True, eq=False):
    """All places of the level books of a site.

    places : mapping of the key of a point to PlacedPoint.
    names : mapping of the key of a point to what the book calls it.
    tied : the points that ties place, in the order booked.
    """

    places: Mapping[str, PlacedPoint]
    names: Mapping[str, str]
    tied: tuple[TiedPoint, ...]


def corner_name(number: int) -> str:
    """Return what a corner of the house is called: its number along the foundation line."""
    return f"H{number}"


def references_of(house: House | None, own: Sequence[Reference]) -> dict[str, Floats]:
    """Return what a tape may be held to, by its name: the site's own, and corners of the house."""
    corners: dict[str, Floats] = {}
    if house is not None:
        starts = [start for start, _, _ in house.segments()]
        ends = [] if house.closed else [house.segments()[-1][1]]
        corners = {corner_name(k): at for k, at in enumerate([*starts, *ends], start=1)}
    return {**corners, **{each.name: each.at for each in own}}


def taped(
    books: Sequence[LevelBook],
    house: House | None,
    own: Sequence[Reference],
    limits: Limits,
    unit: Unit,
    fixed: Mapping[str, object],
) -> tuple[Taped, list[Problem]]:
    """Return where every point of level books is, and what is wrong with what was taped.

    Parameters
    ----------
    books : sequence of LevelBook
    house : House or None
    own : sequence of Reference
        The site's own.
    limits : Limits
    unit : "ft" or "m"
        What the sentences are written in.
    fixed : mapping
        The keys of the benchmarks.

    Notes
    -----
    Ties of one point may stand in several rows, as they were taped: they are taken together.
    Reader, checks and record all ask where the points are: it is found once.
    """
    sds = limits["paced-sd"], limits["tape-sd"]
    key = fingerprint(books, house, own, sds, unit, list(fixed))
    made = partial(_taped, books, house, own, limits, unit, fixed)
    found, problems = _KEPT.once("taped", key, made)
    return found, list(problems)


def _taped(
    books: Sequence[LevelBook],
    house: House | None,
    own: Sequence[Reference],
    limits: Limits,
    unit: Unit,
    fixed: Mapping[str, object],
) -> tuple[Taped, list[Problem]]:
    known = references_of(house, own)
    walls = named_walls(house)
    problems: list[Problem] = []
    places: dict[str, PlacedPoint] = {}
    booked: dict[str, list[_Booked]] = {}
    for book in books:
        sd = limits["paced-sd" if book.by_eye else "tape-sd"]
        for row in book.rows:
            if row.place is not None:
                key = point_key(row.point, book.file, row.line, fixed)
                booked.setdefault(key, []).append(_Booked(book.file, row, row.place, sd))
    tied: list[TiedPoint] = []
    for key, rows in booked.items():
        first = next((each for each in rows if not each.place.ties), None)
        ties = [each for each in rows if each.place.ties]
        if first is not None and ties:
            found = f"{first.name} placed here, and by ties in line {ties[0].row.line}"
            problems.append(Problem(first.where, found, "one of them", "Leave the other out."))
        elif first is not None:
            at = _by_wall(first, walls, problems)
            for other in rows:
                again = at if other is first else _by_wall(other, walls, problems)
                if at is not None and again is not None and np.hypot(*(again - at)) > 3 * first.sd:
                    problems.append(_twice(first, other, float(np.hypot(*(again - at))), unit))
            if at is not None:
                places[key] = PlacedPoint(at, first.sd)
        else:
            one = _by_ties(key, ties, known, house, unit, problems)
            if one is not None:
                tied.append(one)
                places[key] = PlacedPoint(one.fix.xy, one.fix.sd)
    names = {key: rows[0].name for key, rows in booked.items()}
    return Taped(places, names, tuple(tied)), problems


def taped_of(site: Site) -> Taped:
    """Return where every point of the level books of a site is; none where it has no book."""
    fixed = {same_name(each.name): each for each in site.benchmarks}
    limits = site.in_force
    return taped(site.levels, site.house, site.references, limits, site.unit, fixed)[0]


class _Booked(Struct, frozen=True):
    """A place with the row that it is booked in."""

    file: str
    row: BookRow
    place: Place
    sd: float

    @property
    def where(self) -> str:
        return f"{self.file}, line {self.row.line}"

    @property
    def name(self) -> str:
        return self.row.point or f"line {self.row.line}"


def _twice(first: _Booked, other: _Booked, apart: float, unit: Unit) -> Problem:
    found = (
        f"{shown_value(other.name)} {run(apart, unit)} from where line {first.row.line} "
        f"{'' if first.file == other.file else f'of {first.file} '}has it"
    )
    mend = "Give each point a name of its own, and write what it is under `code`."
    return Problem(other.where, found, "one place for a name", mend)


def _by_wall(booked: _Booked, walls: Sequence[NamedWall], problems: list[Problem]) -> Floats | None:
    """Return a place by x and y, or along a wall from its left end and out from it."""
    place = booked.place
    if place.xy is not None:
        return np.array(place.xy)
    where = f"{booked.where}, column wall"
    names = [name for name, *_ in walls]
    if not walls:
        mend = "Write [house] with its walls, or x and y."
        problems.append(Problem(where, "a place along a wall", "a wall of the house", mend))
        return None
    word = same_name(place.wall)
    number = re.fullmatch(r"(?:wall )?(\d{1,4})", word)
    if word:
        wall = next((each for each in walls if number and each[0] == f"wall {number[1]}"), None)
        found = shown_value(place.wall)
    else:
        wall, found = (walls[0] if len(walls) == 1 else None), "nothing"
    if wall is None:
        expected = f"a wall of the house: {', '.join(names)}"
        problems.append(Problem(where, found, expected, nearest(place.wall, names)))
        return None
    _, start, end, outward = wall
    # To the left of one who faces the house: see `grading.design.places`.
    left = np.array([outward[1], -outward[0]])
    first = max((start, end), key=lambda corner: float(corner @ left))
    assert place.along is not None
    assert place.out is not None
    return np.asarray(first - place.along * left + place.out * outward)


def _by_ties(
    key: str, rows: Sequence[_Booked], known: Mapping[str, Floats], house: House | None,
    unit: Unit, problems: list[Problem],
) -> TiedPoint | None:  # fmt: skip
    first = rows[0]
    pairs: dict[str, float] = {}
    for row in rows:
        for name, metres in row.place.ties.items():
            if name in pairs and abs(pairs[name] - metres) > 3 * row.sd:
                found = f"{length(metres, unit)} to {name}, and {length(pairs[name], unit)} above"
                problems.append(Problem(row.where, found, "one distance to a reference"))
                return None
            pairs.setdefault(name, metres)
    names = tuple(pairs)
    if len(pairs) < 2:
        found = f"one tie of {shown_value(first.name)}, to {names[0]}"
        expected = "ties to two references or more"
        problems.append(Problem(first.where, found, expected, "Tape it from another as well."))
        return None
    refs, lengths = np.array([known[name] for name in names]), np.array(list(pairs.values()))
    sds = np.full(len(lengths), first.sd)
    every = fixes(refs, lengths, sds)
    if not every:
        problems.append(_no_place(first, names, refs, lengths, unit))
        return None
    side = next((row.place.side for row in rows if row.place.side), "")
    settled = _settled(every, refs, side, house)
    if isinstance(settled, str):
        problems.append(_unsettled(first, names, settled))
        return None
    fix, mirror = settled
    if not mirror and len(names) > 2:
        mirror = "by a third tie"
    return TiedPoint(key, first.name, first.file, first.row.line, names, lengths, fix, mirror)


def _settled(
    every: Sequence[Fix], refs: Floats, side: str, house: House | None
) -> tuple[Fix, Mirror] | str:
    """Return the point that is meant and what told it, or why none is."""
    outside = [fix for fix in every if not _inside(fix.xy, house)]
    if len(outside) > 1 and not side:
        outside = [fix for fix in outside if not through_house(fix.xy, refs, house)] or outside
    if not outside:
        return "inside"
    if side:
        ahead = refs[1] - refs[0]
        sign = 1.0 if side == "left" else -1.0
        kept = [fix for fix in every if sign * _cross(ahead, fix.xy - refs[0]) > 0]
        if not kept:
            return "other side"
        return (kept[0], "by side") if not _inside(kept[0].xy, house) else "inside"
    if len(outside) > 1:
        return "both"
    return outside[0], "in or behind the house" if len(every) > 1 else ""


def _cross(one: Floats, other: Floats) -> float:
    return float(one[0] * other[1] - one[1] * other[0])


def _inside(xy: Floats, house: House | None) -> bool:
    """Return whether a point lies in the house, or behind a foundation line that is open."""
    if house is None:
        return False
    point = shapely.Point(xy)
    if float(shapely.distance(shapely.LineString(house.walls), point)) <= 2 * ON_THE_WALL:
        return False
    if house.closed:
        return bool(shapely.contains(house.polygon(FAR_BEHIND), point))
    return bool(shapely.contains(house.behind(FAR_BEHIND), point))


def through_house(xy: Floats, refs: Floats, house: House | None) -> bool:
    """Return whether a tape from a point (2,) to one of others (k, 2) goes through the house."""
    if house is None:
        return False
    # Taken in by an inch: a tape along a wall does not go through it.
    body = shapely.buffer(house.polygon(HOUSE_STRIP), -TOGETHER)
    tapes = shapely.linestrings([[ref, xy] for ref in refs])
    return bool((shapely.length(shapely.intersection(tapes, body)) > TOGETHER).any())


def _unsettled(booked: _Booked, names: Sequence[str], why: str) -> Problem:
    name, pair = shown_value(booked.name), f"{names[0]} and {names[1]}"
    if why == "inside":
        found = f"ties to {pair} that place {name} inside the house"
        return Problem(booked.where, found, "a point of the yard", "Tape it again.")
    if why == "other side":
        found = f"ties that place {name} on the other side of {pair}"
        expected = f'the side that is written, "{booked.place.side}"'
        return Problem(booked.where, found, expected, "Turn the side, or leave it out.")
    found = f"ties that {name} has on either side of the line from {names[0]} to {names[1]}"
    mend = (
        f'Write "left" or "right", as one walks from {names[0]} to {names[1]}, under `side`, or '
        "tape a third one from off that line."
    )
    return Problem(booked.where, found, "one place", mend)


def _no_place(
    booked: _Booked, names: Sequence[str], refs: Floats, lengths: Floats, unit: Unit
) -> Problem:
    name = shown_value(booked.name)
    gap = crossings(refs[0], refs[1], float(lengths[0]), float(lengths[1]))[1]
    apart = float(np.hypot(*(refs[1] - refs[0])))
    if gap > 0 and len(names) == 2:
        short = apart > lengths.sum()
        found = (
            f"ties of {name} to {names[0]} and {names[1]} that "
            f"{'fall short of each other' if short else 'do not reach each other'} by "
            f"{length(gap, unit)}"
        )
        expected = f"tapes that meet: the two are {length(apart, unit)} apart"
        return Problem(booked.where, found, expected, "Tape both again.")
    found = f"ties of {name} that all lie along one line"
    mend = "Tape it from a reference to the side."
    return Problem(booked.where, found, "tapes that cross at an angle", mend)
