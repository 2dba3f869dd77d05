"""Finishes on which no line between two planes gathers water without leading it away."""

from __future__ import annotations

from collections.abc import Callable

from grading.finish.convex import Optimum
from grading.finish.creases import Crease
from grading.finish.fit import Fit
from grading.geometry.arrays import Floats


def standing(fit: Fit, unknowns: Floats) -> Crease | None:
    """Return the first line between planes on which water would stand, if any."""
    return next((crease for crease in fit.creases if crease.stands(unknowns)), None)


def led(
    fit: Fit,
    optimum: Optimum,
    solve: Callable[[Fit], Optimum | None],
    cost: Callable[[Optimum], tuple[float, ...]] = lambda optimum: (optimum.cost,),
) -> tuple[Fit, Optimum] | None:
    """Solve on until no water stands between planes; None where it cannot be led away.

    Parameters
    ----------
    fit : Fit
    optimum : Optimum
        What it has where nothing is asked of such lines.
    solve : callable
        Solves a problem with further wishes for the same aim.
    cost : callable
        What is to be least.

    Notes
    -----
    What is allowed is no convex set, but the union of one for each way to mend a line: to lead its
    water to either end, or to gather none from either side. Each way is one more wish, so it can
    only cost more; ways that already cost more than the best one found are not followed.
    """
    crease = standing(fit, optimum.unknowns)
    if crease is None:
        return fit, optimum
    best: tuple[Fit, Optimum] | None = None
    for wish in crease.ways():
        held = fit.also([wish])
        tried = solve(held)
        if tried is None or (best is not None and cost(tried) >= cost(best[1])):
            continue
        found = led(held, tried, solve, cost)
        if found and (best is None or cost(found[1]) < cost(best[1])):
            best = found
    return best
