"""Players: ink on paper to SVG, and by matplotlib to PNG and PDF; nothing is worked out here."""

from __future__ import annotations

import warnings
from collections.abc import Iterable
from pathlib import Path
from typing import Any

from viz.paper.compose import Sheet, Words, compose
from viz.paper.ink import Ink
from viz.paper.lettering import FONT
from viz.paper.page import INCH_MM
from viz.paper.played import artist_of
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
    figure.add_artist(artist_of(inks, on_paper))
    return figure
