"""The table of levels under a section: at each station the finish, the ground and the dig."""

from __future__ import annotations

import numpy as np

from grading.geometry.arrays import Floats
from grading.geometry.tolerances import TOUCH
from grading.section.cut import THINNEST, Cut
from grading.section.line import Interval
from grading.units import FOOT, Unit
from viz.drawings.section.body import DUG, FINISH
from viz.paper.compose import Sheet, View
from viz.paper.drawing import FAINT, FINE, GROUND, ORGANICS, OUTLINE, THIN, Pen
from viz.words.figures import DIRT, level, run, small

TABLE_HEAD = 40.0  # mm: room for the names of the rows
ROW = 4.3
CELL = 35.0
FOLDS = 3  # a section that crosses more has no station at each
_LETTER = 2.25


Row = tuple[str, Pen | None, list[str]]  # what it tells, the line that shows it, words


def level_rows(cut: Cut, unit: Unit, stations: Floats) -> list[Row]:
    """Return the rows of the table: finish, ground and dig at distances (n,) along a cut. [m]"""
    at = cut.levels_at(stations)
    paved, dug = ([_within(spans, s) for s in stations] for spans in (cut.paved, cut.dug))
    first = cut.paving[0]

    def levels(z: Floats, parts: int = DIRT) -> list[str]:
        return [level(float(each), unit, parts) for each in z]

    rows: list[Row] = [
        ("From edge of paving", None, [run(s - first, unit) for s in stations]),
        ("Finish", FINISH, _given(levels(at.finish, 16), paved)),
        ("Existing ground", GROUND, levels(at.existing)),
    ]
    if cut.has_organics:
        rows.append(("Bottom of organics", ORGANICS, levels(cut.organics_at(stations))))
    rows.append(("Dug surface", DUG, _given(levels(at.dug), dug)))
    depths = [small(depth, unit, DIRT) for depth in at.depth]
    rows.append(("Dig below ground", None, _given(depths, dug)))
    if np.any(at.refill[np.array(dug)] > THINNEST):
        words = [small(r, unit, DIRT) if r > THINNEST else "none" for r in at.refill]
        rows.append(("Refill to subgrade", None, _given(words, dug)))
    return rows


def _within(spans: tuple[Interval, ...], s: float) -> bool:
    return any(a - TOUCH <= s <= b + TOUCH for a, b in spans)


def _given(words: list[str], there: list[bool]) -> list[str]:
    return [word if ok else "no paving" for word, ok in zip(words, there, strict=True)]


def stations_of(cut: Cut, mm: float, unit: Unit) -> Floats:
    """Return distances (n,) at which levels are given: both edges, and round steps between. [m]

    `mm` is the length on paper of one metre.
    """
    first, last = cut.paving
    length = last - first
    most = max(2, int(length * mm / CELL))
    step = length
    for nice in (0.5, 1, 2, 3, 4, 5, 6, 8, 10, 15, 20, 25, 30, 40, 50, 100):
        size = nice * FOOT if unit == "ft" else nice / 2
        if length / size <= most:
            step = size
            break
    inner = np.arange(first + step, last - CELL * 0.6 / mm, step)
    folds = np.array([end for _, end, _ in cut.finish.stretches(first, last)[:-1]])
    if not 0 < len(folds) <= FOLDS:
        return np.concatenate([[first], inner, [last]])
    # At a fold the levels are needed more than at a round step beside it.
    near = np.abs(inner[:, None] - np.concatenate([folds, [first, last]])).min(axis=1)
    return np.unique(np.concatenate([[first], inner[near > CELL * 0.9 / mm], folds, [last]]))


def draw_table(sheet: Sheet, view: View, cut: Cut, unit: Unit, top: float) -> float:
    """Draw the table with its head at `top` [mm]; return where its foot is. [mm]"""
    stations = stations_of(cut, view.scale.mm(1.0), unit)
    rows = level_rows(cut, unit, stations)
    draw, body = sheet.paper, sheet.page.body
    true = [view.paper((float(s), 0.0))[0] for s in stations]
    placed = list(true)
    for k in range(1, len(placed)):
        placed[k] = max(placed[k], placed[k - 1] + CELL)
    spare = placed[-1] + CELL / 2 - body.x1
    if spare > 0:
        placed = [x - spare for x in placed]
    head = placed[0] - CELL / 2 - TABLE_HEAD
    right = placed[-1] + CELL / 2
    lead = 3.0
    for s, x, there in zip(stations, true, placed, strict=True):
        inside = any(a <= s <= b for a, b in cut.dug)
        z = float(cut.dug_at(s) if inside else cut.ground_at(s))
        y = view.paper((0.0, z))[1] - 1.0
        draw.line([(x, y), (x, top), (there, top - lead)], FAINT, "station")
    top -= lead
    foot = top - ROW * len(rows)
    for k, (name, pen, words) in enumerate(rows):
        y = top - ROW * (k + 0.5)
        draw.line([(head, y + ROW / 2), (right, y + ROW / 2)], THIN if k < 2 else FINE, "table")
        draw.text((head + 1, y), name, size=_LETTER, across="left")
        if pen is not None:
            draw.line([(head + 28.5, y), (head + TABLE_HEAD - 1.5, y)], pen, "key")
        for x, word in zip(placed, words, strict=True):
            draw.text((x, y), word, size=_LETTER, bold=name.startswith("Dig"), layer="levels")
    draw.line([(head, foot), (right, foot)], THIN, "table")
    for x in (head, head + TABLE_HEAD, right):
        draw.line([(x, top), (x, foot)], OUTLINE if x == head + TABLE_HEAD else THIN, "table")
    return foot
