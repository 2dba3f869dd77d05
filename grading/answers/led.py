"""What a plan comes to, in the order in which it is told: build it or not, what to look at, why.

The first screen and the homeowner's paper read the same facts off it, each in its own words.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from functools import lru_cache
from typing import Literal

from msgspec import Struct

from grading.answers.site import SiteAnswer, site_answer
from grading.catalogue.tables import table
from grading.checks.maker import Check, Status
from grading.design.door_steps import DoorStep, door_steps
from grading.design.model import Design
from grading.design.steps import SharedEdge, shared_edges
from grading.ground.cross_check import Suspect
from grading.pipeline import Plan
from grading.water.model import AreaWater

Verdict = Literal["build", "look", "fail", "stop"]
"""Build it; build it after a look or more; something fails; a shot does not fit."""

_WORST: tuple[Status, ...] = ("fail", "warn", "unknown")
_BESIDE = 0.1  # share of the dig that is not for the paving, from which that is said


class Told(Struct, frozen=True):
    """Checks of one rule that come out alike, told in one line.

    Attributes
    ----------
    rule, area : str
        The area is empty where they are of the site.
    status : "fail", "warn" or "unknown"
    checks : tuple of Check
        The worst first.
    """

    rule: str
    area: str
    status: Status
    checks: tuple[Check, ...]

    @property
    def worst(self) -> Check:
        """The check whose figure is told."""
        return self.checks[0]


class Led(Struct, frozen=True, eq=False):
    """A plan as it is led with.

    Attributes
    ----------
    plan : Plan
    astray : tuple of Suspect
        Shots that do not fit; nothing is said of the plan before they are settled.
    fails, looks : tuple of Told
        What fails, and what must be looked at; the worst first.
    doors : tuple of DoorStep
    steps : tuple of SharedEdge
        Between areas, where they do not meet flush.
    water : tuple of AreaWater
        Where the rain on each area ends.
    answer : SiteAnswer
        What stands on what and why, and what it takes.
    """

    plan: Plan
    astray: tuple[Suspect, ...]
    fails: tuple[Told, ...]
    looks: tuple[Told, ...]
    doors: tuple[DoorStep, ...]
    steps: tuple[SharedEdge, ...]
    water: tuple[AreaWater, ...]
    answer: SiteAnswer

    @property
    def verdict(self) -> Verdict:
        """Whether it is to be built."""
        if self.astray:
            return "stop"
        if self.fails:
            return "fail"
        return "look" if self.look_count else "build"

    @property
    def look_count(self) -> int:
        """How many things must be looked at: checks, and what looks odd in what was written."""
        return len(self.looks) + len(self.plan.warnings)

    @property
    def least_away(self) -> float | None:
        """The least fall of the paving away from a wall; None where no wall is near. [ratio]"""
        return least_away(self.plan)

    @property
    def deepest(self) -> float:
        """The deepest dig below the ground, on the bases chosen. [m]"""
        return max(area.chosen_dig.max_dig for area in self.plan.areas)

    @property
    def digs_beside(self) -> bool:
        """Whether a good part of the dig is for walls, drains or pits, and not for the paving."""
        jobs = [order.takeoffs[order.area.chosen] for order in self.plan.order.areas]
        return sum(job.dug - job.dig.cut for job in jobs) > _BESIDE * sum(job.dug for job in jobs)


def least_away(plan: Design) -> float | None:
    """Return the least fall of the paving away from a wall; None where no wall is near. [ratio]

    Parameters
    ----------
    plan : Design
    """
    falls = [wall.fall_away for area in plan.areas for wall in area.walls]
    return min(falls, default=None)


def least_fall(plan: Design) -> float:
    """Return the least fall of any plane that is paved. [ratio]

    Parameters
    ----------
    plan : Design
    """
    return min(facet.plane.fall for area in plan.areas for facet in area.finish.surface.paved)


@lru_cache(maxsize=4)  # asked by the screen and by every paper
def led(plan: Plan) -> Led:
    """Return a plan as it is led with.

    Parameters
    ----------
    plan : Plan
    """
    shots = plan.ground.shots
    told = told_of(plan.checks)
    return Led(
        plan,
        () if shots is None else shots.suspects,
        failing(plan.checks),
        tuple(each for each in told if each.status != "fail"),
        tuple(step for area in plan.areas for step in door_steps(area)),
        tuple(edge for edge in shared_edges(plan) if edge.risers and not edge.flush),
        plan.water.areas,
        site_answer(plan),
    )


def failing(checks: Iterable[Check]) -> tuple[Told, ...]:
    """Return the things that fail, the worst first: every count of what fails counts these.

    Parameters
    ----------
    checks : iterable of Check
    """
    return tuple(each for each in told_of(checks) if each.status == "fail")


def told_of(checks: Iterable[Check]) -> tuple[Told, ...]:
    """Return checks that do not pass, alike ones together, the worst first.

    Parameters
    ----------
    checks : iterable of Check

    Notes
    -----
    What fails stands before what must be looked at, and this before what is not known; within
    each, rules in the order of `led.toml`, which begins with what can wet a house or hurt someone.
    """
    groups: dict[tuple[str, str, Status], list[Check]] = {}
    for check in checks:
        if check.status != "pass":
            groups.setdefault((check.rule, check.area, check.status), []).append(check)
    found = [
        Told(rule, area, status, tuple(sorted(each, key=_beyond, reverse=True)))
        for (rule, area, status), each in groups.items()
    ]
    order = tuple(table("answers", "led")["said"])
    return tuple(sorted(found, key=lambda told: _rank(told, order)))


def _beyond(check: Check) -> float:
    """Return how far a check is beyond its limit, for its worst to be told."""
    if check.value is None:
        return 0.0
    return abs(check.value - (check.limit or 0.0))


def _rank(told: Told, order: Sequence[str]) -> tuple[int, int]:
    place = order.index(told.rule) if told.rule in order else len(order)
    return _WORST.index(told.status), place
