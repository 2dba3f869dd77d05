"""Low spots: where water stands, how deep, how much, and over which point it spills."""

from __future__ import annotations

import numpy as np
from msgspec import Struct

from grading.geometry.arrays import Bools, Floats, Ints
from grading.water.grid.descent import NOWHERE, STEPS, framed, last, over_flats, steepest


class Pool(Struct, frozen=True, eq=False):
    """One sheet of standing water.

    depth : greatest depth. [m]
    volume : what it holds. [m3]
    area : plan area of the water. [m2]
    level : of the water, where it starts to spill. [m]
    cells : (k,) int, in the flat grid.
    deepest, spill : the cell where it is deepest, and the cell that it spills over.
    """

    depth: float
    volume: float
    area: float
    level: float
    cells: Ints
    deepest: int
    spill: int


def filled(grid: Floats, outlets: Bools) -> Floats:
    """Return the level to which water stands on a grid, the grid's own where none does.

    Parameters
    ----------
    grid : (rows, columns) float
        Levels, NaN where there is no ground. [m]
    outlets : (rows, columns) bool
        Cells from which water leaves, at their own level.

    Returns
    -------
    (rows, columns) float
        The lowest level at which a way to an outlet is nowhere higher: exactly a level of the
        grid. Ground walled off from every outlet is left as it is. [m]

    References
    ----------
    The level is that of priority flood: Barnes, Lehman and Mulla 2014. It is found on the basins
    of the cells where water stops, joined over their lowest passes by a minimum spanning tree:
    Cordonnier, Bovy and Braun 2019.
    """
    level, ends = framed(grid), np.pad(outlets, 1)
    first = over_flats(level, steepest(level, steer=False), ends.ravel())
    return _filled(level, first, ends)[1:-1, 1:-1]


def _filled(level: Floats, receiver: Ints, ends: Bools) -> Floats:
    flat = level.ravel()
    end = last(receiver)
    stops = np.flatnonzero((receiver == np.arange(len(flat))) & (flat < NOWHERE) & ~ends.ravel())
    if not len(stops):
        return np.where(level < NOWHERE, level, np.nan)
    number = np.zeros(len(flat), dtype=np.int64)  # 0: water leaves
    number[stops] = np.arange(1, len(stops) + 1)
    basin = number[end].reshape(level.shape)
    spill = _spill_levels(level, basin, len(stops) + 1)
    stands = np.maximum(level, spill[basin])
    return np.where(level < NOWHERE, stands, np.nan)


def _passes(level: Floats, basin: Ints, count: int) -> tuple[Ints, Ints, Floats]:
    """Return pairs of neighbouring basins, and the level of the lowest pass between them."""
    rows, columns = level.shape
    pairs, heights = [], []
    for row, column in STEPS[:4]:
        here = slice(0, rows - row), slice(max(0, -column), columns - max(0, column))
        there = slice(row, rows), slice(max(0, column), columns - max(0, -column))
        apart = basin[here] != basin[there]
        one, other = basin[here][apart], basin[there][apart]
        pairs.append(np.minimum(one, other) * count + np.maximum(one, other))
        heights.append(np.maximum(level[here][apart], level[there][apart]))
    pair, height = np.concatenate(pairs), np.concatenate(heights)
    ground = height < NOWHERE
    order = np.argsort(pair[ground], kind="stable")
    pair, height = pair[ground][order], height[ground][order]
    if not len(pair):
        return pair, pair, height
    first = np.flatnonzero(np.append(True, pair[1:] != pair[:-1]))
    pair = pair[first]
    return pair // count, pair % count, np.minimum.reduceat(height, first)


def _spill_levels(level: Floats, basin: Ints, count: int) -> Floats:
    """Return for each basin the level of its highest pass on the lowest way out, (count,)."""
    from scipy.sparse import coo_array
    from scipy.sparse.csgraph import breadth_first_order, minimum_spanning_tree

    one, other, height = _passes(level, basin, count)
    # Ranks, and not heights, are weighed: no height is lost to rounding, and none is zero.
    order = np.argsort(height, kind="stable")
    weight = np.empty(len(order))
    weight[order] = np.arange(1, len(order) + 1)
    # SciPy 1.14 takes no wider numbers of corners in a tree than 32 bits.
    ends = one.astype(np.int32), other.astype(np.int32)
    links = coo_array((weight, ends), shape=(count, count)).tocsr()
    tree = minimum_spanning_tree(links)
    _, before = breadth_first_order(tree, 0, directed=False)
    spill = np.full(count, -np.inf)
    kept = tree.tocoo()
    start, end = kept.row.astype(np.int64), kept.col.astype(np.int64)
    lower = before[end] == start
    child = np.where(lower, end, start)
    reached = np.where(lower, start, end) == before[child]
    passed = height[order[kept.data.astype(np.int64) - 1]]
    spill[child[reached]] = passed[reached]
    parent = np.where(before < 0, np.arange(count), before).astype(np.int64)
    while True:
        spill = np.maximum(spill, spill[parent])
        further = parent[parent]
        if np.array_equal(further, parent):
            return np.asarray(spill)
        parent = further


def pools(
    grid: Floats, stands: Floats, receiver: Ints, spacing: float, least: float = 0.0
) -> tuple[Pool, ...]:
    """Return the low spots of a grid, the deepest first.

    Parameters
    ----------
    grid, stands : (rows, columns) float
        Levels, and what `filled` makes of them. [m]
    receiver : (rows * columns,) int
        The way of the water over the filled grid, as `grading.water.grid.flow.routed` gives it.
    spacing : float
        Side of a cell. [m]
    least : float
        Depth at or below which water is not worth telling. [m]
    """
    depth = np.where(np.isfinite(grid), stands - grid, 0.0)
    if not (depth > least).any():
        return ()
    from scipy import ndimage

    label, count = ndimage.label(depth > 0, structure=np.ones((3, 3)))
    wet = np.flatnonzero(label)
    which, deep = label.ravel()[wet], depth.ravel()[wet]
    order = np.argsort(which, kind="stable")
    wet, which, deep = wet[order], which[order], deep[order]
    # The way of the water among the wet cells alone, as long as it stays in its pool.
    own = np.arange(len(wet))
    place = np.zeros(label.size, dtype=np.int64)
    place[wet] = own
    to = receiver[wet]
    leaves = last(np.where(label.ravel()[to] == which, place[to], own))
    starts = np.searchsorted(which, np.arange(1, count + 2))
    volume = np.add.reduceat(deep, starts[:-1]) * spacing**2
    most = np.maximum.reduceat(deep, starts[:-1])
    first = np.flatnonzero(deep == np.repeat(most, np.diff(starts)))  # where it is as deep as that
    lowest = first[np.searchsorted(first, starts[:-1])]
    levels = stands.ravel()
    found = []
    for pool in np.flatnonzero(most > least):
        deepest = int(wet[lowest[pool]])
        found.append(
            Pool(
                depth=float(most[pool]),
                volume=float(volume[pool]),
                area=int(starts[pool + 1] - starts[pool]) * spacing**2,
                level=float(levels[deepest]),
                cells=wet[starts[pool] : starts[pool + 1]],
                deepest=deepest,
                spill=int(to[leaves[lowest[pool]]]),
            )
        )
    return tuple(sorted(found, key=lambda pool: -pool.depth))
