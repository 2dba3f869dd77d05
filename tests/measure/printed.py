"""Read a printed sheet back, by readers that are not ours."""

from __future__ import annotations

import re
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path

import numpy as np
import pdfplumber
import pypdf
import pypdfium2


@dataclass(frozen=True)
class Printed:
    """A PDF, and what its readers find in it."""

    file: Path

    @cached_property
    def reader(self) -> pypdf.PdfReader:
        return pypdf.PdfReader(self.file)

    @cached_property
    def words(self) -> list[list[dict]]:
        """The words of each page with their boxes. [points]"""
        with pdfplumber.open(self.file) as found:
            return [page.filter(_level).extract_words() for page in found.pages]

    @cached_property
    def sizes(self) -> list[tuple[float, float]]:
        """Width and height of each page. [points]"""
        return [(float(p.mediabox.width), float(p.mediabox.height)) for p in self.reader.pages]

    @cached_property
    def text(self) -> str:
        """All that is searched for, one space between words."""
        document = pypdfium2.PdfDocument(self.file)
        pages = [page.get_textpage().get_text_range() for page in document]
        joined = " ".join(pages).replace("\u200b", "").replace("\ufffe", "-")
        return re.sub(r"\s+", " ", joined)

    @property
    def pictures(self) -> int:
        """Raster images on all pages, and in what is placed on them."""
        image = pypdfium2.raw.FPDF_PAGEOBJ_IMAGE
        return sum(
            sum(1 for _ in page.get_objects(filter=[image], max_depth=9))
            for page in pypdfium2.PdfDocument(self.file)
        )

    @property
    def fonts(self) -> dict[str, bool]:
        """Every font, and whether its letters are in the file."""
        found = {}
        for page in self.reader.pages:
            for font in _fonts_of(page.get("/Resources", {})):
                for each in font.get("/DescendantFonts", [font]):
                    descriptor = each.get_object().get("/FontDescriptor", {}).get_object()
                    held = {"/FontFile", "/FontFile2", "/FontFile3"} & set(descriptor)
                    found[str(font["/BaseFont"])] = bool(held)
        return found

    def grey(self, number: int, scale: float) -> np.ndarray:
        """Return a page printed in grey, (height, width), 0 black to 255 white."""
        page = pypdfium2.PdfDocument(self.file)[number]
        return np.asarray(page.render(scale=scale).to_pil().convert("L"))


def _fonts_of(resources):
    resources = resources.get_object() if hasattr(resources, "get_object") else resources
    for font in (resources.get("/Font") or {}).values():
        yield font.get_object()
    for form in (resources.get("/XObject") or {}).values():
        form = form.get_object()
        if form.get("/Subtype") == "/Form":
            yield from _fonts_of(form.get("/Resources", {}))


def _level(part: dict) -> bool:
    """Whether a part of a page is no letter at a slant: the box of such a one tells little.

    Words at a slant are held apart where they are drawn.
    """
    if part["object_type"] != "char":
        return True
    a, b, *_ = part["matrix"]
    return min(abs(a), abs(b)) < 0.02 * max(abs(a), abs(b))


def overlaps(words: list[dict], hair: float = 0.6) -> list[tuple[str, str]]:
    """Return the pairs of words whose boxes reach into each other by more than a hair. [points]

    A box is as tall as the font's longest letters, so a third of its height is left free.
    """
    boxes = np.array([[w["x0"], w["top"], w["x1"], w["bottom"]] for w in words]).reshape(-1, 4)
    tall = boxes[:, 3] - boxes[:, 1]
    wide = boxes[:, 2] - boxes[:, 0]
    # A word that is turned stands on its side: its box is trimmed the other way.
    trim = 0.18 * np.where(wide >= tall * 0.6, tall, wide)
    boxes[:, 1] += trim
    boxes[:, 3] -= trim
    found = []
    for i, one in enumerate(boxes):
        low = np.maximum(one[:2], boxes[i + 1 :, :2])
        high = np.minimum(one[2:], boxes[i + 1 :, 2:])
        for j in np.flatnonzero(((high - low) > hair).all(axis=1)):
            found.append((words[i]["text"], words[i + 1 + int(j)]["text"]))
    return found


def contrast(dark: float, light: float) -> float:
    """Return the contrast of two greys, 0 to 255, as WCAG 2.1 defines it."""

    def luminance(grey: float) -> float:
        share = grey / 255
        return share / 12.92 if share <= 0.04045 else ((share + 0.055) / 1.055) ** 2.4

    least, most = sorted((luminance(dark), luminance(light)))
    return (most + 0.05) / (least + 0.05)
