"""Logos made to swell or to do more than be looked at: refused in words, or drawn without it."""

from __future__ import annotations

import io
import struct
import zlib

import pypdf
import pytest

from grading.crew.card import _is_picture
from viz.sheets.compile import Compiled
from viz.sheets.head import _look_at

SVG = '<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 9 9" width="9" height="9">{}</svg>'

USE = '<use href="#n{}"/>'


def png(wide, high, rows=None):
    """Return a black picture, of as many rows as are said where nothing else is."""

    def part(kind, data):
        return (
            struct.pack(">I", len(data)) + kind + data + struct.pack(">I", zlib.crc32(kind + data))
        )

    pixels = zlib.compress(bytes(wide // 8 + 1) * (high if rows is None else rows), 9)
    head = part(b"IHDR", struct.pack(">IIBBBBB", wide, high, 1, 0, 0, 0, 0))
    return b"\x89PNG\r\n\x1a\n" + head + part(b"IDAT", pixels) + part(b"IEND", b"")


@pytest.mark.parametrize(
    ("data", "said"),
    [
        (png(80_000, 50_000, 100), "more than 4000 pixels a side"),
        (png(40_000, 8), "more than 4000 pixels a side"),
        (png(2**31 - 1, 2**31 - 1, 1), "no whole picture|pixels a side"),
        (png(800, 800)[:60], "truncated|no whole picture"),
        (b"\x89PNG\r\n\x1a\n junk", "no whole picture"),
    ],
)
def test_pixels_without_end_are_refused_before_they_are_read(data, said):
    with pytest.raises((ValueError, OSError, SyntaxError), match=said) as refused:
        _look_at(data)
    assert "0x" not in str(refused.value), "a place in memory is another in every run"


def set_alone(text):
    """Return what is wrong with a drawing, and the paper that it is set on where nothing is."""
    import typst

    with Compiled("plain") as sheet:
        file = sheet.picture(text.encode(), "svg", "Logo")["file"]
        fault = sheet.fault(file)
        if fault:
            return fault, None
        alone = sheet.folder / "one.typ"
        alone.write_text(f'#image("{file}")')
        return "", pypdf.PdfReader(io.BytesIO(typst.compile(str(alone), root=str(sheet.folder))))


def test_a_drawing_brings_no_script_and_no_link_onto_paper():
    text = SVG.format(
        '<script>alert(1)</script><a href="javascript:alert(1)"><rect width="5" height="5" '
        'onclick="alert(1)"/></a><a href="https://example.invalid/"><rect width="2"/></a>'
    )
    fault, paper = set_alone(text)
    assert fault == ""
    assert "/Annots" not in paper.pages[0]
    assert not {"/OpenAction", "/AA", "/Names"} & paper.trailer["/Root"].keys()


@pytest.mark.parametrize(
    "inside",
    [
        '<image width="9" height="9" href="/etc/hostname.png"/>',
        '<image width="9" height="9" href="../../../../etc/hostname.png"/>',
        '<image width="9" height="9" href="http://127.0.0.1:9/x.png"/>',
        "<g>" * 20_000 + "</g>" * 20_000,
        '<g id="n0"><rect width="1" height="1"/></g>'
        + "".join(f'<g id="n{k + 1}">{USE.format(k) * 10}</g>' for k in range(8)),
    ],
    ids=["a file", "a way out", "elsewhere", "deep", "uses of uses"],
)  # fmt: skip
def test_what_reaches_elsewhere_or_never_ends_is_refused(inside):
    fault, _ = set_alone(SVG.format(inside))
    assert fault


@pytest.mark.parametrize("encoding", ["utf-8", "utf-16"])
def test_words_that_swell_are_no_picture(tmp_path, encoding):
    head = f'<?xml version="1.0" encoding="{encoding}"?><!DOCTYPE svg [<!ENTITY a "aaaa">]>'
    path = tmp_path / "logo.svg"
    path.write_bytes((head + SVG.format("<text>&a;</text>")).encode(encoding))
    assert not _is_picture(path)
    path.write_bytes(SVG.format("<text>a</text>").encode(encoding))
    assert _is_picture(path)
