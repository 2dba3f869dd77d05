"""The band across the top of a picture that is not for signature."""

from __future__ import annotations

from typing import TYPE_CHECKING

from viz.pictures.explained import fitted
from viz.signature import COLOUR, ON_IT

if TYPE_CHECKING:
    from PIL import Image

_SHARE = 0.028  # of the width: the band's height
_LEAST = 22  # pixels


def banded(picture: Image.Image, words: str) -> Image.Image:
    """Return a picture with a band above it; where there are no words, the picture itself.

    Parameters
    ----------
    picture : Image
    words : str
        See `signature.not_for_signature`.
    """
    if not words:
        return picture
    from PIL import Image, ImageDraw

    high = max(round(_SHARE * picture.width), _LEAST)
    made = Image.new("RGB", (picture.width, picture.height + high), COLOUR)
    made.paste(picture, (0, high))
    shown, face = fitted(words, round(0.6 * high), picture.width - 2 * high, True)
    middle = (picture.width / 2, high / 2)
    ImageDraw.Draw(made).text(middle, shown, fill=ON_IT, font=face, anchor="mm")
    return made
