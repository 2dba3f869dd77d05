"""What the spots of a survey say of one another, told as the person knows them."""

from __future__ import annotations

from collections.abc import Collection, Iterator
from dataclasses import dataclass

import numpy as np

from grading.geometry.arrays import Floats, Ints
from grading.ground.blunders import Bools, blunders
from grading.ground.slips import likely_slip
from grading.ground.spots import SpotNames, TwoLevels, two_levels
from grading.units import number

MOST_NAMED = 10
"""So many suspects are named one by one; the rest is counted."""


@dataclass(frozen=True)
class Suspect:
    """A spot that has to be read again.

    spot : its row in the survey.
    key : what settles it in the site file: its id, or "line 8".
    name : "spot 7".
    off : how far it stands above the ground around it, or the other level of its place. [m]
    text : the sentence, with the file and the line, how far, and the likely slip.
    """

    spot: int
    key: str
    name: str
    off: float
    text: str


@dataclass(frozen=True)
class CrossCheck:
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
    xyz: Floats, points: Floats, member: Ints, corners: Ints, creased: Bools,
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
    corners : (m, 3) int
        Triangles of the points.
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
    found = blunders(points, corners, never)
    suspects = [_of_pair(pair, xyz, names) for pair in wrong]
    for spot, up in zip(found.spots.tolist(), found.heights.tolist(), strict=True):
        suspects.append(_standing_out(int(first[spot]), points[spot, 2], up, names))
    suspects.sort(key=lambda each: -abs(each.off))
    return CrossCheck(tuple(suspects), count, found.power, tuple(_thinned(pairs, xyz, names)))


def _standing_out(spot: int, z: float, up: float, names: SpotNames) -> Suspect:
    text = (
        f"{names.where(spot)}: {names.name(spot)} is {names.about(abs(up))} "
        f"{'above' if up > 0 else 'below'} the ground around it"
    )
    meant = likely_slip(z, z - up, names.unit)
    if meant:
        text += f": was {meant} read as {number(z, names.unit)}?"
    else:
        text += "; check the reading, or draw a breakline if the ground steps there"
    return Suspect(spot, names.key(spot), names.name(spot), up, text)


def _of_pair(pair: TwoLevels, xyz: Floats, names: SpotNames) -> Suspect:
    one, other = pair.one, pair.other
    text = (
        f"{names.where(other)}: {names.name(other)} has elevation {names.length(xyz[other, 2])} "
        f"where {names.name(one)} ({names.where(one)}) has {names.length(xyz[one, 2])}, both at "
        f"{names.place(xyz[other])}; leave the wrong one out"
    )
    off = float(xyz[other, 2] - xyz[one, 2])
    return Suspect(other, names.key(other), names.name(other), off, text)


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
