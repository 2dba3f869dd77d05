"""How a finish on grade lies to the lawn: where its edge leaves it, and what forced it there."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
from msgspec import Struct
from msgspec.structs import replace

from grading.design.area import AreaPlan
from grading.design.door_steps import DoorStep
from grading.design.places import Places
from grading.finish.model import Binding
from grading.geometry.arrays import Floats
from grading.geometry.tolerances import LEVEL
from grading.units import Unit, run, size
from grading.worded import Said, Worded

_PARTS = 1  # of an inch: a length of edge is told no finer


class OffGrade(Struct, frozen=True):
    """What of an area's free edge lies too high over the lawn, or below it.

    Attributes
    ----------
    length : float
        Of all such stretches. [m]
    most : float
        The greatest height over the lawn, or depth below it. [m]
    at : (2,) float
        Where that is. [m]
    """

    length: float
    most: float
    at: Floats


def on_grade(plan: AreaPlan) -> bool:
    """Return whether an area's finish is fitted to lie on grade."""
    return plan.grade == "as it lies"


def too_high(plan: AreaPlan, limit: float) -> OffGrade | None:
    """Return what of the free edge stands higher over the lawn than a limit [m], if any."""
    return _off(plan, limit, 1.0)


def sunk(plan: AreaPlan, limit: float) -> OffGrade | None:
    """Return what of the free edge lies deeper below the lawn than a limit [m], if any."""
    return _off(plan, limit, -1.0)


def _off(plan: AreaPlan, limit: float, sign: float) -> OffGrade | None:
    length, most, at = 0.0, limit, np.zeros(2)
    for each in plan.edge_runs:
        turned = each if sign > 0 else replace(each, finish=each.ground, ground=each.finish)
        for low, end in turned.above(limit):
            length += end - low
            part = np.flatnonzero((each.along >= low) & (each.along <= end))
            if len(part):
                top = part[np.argmax(turned.height[part])]
                if turned.height[top] > most:
                    most, at = float(turned.height[top]), each.points[top]
    return OffGrade(length, most, at) if length > 0 else None


def too_high_words(plan: AreaPlan, found: OffGrade, places: Places, *, freed: bool = True) -> Said:
    """Say which edge stands too high and what holds it; what forced it there and what frees it.

    The latter, which takes several finishes more to solve, only where it is to be told.
    """
    how = "stands", "above", "more than a shoulder of soil holds, so a curb or a wall does"
    return _words(plan, found, places, how, freed)


def sunk_words(plan: AreaPlan, found: OffGrade, places: Places, *, freed: bool = True) -> Said:
    """Say which edge lies below the lawn and what to do there; what forced it and what frees it.

    The latter as for `too_high_words`.
    """
    mend = (
        "cut the lawn back there, with a swale or a drain, so that its water stays off the paving"
    )
    return _words(plan, found, places, ("lies", "below", mend), freed)


def _words(
    plan: AreaPlan, found: OffGrade, places: Places, how: tuple[str, str, str], freed: bool
) -> Said:
    does, off, then = how
    unit, sign = places.unit, 1.0 if off == "above" else -1.0
    said = (
        f"along {run(found.length, unit, _PARTS)} the free edge {does} up to "
        f"{size(found.most, unit)} {off} the lawn, {places.at(found.at)}: {then}"
    )
    if not freed:
        return said
    told = (*_forced(plan, found, unit, sign), *_shapes(plan, found, unit))
    # What forced it and what frees it is for who can plan it otherwise.
    return said + Worded("".join(f"; {each}" for each in told), "")


def _forced(plan: AreaPlan, found: OffGrade, unit: Unit, sign: float) -> Iterator[str]:
    """Say of each wish that holds the edge there where the edge would be without a step of it."""
    for binding, height in _freed(plan, found, sign):
        there = "level with it"
        if abs(height) > LEVEL:
            there = f"{size(abs(height), unit)} {'above' if height > 0 else 'below'} it"
        yield f"held there by {binding.wish}: {binding.step} looser it is {there}"


def _freed(plan: AreaPlan, found: OffGrade, sign: float) -> list[tuple[Binding, float]]:
    """Return what holds an edge off the lawn, with its height over it once that is eased [m]."""
    fit = plan.group.solved.held
    block = next(each for each in fit.blocks if each.area.name == plan.name)
    lawn = float(plan.group.group.ground.elevation(found.at[None])[0])
    freed = []
    for binding in plan.finish.binding:
        if binding.eased is None:
            continue
        height = float(block.surface(binding.eased).at(found.at[None])[0]) - lawn
        if sign * height < found.most - LEVEL:
            freed.append((binding, height))
    return sorted(freed, key=lambda each: abs(each[1]))


def _shapes(plan: AreaPlan, found: OffGrade, unit: Unit) -> Iterator[str]:
    """Say what other shape would follow the lawn, where one plane misses it by far.

    No shape helps where all of the edge lies about as high: there a door holds it up, and one step
    more from its sill is what lets it down.
    """
    height = np.concatenate([each.height for each in plan.edge_runs])
    uneven = float(np.nanmax(height) - np.nanmin(height))
    missed = plan.group.group.limits["lawn-missed"]
    if min(found.most, uneven) >= missed and not plan.finish.surface.folded:
        shape = "two levels with a step between them follow the lawn better"
        yield f"{shape}, or a hinge across the fall"
    elif found.most >= missed and any(each.rule == "door-step" for each in plan.finish.binding):
        most = plan.group.group.limits.pair("door-step")[1]
        yield f"one step more at that door lets it lie up to {size(most, unit)} lower"


def tilt_words(plan: AreaPlan, unit: Unit) -> str | None:
    """Say which end of a patio along its wall is higher, where one is."""
    walls = plan.walls
    if not on_grade(plan) or len(walls) != 1 or plan.finish.surface.folded:
        return None
    out = walls[0].wall.outward
    right = np.array([-out[1], out[0]])
    along = np.asarray(plan.outline.exterior.coords)[:, :2] @ right
    plane = plan.finish.plane
    rise = float(np.array([plane.dzdx, plane.dzdy]) @ right) * float(np.ptp(along))
    if abs(rise) < plan.group.group.limits["seen-tilt"]:
        return None
    end = "right" if rise > 0 else "left"
    return f"the {end} end along {walls[0].wall.name} lies {size(abs(rise), unit)} higher"


def sill_words(step: DoorStep, unsure: float, unit: Unit) -> str | None:
    """Say that a sill near to a limit of its step is to be shot again.

    Parameters
    ----------
    step : DoorStep
    unsure : float
        What a sill may have been misread by. [m]
    unit : "ft" or "m"
    """
    least, most = step.limit
    if abs(min(step.step - least, most - step.step)) >= unsure:
        return None  # well within, or so far beyond that no slip of the rod explains it
    return (
        f"the step at {step.door.name} is within {size(unsure, unit)} of its limit: shoot that "
        "sill again before the dig"
    )


def aimed_words(plan: AreaPlan) -> str:
    """Say what a fitted finish is nearest to or best at."""
    if on_grade(plan):
        return f"on grade: nearest to the lawn, then {plan.group.group.aim.weighed}"
    return f"free: {plan.group.group.aim.objective}"
