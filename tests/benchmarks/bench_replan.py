"""A site planned again after a small change, with what is kept, beside a bare plan and the solve.

Finish and digs are of the plan on the bases last advised; with the checks of its areas they are the
first wave. The solve is all that seeks a finish; what holds it has its price when it is asked for,
and so the ratio to it is told with those prices on both sides. With every check it is the second
wave; bare is the same with nothing kept.
"""

from __future__ import annotations

import time
from collections.abc import Callable, Iterable
from statistics import median
from unittest.mock import patch

import numpy as np
from measuring import Row, peak
from msgspec.structs import replace

import sample_sites
from grading import Kept, Site, first_wave, plan, read_site
from grading.finish import together

ROUNDS = 5


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


SIZES = (None,)


def measure(_: None) -> Iterable[Row]:
    """Give the rows of every sample site: medians of several changes, each after another."""
    for name in sample_sites.names():
        site = read_site(sample_sites.path(name))
        for change, moved in CHANGES.items():
            kept = Kept()
            plan(site, kept)
            sites = [moved(site, 0.0003 * each * (-1) ** each) for each in range(1, ROUNDS + 1)]
            found = [once(other, kept) for other in sites if other is not None]
            if not found:
                continue
            numbers, checks, whole, bare, solve, prices = map(median, zip(*found, strict=True))
            what, rest = f"{name}, {change} moved: ", "a bare plan, every check"
            yield Row(what + "finish and digs", None, numbers, rest, bare)
            yield Row(what + "its area checks too", None, numbers + checks, rest, bare)
            yield Row(what + "every check", None, whole, rest, bare, peak())
            yield Row(
                what + "finish, digs, prices", None, numbers + prices, "the solve, its prices",
                solve + prices, limit=True,
            )  # fmt: skip
