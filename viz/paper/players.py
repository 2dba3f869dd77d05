"""Players: ink on paper to SVG, and by matplotlib to PNG and PDF; nothing is worked out here."""

from __future__ import annotations

import warnings
from collections.abc import Iterable
from pathlib import Path
from typing import Any

import numpy as np

from viz.paper.compose import Sheet, Words, compose
from viz.paper.ink import Ink
from viz.paper.lettering import FONT
from viz.paper.page import INCH_MM, POINT
from viz.paper.svg import svg

FORMATS = ("svg", "png", "pdf")
DPI = 200
_STYLE: dict[str, Any] = {
    "pdf.fonttype": 42,
    # Behind our font stands any plain one, which is ours too.
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
    kinds = tuple(formats)
    for form in kinds:
        if form not in FORMATS:
            raise ValueError(f"format {form!r}: expected {', '.join(FORMATS)}")
    inks = compose(sheet)
    files = {form: path.parent / f"{path.name}.{form}" for form in kinds}
    if "svg" in files:
        files["svg"].write_text(svg(inks, sheet.page, sheet.title), encoding="utf-8")
    if rest := {form: file for form, file in files.items() if form != "svg"}:
        _played(inks, sheet, rest)
    return [files[form] for form in kinds]


def _played(inks: tuple[Ink | Words, ...], sheet: Sheet, files: dict[str, Path]) -> None:
    """Write what matplotlib draws: the file of each format."""
    import matplotlib

    with matplotlib.rc_context(_STYLE), warnings.catch_warnings():
        # A name in a script that the font lacks is drawn as boxes; the words in the SVG are whole.
        warnings.filterwarnings("ignore", "Glyph .* missing from font")
        figure = _figure(inks, sheet)
        for form, file in files.items():
            figure.dpi = DPI
            canvas, options = _canvas(figure, sheet, form)
            getattr(canvas, f"print_{form}")(file, **options)


def _canvas(figure: Any, sheet: Sheet, form: str) -> tuple[Any, dict[str, Any]]:
    if form == "png":
        from matplotlib.backends.backend_agg import FigureCanvasAgg

        return FigureCanvasAgg(figure), {
            "metadata": {"Software": "fallaway"}, "pil_kwargs": {"compress_level": 3},
        }  # fmt: skip
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
    for ink in inks:
        artist = _artist(ink, on_paper)
        if artist is not None:
            figure.add_artist(artist)
    return figure


def _artist(ink: Ink | Words, on_paper: Any) -> Any:
    from matplotlib.patches import PathPatch
    from matplotlib.text import Text

    if isinstance(ink, Words):
        return Text(
            *ink.at, ink.words, color=ink.colour, fontsize=ink.size * POINT,
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
        patch.set_linewidth(ink.pen.width * POINT)
        patch.set_edgecolor(ink.pen.colour)
        patch.set_capstyle("butt")
        patch.set_joinstyle("round")
        if ink.pen.dash:
            patch.set_linestyle((0, tuple(length * POINT for length in ink.pen.dash)))
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
