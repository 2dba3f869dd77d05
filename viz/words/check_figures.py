"""What the sentence of a rule has in its braces: its figures, and what it is found at, in words."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import NamedTuple

from grading.answers.led import Told
from grading.checks.maker import Check
from grading.order.takeoff import Takeoff
from grading.pipeline import Plan
from grading.signs import listed
from grading.structures.holding.holds import STEPS, holding_of
from grading.units import CUBIC_YARD, Unit, size, taped_rate, volume
from grading.units.shares import share_words
from viz.words.figures import DIRT

REPORTED = "--full"
"""Where the rest of what is told shortly stands, to who plans by the command."""


class Reader(NamedTuple):
    """To whom a sentence of a check is told.

    Attributes
    ----------
    full : str
        Where the rest of it stands.
    earth : int
        To which part of an inch figures of earth are told.
    """

    full: str = REPORTED
    earth: int = DIRT


COMMAND = Reader()


def pattern_of(words: Mapping[str, str], told: Told) -> str:
    """Return the one of a rule's sentences that is said of checks; empty where it has none.

    Parameters
    ----------
    words : mapping of str to str
        Sentences by what is told: "fail", "look", "unknown", "below" of what is under nothing and
        "short" of what falls short of a limit that others go beyond.
    told : Told
    """
    kinds = {"fail": ("fail", "look"), "warn": ("look",), "unknown": ("unknown", "look")}
    kind = kinds[told.status]
    if _below(words, told):
        kind = ("below", *kind)
    elif told.status == "fail" and _short(told.worst):
        kind = ("short", *kind)
    return next((str(words[each]) for each in kind if each in words), "")


def _below(words: Mapping[str, str], told: Told) -> bool:
    return "below" in words and told.worst.value is not None and told.worst.value < 0


def _short(check: Check) -> bool:
    return check.value is not None and check.limit is not None and check.value < check.limit


def figures(
    words: Mapping[str, str], told: Told, plan: Plan, reader: Reader = COMMAND
) -> dict[str, str]:
    """Return what stands in the braces of a rule's sentences, by its name there.

    Parameters
    ----------
    words : mapping of str to str
        The sentences: one of what lies below says so itself, and has the figure without its sign.
    told : Told
    plan : Plan
        That they are of.
    reader : Reader
    """
    worst, unit = told.worst, plan.site.unit
    off = None if worst.limit is None or worst.value is None else abs(worst.value - worst.limit)
    below = _below(words, told)
    return {
        "own": own_words(worst),
        "value": _figure(worst, abs(worst.value or 0.0) if below else worst.value, unit, reader),
        "limit": _figure(worst, worst.limit, unit, reader),
        "by": _figure(worst, off, unit, reader),
        "falling": _falling(told, unit),
        "share": "some" if worst.value is None else _share(min(max(worst.value, 0.0), 1.0)),
        "where": _where(told),
        "misread": size(plan.limits["sill-read"], unit),
        "full": reader.full,
        "holds": _holds(told, plan, reader.full),
        "refill": _refill(told, plan),
    }


def _share(share: float) -> str:
    words = share_words(share)
    return "all" if words == "100 %" else words


def own_words(check: Check) -> str:
    """Return the first clause of what a check found, which names no key."""
    return check.page.partition("; ")[0].partition(". ")[0]


def _falling(told: Told, unit: Unit) -> str:
    """Say how much paving falls back to walls, and away from which it falls too little."""
    fall = told.worst.value or 0.0
    alike = [check for check in told.checks if ((check.value or 0.0) < 0) == (fall < 0)]
    way = "BACK to" if fall < 0 else "away from"
    said = f"{taped_rate(abs(fall), unit)} {way} {_named(alike) or told.area or 'it'}"
    others = [check for check in told.checks if check not in alike]
    return f"{said}, and too little away from {_named(others)}" if others else said


def _figure(check: Check, value: float | None, unit: Unit, reader: Reader) -> str:
    if value is None:
        return "some"
    if check.unit == "ratio":
        return taped_rate(value, unit)
    return size(value, unit, reader.earth if check.rule in _EARTH else 16)


_EARTH = frozenset(
    {"organics", "raised-fill", "survey-margin", "guard-height", "low-spot-ground",
     "steps-to-lawn", "pipe-cover"}
)  # fmt: skip
"""Rules whose figure is of earth, told to what earth is dug to.

How high an edge stands is told as paving is, by every paper.
"""


def _where(told: Told) -> str:
    return _named(told.checks) or told.area or "it"


def _named(checks: Iterable[Check]) -> str:
    """Return where checks look, one after another; empty where none of them names a place."""
    # A wall is told once, whichever way it may give: "wall of patio, slide".
    found = (check.where.removesuffix(", slide").removesuffix(", overturn")
             for check in checks)  # fmt: skip
    names = list(dict.fromkeys(filter(None, found)))
    if not names:
        return ""
    if len(names) > 1 and all(name.startswith("wall ") for name in names):
        names = ["walls " + names[0].removeprefix("wall "),
                 *(name.removeprefix("wall ") for name in names[1:])]  # fmt: skip
    return listed(names)


def _takeoff(told: Told, plan: Plan) -> Takeoff | None:
    for area in plan.order.areas:
        if area.area.name == told.area:
            return area.takeoffs[area.area.chosen]
    return None


def _holds(told: Told, plan: Plan, full: str) -> str:
    """Say what holds a raised edge, of all that is built there; else that it has to be chosen."""
    area = next((each for each in plan.areas if each.area.name == told.area), None)
    parts = () if area is None else holding_of(plan, area, area.chosen).parts
    if area is None or not parts or not all(part.kind for part in parts):
        return f"say what holds that edge ({full})"
    built = plan.order.of(area).takeoffs[area.chosen].structures
    found: dict[str, None] = {}  # the longest first
    for part in parts:
        # Steps that lead down from the edge are of the same kind as those all round it.
        names = [each.name for each in built if each.kind == part.kind != STEPS]
        found |= dict.fromkeys(names or [part.choice.of(part.kind).option.in_plain_words])
    alone = len(found) == 1 and parts[0].kind != STEPS
    return f"{listed(list(found))} hold{'s' if alone else ''} it"


def _refill(told: Told, plan: Plan) -> str:
    """Say what refills a hole dug to the bottom of its topsoil."""
    takeoff, unit = _takeoff(told, plan), plan.site.unit
    if takeoff is None or takeoff.dig.fill_for_organics < WORTH[unit]:
        return ""
    return f", and fill with {volume(takeoff.dig.fill_for_organics, unit)} of stone"


WORTH: Mapping[Unit, float] = {"ft": CUBIC_YARD / 20, "m": 0.005}
"""Less stone than this would be told as none. [m3]"""
