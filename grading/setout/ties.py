"""Where a stake goes by two tapes: the references whose tapes cross best, and a third as check."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import combinations

import numpy as np
import shapely
from msgspec import Struct

from grading.design.model import Design
from grading.geometry.arrays import Floats
from grading.geometry.tolerances import TOGETHER, TOUCH
from grading.site.model import Site
from grading.site.walls import named_walls
from grading.survey.taped import references_of, through_house

SHARP, FLAT = np.radians(30.0), np.radians(150.0)
"""Tapes that cross at less or at more than this place a stake badly: common practice, no source.
Two tapes out by 1/4 in each leave a stake at 30 degrees twice as far off as at 90."""

_AT = TOGETHER / 2  # m: a stake this near to a reference is at it


class Held(Struct, frozen=True, eq=False):
    """What a tape is held to: its name, where it is (2,) [m], and that in words."""

    name: str
    at: Floats
    where: str


class Tie(Struct, frozen=True):
    """A tape from a reference to a stake. [m]"""

    to: str
    length: float


class Tied(Struct, frozen=True):
    """How a stake is placed by tape.

    Attributes
    ----------
    ties : tuple of Tie
        The two that cross best, then a third as check; fewer where no more are in sight.
    angle : float or None
        Between the first two at the stake; None where there are not two, or where the stake is at
        a wall that both run along. [rad]
    wall : str
        The wall that it stands at, empty where it stands at none.
    """

    ties: tuple[Tie, ...]
    angle: float | None
    wall: str

    @property
    def poor(self) -> bool:
        """Whether the tapes cross so flat or so sharp that the stake is badly placed."""
        return self.angle is not None and not SHARP <= self.angle <= FLAT


def held_on(design: Design) -> tuple[Held, ...]:
    """Return what tapes are held to on a site: corners of the house, H1, H2, ..., and its own."""
    site = design.site
    found = []
    for name, at in references_of(site.house, site.references).items():
        ends = []
        for wall, start, end, outward in named_walls(site.house):
            # As one faces the wall from the yard.
            left = np.array([outward[1], -outward[0]])
            for one, other in ((start, end), (end, start)):
                if np.hypot(*(at - one)) <= TOUCH:
                    side = "left" if (one - other) @ left > 0 else "right"
                    ends.append(f"{side} end of {wall}")
        found.append(Held(name, at, " and ".join(ends) or design.places.at(at)))
    return tuple(found)


class Taping:
    """Chooses the ties of stakes on a site.

    Parameters
    ----------
    site : Site
    references : sequence of Held
    longest : float
        What a tape reaches. [m]
    """

    def __init__(self, site: Site, references: Sequence[Held], longest: float) -> None:
        self._references = tuple(references)
        self._longest = longest
        self._walls = named_walls(site.house)
        self._house = site.house

    @property
    def has_references(self) -> bool:
        """Whether there is anything that a tape can be held to."""
        return bool(self._references)

    def tied(self, at: Floats) -> Tied:
        """Return how a stake (2,) is placed. [m]"""
        wall = self._wall(at)
        reached = [
            (each, float(np.hypot(*(each.at - at))))
            for each in self._references
            if self.in_sight(each.at, at)
        ]
        here = [pair for pair in reached if pair[1] <= _AT]
        if here:
            return Tied((Tie(here[0][0].name, 0.0),), None, wall)
        if len(reached) < 2:
            return Tied(tuple(Tie(one.name, long) for one, long in reached), None, wall)
        pairs = list(combinations(reached, 2))
        angles = [_angle(one.at - at, other.at - at) for (one, _), (other, _) in pairs]
        # The best crossing; of those alike, the shorter tapes, then the names.
        best = min(
            range(len(pairs)),
            key=lambda k: (
                round(abs(angles[k] - np.pi / 2), 6),
                round(pairs[k][0][1] + pairs[k][1][1], 6),
                (pairs[k][0][0].name, pairs[k][1][0].name),
            ),
        )
        two = sorted(pairs[best], key=lambda pair: pair[0].name)
        rest = [pair for pair in reached if pair[0] not in (two[0][0], two[1][0])]
        third = sorted(rest, key=lambda pair: (round(pair[1], 6), pair[0].name))[:1]
        crossing = SHARP <= angles[best] <= FLAT
        # At a wall both tapes may run along it: they cross flat, and the wall itself is the line.
        angle = None if wall and not crossing else angles[best]
        return Tied(tuple(Tie(one.name, long) for one, long in (*two, *third)), angle, wall)

    def in_sight(self, reference: Floats, at: Floats) -> bool:
        """Whether a tape reaches from one point (2,) to another, the house not in its way. [m]"""
        far = float(np.hypot(*(reference - at)))
        return far <= self._longest and not through_house(at, reference[None], self._house)

    def _wall(self, at: Floats) -> str:
        for name, start, end, _ in self._walls:
            if shapely.LineString([start, end]).distance(shapely.Point(at)) <= _AT:
                return name
        return ""


def _angle(one: Floats, other: Floats) -> float:
    """Return the angle between two directions. [rad]"""
    cosine = one @ other / (np.hypot(*one) * np.hypot(*other))
    return float(np.arccos(np.clip(cosine, -1.0, 1.0)))
