"""What stands on paper, measured with the drawing library and not by the placement's figures."""

from __future__ import annotations

import re

import numpy as np
import shapely

from grading.units import FOOT
from viz.paper.compose import Words, words_of
from viz.paper.ink import Ink
from viz.paper.page import MM, Page

TOUCH = 0.05  # mm


def corners_on_paper(words: Words) -> np.ndarray:
    """Return the four corners of a line of words as its outlines have them. [mm]"""
    from matplotlib.font_manager import FontProperties
    from matplotlib.textpath import TextPath

    weight = "bold" if words.bold else "normal"
    face = FontProperties(family=["DejaVu Sans"], weight=weight)
    outline = TextPath((0, 0), words.words, size=words.size, prop=face)
    if not len(outline.vertices):
        return np.zeros((0, 2))
    (x0, y0), (x1, y1) = outline.vertices.min(axis=0), outline.vertices.max(axis=0)
    left = {"left": 0.0, "center": -(x0 + x1) / 2, "right": -x1}[words.across]
    ring = np.array([(x0 + left, y0), (x1 + left, y0), (x1 + left, y1), (x0 + left, y1)])
    turn = np.radians(words.rotation)
    spin = np.array([[np.cos(turn), np.sin(turn)], [-np.sin(turn), np.cos(turn)]])
    return ring @ spin + words.at


def overlaps(inks: tuple[Ink | Words, ...]) -> list[tuple[str, str]]:
    """Return the pairs of words that cover each other."""
    placed = [(w.words, corners_on_paper(w)) for w in words_of(inks)]
    shapes = [(text, shapely.Polygon(ring)) for text, ring in placed if len(ring)]
    tree = shapely.STRtree([shape for _, shape in shapes])
    return [
        (text, shapes[other][0])
        for k, (text, shape) in enumerate(shapes)
        for other in tree.query(shape)
        if other > k and shape.intersection(shapes[other][1]).area >= TOUCH**2
    ]


def outside(inks: tuple[Ink | Words, ...], page: Page) -> list[str]:
    """Return the ink that leaves the page, and the words that leave its frame."""
    frame, found = page.frame, []
    for ink in inks:
        if isinstance(ink, Ink):
            low, high = (0.0, 0.0), (page.width, page.height)
            rings, name = ink.rings, ink.name or "ink"
        else:
            low, high = (frame.x0, frame.y0), (frame.x1, frame.y1)
            rings, name = (corners_on_paper(ink),), ink.words
        for ring in rings:
            if np.any(ring < np.array(low) - 1e-9) or np.any(ring > np.array(high) + 1e-9):
                found.append(name)
    return found


def bar_ratio(inks: tuple[Ink | Words, ...], unit: str) -> float:
    """Return the scale that a sheet's first scale bar tells: length on site over that on paper."""
    boxes = [ink for ink in inks if isinstance(ink, Ink) and ink.name == f"scale-bar-{unit}"]
    first = boxes[0].rings[0]
    row = [
        box.rings[0] for box in boxes if abs(box.rings[0][:, 1].min() - first[:, 1].min()) < 1e-9
    ]
    right = max(float(ring[:, 0].max()) for ring in row)
    long = right - min(float(ring[:, 0].min()) for ring in row)
    worth = {"ft": FOOT, "in": FOOT / 12, "m": 1.0, "mm": 1 / MM}
    for words in words_of(inks):
        told = re.fullmatch(r"([\d.]+) (ft|in|mm|m)", words.words)
        if told and abs(words.at[0] - right) < 0.01:
            kind = "ft" if told.group(2) in ("ft", "in") else "m"
            if kind == unit:
                return float(told.group(1)) * worth[told.group(2)] * MM / long
    raise AssertionError("no figure at the bar")
