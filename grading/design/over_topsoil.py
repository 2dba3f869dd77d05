"""The same plan over other topsoil: the finish stays, the dig goes to the bottom of what is there.

That the topsoil goes deeper is found when it is dug, and then the levels are set out already. So
nothing is fitted anew: bases and depths are compared on one finish.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import TypeVar

import numpy as np
from msgspec.structs import replace

from grading.design.area import AreaPlan
from grading.design.model import Design
from grading.finish.earthwork import Clip
from grading.geometry.arrays import Floats
from grading.units import INCH, Unit

D = TypeVar("D", bound=Design)

CARD_STEP = {"ft": INCH, "m": 0.025}
"""How finely depths of topsoil are set side by side, by the unit of the site. [m]"""
CARD_STEPS = 12
"""How many such steps a decision card goes down: 12 in, or 300 mm."""


def topsoil_steps(unit: Unit, count: int = CARD_STEPS) -> tuple[float, ...]:
    """Return the depths of topsoil that are set side by side, from none down. [m]

    Parameters
    ----------
    unit : "ft" or "m"
        Of the site: whole inches, or steps of 25 mm.
    count : int
        How many steps.
    """
    return tuple(number * CARD_STEP[unit] for number in range(count + 1))


def topsoil_of(plan: Design) -> tuple[float, float]:
    """Return the least and the greatest depth of topsoil under the paving of a plan. [m]"""
    depths = np.concatenate([area.chosen_dig.paved.organics.ravel() for area in plan.areas])
    return float(depths.min()), float(depths.max())


def over_topsoil(plan: D, depth: float) -> D:
    """Return the plan over topsoil that is as deep all over the site.

    Parameters
    ----------
    plan : Design
    depth : float
        [m]
    """
    return _over(plan, lambda organics: np.full_like(organics, depth), depth)


def over_deeper(plan: D, more: float) -> D:
    """Return the plan over topsoil that is deeper by as much wherever it is.

    Parameters
    ----------
    plan : Design
    more : float
        [m]
    """
    ground = plan.site.ground
    return _over(plan, lambda organics: organics + more, ground.organics + more, more)


def clip_over(clip: Clip, depth: Callable[[Floats], Floats]) -> Clip:
    """Return the same pieces of ground over other topsoil.

    Parameters
    ----------
    clip : Clip
    depth : callable
        The depth at corners (k, 3), from that which it is now. [m]
    """
    # What moments are taken about stays: the pieces are the same.
    return replace(clip, organics=depth(clip.organics), origin=clip.centre)


def _over(
    plan: D, depth: Callable[[Floats], Floats], everywhere: float, more: float | None = None
) -> D:
    own = {
        name: replace(each, organics=depth(each.organics)) for name, each in plan.ground.own.items()
    }
    ground = replace(plan.ground, organics=depth(plan.ground.organics), own=own)
    spec = plan.site.ground
    probes = None
    if more is not None and spec.probes is not None:
        probes = spec.probes + np.array([0.0, 0.0, more])
        everywhere = spec.organics
    site = replace(plan.site, ground=replace(spec, organics=everywhere, probes=probes))
    areas = tuple(_area(area, depth) for area in plan.areas)
    return replace(plan, site=site, ground=ground, areas=areas)


def _area(area: AreaPlan, depth: Callable[[Floats], Floats]) -> AreaPlan:
    # Base systems with the same over-dig share one hole.
    clips = {
        id(clip): clip_over(clip, depth)
        for dig in area.digs.values()
        for clip in (dig.paved, dig.clip)
    }
    digs = {
        name: replace(dig, paved=clips[id(dig.paved)], clip=clips[id(dig.clip)])
        for name, dig in area.digs.items()
    }
    return replace(area, digs=digs)
