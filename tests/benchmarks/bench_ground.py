"""Time of the ground beside SciPy's triangulation and interpolation."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from statistics import median
from time import process_time

import numpy as np
from measuring import Row
from scipy.interpolate import LinearNDInterpolator
from scipy.spatial import Delaunay

from grading.geometry.triangulation import triangulate
from grading.ground.certainty import certainty_of
from grading.ground.model import surface
from grading.ground.smooth import leave_one_out
from grading.ground.spots import SpotNames, distinct_spots

QUERIES = 100_000


def milliseconds(call: Callable[[], object], repeats: int) -> float:
    """Return the median time of a call. [ms]"""
    times = []
    for _ in range(repeats):
        start = process_time()
        call()
        times.append(process_time() - start)
    return median(times) * 1e3


def survey(count: int) -> np.ndarray:
    """Return random spots on rolling ground, (count, 3)."""
    rng = np.random.default_rng(count)
    plan = rng.uniform(0, 5 * count**0.25, (count, 2))
    return np.column_stack((plan, np.sin(plan[:, 0] / 7) + 0.02 * plan[:, 1]))


def rows(count: int) -> list[tuple[str, float, float]]:
    """Return (what, ours, scipy's) for one size. [ms]"""
    xyz = survey(count)
    repeats = max(1, min(200, 100_000 // count))
    where = np.random.default_rng(0).uniform(0, xyz[:, :2].max(), (min(QUERIES, 10 * count), 2))
    ground, delaunay = surface(xyz, warn=False), Delaunay(xyz[:, :2])
    other = LinearNDInterpolator(delaunay, xyz[:, 2])
    scipy_mesh = milliseconds(lambda: Delaunay(xyz[:, :2]), min(repeats, 20))
    first = milliseconds(lambda: surface(xyz, warn=False).elevation(where[:200]), repeats)
    other_first = milliseconds(
        lambda: LinearNDInterpolator(xyz[:, :2], xyz[:, 2])(where[:200]), min(repeats, 20)
    )
    line = np.array([[0, 0], xyz[:, :2].max(axis=0)])
    ground.section(line)
    few, fewer = max(1, repeats // 10), max(1, repeats // 50)
    measured = ground.measured
    known = certainty_of(measured, where[:400])
    levels, wide = np.linspace(0, 1, 5), ground.surveyed.buffer(0.5)

    def ours(call: Callable[[], object], count: int) -> tuple[float, float]:
        return milliseconds(call, count), np.nan

    return [
        ("check spots", *ours(lambda: distinct_spots(xyz, SpotNames()), repeats)),
        ("triangulate", milliseconds(lambda: triangulate(xyz[:, :2]), repeats), scipy_mesh),
        ("ground without warnings", *ours(lambda: surface(xyz, warn=False), repeats)),
        ("ground", *ours(lambda: surface(xyz), few)),
        ("ground and first 200 z", first, other_first),
        (
            f"{len(where)} z",
            milliseconds(lambda: ground.elevation(where), few),
            milliseconds(lambda: other(where), few),
        ),
        ("section", *ours(lambda: ground.section(line), few)),
        ("contours at 5 levels", *ours(lambda: ground.contours(levels), fewer)),
        ("ground 3 ft beyond", *ours(lambda: ground.reaching(wide), fewer)),
        ("leave one out", *ours(lambda: leave_one_out(xyz), 1)),
        ("how well it is known", *ours(lambda: certainty_of(measured, where[:400]), 1)),
        ("400 grounds by lot", *ours(lambda: known.draws(where[:400]), 1)),
    ]


SIZES = (20, 200, 10_000, 1_000_000)


def measure(count: int) -> Iterable[Row]:
    """Give the rows of one size, SciPy's beside those that it has."""
    shown = "check spots", "triangulate", "ground", "ground and first 200 z"
    for what, ours, theirs in rows(count):
        if what in shown or what.endswith(" z") or what == "contours at 5 levels":
            what = "elevations asked of it" if what[0].isdigit() else what
            other = ("", None) if np.isnan(theirs) else ("SciPy", theirs / 1e3)
            yield Row(what, count, ours / 1e3, *other)
