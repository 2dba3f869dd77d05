"""Three areas solved together, against SciPy's SLSQP on the same problem in the same run.

PYTHONPATH=.:tests python tests/benchmarks/bench_finish.py
"""

from __future__ import annotations

import time
from collections.abc import Callable
from statistics import median

import numpy as np
from handmade import PATIO, WALL, grid_of_spots, site_of
from scipy.optimize import minimize

from grading.pipeline import plan


def ground(x, y):
    return 30 - 0.01 * y + 0.05 * np.sin(x) * np.cos(y / 2)


AREAS = [
    PATIO,
    {**PATIO, "name": "walk", "use": "walkway", "outline": [[9, 0], [11, 0], [11, 1.5], [9, 1.5]]},
    {**PATIO, "name": "lower", "outline": [[1, 5], [9, 5], [9, 8], [1, 8]]},
]
SITE = site_of(
    grid_of_spots(ground), AREAS, house=WALL,
    doors=[{"name": "a", "at": [3, 0], "sill": 30.3}, {"name": "b", "at": [7, 0], "sill": 30.35}],
    ceilings=[{"kind": "siding", "name": "siding", "at": [[1, 0], [11, 0]], "z": 30.4}],
    floors=[{"kind": "lawn", "name": "lawn", "at": [[1, 8], [9, 8]], "z": 29.9, "area": "lower"}],
    steps=[{"down": ["patio", "lower"], "risers": 1}],
)  # fmt: skip


def timed(work: Callable[[], object], times: int) -> float:
    taken = []
    for _ in range(times):
        begin = time.perf_counter()
        work()
        taken.append(time.perf_counter() - begin)
    return median(taken)


def main() -> None:
    made = plan(SITE)
    solved = made.groups[0].solved
    fit, build_ups = solved.held, solved.build_ups
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

    def general() -> object:
        return minimize(
            lambda x: fit.moments(x, build_ups).moved, fit.start, method="SLSQP",
            jac=lambda x: fit.moments(x, build_ups).gradient, constraints=constraints,
            options={"ftol": 1e-12, "maxiter": 300},
        )  # fmt: skip

    ours, theirs = timed(lambda: fit.solve(build_ups), 20), timed(general, 5)
    answer, optimum = general(), fit.solve(build_ups)
    print(f"{len(fit.blocks)} areas, {len(fit.wishes)} wishes, {len(fit.scale)} unknowns")
    print(f"one solve               {ours * 1e3:8.1f} ms")
    print(f"SLSQP, exact gradient   {theirs * 1e3:8.1f} ms   {theirs / ours:6.1f} times ours")
    print(f"earth moved: ours {optimum.moved:.6f}, SLSQP {answer.fun:.6f} m3 ({answer.message})")
    print(f"whole plan, prices of a step included {timed(lambda: plan(SITE), 5) * 1e3:8.1f} ms")


if __name__ == "__main__":
    main()
