"""Where the numbers of layers point: each at a place that is seen, no leader over another."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from math import hypot

import numpy as np
from msgspec import Struct
from msgspec.structs import replace

from grading.geometry.arrays import Floats
from grading.geometry.tolerances import NOTHING
from viz.pictures.camera import Eye
from viz.pictures.sight import seen_at
from viz.scene.model import Label, Scene

STAGE = (20, 124, 1150, 800)
"""Where the still lies: left, top, width, height. [pixels]"""

COLUMN = 1190
"""Where the column of layers begins, at the right of the still. [pixels]"""

BEND = COLUMN - 34.0
"""Where a leader turns level, to run into the column. [pixels]"""

_STEP, _MOST = 92.0, 430.0  # of a row, and of all of them: pixels
_FIGURES = 60, 36  # below the rows, and for each figure: pixels
_TRIED = 2_000  # places that numbers are tried at, before they are left where they lie

CLEAR = 9.0
"""How far a leader keeps from the dot of another. [pixels]"""

Point = tuple[float, float]


class Rows(Struct, frozen=True):
    """The rows of the column: how high the first begins, and how far apart they are. [pixels]"""

    top: float
    step: float

    def middle(self, row: int) -> float:
        """Return how far down the middle of a row lies. [pixels]"""
        return self.top + 30 + row * self.step


def rows_for(scene: Scene, anchors: Sequence[Point]) -> Rows:
    """Return the rows of the layers of a scene, about as high as what they point at.

    Parameters
    ----------
    scene : Scene
    anchors : sequence of (x, y)
        [pixels]
    """
    count = len(scene.legend) if anchors else 0
    step = min(_STEP, _MOST / max(count, 1))
    below = _FIGURES[0] + _FIGURES[1] * len(scene.figures)
    lowest = STAGE[1] + STAGE[3] - below - step * count
    middle = np.mean([y for _, y in anchors]) if anchors else 0.0
    return Rows(float(np.clip(middle - 0.75 * step * count, STAGE[1] + 20, lowest)), step)


def pointed(
    scene: Scene, labels: Sequence[Label], view: str, eye: Eye
) -> tuple[dict[int, Point], Rows]:
    """Return where each number points in a picture, and the rows that its leaders come from.

    Parameters
    ----------
    scene : Scene
    labels : sequence of Label
        Those of layers in the view.
    view : str
        "slice:3" is the view "slice" at its fourth station.
    eye : Eye

    Notes
    -----
    A number points at its label's own place, or, where that is hidden or its leader would cross
    another, somewhere else on the same strip.
    """
    kind = view.partition(":")[0]
    found = {label.number: _places(scene, label, kind) for label in labels}
    ways = np.cumsum([0, *map(len, found.values())])
    every = np.concatenate([*found.values(), np.zeros((0, 3))])
    seen = seen_at(scene, every, view, eye)
    pixels = eye.pixels(every, STAGE[2:]) + np.array(STAGE[:2])
    open_: dict[int, list[Point]] = {}
    for number, start, end in zip(found, ways, ways[1:], strict=False):
        open_[number] = [(float(x), float(y)) for x, y in pixels[start:end][seen[start:end]]]
    open_ = {number: places for number, places in open_.items() if places}
    rows = rows_for(scene, [places[0] for places in open_.values()])
    bends = {entry.number: (BEND, rows.middle(row)) for row, entry in enumerate(scene.legend)}
    return _apart(open_, bends), rows


def seen_first(scene: Scene, view: str, eye: Eye) -> tuple[Label, ...]:
    """Return the labels of a scene, those of its layers at a place that is seen from an eye.

    Parameters
    ----------
    scene : Scene
    view : str
        Its layers' labels alone are moved, each to the first of its places that is in sight.
    eye : Eye
    """
    moved = {}
    for k, label in enumerate(scene.labels):
        if label.kind != "layer" or view not in label.shown or label.spread is None:
            continue
        seen = np.flatnonzero(seen_at(scene, _places(scene, label, view), view, eye))
        if len(seen) and seen[0]:
            moved[k] = replace(label, at=label.spread[seen[0] - 1])
    return tuple(moved.get(k, label) for k, label in enumerate(scene.labels))


def _apart(open_: Mapping[int, Sequence[Point]], bends: Mapping[int, Point]) -> dict[int, Point]:
    """Return a place for each number from which no leader meets another, or as few as can be.

    Numbers take their places in turn, the first that is clear of those before; where there is none
    the one before takes its next.
    """
    numbers = sorted(open_)
    taken: list[int] = []  # the place of each number, as far as they are taken
    start = 0
    for _ in range(_TRIED):
        if len(taken) == len(numbers):
            break
        number = numbers[len(taken)]
        held = [(open_[key][k], bends[key]) for key, k in zip(numbers, taken, strict=False)]
        for k in range(start, len(open_[number])):
            at = open_[number][k]
            if not any(_meet(at, bends[number], *other) for other in held):
                taken.append(k)
                start = 0
                break
        else:
            if not taken:
                break
            start = taken.pop() + 1
    if len(taken) < len(numbers):
        taken = _fewest(open_, bends)
    return {number: open_[number][k] for number, k in zip(numbers, taken, strict=True)}


def _fewest(open_: Mapping[int, Sequence[Point]], bends: Mapping[int, Point]) -> list[int]:
    """Return the place of each number in turn whose leader meets the fewest of those before."""
    held: list[tuple[Point, Point]] = []
    taken = []
    for number in sorted(open_):
        met = [sum(_meet(at, bends[number], *each) for each in held) for at in open_[number]]
        taken.append(met.index(min(met)))
        held.append((open_[number][taken[-1]], bends[number]))
    return taken


def _places(scene: Scene, label: Label, kind: str) -> Floats:
    """Return where a label may point, in drawn space, (k, 3), its own place first."""
    own = scene.place(label, kind)[None]
    if label.spread is None:
        return own
    # All of its places float as high as its own, where layers are apart.
    up = own - scene.drawn(label.at[None], label.stands, kind)
    return np.concatenate([own, scene.drawn(label.spread, label.stands, kind) + up])


def _meet(at: Point, bend: Point, other: Point, other_bend: Point) -> bool:
    """Return whether a leader crosses another, or runs through its dot."""
    if crossing(at, bend, other, other_bend):
        return True
    return min(_away(other, at, bend), _away(at, other, other_bend)) < CLEAR


def crossing(one: Point, one_end: Point, other: Point, other_end: Point) -> bool:
    """Return whether two segments cross."""

    def side(a: Point, b: Point, c: Point) -> float:
        return (b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0])

    parted = side(one, one_end, other) * side(one, one_end, other_end) < 0
    return parted and side(other, other_end, one) * side(other, other_end, one_end) < 0


def _away(point: Point, start: Point, end: Point) -> float:
    """Return how far a point lies from a segment. [pixels]"""
    x, y = end[0] - start[0], end[1] - start[1]
    along = (point[0] - start[0]) * x + (point[1] - start[1]) * y
    share = min(1.0, max(0.0, along / max(x * x + y * y, NOTHING)))
    return hypot(point[0] - start[0] - share * x, point[1] - start[1] - share * y)
