"""What several drawings place alike: columns of labels, words made to fit, tags, feet of plans."""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from typing import Any

import shapely

from grading.design.area import AreaPlan
from grading.units import Unit
from viz.paper.compose import Sheet, View
from viz.paper.drawing import OUTLINE, Drawing, Pen
from viz.paper.furniture import caption, plan_axes, scale_bar
from viz.paper.lettering import block, extent, fold, spread
from viz.paper.page import Scale

FRAME = Pen(0.2, "#5a5a5a", (3.0, 0.8, 0.6, 0.8))
"""The edge of what is shown of a section."""

Label = tuple[float, float, str]  # distance and elevation [m], and what is there


def fitting_size(
    words: str, size: float, width: float, least: float, step: float = 0.1, bold: bool = True
) -> float:
    """Return the size at which rows of words fit a width, not below the least. [mm]"""
    rows = words.split("\n")
    while max(extent(row, size, bold)[0] for row in rows) > width and size > least:
        size -= step
    return size


def broken(words: str, size: float, room: float) -> str:
    """Break a label that is too wide before its figures, so that these stay together. [mm]"""
    figures = re.search(r" (?=[0-9])", words)
    if figures is None or extent(words, size)[0] <= room:
        return fold(words, size, room)
    name, told = words[: figures.start()], words[figures.end() :]
    return f"{fold(name, size, room)}\n{fold(told, size, room)}"


def label_column(
    view: View, labels: Iterable[Label], column: float, ends: tuple[float, float], size: float,
    apart: float, **style: Any,
) -> None:  # fmt: skip
    """Write labels down a column, each led to its place, none on another, the highest first.

    Parameters
    ----------
    view : View
    labels : iterable of Label
    column : float
        Where it stands. [mm]
    ends : (float, float)
        Its foot and its head. [mm]
    size, apart : float
        Of the letters, and between labels. [mm]
    """
    said = sorted(labels, key=lambda label: -label[1])
    need = [block(words, size)[1] + apart for _, _, words in said]
    wanted = [view.paper((0.0, z))[1] for _, z, _ in said]
    for (s, z, words), y, want in zip(said, spread(wanted, need, *ends), wanted, strict=True):
        shift = (column - view.paper((s, 0.0))[0], y - want)
        view.drawing.leader((s, z), words, shift, size=size, **style)


def chosen_tag(
    draw: Drawing, at: tuple[float, float], size: float, high: float, aside: float
) -> float:
    """Frame the word "chosen", its left middle at a place; return how wide that came out. [mm]"""
    wide = chosen_width(size, aside)
    x, y = at
    ring = shapely.box(x, y - high / 2, x + wide, y + high / 2)
    draw.area(ring, fill="#ffffff", pen=OUTLINE, layer="chosen")
    draw.text((x + wide / 2, y), "chosen", size=size, bold=True)
    return wide


def chosen_width(size: float, aside: float) -> float:
    """Return how wide the tag is. [mm]"""
    return block("chosen", size, True)[0] + aside


def foot_of_plan(
    sheet: Sheet, scale: Scale, unit: Unit, longest: float = 42.0, gap: float = 10.0
) -> None:
    """Draw caption, scale bar and axes under a plan, at the foot of its sheet."""
    x, y = sheet.page.body.x0, sheet.page.body.y0
    wide = caption(sheet, (x + 16, y + 1.8), "Plan", scale.words)
    scale_bar(sheet, (x + 16 + wide + gap, y + 2.4), scale, unit, longest)
    plan_axes(sheet, (x + 1.5, y + 2.0))


def names_of(areas: Sequence[AreaPlan]) -> str:
    """Return the names of areas in a row."""
    return ", ".join(area.area.name for area in areas)
