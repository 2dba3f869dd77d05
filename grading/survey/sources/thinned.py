"""Points that lie within a millimetre of each other made one."""

from __future__ import annotations

import numpy as np
from msgspec.structs import replace
from numpy.typing import NDArray

from grading.geometry.tolerances import SAME_ELEVATION, SAME_PLACE
from grading.survey.sources.model import PointFile


def thinned(points: PointFile) -> PointFile:
    """Return points with one for those at one place and level, at the place of the first.

    Its level is the mean of theirs; its standard deviations are those of the first, for a point
    that is there twice was hardly measured twice.
    """
    xyz = points.xyz
    if len(xyz) < 2:
        return points
    first, member = _places(xyz[:, :2])
    low, high = np.full(len(first), np.inf), np.full(len(first), -np.inf)
    np.minimum.at(low, member, xyz[:, 2])
    np.maximum.at(high, member, xyz[:, 2])
    one = high - low <= SAME_ELEVATION
    mean = np.bincount(member, xyz[:, 2]) / np.bincount(member)
    kept = np.zeros(len(xyz), bool)
    kept[first] = True
    kept |= ~one[member]
    levels = np.where(one[member], mean[member], xyz[:, 2])
    rows = np.flatnonzero(kept)
    if len(rows) == len(xyz):
        return points
    return replace(
        points,
        xyz=np.column_stack([xyz[:, :2], levels])[rows],
        names=tuple(points.names[row] for row in rows),
        codes=tuple(points.codes[row] for row in rows),
        sd_z=points.sd_z[rows],
        sd_xy=points.sd_xy[rows],
    )


def _places(xy: NDArray[np.float64]) -> tuple[NDArray[np.intp], NDArray[np.intp]]:
    """Return the first point of each place, in order, and the place of each point (n,).

    Those that share a quarter of a millimetre are one at once: a point that is there a thousand
    times would make half a million pairs.
    """
    from scipy.sparse import coo_array
    from scipy.sparse.csgraph import connected_components
    from scipy.spatial import cKDTree

    _, seeds, cell = np.unique(
        np.round(xy / (SAME_PLACE / 4)), axis=0, return_index=True, return_inverse=True
    )
    joined = cKDTree(xy[seeds]).query_pairs(SAME_PLACE, output_type="ndarray")
    count = len(seeds)
    ends = joined.T.astype(np.int32)  # as every SciPy takes them
    graph = coo_array((np.ones(len(joined), bool), ends), shape=(count, count))
    member = connected_components(graph, directed=False)[1][cell.reshape(-1)]
    first = np.full(member.max() + 1, len(xy))
    np.minimum.at(first, member, np.arange(len(xy)))
    rank = np.argsort(np.argsort(first, kind="stable"), kind="stable")
    return np.sort(first), rank[member]
