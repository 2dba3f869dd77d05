"""The folds that a site leaves open, put where the least is dug and refilled."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import numpy as np
import shapely

from grading.finish.fit import SURE, Fit
from grading.finish.leading import led
from grading.finish.shapes import Shape, folded_shape, plane_shape
from grading.finish.together import BEND, Group, centre_of
from grading.geometry.arrays import Floats
from grading.kept import LINES, fingerprint
from grading.site.model import Area

_FOLD_TURNS, _FOLD_PLACES = 8, 5
_FOLD_ROUNDS = 60


def with_best_folds(group: Group, shapes: Mapping[str, Shape | None]) -> dict[str, Shape]:
    """Return the shapes with the folds left open put where the least is dug and refilled.

    Notes
    -----
    For a given line the problem is convex; over the line's turn and place it is not. A round of
    lines is tried and the best is improved by Nelder and Mead's simplex: a good fold, not a
    proved optimum.
    """
    known = {name: shape or plane_shape(_named(group, name)) for name, shape in shapes.items()}
    for area in group.areas:
        if shapes[area.name] is not None:
            continue
        # A quarter of a second, which few sites need to spend.
        from scipy.optimize import minimize

        outline, centre = area.polygon, centre_of(area)
        radius = np.sqrt(outline.area / np.pi)
        bend = BEND[area.shape]

        known_costs: dict[tuple[float, ...], float] = {}

        def moved(
            line: Floats, below: float = np.inf, area: Area = area, centre: Floats = centre,
            bend: int = bend, known_costs: dict[tuple[float, ...], float] = known_costs,
        ) -> float:  # fmt: skip
            """Return what a line costs; infinite where that is sure to be no less than `below`."""
            place = tuple(line.tolist())
            if place not in known_costs:
                fold = _line(centre, *line)
                trial = {**known, area.name: folded_shape(area.polygon, centre, fold, bend)}
                cost = _cost(group, group.fit(trial), below)
                if np.isfinite(below) and not np.isfinite(cost):
                    return cost
                known_costs[place] = cost
            return known_costs[place]

        tries = [
            np.array([turn, place])
            for turn in np.linspace(0, np.pi, _FOLD_TURNS, endpoint=False)
            for place in radius * np.linspace(-0.6, 0.6, _FOLD_PLACES)
        ]
        best, least = tries[0], np.inf
        for line in tries:
            cost = moved(line, least)
            if cost < least:
                best, least = line, cost
        if not np.isfinite(least):
            # No line is better than another where none of them meets every wish.
            known[area.name] = folded_shape(outline, centre, _line(centre, *best), bend)
            continue
        corners = best + np.array([[0.0, 0.0], [0.15, 0.0], [0.0, 0.15 * radius]])
        options: Any = {"maxfev": _FOLD_ROUNDS, "initial_simplex": corners}
        turn, place = minimize(moved, best, method="Nelder-Mead", options=options).x
        known[area.name] = folded_shape(outline, centre, _line(centre, turn, place), bend)
    return known


def _cost(group: Group, fit: Fit, below: float) -> float:
    """Return what the finishes of a problem cost; infinite where they are sure to cost `below`."""
    build_ups = [
        group.systems[block.base or next(iter(group.systems))].build_up for block in fit.blocks
    ]

    def cost() -> float:
        optimum = fit.solve(build_ups, below=below)
        # Water that is led away can only cost more.
        if optimum is None or optimum.cost * (1 - SURE) >= below:
            return np.inf
        found = led(fit, optimum, lambda held: held.solve(build_ups, start=optimum.unknowns))
        return np.inf if found is None else found[1].cost

    # A way that is tried, or a mend, seeks most folds where they were sought before.
    # What base an area asks for counts by its build-up alone.
    placed = [
        (block.area.polygon, block.shape, block.centre, block.first, block.total)
        for block in fit.blocks
    ]
    key = fingerprint(
        placed, fit.clips, fit.wishes, fit.measure, fit.creases, fit.lawn, fit.comfort, build_ups,
        below,
    )  # fmt: skip
    return group.kept.once("cost of a fold", key, cost, LINES)


def _line(centre: Floats, turn: float, place: float) -> Floats:
    """Return two points of the line at a turn [rad] and a distance [m] from the centre."""
    along = np.array([np.cos(turn), np.sin(turn)])
    through = centre + place * np.array([-along[1], along[0]])
    return np.array([through, through + along])


def _named(group: Group, name: str) -> shapely.Polygon:
    return next(area.polygon for area in group.areas if area.name == name)
