"""What a finish can be best at, each solved to its optimum, and what one costs in another.

The real work is the default: all that is dug and all that is refilled, topsoil included. The
others are solved over the same wishes and told side by side. An objective is reached in stages:
each says what keeps what it won, and the next is solved with that kept; the last is always the
least of what the fit counts.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from typing import Literal, get_args

import numpy as np
from msgspec import Struct
from msgspec.structs import replace

from grading.finish.convex import Disc, Optimum, feasible, nearest_by
from grading.finish.fit import MEASURES, Fit, Measure
from grading.finish.leading import led
from grading.finish.wishes.model import Wish, joined
from grading.geometry.arrays import Floats
from grading.geometry.roots import least_that

Objective = Literal[
    "least dig and refill", "least earth", "least spoil", "gentlest fall", "elevation"
]
Weighed = Literal["least dig and refill", "least earth"]

OBJECTIVES: tuple[Objective, ...] = get_args(Objective)

ON_GRADE = "as it lies"
"""How a finish nearest to the lawn is named beside the objectives."""

_HALVINGS = 40
_PINNED = 1e-7  # own: of what one unit of an unknown is worth
_LOOSER = 1e-6  # own: ratio, what the gentlest fall is let out by, so that its disc has an inside


class Aim(Struct, frozen=True):
    """What a finish is to be best at.

    Attributes
    ----------
    objective : str
    shrink : float
        Compacted over bank: how much fill a cubic metre of cut makes. [-]
    elevation : float
        The wished level, for the objective of that name. [m]
    """

    objective: Objective
    shrink: float
    elevation: float

    @property
    def measure(self) -> Measure:
        """What is counted of the earth wherever finishes are weighed against one another."""
        # Spoil is cut less fill, and both are earth before topsoil is weighed.
        return "earth" if self.objective in ("least earth", "least spoil") else "dig and refill"

    @property
    def weighed(self) -> Weighed:
        """The objective that has the least of that measure."""
        return "least earth" if self.measure == "earth" else "least dig and refill"


class Outcome(Struct, frozen=True):
    """What one objective gives.

    Attributes
    ----------
    objective : str
    unknowns : (n,) float
    cut, fill : float
        In the outlines, between the ground and the subgrade. [m3]
    hauled : float
        Bank spoil left over when the cut that the fill can use is put there, topsoil as if it
        could be filled with: a measure of finishes, and not what the order hauls. [m3]
    greatest_fall : float
        [ratio]
    work : float
        Dug and refilled in the outlines when organics come out to their bottom. [m3]
    """

    objective: str
    unknowns: Floats
    cut: float
    fill: float
    hauled: float
    greatest_fall: float
    work: float

    @property
    def moved(self) -> float:
        """Cut and fill together. [m3]"""
        return self.cut + self.fill


def outcome(
    fit: Fit, objective: str, unknowns: Floats, build_ups: Sequence[float], shrink: float
) -> Outcome:
    """Return what finishes cost in every way that counts.

    Parameters
    ----------
    fit : Fit
    objective : str
        What they were solved for.
    unknowns : (n,) float
    build_ups : sequence of float
        [m]
    shrink : float
        Compacted over bank: how much fill a cubic metre of cut makes. [-]
    """
    moved = fit.counting("earth").moments(unknowns, build_ups).moved
    net = _net(fit, unknowns, build_ups)
    cut, fill = max((moved + net) / 2, 0.0), max((moved - net) / 2, 0.0)
    falls = [disc.matrix @ unknowns for block in fit.blocks for disc in block.discs(np.inf)]
    greatest = max(float(np.hypot(*slopes)) for slopes in falls)
    work = fit.counting("dig and refill").moments(unknowns, build_ups).moved
    hauled = max(cut - fill / shrink, 0.0)
    return Outcome(objective, unknowns, cut, fill, hauled, greatest, work)


def _net_row(fit: Fit) -> Floats:
    """Return what the net cut loses for a unit of each unknown, (n,). [m3]"""
    row = np.zeros(len(fit.scale))
    for placed, clip in fit.parts():
        row += placed.T @ clip.integral_of_rows
    return row


def _net(fit: Fit, unknowns: Floats, build_ups: Sequence[float]) -> float:
    """Return cut less fill, which is linear in the unknowns. [m3]"""
    ground = sum(clip.ground_volume for _, clip in fit.parts())
    below = sum(
        clip.area * build_up
        for clips, build_up in zip(fit.parts_by_block, build_ups, strict=True)
        for _, clip in clips
    )
    return float(ground + below - _net_row(fit) @ unknowns)


def best_at(fit: Fit, aim: Aim, build_ups: Sequence[float]) -> Optimum | None:
    """Return the finishes that are best at an aim; None where wishes conflict.

    Parameters
    ----------
    fit : Fit
        What it counts breaks the tie between finishes that are equally good at the aim.
    aim : Aim
    build_ups : sequence of float
        [m]
    """
    fit = fit.counting(aim.measure)
    optimum = _best_at(fit, aim, build_ups)
    if optimum is None:
        return None

    def cost(optimum: Optimum) -> tuple[float, ...]:
        unknowns = optimum.unknowns
        found = outcome(fit, aim.objective, unknowns, build_ups, aim.shrink)
        aimed = {
            "least spoil": found.hauled,
            "gentlest fall": found.greatest_fall,
            "elevation": _off_level(fit, aim.elevation, unknowns),
        }
        # What is alike but for rounding is alike.
        return round(aimed.get(aim.objective, 0.0), 9), optimum.cost

    found = led(fit, optimum, lambda held: _best_at(held, aim, build_ups), cost)
    return None if found is None else found[1]


def _best_at(fit: Fit, aim: Aim, build_ups: Sequence[float]) -> Optimum | None:
    """Return the same where nothing is asked of the lines along which planes meet."""
    for stage in _STAGES[aim.objective]:
        kept = stage(fit, aim, build_ups)
        if kept is None:
            return None
        fit = fit.also(kept)
    return fit.solve(build_ups)


def side_by_side(
    fit: Callable[[Measure], Fit], aim: Aim, build_ups: Sequence[float]
) -> tuple[Outcome, ...]:
    """Return what each objective gives, in turn, with what it costs in the others.

    Parameters
    ----------
    fit : callable
        The problem where a measure is counted.
    aim : Aim
        Its shrink and elevation are used, not its objective.
    build_ups : sequence of float
        [m]
    """
    found = []
    for objective in OBJECTIVES:
        own = replace(aim, objective=objective)
        problem = fit(own.measure)
        best = best_at(problem, own, build_ups)
        if best is not None:
            found.append(outcome(problem, objective, best.unknowns, build_ups, aim.shrink))
    return tuple(found)


def _hauling_least(fit: Fit, aim: Aim, build_ups: Sequence[float]) -> list[Wish] | None:
    """Return what keeps the finishes at the level that leaves nothing to haul away.

    Notes
    -----
    Cut less fill is linear in the unknowns: call it v. For a given v the least earth F(v) is a
    convex problem, fill is (F - v) / 2, and what is hauled is v - (1 / shrink - 1) fill, which
    rises with v as F rises no faster than v: it has one root. Where wishes do not let the
    finish rise so far, the least v that they allow is taken.
    """
    free = fit.solve(build_ups)
    if free is None:
        return None
    extra = 1 / aim.shrink - 1

    def hauled(optimum: Optimum) -> float:
        net = _net(fit, optimum.unknowns, build_ups)
        return net - extra * (optimum.moved - net) / 2

    if hauled(free) <= 0:
        return []
    row, high = _net_row(fit), _net(fit, free.unknowns, build_ups)
    whole = float(row @ free.unknowns) + high
    low = -sum(clip.area for _, clip in fit.parts())  # a metre of fill all over
    found = free
    for _ in range(_HALVINGS):
        middle = (low + high) / 2
        held = fit.also(_balance(row, whole - middle))
        tried = fit.solve(build_ups, held.wishes, found.unknowns)
        if tried is None or hauled(tried) < 0:
            low = middle
        else:
            high, found = middle, tried
    # Let out by next to nothing: at the end of what wishes allow, one point alone would be left.
    return _balance(row, whole - high, _PINNED * float(np.abs(row * fit.scale).sum()))


def _balance(row: Floats, level: float, slack: float = 0.0) -> list[Wish]:
    lower, upper = np.array([level - slack]), np.array([level + slack])
    return [Wish("", "", "balance", "", 0.0, False, row[None], lower, upper)]


def _falling_least(fit: Fit, aim: Aim, build_ups: Sequence[float]) -> list[Wish] | None:
    """Return what keeps the greatest fall of the finishes at the least that it can be."""
    if not feasible(fit.bounds, fit.scale):
        return None

    def within(radius: float) -> list[Wish]:
        discs: tuple[Disc, ...] = sum((block.discs(radius) for block in fit.blocks), ())
        none = np.zeros(0)
        rows = np.zeros((0, len(fit.scale)))
        return [Wish("", "", "gentlest", "", radius, False, rows, none, none, True, discs)]

    def reached(radius: float) -> bool:
        return feasible(joined([*fit.wishes, *within(radius)], len(fit.scale)), fit.scale)

    return within(least_that(reached, 0.0, 0.5, _HALVINGS) + _LOOSER)


def _off_level(fit: Fit, elevation: float, unknowns: Floats) -> float:
    """Return the integral of the square of how far finishes stray from a level. [m4]"""
    planes = [(placed @ unknowns - [elevation, 0, 0], clip) for placed, clip in fit.parts()]
    return sum(float(plane @ clip.integral_of_squares @ plane) for plane, clip in planes)


def _nearest_level(fit: Fit, aim: Aim, build_ups: Sequence[float]) -> list[Wish] | None:
    """Return what keeps the finishes nearest to a level, by the mean square over the paving."""
    count = len(fit.scale)
    hessian, slope = np.zeros((count, count)), np.zeros(count)
    for placed, clip in fit.parts():
        hessian += placed.T @ clip.integral_of_squares @ placed
        slope -= placed.T @ (aim.elevation * clip.integral_of_rows)
    best = nearest_by(fit.bounds, hessian, slope, fit.scale)
    if best is None:
        return None
    # There is one nearest: nothing but rounding is left to the stages after it.
    slack = _PINNED * fit.scale
    rows = np.eye(count)
    return [Wish("", "", "elevation", "", 0.0, False, rows, best - slack, best + slack)]


_Stage = Callable[[Fit, Aim, Sequence[float]], list[Wish] | None]

_STAGES: Mapping[Objective, tuple[_Stage, ...]] = {
    "least dig and refill": (),
    "least earth": (),
    "least spoil": (_hauling_least,),
    "gentlest fall": (_falling_least,),
    "elevation": (_nearest_level,),
}
"""What is won before the least of what the fit counts, stage by stage; each returns the wishes
that keep it, or None where wishes conflict."""


class Tradeoff(Struct, frozen=True):
    """What is counted of the earth, against the fall away from the house.

    Attributes
    ----------
    falls : (k,) float
        [ratio]
    least : (k,) float
        The least of what is counted, NaN where wishes conflict. [m3]
    moved, work : (k,) float
        The earth between ground and subgrade under those finishes, and what is dug and refilled
        for them, topsoil included: one of the two is the least. [m3]
    """

    falls: Floats
    least: Floats
    moved: Floats
    work: Floats


def tradeoff(fit: Fit, build_ups: Sequence[float], falls: Sequence[float]) -> Tradeoff:
    """Return the least of what a fit counts for each of several falls away from the house.

    Parameters
    ----------
    fit : Fit
    build_ups : sequence of float
        [m]
    falls : sequence of float
        Asked of every wall. [ratio]
    """
    rows, start = [], None
    for fall in falls:
        wishes = [
            replace(wish, lower=np.full(len(wish.lower), fall))
            if wish.rule == "fall-away"
            else wish
            for wish in fit.wishes
        ]
        optimum = fit.solve(build_ups, wishes, start)
        if optimum is None:
            start = None
            rows.append([np.nan] * 3)
            continue
        start = optimum.unknowns
        both = [fit.counting(measure).moments(start, build_ups).moved for measure in MEASURES]
        rows.append([optimum.moved, *both])
    least, moved, work = np.array(rows, dtype=float).reshape(-1, 3).T
    return Tradeoff(np.array(falls, dtype=float), least, moved, work)
