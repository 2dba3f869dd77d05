"""What the spots of a survey say of one another, told as the person knows them."""

from __future__ import annotations

from collections.abc import Collection, Iterator
from typing import cast

import numpy as np
from msgspec import Struct

from grading.geometry.arrays import Bools, Floats, Ints
from grading.geometry.triangulation import Triangles
from grading.ground.blunders import blunders
from grading.ground.process import MOST, Process, fitted, spread_out
from grading.ground.slips import BELIEVED, Cause, Marks, booked, causes
from grading.ground.spots import SpotNames, TwoLevels, two_levels
from grading.units import METRES, number
from grading.worded import Worded

MOST_CAUSES = 3
"""So many slips that would explain a spot are named."""

# Of spots too few for a process: how near the ground around a spot is known. [file's unit]
_NEAR = 0.12

MOST_NAMED = 10
"""So many suspects are named one by one; the rest is counted."""


class Slip(Struct, frozen=True):
    """What would explain a spot that stands out, and the level that it would make of it. [m]"""

    cause: Cause
    z: float


class Suspect(Struct, frozen=True):
    """A spot that has to be read again.

    spot : its row in the survey.
    key : what settles it in the site file: its id, or "line 8".
    name : "spot 7".
    off : how far it stands above the ground around it, or the other level of its place. [m]
    text : the sentence, with the file and the line, how far, and the likely slips.
    yard : the same to who stands in the yard.
    slips : what would explain it, the likeliest first.
    """

    spot: int
    key: str
    name: str
    off: float
    text: str
    yard: str
    slips: tuple[Slip, ...] = ()


class CrossCheck(Struct, frozen=True):
    """The suspects, worst first; of how many spots; and how well the spots check one another.

    power : share of the spots at which a foot up or down would have been found; None where the
        spots are too many to be tried one by one.
    told : sentences on what was done to shots at one place.
    """

    suspects: tuple[Suspect, ...]
    spots: int
    power: float | None
    told: tuple[str, ...] = ()


def cross_check(
    xyz: Floats, points: Floats, member: Ints, mesh: Triangles, creased: Bools,
    names: SpotNames, read_again: Collection[int] = (),
) -> CrossCheck:  # fmt: skip
    """Hold the spots of a survey against one another.

    Parameters
    ----------
    xyz : (n, 3) float
        Spots as shot. [m]
    points : (d, 3) float, member : (n,) int
        The distinct ones, and which each shot became; see `survey_check.distinct_spots`. Vertices
        of breaklines may follow. [m]
    mesh : Triangles
        Of the points.
    creased : (d,) bool
        Points on a breakline.
    names : SpotNames
    read_again : collection of int
        Shots that the person has settled.
    """
    count = int(member.max()) + 1
    first = np.zeros(len(points), np.int64)
    first[member[::-1]] = np.arange(len(member))[::-1]
    never = creased.copy()
    never[member[list(read_again)]] = True
    pairs = two_levels(xyz, member)
    wrong = [pair for pair in pairs if pair.far and not never[member[pair.one]]]
    never[[member[pair.one] for pair in wrong]] = True
    found = blunders(points, mesh, never)
    suspects = [_of_pair(pair, xyz, names) for pair in wrong]
    around = _Around(points[:count], found.spots)
    for spot, up in zip(found.spots.tolist(), found.heights.tolist(), strict=True):
        z, (ground, sd) = float(points[spot, 2]), around.at(spot, up, names)
        slips = _slips(z, ground, sd, int(first[spot]), names, bool((xyz[:, 2] < 0).any()))
        suspects.append(_standing_out(int(first[spot]), z, up, slips, names))
    suspects.sort(key=lambda each: -abs(each.off))
    return CrossCheck(tuple(suspects), count, found.power, tuple(_thinned(pairs, xyz, names)))


class _Around:
    """What the ground would be at a spot, from all that do not stand out."""

    def __init__(self, points: Floats, suspects: Ints) -> None:
        self.points, self.process = points, _Around._of(points, suspects)

    @staticmethod
    def _of(points: Floats, suspects: Ints) -> Process | None:
        if not len(suspects):
            return None
        others = np.delete(points, suspects, axis=0)
        near = spread_out(others[:, :2], points[suspects, :2], MOST)
        return fitted(others[near])

    def at(self, spot: int, up: float, names: SpotNames) -> tuple[float, float]:
        """Return the level of the ground at a spot, and its deviation. [m]

        up : how far the spot stands above the ground, where there is no process. [m]
        """
        if self.process is None:
            return float(self.points[spot, 2]) - up, _NEAR * METRES[names.unit] / BELIEVED
        xy = self.points[spot : spot + 1, :2]
        level = self.process.weights(xy)[0] @ self.process.xyz[:, 2]
        variance = float(self.process.left(xy, xy)[0, 0]) + self.process.noise**2
        return float(level), float(np.sqrt(variance))


def _slips(
    z: float, ground: float, sd: float, shot: int, names: SpotNames, signed: bool
) -> tuple[Slip, ...]:
    """Return what would explain a level: edits of what was booked, a reading where there is one."""
    reading = names.reading(shot)
    if reading is None:
        marks: Marks = names.unit
        return tuple(Slip(each, each.figure) for each in causes(z, marks, ground, sd, signed))
    found = causes(reading.rod, cast(Marks, reading.unit), reading.hi - ground, sd)
    return tuple(Slip(each, reading.hi - each.figure) for each in found)


def _standing_out(
    spot: int, z: float, up: float, slips: tuple[Slip, ...], names: SpotNames
) -> Suspect:
    text = Worded(f"{names.where(spot)}: ", "") + (
        f"{names.name(spot)} is {names.about(abs(up))} "
        f"{'above' if up > 0 else 'below'} the ground around it"
    )
    slips = slips[:MOST_CAUSES]
    if slips:
        text += f": {_asked(slips, z, spot, names)}"
    else:
        text += "; check the reading"
        text += Worded(", or draw a breakline if the ground steps there", "")
    return Suspect(spot, names.key(spot), names.name(spot), up, text.file, text.yard, slips)


def _asked(slips: tuple[Slip, ...], z: float, spot: int, names: SpotNames) -> str:
    """Ask whether a slip was made, and name the others that would explain the spot."""
    reading, (first, *others) = names.reading(spot), slips
    if reading is None:
        said = f"was {first.cause.written} read as {number(z, names.unit)}?"
        return said + "".join(
            f" Or was it {each.cause.written}, {each.cause.kind}?" for each in others
        )
    written = booked(reading.rod, cast(Marks, reading.unit))
    said = (
        f"was the rod at {first.cause.written} and booked as {written} "
        f"({first.cause.kind})? The spot would be at {names.length(first.z)}."
    )
    return said + "".join(
        f" Or at {each.cause.written}, {each.cause.kind}: {names.length(each.z)}?"
        for each in others
    )


def _of_pair(pair: TwoLevels, xyz: Floats, names: SpotNames) -> Suspect:
    one, other = pair.one, pair.other
    text = (
        Worded(f"{names.where(other)}: ", "")
        + f"{names.name(other)} has elevation {names.length(xyz[other, 2])} where {names.name(one)}"
        + Worded(f" ({names.where(one)})", "")
        + f" has {names.length(xyz[one, 2])}, both at {names.place(xyz[other])}; leave the wrong "
        "one out"
    )
    off = float(xyz[other, 2] - xyz[one, 2])
    return Suspect(other, names.key(other), names.name(other), off, text.file, text.yard)


def _thinned(pairs: list[TwoLevels], xyz: Floats, names: SpotNames) -> Iterator[str]:
    """Say of shots at one place, whose levels differ as shots on one place do, what became."""
    near = [pair for pair in pairs if not pair.far]
    if not near:
        return
    worst = max(near, key=lambda pair: pair.gap)
    one, other = worst.one, worst.other
    places = "1 place was" if len(near) == 1 else f"{len(near)} places were"
    yield (
        f"{names.file}: {places} shot more than once, at levels up to {names.about(worst.gap)} "
        f"apart ({names.name(one)} and {names.name(other)}, {names.where(one)} and "
        f"{names.where(other)}); the mean is used"
    )
