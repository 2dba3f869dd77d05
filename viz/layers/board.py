"""A board that pictures and words are put on, which remembers where the words are."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from viz.layers.picture import CARD, INK, Box, fitted, fold, font

if TYPE_CHECKING:
    from PIL import Image


class Board:
    """A picture that is being lettered.

    Attributes
    ----------
    picture : Image
    words : list of (box, str)
        Left, top, right, bottom of each text that was put on it [pixels], and the text.
    """

    def __init__(self, size: tuple[int, int], background: str) -> None:
        from PIL import Image, ImageDraw

        self.picture: Image.Image = Image.new("RGB", size, background)
        self.draw = ImageDraw.Draw(self.picture)
        self.words: list[tuple[Box, str]] = []

    def put(self, still: Any, at: tuple[float, float]) -> None:
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
        self.words.append((box, shown))
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

    def cut(self, height: int) -> None:
        """Leave out what lies below a height. [pixels]"""
        from PIL import ImageDraw

        self.picture = self.picture.crop((0, 0, self.picture.width, height))
        self.draw = ImageDraw.Draw(self.picture)
