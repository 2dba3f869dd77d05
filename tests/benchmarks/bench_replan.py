"""A site planned again after a small change, with what is kept, beside a bare plan and the solve.

PYTHONPATH=.:tests OPENBLAS_NUM_THREADS=1 python tests/benchmarks/bench_replan.py [SITE ...]

Ratios of medians of one run, of processor time: read these, not the times. Finish and digs are of
the plan on the bases last advised; with the checks of its areas they are the first wave. The solve
is all that seeks a finish; what holds it has its price when it is asked for, and so the ratio is
told with those prices on both sides too. The second wave is the whole plan with every check; bare
is the same with nothing kept.
"""

from __future__ import annotations

import sys
import time
from collections.abc import Callable, Iterator
from dataclasses import replace
from statistics import median
from unittest.mock import patch

import numpy as np
from tabulate import tabulate

import sample_sites
from grading import Kept, Site, first_wave, plan, read_site
from grading.finish import together

ROUNDS = 9


def sill_moved(site: Site, by: float) -> Site | None:
    if not site.doors:
        return None
    first, *others = site.doors
    return replace(site, doors=(first.model_copy(update={"sill": first.sill + by}), *others))


def corner_moved(site: Site, by: float) -> Site | None:
    first, *others = site.areas
    outline = list(first.outline)
    # The last corner that is free of the house, and of what the area shares with others.
    for place in reversed(range(len(outline))):
        corner = outline[place]
        if isinstance(corner, tuple) and len(corner) == 2 and all(map(np.isscalar, corner)):
            outline[place] = (corner[0] + by, corner[1] + by)
            break
    changed = first.model_copy(update={"outline": tuple(outline)})
    return replace(site, areas=(changed, *others))


CHANGES = {"sill": sill_moved, "corner": corner_moved}


def solving(spent: list[float]) -> Callable[..., object]:
    """Return the function that seeks a finish, with what it takes added to a list. [s]"""
    solve = together.fitted_finishes

    def timed(*told: object) -> object:
        begin = time.process_time()
        found = solve(*told)  # type: ignore[arg-type]
        spent.append(time.process_time() - begin)
        return found

    return timed


def took(work: Callable[[], object]) -> float:
    begin = time.process_time()
    work()
    return time.process_time() - begin


def once(site: Site, kept: Kept) -> list[float]:
    """Return what a site takes, part by part, planned after another. [s]"""
    spent: list[float] = []
    with patch.object(together, "fitted_finishes", solving(spent)):
        numbers = took(lambda: first_wave(site, kept))
    first = first_wave(site, kept).plan
    checks = took(lambda: first.area_checks)
    # Of a plan of their own: some checks tell what would let an edge lie elsewhere, and ask some.
    other = first_wave(site, Kept()).plan
    prices = took(lambda: [[one.harder for one in area.finish.binding] for area in other.areas])
    whole = took(lambda: plan(site, kept).checks)
    bare = took(lambda: plan(site).checks)
    return [numbers, checks, whole, bare, sum(spent), prices]


def rows(name: str) -> Iterator[list[object]]:
    site = read_site(sample_sites.path(name))
    for change, moved in CHANGES.items():
        kept = Kept()
        plan(site, kept)
        sites = [moved(site, 0.0003 * number * (-1) ** number) for number in range(1, ROUNDS + 1)]
        found = [once(other, kept) for other in sites if other is not None]
        if not found:
            continue
        numbers, checks, whole, bare, solve, prices = map(median, zip(*found, strict=True))
        yield [
            name, change, f"{1e3 * numbers:.0f} ms", f"{1e3 * (numbers + checks):.0f} ms",
            f"{numbers / solve:.2f}", f"{(numbers + prices) / (solve + prices):.2f}",
            f"{(numbers + checks) / bare:.2f}", f"{whole / bare:.2f}", f"{1e3 * bare:.0f} ms",
        ]  # fmt: skip


def main() -> None:
    heads = [
        "site", "moved", "finish and digs", "with area checks", "over solve", "prices in both",
        "first wave over bare", "second wave over bare", "bare, every check",
    ]  # fmt: skip
    names = sys.argv[1:] or sample_sites.names()
    print(tabulate([row for name in names for row in rows(name)], heads))


if __name__ == "__main__":
    main()
