"""What a finish can be best at, each solved to its optimum, and what one costs in another.

Least earth is the default. The others are solved over the same wishes and told side by side.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from grading.convex import Disc, Optimum, feasible, nearest_by
from grading.fit import Fit
from grading.wish import Wish, joined

Floats = NDArray[np.float64]
Objective = Literal[
    "least earth", "least dig and refill", "least spoil", "gentlest fall", "elevation"
]

OBJECTIVES: tuple[Objective, ...] = (
    "least earth", "least dig and refill", "least spoil", "gentlest fall", "elevation",
)  # fmt: skip

_HALVINGS = 40
_LOOSER = 1e-6  # ratio: what the gentlest fall is let out by, so that its disc has an inside


@dataclass(frozen=True)
class Aim:
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


@dataclass(frozen=True)
class Outcome:
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

    objective: Objective
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
    fit: Fit, objective: Objective, unknowns: Floats, build_ups: Sequence[float], shrink: float
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
    moved = fit.moments(unknowns, build_ups).moved
    net = _net(fit, unknowns, build_ups)
    cut, fill = max((moved + net) / 2, 0.0), max((moved - net) / 2, 0.0)
    falls = [disc.matrix @ unknowns for block in fit.blocks for disc in block.discs(np.inf)]
    greatest = max(float(np.hypot(*slopes)) for slopes in falls)
    firm = on_firm_soil(fit)
    organics = sum(float(clip.areas @ clip.organics.mean(axis=1)) for _, clip in fit.parts())
    work = firm.moments(unknowns, build_ups).moved + organics
    hauled = max(cut - fill / shrink, 0.0)
    return Outcome(objective, unknowns, cut, fill, hauled, greatest, work)


def on_firm_soil(fit: Fit) -> Fit:
    """Return the problem with the organics taken off: what is dug whatever the finish is.

    With organics o and ground h above the subgrade, max(h, o) is dug and max(0, o - h) refilled:
    together o + abs(h - o), so the least of it is the least earth on the bottom of the organics.
    """
    clips = tuple(replace(clip, ground=clip.ground - clip.organics) for clip in fit.clips)
    return replace(fit, clips=clips)


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
        for clips, build_up in zip(fit.parts_by_block(), build_ups, strict=True)
        for _, clip in clips
    )
    return float(ground + below - _net_row(fit) @ unknowns)


def best_at(fit: Fit, aim: Aim, build_ups: Sequence[float]) -> Floats | None:
    """Return the unknowns that are best at an aim; None where wishes conflict.

    Parameters
    ----------
    fit : Fit
    aim : Aim
    build_ups : sequence of float
        [m]
    """
    match aim.objective:
        case "least earth":
            return _unknowns(fit.solve(build_ups))
        case "least dig and refill":
            return _unknowns(on_firm_soil(fit).solve(build_ups))
        case "least spoil":
            return _least_spoil(fit, build_ups, aim.shrink)
        case "gentlest fall":
            return _gentlest(fit, build_ups)
    return _nearest_level(fit, aim.elevation)


def side_by_side(fit: Fit, aim: Aim, build_ups: Sequence[float]) -> tuple[Outcome, ...]:
    """Return what each objective gives, in turn, with what it costs in the others.

    Parameters
    ----------
    fit : Fit
    aim : Aim
        Its shrink and elevation are used, not its objective.
    build_ups : sequence of float
        [m]
    """
    found = []
    for objective in OBJECTIVES:
        unknowns = best_at(fit, replace(aim, objective=objective), build_ups)
        if unknowns is not None:
            found.append(outcome(fit, objective, unknowns, build_ups, aim.shrink))
    return tuple(found)


def _unknowns(optimum: Optimum | None) -> Floats | None:
    return None if optimum is None else optimum.unknowns


def _least_spoil(fit: Fit, build_ups: Sequence[float], shrink: float) -> Floats | None:
    """Return the finishes that leave nothing to haul away and move the least earth.

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
    extra = 1 / shrink - 1

    def hauled(optimum: Optimum) -> float:
        net = _net(fit, optimum.unknowns, build_ups)
        return net - extra * (optimum.moved - net) / 2

    if hauled(free) <= 0:
        return free.unknowns
    row, high = _net_row(fit), _net(fit, free.unknowns, build_ups)
    low = -sum(clip.area for _, clip in fit.parts())  # a metre of fill all over
    found = free
    for _ in range(_HALVINGS):
        middle = (low + high) / 2
        level = float(row @ free.unknowns) + _net(fit, free.unknowns, build_ups) - middle
        held = _held(fit, row, level)
        tried = fit.solve(build_ups, held, found.unknowns)
        if tried is None or hauled(tried) < 0:
            low = middle
        else:
            high, found = middle, tried
    return found.unknowns


def _held(fit: Fit, row: Floats, level: float) -> list[Wish]:
    at = np.array([level])
    wish = Wish("", "", "balance", "", 0.0, False, row[None], at, at)
    return [*fit.wishes, wish]


def _gentlest(fit: Fit, build_ups: Sequence[float]) -> Floats | None:
    """Return the finishes whose greatest fall is the least, and of those the least earth."""
    if not feasible(joined(fit.wishes, len(fit.scale)), fit.scale):
        return None

    def within(radius: float) -> list[Wish]:
        discs: tuple[Disc, ...] = sum((block.discs(radius) for block in fit.blocks), ())
        none = np.zeros(0)
        rows = np.zeros((0, len(fit.scale)))
        wish = Wish("", "", "gentlest", "", radius, False, rows, none, none, True, discs)
        return [*fit.wishes, wish]

    low, high = 0.0, 0.5
    for _ in range(_HALVINGS):
        middle = (low + high) / 2
        if feasible(joined(within(middle), len(fit.scale)), fit.scale):
            high = middle
        else:
            low = middle
    return _unknowns(fit.solve(build_ups, within(high + _LOOSER)))


def _nearest_level(fit: Fit, elevation: float) -> Floats | None:
    """Return the finishes nearest to a level, by the mean square over the paving."""
    count = len(fit.scale)
    hessian, slope = np.zeros((count, count)), np.zeros(count)
    for placed, clip in fit.parts():
        hessian += placed.T @ clip.integral_of_squares @ placed
        slope -= placed.T @ (elevation * clip.integral_of_rows)
    return nearest_by(joined(fit.wishes, count), hessian, slope, fit.scale)


@dataclass(frozen=True)
class Tradeoff:
    """Earth moved against the fall away from the house.

    falls (k,) [ratio]; moved (k,), NaN where wishes conflict [m3].
    """

    falls: Floats
    moved: Floats


def tradeoff(fit: Fit, build_ups: Sequence[float], falls: Sequence[float]) -> Tradeoff:
    """Return the least earth for each of several falls away from the house.

    Parameters
    ----------
    fit : Fit
    build_ups : sequence of float
        [m]
    falls : sequence of float
        Asked of every wall. [ratio]
    """
    moved, start = [], None
    for fall in falls:
        wishes = [
            replace(wish, lower=np.full(len(wish.lower), fall))
            if wish.rule == "fall-away"
            else wish
            for wish in fit.wishes
        ]
        optimum = fit.solve(build_ups, wishes, start)
        start = None if optimum is None else optimum.unknowns
        moved.append(np.nan if optimum is None else optimum.moved)
    return Tradeoff(np.array(falls, dtype=float), np.array(moved))
