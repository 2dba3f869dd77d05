"""Plans on the bases that are advised, for areas whose base the site leaves open.

Advice needs the dig on every base, and so a finish; the finish is fitted for a base. So the first
plan is on what takes the least work, and the next on what is advised on it, until what a plan is
on is what is advised on it.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import TypeVar

from msgspec.structs import replace

from grading.choice.advice import Advice
from grading.design.model import Design

Bases = Mapping[str, str]
"""The base system of areas, by the area's name."""


D = TypeVar("D", bound=Design)


def on_advised_bases(first: D, planned: Callable[[Bases], D], advised: Callable[[D], Advice]) -> D:
    """Return the plan whose open areas are on the base that is advised on that very plan.

    Parameters
    ----------
    first : Design
        On the least work where the site gives no base.
    planned : callable
        The plan with the open areas on these bases; one that is left out is on the least work.
    advised : callable
        The advice on a plan.

    Notes
    -----
    An area for which every base is ruled out stays on the least work. Where the advice goes
    round, each finish speaking for another base, the plan is kept whose bases have the least
    against them, and the plan warns of it.
    """
    tried: list[tuple[Bases, D]] = [({}, first)]
    while True:
        bases, made = tried[-1]
        wanted = _advised(made, advised(made))
        if wanted == bases:
            return made
        if any(wanted == earlier for earlier, _ in tried):
            return _least_against([plan for own, plan in tried if own or not wanted], advised)
        tried.append((wanted, planned(wanted)))


def _advised(plan: Design, advice: Advice) -> Bases:
    """Return what is advised for each area whose base the site leaves open."""
    found = {
        area.name: advice.of(area).base.advised for area in plan.areas if area.area.base is None
    }
    return {name: best.option.name for name, best in found.items() if best is not None}


def _least_against(plans: list[D], advised: Callable[[D], Advice]) -> D:
    def against(plan: D) -> tuple[float, ...]:
        ranks = [
            advised(plan).of(area).base.of(area.chosen).rank
            for area in plan.areas
            if area.area.base is None
        ]
        return *map(sum, zip(*ranks, strict=True)), plan.dug

    best = min(plans, key=against)
    said = [
        f"what base is advised for {area.name} hinges on its finish: fitted for "
        f"{area.chosen} it is another; it is planned on {area.chosen}, with the least against it"
        for area in best.areas
        if _advised(best, advised(best)).get(area.name, area.chosen) != area.chosen
    ]
    return replace(best, warnings=(*best.warnings, *said))
