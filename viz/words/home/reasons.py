"""Why a plan cannot be built as it is drawn, said to who lives there: no rod and no key.

A check's own sentence says to the crew where to go and what to do. Here is said what is wrong, from
the same figures.
"""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from functools import cache
from importlib.resources import files

from grading.answers.led import Told
from grading.geometry.tolerances import FLAT
from grading.pipeline import Plan
from grading.signs import listed
from grading.units import taped_rate
from grading.water.plain import amount, called, plain_rain
from viz.words.check_figures import figures, pattern_of
from viz.words.home.around import ground_told, standing_told
from viz.words.paving.falls import wall_called
from viz.words.plain import begun, opened, stopped

_NTH = ("Something", "A second thing", "A third thing")


@cache
def sentences() -> Mapping[str, Mapping[str, str]]:
    """Return the sentences of `fails.toml`, by rule."""
    text = files("viz.words.home").joinpath("fails.toml").read_text(encoding="utf-8")
    return tomllib.loads(text)


def reason(plan: Plan, told: Told) -> str:
    """Return what is wrong with a plan, in one sentence or, of its water, a few.

    Parameters
    ----------
    plan : Plan
    told : Told
        What fails in it.
    """
    if told.rule == "low-edge":
        # Where rain ends is told without shares in per cent, here as in the answer on water.
        rain = plain_rain(plan.water, [one for one in plan.water.areas if one.name == told.area])
        return " ".join(rain)
    if told.rule == "ground-water":
        walls = {check.where for check in told.checks}
        found = (each for each in plan.water.at_walls if each.wall in walls and each.reaches)
        return " ".join(ground_told(plan, each) for each in found)
    if told.rule in ("low-spot-paving", "low-spot-ground"):
        depths = {check.value for check in told.checks}
        paved = told.rule == "low-spot-paving"
        spots = (
            spot
            for spot in plan.water.low_spots
            if (spot.on_paving > 0) == paved and (spot.on_paving or spot.depth) in depths
        )
        return " ".join(standing_told(plan, spot) for spot in spots)
    words = sentences().get(told.rule, {})
    pattern = pattern_of(words, told)
    if not pattern:
        return asked_otherwise(told.area)
    known = figures(words, told, plan)
    share = min(max(told.worst.value or 0.0, 0.0), 1.0)
    some = amount(share).removesuffix(" of it")
    known |= {
        "area": called(told.area) if told.area else "the paving",
        "Area": called(told.area, first=True) if told.area else "The paving",
        "amount": some,
        "Amount": opened(some),
        "falls": _falls(plan, told),
        "where": _where(plan, told),
    }
    return begun(stopped(pattern.format(**known)), plan.site)


def asked_otherwise(area: str, nth: int = 1) -> str:
    """Say that what the site's file asks cannot be, to who never reads a key of that file.

    Parameters
    ----------
    area : str
        Where it is asked; empty where it is of the site.
    nth : int
        Which of several it is of which no more can be said.
    """
    where = f" at {called(area)}" if area else ""
    what = _NTH[nth - 1] if nth <= len(_NTH) else f"A {nth}th thing"
    return f"{what} asked for{where} cannot be built as it was asked: it is settled first."


def alike_at(area: str) -> str:
    """Say that what was said last holds of another area too, rather than say it again."""
    return f"The same holds at {called(area)}."


def _where(plan: Plan, told: Told) -> str:
    """Name what is told of: walls with the door by which who lives there knows them."""
    names = dict.fromkeys(check.where for check in told.checks if check.where)
    found = (name.removesuffix(", slide").removesuffix(", overturn") for name in names)
    walls = [wall_called(plan, name) for name in dict.fromkeys(found)]
    return listed(walls) if walls else "the house"


def _falls(plan: Plan, told: Told) -> str:
    """Say how the paving falls at each wall: back to the house, not at all, or too little."""
    ways: dict[str, list[str]] = {}
    for check in told.checks:
        fall = check.value or 0.0
        if fall < -FLAT:
            way = "falls back towards"
        elif fall <= FLAT:
            way = "does not fall away from"
        else:
            way = f"falls only {taped_rate(fall, plan.site.unit)} away from"
        ways.setdefault(way, []).append(wall_called(plan, check.where))
    order = sorted(ways, key=lambda way: way != "falls back towards")  # the worst first
    said = [f"{way} {listed(list(dict.fromkeys(ways[way])))}" for way in order]
    return listed(said) if said else "does not fall away from the house"
