"""A site planned again after a small change, with what is kept, beside a bare plan and the solve.

Finish and dig are of the plan on the bases last advised, each area dug on its own; with what its
areas are checked for they are the first wave. The solve is `fitted_finishes` alone: problems posed
and told apart, digs and all else stand beside it. What would free an edge off the lawn is solved
for when it is told, after the first wave. With every check it is the second wave; bare is the same
with nothing kept.
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
        numbers = took(lambda: [area.chosen_dig.cut for area in first_wave(site, kept).plan.areas])
    first = first_wave(site, kept).plan
    checks = took(lambda: first.area_checks_at_once)
    freed = took(lambda: first.area_checks)
    whole = took(lambda: plan(site, kept).checks)
    bare = took(lambda: plan(site).checks)
    return [numbers, checks, freed, whole, bare, sum(spent), numbers / max(sum(spent), 1e-9)]


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
            numbers, checks, freed, whole, bare, _, times = map(median, zip(*found, strict=True))
            what, rest = f"{name}, {change} moved: ", "a bare plan, every check"
            yield Row(what + "finish and dig", None, numbers, rest, bare)
            yield Row(what + "its area checks too", None, numbers + checks, rest, bare)
            yield Row(what + "what would free its edges too", None, numbers + checks + freed,
                      rest, bare)  # fmt: skip
            yield Row(what + "every check", None, whole, rest, bare, peak())
            # The median of the ratios, one for each change: both sides met the same machine.
            yield Row(what + "the same", None, numbers, "the solve alone", numbers / times,
                      limit=True)  # fmt: skip
