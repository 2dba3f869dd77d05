"""Keep what a person wrote inside a drawing: long names are cut, signs without a letter boxed."""

from __future__ import annotations

import re
from functools import cache
from typing import TypeVar

from msgspec.structs import replace

from grading.signs import JOINERS
from viz.paper.compose import FULL, Sheet, View
from viz.paper.drawing import Drawing, Leader, Part, Text
from viz.paper.lettering import extent, fold, font_file

LONGEST = 55.0
"""Room for words that look for a place of their own, on a narrow drawing. [mm]"""

_EDGE = 0.4  # mm kept free at the edge of a drawing
_LEAST = 12.0  # mm
_SOLID = 18  # letters: no word of the trade is longer
_BOX = "□"

Lettered = TypeVar("Lettered", Text, Leader)


def lettered(sheet: Sheet) -> Sheet:
    """Return a drawing with no words that leave it.

    Parameters
    ----------
    sheet : Sheet
    """
    views = [replace(view, drawing=_drawing(view.drawing, view, sheet)) for view in sheet.views]
    paper = _drawing(sheet.paper, View(sheet.paper, FULL, (0.0, 0.0)), sheet)
    return Sheet(sheet.page, sheet.name, sheet.title, views, paper)


def _drawing(drawing: Drawing, view: View, sheet: Sheet) -> Drawing:
    return Drawing(drawing.name, [_part(part, view, sheet) for part in drawing.parts])


def _part(part: Part, view: View, sheet: Sheet) -> Part:
    if isinstance(part, Text):
        if not part.others:
            return _cut(part, _room(part, view, sheet), part.bold)
        room = max(LONGEST, sheet.page.width / 2)
        # Where they are longer than that a second row takes the rest, and only then are they cut.
        rows = fold(part.words, part.size, room, part.bold).split("\n")
        folded = rows if "\n" not in part.words and len(rows) == 2 else [part.words]
        return _cut(replace(part, words="\n".join(folded)), room, part.bold)
    if isinstance(part, Leader):
        x = view.paper(part.tip)[0] + part.shift[0]
        room = sheet.page.width - x if part.across == "left" else x
        return _cut(part, room - _EDGE, part.bold)
    return part


def _room(part: Text, view: View, sheet: Sheet) -> float:
    """Return how wide the words may be from where they stand to the edge of the paper. [mm]"""
    x, y = view.paper(part.at)
    x, y = x + part.shift[0], y + part.shift[1]
    if abs(abs(part.rotation) - 90.0) < 45.0:
        behind, ahead = y, sheet.page.height - y
    else:
        behind, ahead = x, sheet.page.width - x
    room = {"left": ahead, "right": behind, "center": 2 * min(ahead, behind)}[part.across]
    return max(room - _EDGE, _LEAST)


def _cut(part: Lettered, room: float, bold: bool) -> Lettered:
    rows = [_shortened(_known(row), part.size, room, bold) for row in part.words.split("\n")]
    words = "\n".join(rows)
    return part if words == part.words else replace(part, words=words)


def _shortened(row: str, size: float, room: float, bold: bool) -> str:
    if extent(row, size, bold)[0] <= room:
        return row
    kept = row[: int(room / size * 4)]
    while kept and extent(f"{kept}…", size, bold)[0] > room:
        kept = kept[:-1]
    return f"{kept.rstrip()}…"


@cache
def _letters() -> frozenset[int]:
    from matplotlib.ft2font import FT2Font

    return frozenset(FT2Font(str(font_file())).get_charmap())


def _known(row: str) -> str:
    """Return the words with a box for each sign that the font of drawings lacks."""
    solid = (word if len(word) <= _SOLID else f"{word[: _SOLID - 1]}…" for word in row.split(" "))
    row = " ".join(solid)
    if row.isascii():
        return row
    row = "".join(sign if ord(sign) in _letters() else _BOX for sign in row)
    # Signs joined into one picture are one box; a joiner beside a box joins nothing.
    row = re.sub(rf"{_BOX}(?:[{JOINERS}]+{_BOX})+", _BOX, row)
    return re.sub(rf"[{JOINERS}]+(?={_BOX})|(?<={_BOX})[{JOINERS}]+", "", row)
