"""Time of the ground beside SciPy's triangulation and interpolation."""

from __future__ import annotations

from collections.abc import Iterable

import numpy as np
from measuring import Row, peak, spent
from scipy.interpolate import LinearNDInterpolator
from scipy.spatial import Delaunay

from grading.geometry.triangulation import triangulate
from grading.ground.certainty import certainty_of
from grading.ground.model import surface
from grading.ground.process import MOST

QUERIES = 100_000


def survey(count: int) -> np.ndarray:
    """Return random spots on rolling ground, (count, 3)."""
    rng = np.random.default_rng(count)
    plan = rng.uniform(0, 5 * count**0.25, (count, 2))
    return np.column_stack((plan, np.sin(plan[:, 0] / 7) + 0.02 * plan[:, 1]))


SIZES = (20, 200, 10_000, 1_000_000)


def measure(count: int) -> Iterable[Row]:
    """Give the rows of one size."""
    xyz = survey(count)
    times = max(1, min(50, 20_000 // count))
    where = np.random.default_rng(0).uniform(0, xyz[:, :2].max(), (min(QUERIES, 10 * count), 2))
    made = spent(lambda: surface(xyz), times)
    most = peak()
    ground, delaunay = surface(xyz, warn=False), Delaunay(xyz[:, :2])
    other = LinearNDInterpolator(delaunay, xyz[:, 2])
    mesh = spent(lambda: triangulate(xyz[:, :2]), times)
    by_scipy = spent(lambda: Delaunay(xyz[:, :2]), min(times, 5))
    yield Row("triangles of spots", count, mesh, "SciPy's Delaunay", by_scipy)
    yield Row("ground, its spots held together", count, made, "its triangles alone", mesh, most,
              limit=True)  # fmt: skip
    ground.elevation(where)
    error = float(np.nanmax(np.abs(ground.elevation(where) - other(where))))
    yield Row(
        f"{len(where):,} elevations asked of it", count,
        spent(lambda: ground.elevation(where), times), "SciPy's interpolator",
        spent(lambda: other(where), min(times, 5)), error=error,
    )  # fmt: skip
    if count <= MOST:
        known = certainty_of(ground.measured, where)
        yield Row(
            "how well it is known", count, spent(lambda: certainty_of(ground.measured, where))
        )
        yield Row("400 grounds by lot", count, spent(lambda: known.draws(where)))
