"""What a person wrote reaches neither the terminal nor the printed sheet as a command to it."""

import struct
import warnings
import zlib

import pytest

from viz.cli import _say, _tell
from viz.sheets.head import LARGEST, _look_at


def test_signs_that_control_a_terminal_are_shown_by_their_number(capsys):
    _tell("a\x1b[2J\x07b\nc\td\u202ee")
    _say("f\x9b1mg\x00")
    out, err = capsys.readouterr()
    assert out == "a\\x1b[2J\\x07b\nc\td\\u202ee\n"
    assert err == "f\\x9b1mg\\x00\n"


def test_words_without_them_are_told_as_they_are(capsys):
    _tell("5' 3 1/2\" é 木 m²")
    assert capsys.readouterr().out == "5' 3 1/2\" é 木 m²\n"


def png_of(width, height):
    """Return a png that says it has so many pixels, and holds none of them."""

    def chunk(kind, data):
        body = kind + data
        return struct.pack(">I", len(data)) + body + struct.pack(">I", zlib.crc32(body))

    head = struct.pack(">IIBBBBB", width, height, 8, 2, 0, 0, 0)
    return b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", head) + chunk(b"IDAT", b"") + chunk(b"IEND", b"")


@pytest.mark.parametrize("side", [LARGEST + 1, 10_000, 50_000])
def test_a_logo_of_very_many_pixels_is_refused_by_its_size(side):
    with warnings.catch_warnings():
        warnings.simplefilter("error")
        with pytest.raises(ValueError, match=f"more than {LARGEST} pixels a side"):
            _look_at(png_of(side, side))
