"""Three areas solved together, beside SciPy's SLSQP on the same problem."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from typing import Any

import numpy as np
from make.sites.handmade import PATIO, WALL, grid_of_spots, site_of
from measuring import Row, peak, spent
from scipy.optimize import minimize

from grading.finish.fit import Fit
from grading.pipeline import plan
from grading.site.model import Site


def ground(x, y):
    return 30 - 0.01 * y + 0.05 * np.sin(x) * np.cos(y / 2)


AREAS = [
    PATIO,
    {**PATIO, "name": "walk", "use": "walkway", "outline": [[9, 0], [11, 0], [11, 1.5], [9, 1.5]]},
    {**PATIO, "name": "lower", "outline": [[1, 5], [9, 5], [9, 8], [1, 8]]},
]
FOLDED_AREAS = [*AREAS[:2], {**AREAS[2], "shape": "hinge", "fold": [[1, 6.5], [9, 6.5]]}]


def site_with(areas: list[dict[str, Any]]) -> Site:
    """Return the site of these areas."""
    return site_of(
        grid_of_spots(ground), areas, house=WALL,
        doors=[
            {"name": "a", "at": [3, 0], "sill": 30.3}, {"name": "b", "at": [7, 0], "sill": 30.35}
        ],
        ceilings=[{"kind": "siding", "name": "siding", "at": [[1, 0], [11, 0]], "z": 30.4}],
        floors=[
            {"kind": "lawn", "name": "lawn", "at": [[1, 8], [9, 8]], "z": 29.9, "area": "lower"}
        ],
        steps=[{"down": ["patio", "lower"], "risers": 1}],
    )  # fmt: skip


SITE, FOLDED = site_with(AREAS), site_with(FOLDED_AREAS)
SIZES = (None,)


def measure(_: None) -> Iterable[Row]:
    """Give the rows: the finishes of three areas found again, and the plan of one with a fold."""
    for what, site in (
        ("three areas and a step, solved again", SITE),
        ("the same, one of them folded", FOLDED),
    ):
        solved = plan(site).groups[0].solved
        fit, build_ups = solved.held, solved.build_ups
        again = spent(lambda fit=fit, up=build_ups: fit.solve(up), 20)
        if site is FOLDED:
            yield Row(what, None, again, peak=peak())
            continue
        by_slsqp = slsqp(fit, build_ups)
        found, ours = by_slsqp(), fit.solve(build_ups).moved
        error = abs(found.fun / ours - 1)
        yield Row(what, None, again, "SLSQP, exact gradient", spent(by_slsqp, 5), peak(), error)
    whole = spent(lambda: plan(SITE), 5)
    yield Row("three areas and a step, planned", None, whole, peak=peak())


def slsqp(fit: Fit, build_ups: Sequence[float]) -> Callable[[], Any]:
    """Return SciPy's way to the same finishes, from the same start."""
    bounds = fit.bounds
    rows = np.vstack([bounds.rows, -bounds.rows])
    limits = np.concatenate([bounds.upper, -bounds.lower])
    finite = np.isfinite(limits)
    rows, limits = rows[finite], limits[finite]
    constraints = [{"type": "ineq", "fun": lambda x: limits - rows @ x, "jac": lambda x: -rows}]
    constraints += [
        {"type": "ineq", "fun": lambda x, d=disc: d.radius**2 - ((d.matrix @ x) ** 2).sum()}
        for disc in bounds.discs
    ]
    return lambda: minimize(
        lambda x: fit.moments(x, build_ups).moved, fit.start, method="SLSQP",
        jac=lambda x: fit.moments(x, build_ups).gradient, constraints=constraints,
        options={"ftol": 1e-12, "maxiter": 300},
    )  # fmt: skip
