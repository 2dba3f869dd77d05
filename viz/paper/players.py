"""Players: ink on paper to SVG, PNG and PDF, by matplotlib; nothing is worked out here."""

from __future__ import annotations

import warnings
from collections import Counter
from collections.abc import Iterable
from pathlib import Path
from typing import Any

import numpy as np

from viz.paper.compose import Sheet, Words, compose
from viz.paper.ink import Ink
from viz.paper.lettering import FONT
from viz.paper.page import INCH_MM

POINTS_TO_THE_INCH = 72
FORMATS = ("svg", "png", "pdf")
DPI = 200
_POINT = POINTS_TO_THE_INCH / INCH_MM  # points in a millimetre
_STYLE: dict[str, Any] = {
    "svg.fonttype": "none",
    "svg.hashsalt": "fallaway",
    "pdf.fonttype": 42,
    # Behind our font stands any plain one: SVG takes what the reader has, elsewhere it is ours too.
    "font.family": [FONT, "sans-serif"],
    "font.sans-serif": [FONT],
    "path.simplify": False,
    "lines.scale_dashes": False,
    "text.usetex": False,
    "text.parse_math": False,
    "savefig.facecolor": "white",
}


def write(sheet: Sheet, path: Path, formats: Iterable[str] = ("svg", "png")) -> list[Path]:
    """Write a sheet once for each format and return the files.

    Parameters
    ----------
    sheet : The sheet.
    path : Where to, without a suffix.
    formats : Any of "svg", "png", "pdf".

    Raises ValueError for another format.
    """
    import matplotlib

    kinds = tuple(formats)
    for form in kinds:
        if form not in FORMATS:
            raise ValueError(f"format {form!r}: expected {', '.join(FORMATS)}")
    files = []
    with matplotlib.rc_context(_STYLE), warnings.catch_warnings():
        # A name in a script that the font lacks is drawn as boxes; the words in the SVG are whole.
        warnings.filterwarnings("ignore", "Glyph .* missing from font")
        figure = _figure(compose(sheet), sheet)
        for form in kinds:
            figure.dpi = DPI
            canvas, options = _canvas(figure, sheet, form)
            files.append(path.parent / f"{path.name}.{form}")
            getattr(canvas, f"print_{form}")(files[-1], **options)
    return files


def _canvas(figure: Any, sheet: Sheet, form: str) -> tuple[Any, dict[str, Any]]:
    if form == "png":
        from matplotlib.backends.backend_agg import FigureCanvasAgg

        return FigureCanvasAgg(figure), {
            "metadata": {"Software": "fallaway"}, "pil_kwargs": {"compress_level": 3},
        }  # fmt: skip
    if form == "svg":
        from matplotlib.backends.backend_svg import FigureCanvasSVG

        told = {"Date": None, "Creator": "fallaway", "Title": sheet.title}
        return FigureCanvasSVG(figure), {"metadata": told}
    from matplotlib.backends.backend_pdf import FigureCanvasPdf

    told = {"CreationDate": None, "Creator": "fallaway", "Producer": None, "Title": sheet.title}
    return FigureCanvasPdf(figure), {"metadata": told}


def _figure(inks: tuple[Ink | Words, ...], sheet: Sheet) -> Any:
    from matplotlib.figure import Figure
    from matplotlib.transforms import Affine2D

    page = sheet.page
    figure = Figure(figsize=(page.width / INCH_MM, page.height / INCH_MM), dpi=DPI)
    figure.patch.set_facecolor("white")
    on_paper = Affine2D().scale(1.0 / INCH_MM) + figure.dpi_scale_trans
    seen: Counter[str] = Counter()
    for ink in inks:
        artist = _artist(ink, on_paper)
        if artist is not None and isinstance(ink, Ink) and ink.name:
            seen[ink.name] += 1
            artist.set_gid(f"{ink.name.replace(' ', '-')}-{seen[ink.name]}")
        if artist is not None:
            figure.add_artist(artist)
    return figure


def _artist(ink: Ink | Words, on_paper: Any) -> Any:
    from matplotlib.patches import PathPatch
    from matplotlib.text import Text

    if isinstance(ink, Words):
        return Text(
            *ink.at, ink.words, color=ink.colour, fontsize=ink.size * _POINT,
            fontweight="bold" if ink.bold else "normal", ha=ink.across, va="baseline",
            rotation=ink.rotation, rotation_mode="anchor", transform=on_paper, parse_math=False,
        )  # fmt: skip
    path = _path(ink)
    if path is None:
        return None
    patch = PathPatch(path, transform=on_paper, facecolor=ink.fill or "none")
    if ink.pen is None:
        patch.set_linewidth(0.0)
        patch.set_edgecolor("none")
    else:
        patch.set_linewidth(ink.pen.width * _POINT)
        patch.set_edgecolor(ink.pen.colour)
        patch.set_capstyle("butt")
        patch.set_joinstyle("round")
        if ink.pen.dash:
            patch.set_linestyle((0, tuple(length * _POINT for length in ink.pen.dash)))
    return patch


def _path(ink: Ink) -> Any:
    from matplotlib.path import Path as Outline

    rings = [ring for ring in ink.rings if len(ring) > 1]
    if not rings:
        return None
    points, codes = [], []
    for ring in rings:
        code = np.full(len(ring), Outline.LINETO, np.uint8)
        code[0] = Outline.MOVETO
        points.append(ring)
        codes.append(code)
        if ink.closed:
            points.append(ring[:1])
            codes.append(np.array([Outline.CLOSEPOLY], np.uint8))
    return Outline(np.concatenate(points), np.concatenate(codes))
