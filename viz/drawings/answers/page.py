"""The small page of an answer: its room, its foot with scale, units and caution."""

from __future__ import annotations

from collections.abc import Sequence

from msgspec.structs import replace

from grading.units import Unit
from viz.paper.compose import Sheet
from viz.paper.drawing import FINE
from viz.paper.furniture import plan_axes, scale_bar
from viz.paper.lettering import block, fitting_size, fold
from viz.paper.page import Box, Page, Scale
from viz.words.cautions import ANSWER
from viz.words.figures import units_words

PAGE = Page("answer", 180.0, 75.0, margin=2.0, title=0.0)
BODY = Box(3.0, 12.5, 177.0, 72.5)
"""Room for the picture, above the foot. [mm]"""

SIZE = 2.5
_FOOT = 2.0

Row = tuple[str, str, float]  # words, "bold" or "" or a colour, indent [mm]


def answer_sheet(key: str, question: str, less: float = 0.0) -> Sheet:
    """Return an empty small page for an answer, so much lower than the others. [mm]"""
    return Sheet(replace(PAGE, height=PAGE.height - less), f"answer-{key}", question)


def foot(sheet: Sheet, unit: Unit, scale: Scale | None, about: str, *, axes: bool = False) -> None:
    """Draw the foot: scale bar and words, plan axes, units and caution.

    Parameters
    ----------
    sheet : Sheet
    unit : "ft" or "m"
    scale : Scale or None
        None where nothing is to scale.
    about : What is said of the picture beside its scale.
    axes : Whether it is a plan.
    """
    draw = sheet.paper
    draw.line([(3.0, 11.0), (177.0, 11.0)], FINE, "foot")
    x = 4.5
    if axes:
        plan_axes(sheet, (x, 2.9), 3.6)
        x += 11.0
    if scale is not None:
        scale_bar(sheet, (x, 5.9), scale, unit, 30.0)
        x += 39.0
    units = f"Units: {units_words(unit)}."
    told = f"Scale {scale.words}; {about}" if about and scale is not None else about
    rows = [fold(each, _FOOT, 176.5 - x) for each in (told, f"{units} {ANSWER}") if each]
    words = "\n".join(rows)
    if block(words, _FOOT)[1] > 8.6 and len(rows) > 1:
        tail = fold(f"{units} {ANSWER[: ANSWER.index('.') + 1]}", _FOOT, 176.5 - x)
        words = f"{rows[0]}\n{tail}"
    draw.text((x, 6.2), words, size=_FOOT, across="left", up="middle")


def column(sheet: Sheet, box: Box, rows: Sequence[Row], size: float = SIZE) -> float:
    """Write rows down a column, smaller where they need more than its height; return the end.

    A row is its words, "bold", "" or a colour, and how far it is set in. [mm]
    """
    while True:
        folded = [
            (fold(words, size, box.width - inset, style == "bold"), style, inset)
            for words, style, inset in rows
        ]
        need = sum(block(words, size)[1] + size * 0.55 for words, _, _ in folded)
        if need <= box.height or size <= 1.7:
            break
        size -= 0.05
    y = box.y1
    for words, style, inset in folded:
        bold, colour = style == "bold", style if style.startswith("#") else "#1a1a1a"
        sheet.paper.paragraph((box.x0 + inset, y), words, size=size, bold=bold, colour=colour,
                              layer="column")  # fmt: skip
        y -= block(words, size)[1] + size * 0.55
    return y


def heading_over(sheet: Sheet, at: tuple[float, float], words: str, width: float) -> None:
    """Write a short bold heading, as small as its width asks."""
    size = fitting_size(words, 2.8, width, 1.9)
    sheet.paper.paragraph(at, fold(words, size, width, True), size=size, bold=True)
