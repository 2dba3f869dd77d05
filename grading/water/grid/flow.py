"""Where every drop goes: its way over a grid, through pools to their spill, and where it ends."""

from __future__ import annotations

from functools import cached_property

import numpy as np
from msgspec import Struct
from numpy.typing import NDArray

from grading.geometry.arrays import Bools, Floats, Ints
from grading.water.grid.descent import NOWHERE, framed, last, offsets, over_flats, steepest

__all__ = ["Downhill", "falling", "routed", "way"]


def routed(
    stands: Floats,
    outlets: Bools,
    ends: Bools | None = None,
    *,
    outside: Bools | None = None,
    kind: NDArray[np.integer] | None = None,
    steer: bool = True,
) -> Ints:
    """Return for each cell the neighbour that its water runs to, its own number where it ends.

    Parameters
    ----------
    stands : (rows, columns) float
        Levels with every pool filled to its spill, as `grading.water.grid.pools.filled` gives them,
        NaN where there is no ground. [m]
    outlets : (rows, columns) bool
        Cells from which water leaves where nothing beside them is lower.
    ends : (rows, columns) bool, optional
        Cells where all water that reaches them ends: a drain, a pool that keeps it.
    outside : (rows, columns) bool, optional
        Cells without ground over which water runs off the map, as it does beyond the grid: the
        ground is thought to go on there at its slope. Without it, water at the edge follows the
        edge while that falls.
    kind : (rows, columns) int, optional
        Number of the surface that each cell is on, as in `grading.water.grid.descent.steepest`.
    steer : bool
        As in `grading.water.grid.descent.steepest`.

    Returns
    -------
    (rows * columns,) int

    Notes
    -----
    Over level water and level ground the way is that of the fewest steps. It never turns back:
    each step goes down, or nearer to where level ground drains.
    """
    return falling(stands, outlets, outside=outside, kind=kind, steer=steer).to(ends)


class Falling(Struct, frozen=True, eq=False):
    """The way down of every cell, before it is said where water ends: see `routed`.

    level : (rows + 4, columns + 4) float, with two frames of no ground. [m]
    first : (n,) int, the neighbour that each cell's water runs to, its own where none is lower.
    leaves, beyond : bool of that shape, cells that water leaves from, and those off the map.
    """

    level: Floats
    first: Ints
    leaves: Bools
    beyond: Bools

    def to(self, ends: Bools | None = None) -> Ints:
        """Return the receivers of the flat grid without frames, (rows * columns,).

        ends : (rows, columns) bool, optional, cells where all water that reaches them ends.
        """
        level, first = self.level, self.first
        stops = (first == np.arange(first.size)) & self.leaves.ravel()
        stops |= self.beyond.ravel()
        if ends is not None:
            stops |= np.pad(ends, 2).ravel()
        receiver = over_flats(level, first, stops)
        # What runs off the map has ended at the map's last cell.
        gone = self.beyond.ravel().take(receiver)
        receiver[gone] = np.flatnonzero(gone)
        rows, columns = level.shape[0] - 4, level.shape[1] - 4
        number = np.zeros(level.shape, dtype=np.int64)  # of each cell without the frame
        number[2:-2, 2:-2] = np.arange(rows * columns).reshape(rows, columns)
        return number.ravel().take(receiver.reshape(level.shape)[2:-2, 2:-2].ravel())


def falling(
    stands: Floats,
    outlets: Bools,
    *,
    outside: Bools | None = None,
    kind: NDArray[np.integer] | None = None,
    steer: bool = True,
) -> Falling:
    """Return the way down of every cell; what is given is as `routed` takes it."""
    level = np.pad(framed(stands), 1, constant_values=NOWHERE)
    leaves = np.pad(outlets, 2)
    beyond = np.zeros(level.shape, dtype=bool)
    if outside is not None:
        beyond[1:-1, 1:-1] = np.pad(outside, 1, constant_values=True)
        level = _carried_on(level, beyond)
        beyond &= level < NOWHERE
    own = None if kind is None else np.pad(kind, 2, mode="edge")
    return Falling(level, steepest(level, steer, own), leaves, beyond)


def _carried_on(level: Floats, beyond: Bools) -> Floats:
    """Return levels with those of the cells next to the ground beyond the map, at its slope."""
    wide = np.pad(level, 2, constant_values=NOWHERE)
    flat, around = wide.ravel(), offsets(wide.shape[1])
    there = np.pad(beyond, 2).ravel()
    # Only what has ground beside it is asked further.
    cells = np.flatnonzero(there)
    cells = cells[np.logical_or.reduce([flat.take(cells + step) < NOWHERE for step in around])]
    total, count = np.zeros(len(cells)), np.zeros(len(cells))
    for step in around:
        near, far = flat.take(cells + step), flat.take(cells + 2 * step)
        known = (near < NOWHERE) & (far < NOWHERE)
        total += np.where(known, 2 * near - far, 0.0)
        count += known
    some = count > 0
    flat[cells[some]] = total[some] / count[some]
    return np.asarray(wide[2:-2, 2:-2])


class Downhill(Struct, frozen=True, eq=False, dict=True):
    """The way of all water over a grid, and what is asked of the whole of it at once.

    receiver : (n,) int, the neighbour that the water of each cell runs to, as `routed` gives it.
    """

    receiver: Ints

    @cached_property
    def end(self) -> Ints:
        """The cell at which the water of each cell ends, (n,)."""
        return last(self.receiver)

    @cached_property
    def _leaps(self) -> tuple[Ints, ...]:
        """Where water is after one step, two, four and so on, (n + 1,): `n` where it has ended."""
        count = len(self.receiver)
        step = np.append(np.where(self.receiver == np.arange(count), count, self.receiver), count)
        leaps = []
        while True:
            leaps.append(step)
            step = step.take(step)
            if (step == count).all():
                return tuple(leaps)

    def gathered(self, weight: Floats) -> Floats:
        """Return all that comes to each cell from above, its own included.

        Parameters
        ----------
        weight : (n,) float
            What falls on each cell: area, or flow. [m2, m3/s]

        Returns
        -------
        (n,) float
            In the weight's unit. Over the cells where water ends it adds up to all that fell.
        """
        count = len(weight)
        total = np.append(weight, 0.0)
        for leap in self._leaps:  # each adds what lies up to twice as far above
            arriving = np.bincount(leap, weights=total, minlength=count + 1)
            arriving[count] = 0.0
            total = total + arriving
        return np.asarray(total[:count])

    def marked(self, mark: Ints) -> Ints:
        """Return the last mark passed on the way from each cell (n,), 0 where there is none.

        Parameters
        ----------
        mark : (n,) int
            Above 0 on the cells that are marked, 0 elsewhere. The cell itself is on its way.
        """
        seen = np.append(mark, 0)
        for leap in self._leaps:
            ahead = seen.take(leap)
            np.copyto(ahead, seen, where=ahead <= 0)
            seen = ahead
        return np.asarray(seen[:-1])


def way(receiver: Ints, cell: int) -> Ints:
    """Return the cells on the way from one cell to where its water ends, (k,)."""
    cells = [cell]
    while receiver[cells[-1]] != cells[-1]:
        cells.append(int(receiver[cells[-1]]))
    return np.array(cells)
