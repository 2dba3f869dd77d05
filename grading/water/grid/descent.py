"""Which way water runs on a grid of levels: from each cell to one of its eight neighbours.

Grids here are flat arrays of a frame (rows, columns) whose outermost cells hold no ground, so
that a step to a neighbour never leaves the array.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from grading.geometry.arrays import Bools, Floats, Ints

NOWHERE = 1e9
"""Level of a cell that holds no ground: higher than any ground. [m]"""

# Neighbours by eighths of a turn from +column towards +row; even ones share a side.
STEPS = ((0, 1), (1, 1), (1, 0), (1, -1), (0, -1), (-1, -1), (-1, 0), (-1, 1))

np.empty(2**22 - 2**12)
"""Of 32 MB less a little, let go as soon as it is asked for, so that what arrays of a grid leave
is kept for the next: one of 2 MB costs a tenth of a pass to fill and ten to be given by the system.
The C library of Linux learns so from the largest that was let go; see its `mallopt(3)`,
M_MMAP_THRESHOLD. Elsewhere it does nothing."""

_PART = 16_384  # own: cells that are worked out at once

_GOLDEN = (5**0.5 - 1) / 2  # the rotation whose points are spread most evenly


def offsets(columns: int) -> Ints:
    """Return the steps to the eight neighbours in a flat array, (8,)."""
    return np.array([row * columns + column for row, column in STEPS], dtype=np.int64)


def framed(grid: Floats) -> Floats:
    """Return a grid (rows, columns) with a frame of no ground, NaN taken as no ground. [m]"""
    return np.pad(np.where(np.isfinite(grid), grid, NOWHERE), 1, constant_values=NOWHERE)


def steepest(level: Floats, steer: bool = True, kind: NDArray[np.integer] | None = None) -> Ints:
    """Return the neighbour that each cell's water runs to, its own number where none is lower.

    Parameters
    ----------
    level : (rows, columns) float
        Levels with a frame of no ground. [m]
    steer : bool
        Step between two neighbours in such turn that the way, over several cells, is that of
        the surface and not one of eight. Without it the steepest of the eight is taken.
    kind : (rows, columns) int, optional
        Number of the surface that each cell is on. Over an edge that drops off, water then goes
        where its own surface leads it, and not where the drop is near.

    Returns
    -------
    (rows * columns,) int

    References
    ----------
    The eight neighbours: O'Callaghan and Mark 1984. The direction within the facet between two
    of them: Tarboton 1997, D-infinity; all water goes to one of the two, the diagonal in the
    share of steps that keeps that direction, the turn given by a golden rotation.
    """
    rows, columns = level.shape
    receiver = np.arange(rows * columns).reshape(rows, columns)
    # The last entry, which no step has, is what -1 takes: stay.
    steps = np.append(offsets(columns), 0)
    # Row by row as much as stays near by: all the drops at once are eight times the grid.
    deep = max(_PART // columns, 1)
    for first in range(0, rows - 2, deep):
        part = slice(first, min(first + deep, rows - 2) + 2)
        ways = _ways(level[part], steer, None if kind is None else kind[part], first)
        receiver[part][1:-1, 1:-1] += steps[ways]
    return receiver.ravel()


def _ways(
    level: Floats, steer: bool, kind: NDArray[np.integer] | None, first: int
) -> NDArray[np.int8]:
    """Return the eighth that each cell inside a frame steps to, -1 where it stays.

    first : the row of the whole grid that these begin at.
    """
    rows, columns = level.shape
    inner = level[1:-1, 1:-1]
    drop = np.empty((8, rows - 2, columns - 2))
    for eighth, (row, column) in enumerate(STEPS):
        there = level[1 + row : rows - 1 + row, 1 + column : columns - 1 + column]
        np.subtract(inner, there, out=drop[eighth])
    flat = drop.reshape(8, -1)
    if kind is None:
        way = _steepest_of(flat)
    else:
        edge, whole = _without_drops(flat, kind)
        way = _steepest_of(flat)
        # Where its own surface leads water nowhere, it does go over the drop.
        stuck = way[edge] < 0
        flat[:, edge[stuck]] = whole[:, stuck]
        way[edge[stuck]] = _steepest_of(whole[:, stuck])
    way = way.reshape(inner.shape)
    way[inner >= NOWHERE] = -1
    return _steered(drop, way, first) if steer else way


def _steepest_of(drop: Floats) -> NDArray[np.int8]:
    """Return the eighth in which each cell (8, n) falls most for its length, -1 for none."""
    best = np.zeros(drop.shape[1])
    way = np.full(drop.shape[1], -1, dtype=np.int8)
    for eighth in range(8):
        fall = drop[eighth] * np.sqrt(0.5) if eighth % 2 else drop[eighth]
        np.copyto(way, eighth, where=fall > best)
        np.maximum(best, fall, out=best)
    return way


def _without_drops(drop: Floats, kind: NDArray[np.integer]) -> tuple[Ints, Floats]:
    """Cut drops (8, n) over the edge of a surface down to its own slope; return what they were.

    The slope over the edge is taken from the cell opposite, on the same surface. Returns the
    cells (k,) and their own drops (8, k).
    """
    rows, columns = kind.shape
    here = kind[1:-1, 1:-1]
    same = [
        (here == kind[1 + row : rows - 1 + row, 1 + column : columns - 1 + column]).ravel()
        for row, column in STEPS
    ]
    edge = np.flatnonzero(~np.logical_and.reduce(same))
    whole = drop[:, edge].copy()
    for eighth in range(8):
        opposite = (eighth + 4) % 8
        over = ~same[eighth][edge] & same[opposite][edge] & (whole[eighth] > 0)
        own = np.minimum(whole[eighth], -whole[opposite])
        drop[eighth, edge[over]] = own[over]
    return edge, whole


def _steered(drop: Floats, way: NDArray[np.int8], first: int) -> NDArray[np.int8]:
    """Return the eighth stepped to, within the facet that holds the way down; -1 stays.

    first : the row of the whole grid that these begin at.
    """
    _, rows, columns = drop.shape
    flat, each = drop.ravel(), np.arange(way.size).reshape(way.shape)
    after, before = (way + 1) & 7, (way - 1) & 7
    size = np.int64(way.size)
    beside = np.where(
        flat.take(after * size + each) > flat.take(before * size + each), after, before
    )
    straight = (way & 1) == 0
    side, diagonal = np.where(straight, way, beside), np.where(straight, beside, way)
    fall = flat.take(side * size + each)
    over = flat.take(diagonal * size + each) - fall
    # Of the steps, all move along the side and the share over / fall moves across it too.
    turn = np.where((side & 2) == 0, _turns(columns)[None, :], _turns(first + rows)[first:, None])
    chosen = np.where(turn * fall < over, diagonal, side)
    return np.where(way < 0, way, chosen)


def _turns(count: int) -> Floats:
    return np.asarray((np.arange(count) * _GOLDEN) % 1.0, dtype=np.float64)


def over_flats(level: Floats, receiver: Ints, ends: Bools) -> Ints:
    """Return receivers that lead over level ground to where it drains, by the fewest steps.

    Parameters
    ----------
    level : (rows, columns) float
        Levels with a frame of no ground. [m]
    receiver : (rows * columns,) int
        As `steepest` gives them.
    ends : (rows * columns,) bool
        Cells where water ends.

    Returns
    -------
    (rows * columns,) int
        A cell receives itself only where water ends, or at one cell of ground that lies lower
        than all around it.
    """
    flat, around = level.ravel(), offsets(level.shape[1])
    receiver = receiver.copy()
    own = np.arange(len(flat))
    receiver[ends] = own[ends]
    still = (receiver == own) & (flat < NOWHERE) & ~ends
    _spread(flat, receiver, _rim(flat, still, around), still, around)
    cells = np.flatnonzero(still)
    if len(cells):
        first = _one_of_each_flat(flat, cells, around)
        still[first] = False
        _spread(flat, receiver, first, still, around)
    return receiver


def _rim(flat: Floats, still: Bools, around: Ints) -> Ints:
    """Return the cells that level ground drains to: beside a still cell, at its level.

    A still cell with nothing at its level beside it is no level ground: it is still no longer.
    """
    cells = np.flatnonzero(still)
    level = flat.take(cells)
    joined, rim = np.zeros(len(cells), dtype=bool), np.zeros(len(flat), dtype=bool)
    for step in around:
        near = cells + step
        alike = flat.take(near) == level
        joined |= alike
        rim[near[alike]] = True
    rim[cells] = False
    still[cells[~joined]] = False
    return np.flatnonzero(rim)


def _spread(flat: Floats, receiver: Ints, front: Ints, still: Bools, around: Ints) -> None:
    """Lead every still cell that level ground joins to the front over to it."""
    while len(front):
        near = (front[:, None] + around).ravel()
        reached = np.flatnonzero(still.take(near))
        cells, source = near.take(reached), front.take(reached // len(around))
        level = flat.take(cells) == flat.take(source)
        cells, source = cells[level], source[level]
        receiver[cells] = source
        still[cells] = False
        # A cell reached from several sides goes on once, from the one written last.
        front = cells[receiver.take(cells) == source]


def _one_of_each_flat(flat: Floats, cells: Ints, around: Ints) -> Ints:
    """Return one cell of each piece of level ground."""
    from scipy.sparse import coo_array
    from scipy.sparse.csgraph import connected_components

    near = cells[:, None] + around
    place = np.minimum(np.searchsorted(cells, near), len(cells) - 1)
    joined = (cells[place] == near) & (flat[near] == flat[cells][:, None])
    start, step = np.nonzero(joined)
    ends = start.astype(np.int32), place[start, step].astype(np.int32)  # as every SciPy takes them
    links = coo_array((np.ones(len(start)), ends), shape=(len(cells), len(cells)))
    _, piece = connected_components(links, directed=False)
    return cells[np.unique(piece, return_index=True)[1]]


def last(receiver: Ints) -> Ints:
    """Return the cell at which each cell's water ends, (n,)."""
    while True:
        further = receiver.take(receiver)
        if np.array_equal(further, receiver):
            return receiver
        receiver = further
