"""A board that pictures and words are put on, which remembers where the words are."""

from __future__ import annotations

from typing import TYPE_CHECKING

from msgspec import Struct

from grading.geometry.arrays import Floats
from viz.pictures.explained import CARD, INK, Box, fitted, fold, font
from viz.pictures.render import Pixels

if TYPE_CHECKING:
    from PIL import Image


class Word(Struct, frozen=True):
    """A text on a board: left, top, right, bottom of it, and the size of its letters. [pixels]"""

    box: Box
    text: str
    size: float


class Board:
    """A picture that is being lettered.

    Attributes
    ----------
    picture : Image
    words : list of Word
        Every text that was put on it.
    """

    def __init__(self, size: tuple[int, int], background: str) -> None:
        from PIL import Image, ImageDraw

        self.picture: Image.Image = Image.new("RGB", size, background)
        self.draw = ImageDraw.Draw(self.picture)
        self.words: list[Word] = []

    def put(self, still: Pixels, at: tuple[float, float]) -> None:
        """Paste a still (height, width, 3) uint8 with its top left corner at a place."""
        from PIL import Image

        self.picture.paste(Image.fromarray(still), (int(at[0]), int(at[1])))

    def text(
        self, at: tuple[float, float], words: str, size: int, width: float, *,
        bold: bool = False, fill: str = INK, anchor: str = "lm",
    ) -> Box:  # fmt: skip
        """Write words no wider than `width` and return where they are. [pixels]"""
        shown, face = fitted(words, size, width, bold)
        self.draw.text(at, shown, fill=fill, font=face, anchor=anchor)
        box: Box = self.draw.textbbox(at, shown, font=face, anchor=anchor)
        self.words.append(Word(box, shown, face.size))
        return box

    def lines(
        self, at: tuple[float, float], words: str, size: int, width: float, fill: str = INK,
        bold: bool = False,
    ) -> float:  # fmt: skip
        """Write words in as many lines as they take, and return where the next would start."""
        x, y = at
        for row in fold(words, font(size, bold), width):
            self.text((x, y + size * 0.7), row, size, width, bold=bold, fill=fill)
            y += size * 1.42
        return y

    def point_at(self, place: tuple[float, float], start: tuple[float, float]) -> None:
        """Draw a leader from a start to a place, and a dot there."""
        for colour, width in ((CARD, 6), (INK, 2)):
            self.draw.line([start, place], fill=colour, width=width)
        x, y = place
        self.draw.ellipse((x - 6, y - 6, x + 6, y + 6), fill=INK, outline=CARD, width=2)

    def axes(self, at: tuple[float, float], steps: Floats, size: int) -> None:
        """Draw how the plan's x and y run in a still: two steps (2, 2), down positive."""
        for name, step in zip("xy", steps, strict=True):
            tip = (at[0] + float(step[0]), at[1] + float(step[1]))
            self.draw.line([at, tip], fill=INK, width=2)
            x, y = at[0] + 1.4 * float(step[0]), at[1] + 1.4 * float(step[1])
            self.text((x, y), name, size, 40, anchor="mm")

    def ruler(self, ends: Floats, words: str, size: int) -> None:
        """Draw a length between two places (2, 2), left first, beside it what it stands for."""
        (x0, y0), (x1, y1) = ends
        middle = ((x0 + x1) / 2, (y0 + y1) / 2)
        self.draw.line([(x0, y0), (x1, y1)], fill=INK, width=7)
        self.draw.line([middle, (x1 - (x1 - x0) * 0.03, y1 - (y1 - y0) * 0.03)], fill=CARD, width=3)
        self.text((middle[0], middle[1] + 1.1 * size), words, size, 110, bold=True, anchor="mm")

    def cut(self, height: int) -> None:
        """Leave out what lies below a height. [pixels]"""
        from PIL import ImageDraw

        self.picture = self.picture.crop((0, 0, self.picture.width, height))
        self.draw = ImageDraw.Draw(self.picture)
