"""Players: ink on paper to SVG, PNG and PDF, by matplotlib; nothing is worked out here."""

from __future__ import annotations

import warnings
from collections.abc import Iterable, Sequence
from pathlib import Path
from typing import Any

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

    from viz.paper.played import path_of

    kinds = tuple(formats)
    for form in kinds:
        if form not in FORMATS:
            raise ValueError(f"format {form!r}: expected {', '.join(FORMATS)}")
    files = []
    with matplotlib.rc_context(_STYLE), warnings.catch_warnings():
        # A name in a script that the font lacks is drawn as boxes; the words in the SVG are whole.
        warnings.filterwarnings("ignore", "Glyph .* missing from font")
        inks = compose(sheet)
        paths = [path_of(ink) for ink in inks]
        for form in kinds:
            canvas, options = _canvas(_figure(inks, paths, sheet, form), sheet, form)
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


def _figure(inks: Sequence[Ink | Words], paths: Sequence[Any], sheet: Sheet, form: str) -> Any:
    from matplotlib.figure import Figure
    from matplotlib.transforms import Affine2D

    from viz.paper.played import Played

    page = sheet.page
    figure = Figure(figsize=(page.width / INCH_MM, page.height / INCH_MM), dpi=DPI)
    figure.patch.set_facecolor("white")
    on_paper = Affine2D().scale(1.0 / INCH_MM) + figure.dpi_scale_trans
    anchored = form == "svg"
    # Behind our font stands any plain one: SVG takes what the reader has, elsewhere it is ours too.
    families = (FONT, "sans-serif") if anchored else (FONT,)
    figure.add_artist(Played(inks, paths, on_paper, _POINT, families, anchored))
    return figure
