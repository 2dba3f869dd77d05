"""What is written about a section: how long the paving is, how it falls, the step at a door."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import shapely

from grading.design.folds import Fold
from grading.geometry.tolerances import TOLD_LEVEL
from grading.section.cut import Cut, WallCut
from grading.units import Unit, percent, slope
from viz.drawings.section.body import WALL
from viz.paper.compose import View
from viz.paper.drawing import THIN
from viz.paper.lettering import block, extent, fold
from viz.paper.page import Scale
from viz.words.figures import run, small

MOST = 4  # pieces of the finish that are told one by one
NARROW = 15.0  # mm: a piece this short gets an arrow and no words
_LETTER = 2.5
_ASIDE = 2.2
_NAMES = 27.0  # mm: words about a wall are no wider, but for a figure

Told = tuple[float, float, float, str]  # start, end [m], rise, words


def falls_told(cut: Cut, unit: Unit) -> list[Told]:
    """Return the straight pieces of the finish over the paving, with what is said of each.

    Parameters
    ----------
    cut : Cut
    unit : "ft" or "m"
    """
    a, b = cut.paving
    pieces = cut.finish.stretches(a, b)
    if 1 < len(pieces) <= MOST:
        return [(*piece, _piece_words(piece[2], unit)) for piece in pieces]
    whole = cut.finish.rise(a, b) if len(pieces) > 1 else pieces[0][2]
    rises = [rise for _, _, rise in pieces]
    least, most = sorted((abs(min(rises)), abs(max(rises))))
    if len(pieces) > 1 and min(rises) < 0 < max(rises):
        words = f"finish warped: slopes up to {percent(most, 2)} either way"
    elif len(pieces) > 1:
        words = f"finish warped: falls {percent(least, 2)} to {percent(most, 2)}"
    elif most < TOLD_LEVEL:
        words = "finish level along this section"
    else:
        words = f"finish falls {slope(most, unit)}; {small(most * (b - a), unit)} in all"
    return [(a, b, whole, words)]


def _piece_words(rise: float, unit: Unit) -> str:
    """Say how one of several pieces falls."""
    return "level" if abs(rise) < TOLD_LEVEL else f"falls {slope(abs(rise), unit)}"


def _told(cut: Cut, scale: Scale, unit: Unit) -> list[Told]:
    """Return the same folded to their room on paper; nothing is said of a piece that is short."""
    told = falls_told(cut, unit)
    single = len(told) == 1
    folded = []
    for start, end, rise, words in told:
        wide = scale.mm(end - start)
        room = max(wide - 6.0, 30.0) if single else max(wide - 3.0, NARROW)
        there = single or wide >= NARROW
        folded.append((start, end, rise, fold(words, _LETTER, room) if there else ""))
    return folded


def words_height(cut: Cut, scale: Scale, unit: Unit) -> float:
    """Return how high the words over the finish come out. [mm]"""
    return max(block(words, _LETTER)[1] for _, _, _, words in _told(cut, scale, unit))


def draw_notes(view: View, cut: Cut, folds: Sequence[Fold], unit: Unit) -> None:
    """Record length of the paving, fall arrows and words, folds, and the step at a sill."""
    draw, scale = view.drawing, view.scale
    a, b = cut.paving
    za, zb = (float(cut.finish_at(s)) for s in (a, b))
    crest = float(cut.finish_at(cut.along_finish(a, b)).max())
    high = max(crest, *(float(cut.ground_at(s)) for s in (a, b)))
    lift = scale.mm(high - za) + 8.8 + words_height(cut, scale, unit)
    draw.dimension((a, za), (b, zb), run(b - a, unit), offset=lift, along=(1.0, 0.0))
    told = _told(cut, scale, unit)
    for start, end, rise, words in told:
        _fall(view, cut, (start, end), rise, words, single=len(told) == 1)
    _folds(view, cut, folds)
    for other, (low, end) in [(each, span) for each in cut.others for span in each.paved]:
        middle = (low + end) / 2
        finish = float(other.finish_at(middle))
        top = max([finish, float(cut.ground_at(middle)),
                   *(tread.bounds[3] for tread in cut.treads if not tread.is_empty)])  # fmt: skip
        up = scale.mm(top - finish)
        draw.text((middle, finish), other.name, size=2.2, up="bottom",
                  shift=(0.0, up + 1.6), leads=up > 2.0, ground=True, layer="other paving",
                  others=((0.0, up + 4.2), (0.0, up + 7.0), (6.0, up + 4.2),
                          (-6.0, up + 4.2)))  # fmt: skip
    for wall in cut.walls:
        _sill(view, cut, wall, unit)


def _fall(
    view: View, cut: Cut, span: tuple[float, float], rise: float, words: str, *, single: bool
) -> None:
    draw, scale = view.drawing, view.scale
    a, b = span
    middle = a + (b - a) * 0.5
    if abs(rise) >= TOLD_LEVEL and (single or scale.mm(b - a) > 6.0):
        half = min((b - a) * 0.3, scale.metres(block(words or "falls", _LETTER)[0] / 2))
        ends = [middle - half, middle + half]
        if rise > 0:
            ends.reverse()
        up = scale.metres(2.6)
        points = [(s, float(cut.finish_at(s)) + up) for s in ends]
        draw.arrow(*points, layer="fall")
    level = max(float(cut.finish_at(middle)), float(cut.ground_at(middle)))
    draw.text((middle, level), words, size=_LETTER, up="bottom", shift=(0, 4.3), ground=True,
              layer="fall")  # fmt: skip


def _folds(view: View, cut: Cut, folds: Sequence[Fold]) -> None:
    """Mark where the line crosses a fold, and name it as the plan does."""

    bends = [end for _, end, _ in cut.finish.stretches(*cut.paving)[:-1]]
    if not folds or len(bends) >= MOST:
        return
    lines = [shapely.LineString(fold.line) for fold in folds]
    for s in bends:
        point = shapely.Point(cut.plan_point(s))
        kind = folds[int(np.argmin([line.distance(point) for line in lines]))].kind
        at = (s, float(cut.finish_at(s)))
        view.drawing.symbol("level", at, size=2.2, layer="fold")
        view.drawing.text(
            at, kind, size=2.4, bold=True, up="bottom", shift=(0.0, 2.4), ground=True,
            layer="fold", others=((0.0, 5.0), (0.0, 9.0), (9.0, 3.0), (-9.0, 3.0)),
        )  # fmt: skip


def _sill(view: View, cut: Cut, wall: WallCut, unit: Unit) -> None:
    draw = view.drawing
    back, words = wall.at + wall.side * WALL, sill_words(cut, wall, unit)
    across = "right" if wall.side < 0 else "left"
    if wall.sill is None:
        draw.text((back, float(cut.finish_at(wall.at))), words, size=2.2, across=across,
                  shift=(wall.side * 1.6, 6.0))  # fmt: skip
        return
    ends = [(wall.at - wall.side * out, wall.sill) for out in (0.02, 0.15)]
    draw.line(ends, THIN)
    draw.text((back, wall.sill), words, size=_ASIDE, across=across, shift=(wall.side * 1.4, 0.0),
              layer="step")  # fmt: skip


def sill_rows(cut: Cut, wall: WallCut, unit: Unit) -> list[str]:
    """Say how high the sill of a wall's door stands above the finish before it, where it is cut.

    In the rows that it is written in where they have room; each is folded where it is drawn.
    """
    found = cut.sill_over(wall)
    if found is None:
        return ["house", "wall"]
    high, paving = found
    above = "the finish" if paving is cut else paving.name
    return [wall.door, f"sill {small(high, unit)}", f"above {above}", "at this section"]


def sill_words(cut: Cut, wall: WallCut, unit: Unit) -> str:
    """Return these rows folded to the room beside the wall."""
    rows = sill_rows(cut, wall, unit)
    return fold("\n".join(rows), _ASIDE, max(_NAMES, extent(rows[1], _ASIDE)[0] + 0.1))


def room_aside(cut: Cut, wall: WallCut, unit: Unit) -> float:
    """Return how far the words about a wall reach beyond its back. [mm]"""
    return 1.4 + block(sill_words(cut, wall, unit), _ASIDE)[0]
