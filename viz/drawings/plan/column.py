"""A column of small tables beside a plan, written from the top down."""

from __future__ import annotations

from viz.paper.compose import Sheet
from viz.paper.drawing import THIN
from viz.paper.lettering import block, extent, fold
from viz.paper.page import Box

_SIZE = 2.2
INSET = 0.8  # mm for each space that a row begins with
_STEP = 3.5


class Column:
    """A column of small tables, written from the top down."""

    def __init__(self, sheet: Sheet, box: Box) -> None:
        self.draw, self.box, self.y = sheet.paper, box, box.y1 - 1.0

    def head(self, words: str) -> None:
        """Write the head of a table."""
        self.y -= 1.2
        self.draw.paragraph((self.box.x0 + 1, self.y), words, size=2.5, bold=True)
        self.y -= 4.0
        self.draw.line([(self.box.x0, self.y), (self.box.x1, self.y)], THIN, "table")
        self.y -= 0.7

    def row(self, left: str, right: str = "", *, bold: bool = False, quiet: bool = False) -> None:
        """Write a row, its left part folded to the room that the right one leaves."""
        inset = 1.0 + INSET * (len(left) - len(left.lstrip()))
        wide = self.box.width - 1 - inset - (extent(right, _SIZE)[0] + 2 if right else 0)
        words = fold(left.lstrip(), _SIZE, wide, bold)
        colour = "#5a5a5a" if quiet else "#1a1a1a"
        self.draw.paragraph((self.box.x0 + inset, self.y), words, size=_SIZE, bold=bold,
                            colour=colour)  # fmt: skip
        self.draw.text((self.box.x1 - 0.5, self.y), right, size=_SIZE, across="right", up="top")
        self.y -= block(words, _SIZE)[1] + (_STEP - _SIZE)

    def left(self) -> float:
        """Return the room that is left. [mm]"""
        return self.y - self.box.y0
