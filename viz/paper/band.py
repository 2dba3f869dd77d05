"""The band across the top of a drawing that is not for signature."""

from __future__ import annotations

from msgspec.structs import replace

from viz.paper.compose import Sheet
from viz.paper.drawing import Area, Drawing, as_ring
from viz.paper.lettering import fitting_size
from viz.signature import COLOUR, ON_IT

HIGH = 5.6
"""Height of the band. [mm]"""

_CLEAR = 1.2  # mm: between the band and what is drawn


def banded(sheet: Sheet, words: str) -> Sheet:
    """Return a sheet with a band across its top; where there are no words, the sheet itself.

    Parameters
    ----------
    sheet : Sheet
        One whose margin is narrower than the band grows by it.
    words : str
        See `signature.not_for_signature`.
    """
    if not words:
        return sheet
    page = sheet.page
    if page.margin < HIGH + 2 * _CLEAR:
        page = replace(page, height=page.height + HIGH + 2 * _CLEAR)
    x0, x1, y1 = _CLEAR, page.width - _CLEAR, page.height - _CLEAR
    y0 = y1 - HIGH
    size = fitting_size(words, 3.2, x1 - x0 - 4, 1.4, 0.05)
    paper = Drawing(sheet.paper.name, list(sheet.paper.parts))
    ring = as_ring([(x0, y0), (x1, y0), (x1, y1), (x0, y1)])
    paper.parts.append(Area((ring,), fill=COLOUR, layer="not for signature"))
    middle = ((x0 + x1) / 2, (y0 + y1) / 2)
    paper.text(middle, words, size=size, bold=True, up="middle", colour=ON_IT)
    return replace(sheet, page=page, paper=paper)
