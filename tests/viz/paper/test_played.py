"""A sheet handed to the renderer as one artist, against matplotlib's own artists, one for each line
and word, which place and lay out everything for themselves."""

from __future__ import annotations

import matplotlib
import numpy as np
import pytest
from make.plans.drawn import sheets
from matplotlib.figure import Figure
from matplotlib.patches import PathPatch
from matplotlib.path import Path as Outline
from matplotlib.text import Text
from matplotlib.transforms import Affine2D
from PIL import Image

from viz.paper.compose import Words, compose
from viz.paper.page import INCH_MM
from viz.paper.players import _STYLE, DPI, _canvas, write

POINT = 72 / INCH_MM


def _outline(ink):
    codes, points = [], []
    for ring in ink.rings:
        if len(ring) > 1:
            codes += [Outline.MOVETO] + [Outline.LINETO] * (len(ring) - 1)
            codes += [Outline.CLOSEPOLY] * ink.closed
            points += [*ring, *ring[: int(ink.closed)]]
    return Outline(points, codes) if points else None


def _one_artist_each(sheet, file):
    """Write a sheet as a figure of patches and texts."""
    page = sheet.page
    with matplotlib.rc_context(_STYLE):
        figure = Figure(figsize=(page.width / INCH_MM, page.height / INCH_MM), dpi=DPI)
        figure.patch.set_facecolor("white")
        on_paper = Affine2D().scale(1 / INCH_MM) + figure.dpi_scale_trans
        for ink in compose(sheet):
            if isinstance(ink, Words):
                weight = "bold" if ink.bold else "normal"
                artist = Text(
                    *ink.at, ink.words, color=ink.colour, fontsize=ink.size * POINT,
                    fontweight=weight, ha=ink.across, va="baseline", rotation=ink.rotation,
                    rotation_mode="anchor", transform=on_paper,
                )  # fmt: skip
            elif (outline := _outline(ink)) is not None:
                pen, dash = ink.pen, (ink.pen.dash if ink.pen else None)
                artist = PathPatch(
                    outline, transform=on_paper, facecolor=ink.fill or "none",
                    edgecolor=pen.colour if pen else "none",
                    linewidth=pen.width * POINT if pen else 0, capstyle="butt", joinstyle="round",
                    linestyle=(0, tuple(part * POINT for part in dash)) if dash else "-",
                )  # fmt: skip
            figure.add_artist(artist)
        canvas, options = _canvas(figure, sheet, "png")
        canvas.print_png(file, **options)
    return file


@pytest.mark.parametrize("drawing", ["levels", "section-down-the-fall"])
def test_one_artist_draws_what_one_for_each_line_and_word_does(drawing, tmp_path):
    sheet = sheets("raised-patio")[f"raised patio {drawing}"]
    (png,) = write(sheet, tmp_path / "one", ("png",))
    pixels, others = (
        np.asarray(Image.open(file).convert("RGB"), int)
        for file in (png, _one_artist_each(sheet, tmp_path / "many.png"))
    )
    assert (pixels == others).all()
