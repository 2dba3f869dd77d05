"""An SVG shows what the PNG of the same ink shows, drawn by a library that read neither."""

from __future__ import annotations

import io
import json
import xml.etree.ElementTree as ET
from importlib.util import find_spec
from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from viz.paper.compose import Sheet
from viz.paper.drawing import Area, Pen, as_ring
from viz.paper.page import page_for
from viz.paper.players import DPI, write

SVG = "{http://www.w3.org/2000/svg}"
FONTS = Path(find_spec("matplotlib").origin).parent / "mpl-data" / "fonts" / "ttf"


@pytest.fixture
def sheet():
    made = Sheet(page_for("m"), "all kinds", 'ends & "means" <here>')
    paper = made.paper
    square = as_ring([(20, 20), (80, 20), (80, 60), (20, 60)])
    hole = as_ring([(40, 30), (40, 50), (60, 50), (60, 30)])
    paper.parts.append(Area((square, hole), fill="#c08040", pen=Pen(1.0), layer="a & b"))
    paper.line([(20, 90), (120, 140), (200, 90)], Pen(0.8, "#204080", (5.0, 2.0)))
    paper.line([(110, 20), (140, 60), (170, 20)], Pen(0.5), closed=True)
    for k, across in enumerate(("left", "center", "right")):
        paper.text((150, 150 + 12 * k), f"5 < 6 & “{across}” ½", size=6, across=across)
    paper.text((240, 60), "upright", size=8, rotation=90.0, bold=True, colour="#a02020")
    return made


def pixels(file, folder):
    import typst

    source = folder / "page.typ"
    source.write_text(
        f"#set page(width: auto, height: auto, margin: 0pt)\n#image({json.dumps(file.name)})"
    )
    made = typst.compile(
        str(source), root=str(folder), font_paths=[str(FONTS)], ignore_system_fonts=True,
        format="png", ppi=DPI,
    )  # fmt: skip
    return np.asarray(Image.open(io.BytesIO(made)).convert("RGB"), float)


def test_an_svg_shows_what_the_png_shows(sheet, tmp_path):
    by_name, png = write(sheet, tmp_path / "page", ("svg", "png"))
    ours = pixels(by_name, tmp_path)
    theirs = np.asarray(Image.open(png).convert("RGB"), float)
    high, wide = np.minimum(ours.shape[:2], theirs.shape[:2])
    assert np.abs(np.subtract(ours.shape[:2], theirs.shape[:2])).max() <= 1
    gap = np.abs(tones(ours[:high, :wide]) - tones(theirs[:high, :wide]))
    assert gap.mean() < 0.5
    # A line that is missing, a word elsewhere or another colour is more.
    assert gap.max() < 40


def tones(picture):
    """The mean tone of every 2 mm: letters are set a fraction of a pixel aside by their hints."""
    side = round(2.0 / 25.4 * DPI)
    rows, columns = picture.shape[0] // side, picture.shape[1] // side
    patches = picture[: rows * side, : columns * side].reshape(rows, side, columns, side, 3)
    return patches.mean(axis=(1, 3))


def test_an_svg_is_one_that_any_reader_of_xml_takes(sheet, tmp_path):
    (file,) = write(sheet, tmp_path / "page", ("svg",))
    root = ET.parse(file).getroot()
    assert root.find(f"{SVG}title").text == 'ends & "means" <here>'
    assert next(each.get("id") for each in root.iter(f"{SVG}g")) == "a-&-b-1"
    words = {"".join(each.itertext()) for each in root.iter(f"{SVG}text")}
    assert words == {*(f"5 < 6 & “{each}” ½" for each in ("left", "center", "right")), "upright"}
    box = [float(each) for each in root.get("viewBox").split()]
    assert box == pytest.approx([0, 0, 297 / 25.4 * 72, 210 / 25.4 * 72], rel=1e-5)
