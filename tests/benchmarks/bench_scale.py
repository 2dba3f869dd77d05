"""The whole plan from many spots, beside nothing but the triangles of them.

The spots are read already. The bare triangulation is that of the same library, nothing asked of
it but its triangles, and SciPy's beside it.
"""

from __future__ import annotations

import tempfile
from collections.abc import Iterable
from pathlib import Path

import numpy as np
from bench_main_job import large_site
from measuring import Row, peak, spent

from grading.pipeline import plan
from grading.reading.site_file import read_site
from grading.site.model import Site

SIZES = (200, 10_000, 100_000, 1_000_000)


def bare(xy: np.ndarray) -> np.ndarray:
    """Return what the library makes of points (n, 2), and nothing more."""
    import pythoncdt as cdt

    mesh = cdt.Triangulation(
        cdt.VertexInsertionOrder.AUTO, cdt.IntersectingConstraintEdges.NOT_ALLOWED, 0.0
    )
    mesh.insert_vertices(xy)
    mesh.erase_super_triangle()
    return np.asarray(mesh.triangles_array())


def _read(count: int, folder: Path) -> Site:
    """Return a site of so many spots, written by another process: its memory is not ours."""
    from multiprocessing import get_context

    writer = get_context("spawn").Process(target=large_site, args=(count, folder))
    writer.start()
    writer.join()
    return read_site(folder)


def measure(count: int) -> Iterable[Row]:
    """Give the rows of one size."""
    with tempfile.TemporaryDirectory() as folder:
        plan(large_site(2000, Path(folder)))  # loads what is loaded once
        site = _read(count, Path(folder))
    times = 5 if count <= 10_000 else 1
    whole = spent(lambda: plan(site), times)
    most = peak()
    made = plan(site) if count <= 100_000 else None
    checks = spent(lambda: made.checks) if made else None
    with_checks = peak()
    xy = np.ascontiguousarray(site.spots.xyz[:, :2] - site.spots.xyz[:, :2].mean(axis=0))
    alone = spent(lambda: bare(xy), times)
    what = "ground, finish and three digs"
    yield Row(what, count, whole, "its bare triangulation", alone, most, limit=True)
    if checks is not None:
        what = "the same, water, advice, order and every check"
        yield Row(what, count, whole + checks, "its bare triangulation", alone, with_checks)
    if count <= 100_000:
        from scipy.spatial import Delaunay

        what = "ground, finish and three digs"
        yield Row(what, count, whole, "SciPy's Delaunay alone", spent(lambda: Delaunay(xy)))
