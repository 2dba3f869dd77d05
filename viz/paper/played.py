"""All the ink of a sheet as one artist of a matplotlib figure, which hands it to any renderer.

An artist for every line and word is made, laid out and sorted by matplotlib for each format anew,
which takes as long as to draw them. Where everything stands is known here, so only the renderer's
own two ways to draw are called: `draw_path` and `draw_text`.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from functools import lru_cache
from typing import Any

import numpy as np

from viz.paper.compose import Words
from viz.paper.ink import Ink
from viz.paper.lettering import FONT
from viz.paper.page import POINT

_ACROSS = {"left": 0.0, "center": 0.5, "right": 1.0}
"""Share of the width of words that lies before their anchor."""


def artist_of(inks: Sequence[Ink | Words], on_paper: Any) -> Any:
    """Return one artist that draws the ink of a sheet in its order, words on top.

    Parameters
    ----------
    inks : sequence of Ink and Words
        [mm]
    on_paper : matplotlib.transforms.Transform
        From millimetres to the figure.
    """
    from matplotlib.artist import Artist

    class Played(Artist):
        """Draws it, whenever a figure asks for it."""

        def draw(self, renderer: Any) -> None:
            """Hand everything to a renderer."""
            _draw(renderer, inks, on_paper)

    return Played()


def _draw(renderer: Any, inks: Sequence[Ink | Words], on_paper: Any) -> None:
    """Hand everything to a renderer: areas and lines first, then words."""
    from matplotlib.text import Text

    affine = on_paper.get_affine()
    for ink in inks:
        if isinstance(ink, Ink):
            _draw_ink(renderer, ink, affine)
    # What the renderer asks of words beside the place and the font of each.
    told: Any = Text(va="baseline", rotation_mode="anchor", transform=on_paper)
    for ink in inks:
        if isinstance(ink, Words) and ink.words:
            _draw_words(renderer, ink, on_paper, told)


def _draw_ink(renderer: Any, ink: Ink, affine: Any) -> None:
    path = _path_of(ink)
    if path is None:
        return
    gc = renderer.new_gc()
    gc.set_linewidth(0.0)
    if ink.pen is not None:
        gc.set_linewidth(ink.pen.width * POINT)
        gc.set_foreground(_colour(ink.pen.colour), isRGBA=True)
        gc.set_capstyle("butt")
        gc.set_joinstyle("round")
        if ink.pen.dash:
            gc.set_dashes(0, tuple(length * POINT for length in ink.pen.dash))
    renderer.draw_path(gc, path, affine, _colour(ink.fill) if ink.fill else None)
    gc.restore()


def _draw_words(renderer: Any, ink: Words, on_paper: Any, told: Any) -> None:
    font = _font(ink.size * POINT, ink.bold)
    x, y = on_paper.transform(ink.at)
    angle = ink.rotation % 360  # as matplotlib has it, from nothing to once round
    if ink.across != "left":
        wide, _, _ = renderer.get_text_width_height_descent(ink.words, font, False)
        before, turn = _ACROSS[ink.across] * wide, math.radians(angle)
        x, y = x - math.cos(turn) * before, y - math.sin(turn) * before
    if renderer.flipy():
        y = renderer.get_canvas_width_height()[1] - y
    told.set_position(ink.at)
    told.set_horizontalalignment(ink.across)
    gc = renderer.new_gc()
    gc.set_foreground(_colour(ink.colour), isRGBA=True)
    renderer.draw_text(gc, x, y, ink.words, font, angle, mtext=told)
    gc.restore()


@lru_cache(maxsize=256)
def _colour(name: str) -> tuple[float, ...]:
    from matplotlib.colors import to_rgba

    return tuple(to_rgba(name))


@lru_cache(maxsize=256)
def _font(size: float, bold: bool) -> Any:
    from matplotlib.font_manager import FontProperties

    weight = "bold" if bold else "normal"
    return FontProperties(family=FONT, weight=weight, size=size)


def _path_of(ink: Ink) -> Any:
    """Return the rings or lines of some ink as one path; None where it has none."""
    from matplotlib.path import Path

    rings = [ring for ring in ink.rings if len(ring) > 1]
    if not rings:
        return None
    if ink.closed:
        # A ring ends where it began.
        points = np.concatenate([part for ring in rings for part in (ring, ring[:1])])
    else:
        points = np.concatenate(rings)
    ends = np.cumsum([len(ring) + ink.closed for ring in rings])
    codes = np.full(len(points), Path.LINETO, np.uint8)
    codes[0] = Path.MOVETO
    codes[ends[:-1]] = Path.MOVETO
    if ink.closed:
        codes[ends - 1] = Path.CLOSEPOLY
    return Path(points, codes)
