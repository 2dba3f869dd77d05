"""Lettering: how much room words take on paper, and finding room that is free."""

from __future__ import annotations

import math
import re
import warnings
from collections.abc import Callable, Iterable, Iterator
from functools import cache, lru_cache
from importlib.util import find_spec
from pathlib import Path
from typing import Any, NamedTuple

import numpy as np
from msgspec import Struct, field

from grading.geometry.arrays import Floats
from grading.geometry.tolerances import TOUCH
from viz.paper.drawing import Point

FONT = "DejaVu Sans"
LEADING = 1.3  # line spacing, of the type size
_MEASURED = 100.0  # the size at which words are measured: letters are shaped without hints
_FINE = 64  # units that FreeType tells lengths in, to a point
ROOM = 0.35  # kept clear around words [mm]

_UPRIGHT = 1e-6  # own: degrees: words that stand on end but for rounding are read from the right


def is_upright(degrees: float) -> bool:
    """Whether words that lie along a direction (-180 to 180) are read from below or the right."""
    return -90.0 + _UPRIGHT < degrees <= 90.0 + _UPRIGHT


def upright(degrees: float) -> float:
    """Return a direction, or the one against it, in which words are read so. [degrees]"""
    return (degrees + 90.0 - _UPRIGHT) % 180.0 - 90.0 + _UPRIGHT


class _Shape(NamedTuple):
    """How wide words are, their lowest and highest, and where their last sign begins. [fine]"""

    wide: int
    low: int
    top: int
    last: int


@cache
def font_file(bold: bool = False) -> Path:
    """Return the file of the letters of every drawing and picture, which comes with matplotlib."""
    package = find_spec("matplotlib")  # found, and not loaded
    assert package is not None
    assert package.origin is not None
    name = "DejaVuSans-Bold.ttf" if bold else "DejaVuSans.ttf"
    return Path(package.origin).parent / "mpl-data" / "fonts" / "ttf" / name


def _face(bold: bool) -> Any:
    from matplotlib.font_manager import get_font

    # With what stands in for a sign that it lacks: a box. It is matplotlib's own, one to a thread,
    # and may have been given another size.
    face = get_font(str(font_file(bold)))
    face.set_size(_MEASURED, 72)
    return face


def extent(words: str, size: float, bold: bool = False) -> tuple[float, float, float]:
    """Return width, height above and depth below the base line of one line of words. [mm]"""
    scale = size / _MEASURED
    wide, high, deep = (value * scale for value in _measured(words, bold))
    return wide, high - deep, deep


@lru_cache(maxsize=8192)
def _measured(words: str, bold: bool) -> tuple[float, float, float]:
    """Return width, height and depth at one size of type: words are tried at many, not measured."""
    measured = _by_words if _FROM_THE_LEFT(words) else _shaped
    wide, low, top, _ = measured(words or " ", bold)
    return wide / _FINE, (top - low) / _FINE, -low / _FINE


# Latin and Greek, and the signs of the trade's lengths: nothing that runs from the right, turns
# what is beside it, or joins the sign before it.
_FROM_THE_LEFT = re.compile(
    "[\x20-\x7e\xa1-\u02ff\u0370-\u03ff\u2010-\u2027\u2030-\u205e]+ "
    "[\x20-\x7e\xa1-\u02ff\u0370-\u03ff\u2010-\u2027\u2030-\u205e ]*"
).fullmatch


def _by_words(words: str, bold: bool) -> _Shape:
    """Return the shape of words one after the other: the same few come in lines without end."""
    *before, last = words.split(" ")
    # With its blank each is spaced as it is in a line.
    shapes = [_shaped(f"{word} ", bold) for word in before]
    begun = sum(shape.last for shape in shapes) + len(before) * _shaped("  ", bold).last
    if last:
        shapes.append(_shaped(last, bold))
        begun += shapes[-1].wide
    low, top = min(shape.low for shape in shapes), max(shape.top for shape in shapes)
    return _Shape(begun, low, top, 0)


@lru_cache(maxsize=8192)
def _shaped(words: str, bold: bool) -> _Shape:
    """Return the shape of words as the letters of a face come one after the other."""
    from matplotlib.ft2font import LoadFlags

    face = _face(bold)
    with warnings.catch_warnings():
        # A sign that the font lacks has the room of a box.
        warnings.filterwarnings("ignore", "Glyph .* missing from font")
        places = face.set_text(words, flags=LoadFlags.NO_HINTING)
    (wide, high), low = face.get_width_height(), -face.get_descent()
    return _Shape(wide, low, low + high, round(places[-1, 0]))


def block(words: str, size: float, bold: bool = False) -> tuple[float, float]:
    """Return width and height of a block of lines. [mm]"""
    rows = words.split("\n")
    wide = max(extent(row, size, bold)[0] for row in rows)
    return wide, size * (0.78 + 0.22) + (len(rows) - 1) * size * LEADING


def fitting_size(
    words: str, size: float, width: float, least: float, step: float = 0.1, bold: bool = True
) -> float:
    """Return the size at which rows of words fit a width, not below the least. [mm]"""
    rows = words.split("\n")
    while max(extent(row, size, bold)[0] for row in rows) > width and size > least:
        size -= step
    return size


def fold(words: str, size: float, width: float, bold: bool = False) -> str:
    """Return words broken into lines no wider than `width` [mm] (a single long word stays)."""
    out: list[str] = []
    for paragraph in words.split("\n"):
        row = ""
        for word in paragraph.split(" "):
            longer = f"{row} {word}" if row else word
            if row and extent(longer, size, bold)[0] > width:
                out.append(row)
                row = word
            else:
                row = longer
        out.append(row)
    return "\n".join(out)


def rows_that_fit(words: str, fits: Callable[[str], bool]) -> list[str]:
    """Return words in rows, each filled as long as it fits (a single long word stays)."""
    rows: list[str] = []
    for word in words.split():
        longer = f"{rows[-1]} {word}" if rows else word
        if rows and fits(longer):
            rows[-1] = longer
        else:
            rows.append(word)
    return rows


Corners = tuple[Point, Point, Point, Point]
Frame = tuple[float, float, float, float]
"""Left, right, bottom, top. [mm]"""


def rows_of(
    at: Point, words: str, size: float, across: str, up: str, rotation: float, bold: bool
) -> Iterator[tuple[Point, str, Corners]]:
    """Yield base-line anchor, words and the four corners of each line of a block. [mm, degrees]"""
    rows = words.split("\n")
    step = size * LEADING
    above, below = size * 0.76, size * 0.22
    total = above + below + (len(rows) - 1) * step
    first = {
        "top": -above,
        "middle": total / 2 - above,
        "bottom": total - above,
        "baseline": (len(rows) - 1) * step,
    }[up]
    turn = math.radians(rotation)
    cos, sin = math.cos(turn), math.sin(turn)

    def turned(x: float, y: float) -> Point:
        return at[0] + x * cos - y * sin, at[1] + x * sin + y * cos

    for index, row in enumerate(rows):
        if not row:
            continue
        wide, high, deep = extent(row, size, bold)
        left = {"left": 0.0, "center": -wide / 2, "right": -wide}[across]
        base = first - index * step
        low, top = base - deep, base + high
        corners = (
            turned(left, low),
            turned(left + wide, low),
            turned(left + wide, top),
            turned(left, top),
        )
        yield turned(0.0, base), row, corners


class Room(Struct):
    """What is taken on a page: words and kept-clear boxes, tested as convex shapes. [mm]"""

    width: float
    height: float
    taken: list[Corners] = field(default_factory=list)
    _frames: Floats = field(default_factory=lambda: np.zeros((0, 4)))

    def overlap(self, shapes: Iterable[Corners]) -> float:
        """Return how badly the shapes meet what is taken. [mm], 0 when free"""
        worst = 0.0
        for shape in shapes:
            for x, y in shape:
                if not (2.0 <= x <= self.width - 2.0 and 2.0 <= y <= self.height - 2.0):
                    worst += 100.0
            worst += sum(depth(shape, other) for other in self._beside(shape))
        return worst

    def _beside(self, shape: Corners) -> Iterator[Corners]:
        """Yield what is taken whose upright frame a shape's own comes near, as few do."""
        new = [_frame(other) for other in self.taken[len(self._frames) :]]
        if new:
            self._frames = np.concatenate([self._frames, new])
        left, right, bottom, top = _frame(shape)
        lefts, rights, bottoms, tops = self._frames.T
        near = (right + ROOM > lefts) & (rights + ROOM > left)
        near &= (top + ROOM > bottoms) & (tops + ROOM > bottom)
        yield from (self.taken[k] for k in np.flatnonzero(near).tolist())

    def take(self, shapes: Iterable[Corners]) -> None:
        """Mark the shapes as taken."""
        self.taken.extend(shapes)


def depth(one: Corners, two: Corners, gap: float = ROOM) -> float:
    """Return how deep two convex shapes reach into each other [mm] (separating axes)."""
    if _apart(_frame(one), _frame(two), gap):
        return 0.0
    least = math.inf
    for shape in (one, two):
        for k in range(len(shape)):
            (ax, ay), (bx, by) = shape[k - 1], shape[k]
            long = math.hypot(bx - ax, by - ay)
            if long == 0.0:
                continue
            nx, ny = (by - ay) / long, (ax - bx) / long
            first = [x * nx + y * ny for x, y in one]
            second = [x * nx + y * ny for x, y in two]
            reach = min(max(first) - min(second), max(second) - min(first)) + gap
            if reach <= 0.0:
                return 0.0
            least = min(least, reach)
    return least


def _frame(shape: Corners) -> Frame:
    xs, ys = [x for x, _ in shape], [y for _, y in shape]
    return min(xs), max(xs), min(ys), max(ys)


def _apart(one: Frame, two: Frame, gap: float) -> bool:
    return (
        one[1] + gap <= two[0]
        or two[1] + gap <= one[0]
        or one[3] + gap <= two[2]
        or two[3] + gap <= one[2]
    )


def search(first: Point, others: tuple[Point, ...]) -> Iterator[Point]:
    """Yield the shifts to try: the first, the others, then rings around, nearest first. [mm]"""
    yield first
    yield from others
    for ring in range(1, 14):
        for k in range(12):
            yield _around(first, ring, 30.0 * k)
    # On a crowded sheet room is farther away: look on, more closely.
    for ring in range(14, 60):
        for k in range(36):
            yield _around(first, ring, 10.0 * k)


def _around(first: Point, ring: int, degrees: float) -> Point:
    turn = math.radians(90.0 - degrees)
    return first[0] + ring * 3.2 * math.cos(turn), first[1] + ring * 2.6 * math.sin(turn)


def spread(wanted: list[float], step: list[float], low: float, high: float) -> list[float]:
    """Return heights nearest to those wanted, in the same order (falling), kept apart. [mm]

    Parameters
    ----------
    wanted : (n,) heights, highest first.
    step : (n,) room each needs.
    low, high : limits for the outer edges.
    """
    heights = list(wanted)
    for _ in range(60):
        moved = False
        for k in range(1, len(heights)):
            need = (step[k - 1] + step[k]) / 2
            lack = need - (heights[k - 1] - heights[k])
            if lack > TOUCH:
                heights[k - 1] += lack / 2
                heights[k] -= lack / 2
                moved = True
        if heights:
            heights[0] = min(heights[0], high - step[0] / 2)
            heights[-1] = max(heights[-1], low + step[-1] / 2)
        if not moved:
            break
    for k in range(1, len(heights)):
        heights[k] = min(heights[k], heights[k - 1] - (step[k - 1] + step[k]) / 2)
    lift = max(0.0, low + step[-1] / 2 - heights[-1]) if heights else 0.0
    if lift:
        heights[-1] += lift
        for k in range(len(heights) - 2, -1, -1):
            heights[k] = max(heights[k], heights[k + 1] + (step[k] + step[k + 1]) / 2)
    return heights
